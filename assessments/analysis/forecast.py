"""When will a requirement be met? A range of dates with its reasons, or a plain 'too soon to say'.

A forecast leans on the other children of the same test and about the same age (see `pooling`). It is a
help for planning, never a promise and never shown to a family. There is none for a resting child, none
without recent evidence and none beyond six months.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal

import numpy as np

from assessments.analysis.censored import mean_at_least
from assessments.analysis.coverage import Coverage, Held, coverage
from assessments.analysis.pooling import CHILDREN_NEEDED, Line, Trends, fit_trends
from assessments.analysis.records import DayScore, ErrorModel, Interpretation
from assessments.analysis.samples import NotEnough, t_factor
from assessments.analysis.slope import POINTS_FOR_INTERVAL, Slope, cut, predict, theil_sen

WEEKS_AHEAD = 26
WEEKS_FRESH = 16
LEVEL = 0.80
YEARS_NEAR = 1.0
CHILDREN_WANTED = 12
NOISE_WEIGHT = 14.0  # children the starter noise is worth: the number a club needs to replace it, less one
PASSES = 2
CHILDREN_TO_LOOK_BACK = 15
# What a straight line leaves out: a quarter of the drift that the level filter allows (noise variance / 12 a
# week). An engineering choice; simulated children without and with that drift both stay within 75 to 85 %.
DRIFT = 1 / 48
NARROWEST, WIDEST = 0.75, 1.75
EVIDENCE = ("scored", "reached_cap", "chose_to_stop", "could_not_start")
Word = Literal["resting", "no_evidence", "stale", "too_soon", "now", "within", "later"]


@dataclass(frozen=True, slots=True)
class Point:
    """Believed level on a date, and the range in which it lies with the stated chance."""

    on: date
    level: float
    low: float
    high: float
    note: str


@dataclass(frozen=True, slots=True)
class Forecast:
    """When one requirement will be met, or why nothing can be said."""

    word: Word
    likely_on: date | None  # even chance that the level has reached the threshold
    earliest_on: date | None  # one chance in ten
    latest_on: date | None  # nine chances in ten; None when that lies beyond six months
    path: tuple[Point, ...]
    days: int  # days of this child that count
    children: int  # children behind the common trend; 0 when the child's own days stand alone
    pace: Slope | None  # the child's own robust slope, in units a week
    reason: str  # one plain sentence


@dataclass(frozen=True, slots=True)
class Pool:
    """Children of one test and about one age, fitted together as they stood on a date."""

    on: date
    trends: Trends | None
    error: ErrorModel
    cap: float | None
    floor: float | None
    children: int
    factor: float  # standard errors in the interval
    newest: Mapping[str, float]  # weeks from the pool's date to each child's newest day

    def level(self, athlete: str, weeks: float) -> tuple[float, float]:
        """Believed level some weeks after the pool's date, and its standard error."""
        assert self.trends is not None
        mean, variance = self.trends.at(athlete, weeks)
        wander = DRIFT * max(weeks - self.newest[athlete], 0.0) * self.error.sem(mean) ** 2
        return mean, math.sqrt(max(variance, 0.0) + wander)

    def spread(self, athlete: str, weeks: float) -> tuple[float, float]:
        """Expected new score some weeks after the pool's date, and its standard error."""
        assert self.trends is not None
        mean, sd = self.level(athlete, weeks)
        return mean, math.sqrt(sd**2 + self.trends.residual * self.error.sem(mean) ** 2)

    def score(self, athlete: str, weeks: float) -> tuple[float, float]:
        """Range of a new score some weeks after the pool's date, cut to what the measure allows."""
        mean, spread = self.spread(athlete, weeks)
        found = cut(
            mean, mean - self.factor * spread, mean + self.factor * spread, floor=self.floor, cap=self.cap
        )
        return found.low, found.high


def usable_days(days: Iterable[DayScore], on: date) -> tuple[DayScore, ...]:
    """Days that may enter a trend: scored, not a familiarisation day, not the first look, not after `on`."""
    return tuple(
        day
        for day in sorted(days, key=lambda day: day.on)
        if day.on <= on
        and not (day.familiarisation or day.first_look)
        and day.outcome in EVIDENCE
        and math.isfinite(day.value)
    )


def near_in_age(found: Sequence[Interpretation], age: float, on: date) -> tuple[Interpretation, ...]:
    """Children within a year of an age on a date; two, then three years when that makes fewer than twelve."""
    near: tuple[Interpretation, ...] = ()
    for years in (YEARS_NEAR, 2 * YEARS_NEAR, 3 * YEARS_NEAR):
        near = tuple(one for one in found if _apart(one, age, on) <= years)
        if len(near) >= CHILDREN_WANTED:
            break
    return near


def _apart(one: Interpretation, age: float, on: date) -> float:
    days = usable_days(one.days, on)
    if not days:
        return math.inf
    return abs(days[-1].age + (on - days[-1].on).days / 365.25 - age)


def fit_pool(
    found: Sequence[Interpretation],
    on: date,
    *,
    error: ErrorModel,
    cap: float | None = None,
    floor: float | None = 0.0,
) -> Pool:
    """Fit the common trend of one series (and side): partial pooling with the measure's own error model.

    Time is in weeks from `on`. Noise variances are SEM^2 at the fitted level, never at the score itself,
    which would make low scores look sure. Values that are only 'at least' are replaced by the mean of what
    they may be, given the fit; fit and replacement alternate. Intervals use Student's t on children - 2.
    """
    histories = {one.athlete: usable_days(one.days, on) for one in found}
    if len(histories) < len(found):
        raise ValueError("A child appears twice: pool one series and one side.")
    days = {athlete: kept for athlete, kept in histories.items() if kept}
    twice = sum(len({day.on for day in kept}) > 1 for kept in days.values())
    if twice < CHILDREN_NEEDED:
        return Pool(on, None, error, cap, floor, twice, math.inf, {})
    factor = t_factor(LEVEL, twice - 2)
    pool = Pool(on, _fit(days, on, error), error, cap, floor, twice, factor, _newest(days, on))
    return replace(pool, factor=pool.factor * _looking_back(days, pool))


def _newest(days: Mapping[str, Sequence[DayScore]], on: date) -> dict[str, float]:
    return {athlete: (kept[-1].on - on).days / 7 for athlete, kept in days.items()}


def _looking_back(days: Mapping[str, Sequence[DayScore]], pool: Pool) -> float:
    """How much wider or narrower the ranges must be to have held four of five newest days.

    The newest day of each child with three is predicted from the rest; the misses in standard errors, ranked,
    give the factor that would have covered the stated share (Vovk and others 2005, conformal prediction).
    It is drawn towards 1 as by twenty children and bounded, because a few dozen days say only so much.
    """
    before = {athlete: kept[:-1] if len(kept) > 2 else kept for athlete, kept in days.items()}
    newest = {athlete: kept[-1] for athlete, kept in days.items() if len(kept) > 2}
    if len(newest) < CHILDREN_TO_LOOK_BACK:
        return 1.0
    earlier = replace(
        pool, trends=_fit(before, pool.on, pool.error, pool.trends), newest=_newest(before, pool.on)
    )
    misses = sorted(_miss(earlier, athlete, day) for athlete, day in newest.items())
    rank = min(math.ceil(LEVEL * (len(misses) + 1)), len(misses))
    found = misses[rank - 1] / pool.factor
    steadied = (len(misses) * found + CHILDREN_TO_LOOK_BACK) / (len(misses) + CHILDREN_TO_LOOK_BACK)
    return min(max(steadied, NARROWEST), WIDEST)


def _miss(pool: Pool, athlete: str, day: DayScore) -> float:
    mean, spread = pool.spread(athlete, (day.on - pool.on).days / 7)
    gap = day.value - mean
    return max(gap, 0.0) / spread if day.at_least else abs(gap) / spread


def _fit(
    histories: Mapping[str, Sequence[DayScore]], on: date, error: ErrorModel, start: Trends | None = None
) -> Trends:
    trends = fit_trends(
        [_first_line(athlete, days, on, error) for athlete, days in histories.items()],
        noise_weight=NOISE_WEIGHT,
        steady=True,
        start=start,
    )
    for _ in range(PASSES):
        lines = [_line(athlete, days, on, error, trends) for athlete, days in histories.items()]
        trends = fit_trends(lines, noise_weight=NOISE_WEIGHT, steady=True, start=trends)
    return trends


def _first_line(athlete: str, days: Sequence[DayScore], on: date, error: ErrorModel) -> Line:
    """Before anything is fitted: noise at the child's mean; an 'at least' under that mean says nothing yet."""
    plain = [day.value for day in days if not day.at_least] or [day.value for day in days]
    mean = float(np.mean(plain))
    kept = [day for day in days if not day.at_least or day.value >= mean]
    if (
        len({day.on for day in kept}) < 2
    ):  # too few left to show a direction: begin from the bounds themselves
        kept = list(days)
    noise = error.sem(mean) ** 2
    times = [(day.on - on).days / 7 for day in kept]
    return Line(athlete, np.array(times), np.array([day.value for day in kept]), np.full(len(kept), noise))


def _line(athlete: str, days: Sequence[DayScore], on: date, error: ErrorModel, trends: Trends) -> Line:
    times = [(day.on - on).days / 7 for day in days]
    levels = [trends.at(athlete, time)[0] for time in times]
    noises = [error.sem(level) for level in levels]
    factor = math.sqrt(trends.residual)
    values = [
        mean_at_least(day.value, level, factor * noise) if day.at_least else day.value
        for day, level, noise in zip(days, levels, noises, strict=True)
    ]
    return Line(athlete, np.array(times), np.array(values), np.array(noises) ** 2)


def forecast(pool: Pool, own: Interpretation, threshold: float, *, resting: bool = False) -> Forecast:
    """When the child's level reaches a threshold: one, five and nine chances in ten.

    The chance that the level has reached it by a week is that of the fitted line (Student's t). Do not use
    to decide anything: readiness comes from scores that were seen, not from scores that are expected.
    """
    days = usable_days(own.days, pool.on)
    pace = _pace(days, pool.on)
    if resting:
        return _nothing("resting", days, pool, pace, "No forecast while the child is resting.")
    if not days:
        return _nothing("no_evidence", days, pool, pace, "No test day counts yet.")
    if (pool.on - days[-1].on).days > 7 * WEEKS_FRESH:
        words = f"The newest test day is more than {WEEKS_FRESH} weeks old."
        return _nothing("stale", days, pool, pace, words)
    if len({day.on for day in days}) < 2:
        words = "Too soon to say: a first look and one more test day show no direction."
        return _nothing("too_soon", days, pool, pace, words)
    pooled = pool.trends is not None and own.athlete in pool.trends.children
    path = _path(pool, own.athlete) if pooled else _own_path(days, pool)
    if not path:
        words = f"Too soon to say: {pool.children} children of about this age have two test days, and this one few."
        return _nothing("too_soon", days, pool, pace, words)
    weeks = range(WEEKS_AHEAD + 1)
    earliest = next((week for week in weeks if path[week].high >= threshold), None)
    likely = next((week for week in weeks if path[week].level >= threshold), None)
    latest = next((week for week in weeks if path[week].low >= threshold), None)
    word: Word = "later" if likely is None else "now" if likely == 0 else "within"
    children = pool.children if pooled else 0
    return Forecast(
        word,
        _after(pool.on, likely),
        _after(pool.on, earliest),
        _after(pool.on, latest),
        path,
        len(days),
        children,
        pace,
        _words(word, likely, len(days), children),
    )


def _path(pool: Pool, athlete: str) -> tuple[Point, ...]:
    points = []
    for week in range(WEEKS_AHEAD + 1):
        mean, sd = pool.level(athlete, week)
        found = cut(mean, mean - pool.factor * sd, mean + pool.factor * sd, floor=pool.floor)
        points.append(Point(pool.on + timedelta(weeks=week), found.value, found.low, found.high, found.note))
    return tuple(points)


def _own_path(days: Sequence[DayScore], pool: Pool) -> tuple[Point, ...]:
    """In a club too small for a common trend: the child's own line, from five days that are not 'at least'."""
    if any(day.at_least for day in days) or len({day.on for day in days}) < POINTS_FOR_INTERVAL:
        return ()
    times, values = [(day.on - pool.on).days / 7 for day in days], [day.value for day in days]
    points = []
    for week in range(WEEKS_AHEAD + 1):
        found = predict(times, values, week, level=LEVEL, floor=pool.floor)
        points.append(Point(pool.on + timedelta(weeks=week), found.value, found.low, found.high, found.note))
    return tuple(points)


def _pace(days: Sequence[DayScore], on: date) -> Slope | None:
    plain = [day for day in days if not day.at_least]
    try:
        return theil_sen([(day.on - on).days / 7 for day in plain], [day.value for day in plain])
    except NotEnough:
        return None


def _after(on: date, weeks: int | None) -> date | None:
    return None if weeks is None else on + timedelta(weeks=weeks)


def _nothing(word: Word, days: Sequence[DayScore], pool: Pool, pace: Slope | None, reason: str) -> Forecast:
    return Forecast(word, None, None, None, (), len(days), pool.children, pace, reason)


def _words(word: Word, weeks: int | None, days: int, children: int) -> str:
    others = f" and the trends of {children} children of about this age" if children else " alone"
    behind = f"from {days} test days of this child{others}."
    if word == "later":
        return f"Not expected within six months, {behind}"
    if word == "now":
        return f"The level is expected there already, {behind}"
    return f"Most likely in about {weeks} weeks, {behind}"


def held_out(
    found: Sequence[Interpretation],
    *,
    error: ErrorModel,
    cap: float | None = None,
    floor: float | None = 0.0,
) -> tuple[Held, ...]:
    """The newest day of every child predicted from all days before it: range and what came.

    One fit for each date on which somebody's newest day lies, from days before that date only. Shows a
    director whether the 80 % range keeps its word on the club's own children.
    """
    newest = {one.athlete: usable_days(one.days, date.max) for one in found}
    held = []
    for on in sorted({days[-1].on for days in newest.values() if len(days) > 2}):
        pool = fit_pool(found, on - timedelta(days=1), error=error, cap=cap, floor=floor)
        for athlete, days in newest.items():
            known = pool.trends is not None and athlete in pool.trends.children
            if known and len(days) > 2 and days[-1].on == on:
                low, high = pool.score(athlete, 1 / 7)
                held.append(Held(days[-1].band, low, high, days[-1].value))
    return tuple(held)


def forecast_coverage(held: Iterable[Held]) -> tuple[Coverage, ...]:
    """Share of the newest days inside their 80 % range, for all children and by age band."""
    return coverage(held, level=LEVEL)
