"""When will a requirement be met? A range of dates with its reasons, or a plain 'too soon to say'.

A forecast leans on the other children of the same test and about the same age (see `pooling`). It is a
help for planning, never a promise and never shown to a family. There is none for a resting child, none
without recent evidence and none beyond six months.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from assessments.analysis.coverage import Coverage, Held, coverage
from assessments.analysis.pool import (
    LEVEL,
    YEARS_NEAR,
    Pool,
    age_of,
    fit_pool,
    near_in_age,
    stopped,
    usable_days,
)
from assessments.analysis.records import DayScore, ErrorModel, Interpretation
from assessments.analysis.samples import NotEnough
from assessments.analysis.slope import POINTS_FOR_INTERVAL, Prediction, Slope, cut, predict, theil_sen

WEEKS_AHEAD = 26
WEEKS_FRESH = 16
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
    near: str = "of about this age"  # how far apart in age the children of the trend are


def forecast(
    pool: Pool,
    own: Interpretation,
    threshold: float,
    *,
    resting: bool = False,
    fresh_weeks: int = WEEKS_FRESH,
) -> Forecast:
    """When the child's level reaches a threshold: one, five and nine chances in ten.

    The chance that the level has reached it by a week is that of the fitted line (Student's t). The rules of the
    state hold here too: `own` (and the same line in the pool) without what a rest made void (`counting_from`), the
    newest day that tells anything at most `fresh_weeks` old; an 'at least' under the threshold tells nothing. Do not
    use to decide anything: readiness comes from scores that were seen, not from scores that are expected.
    """
    if not math.isfinite(threshold):
        raise ValueError(f"A threshold is a finite number, not {threshold}.")
    days = usable_days(own.days, pool.on)
    pace = _pace(days, pool.on)
    if resting:
        return _nothing("resting", days, pool, pace, "No forecast while the child is resting.")
    telling = [day.on for day in days if not (day.at_least and day.held < threshold)]
    if not telling:
        return _nothing("no_evidence", days, pool, pace, "No test day counts yet.")
    if (pool.on - telling[-1]).days > 7 * fresh_weeks:
        words = f"The newest test day that counts is more than {fresh_weeks} weeks old."
        return _nothing("stale", days, pool, pace, words)
    if len({day.on for day in days}) < 2:
        words = "Too soon to say: a first look and one more test day show no direction."
        return _nothing("too_soon", days, pool, pace, words)
    near = _near(pool, age_of(days, pool.on))
    pooled = pool.trends is not None and own.athlete in pool.trends.children
    path = _path(pool, own.athlete) if pooled else _own_path(days, pool)
    if not path:
        have = "1 child" if pool.children == 1 else f"{pool.children} children"
        words = f"Too soon to say: {have} {near} {'has' if pool.children == 1 else 'have'} two test days, and this one few."
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
        _words(word, likely, len(days), children, near),
        near,
    )


def _near(pool: Pool, age: float) -> str:
    """Where too few children are within a year of this age, how far the ages of those that were taken reach."""
    apart = max((abs(other - age) for other in pool.ages.values()), default=0.0)
    years = math.ceil(apart / YEARS_NEAR - 1e-9)
    return "of about this age" if years <= 1 else f"up to {years} years older or younger"


def _path(pool: Pool, athlete: str) -> tuple[Point, ...]:
    points = []
    for week in range(WEEKS_AHEAD + 1):
        mean, sd = pool.level(athlete, week)
        found = cut(mean, mean - pool.factor * sd, mean + pool.factor * sd, floor=pool.floor)
        points.append(Point(pool.on + timedelta(weeks=week), found.value, found.low, found.high, found.note))
    return tuple(points)


def _own_path(days: Sequence[DayScore], pool: Pool) -> tuple[Point, ...]:
    """In a club too small for a common trend: the child's own line, from five days that are not 'at least'.

    The range is that of the line, where the level is, and not of a new score, which scatters about it.
    """
    if not _stands_alone(days):
        return ()
    points = []
    for week in range(WEEKS_AHEAD + 1):
        found = _own_line(days, pool, week, new=False)
        points.append(Point(pool.on + timedelta(weeks=week), found.value, found.low, found.high, found.note))
    return tuple(points)


def _stands_alone(days: Sequence[DayScore]) -> bool:
    return not any(day.at_least for day in days) and len({day.on for day in days}) >= POINTS_FOR_INTERVAL


def _own_line(days: Sequence[DayScore], pool: Pool, week: float, *, new: bool) -> Prediction:
    times, values = [(day.on - pool.on).days / 7 for day in days], [day.held for day in days]
    return predict(times, values, week, level=LEVEL, floor=pool.floor, new=new)


def _pace(days: Sequence[DayScore], on: date) -> Slope | None:
    plain = [day for day in days if not day.at_least]
    try:
        return theil_sen([(day.on - on).days / 7 for day in plain], [day.held for day in plain])
    except NotEnough:
        return None


def _after(on: date, weeks: int | None) -> date | None:
    return None if weeks is None else on + timedelta(weeks=weeks)


def _nothing(word: Word, days: Sequence[DayScore], pool: Pool, pace: Slope | None, reason: str) -> Forecast:
    return Forecast(word, None, None, None, (), len(days), pool.children, pace, reason)


def _words(word: Word, weeks: int | None, days: int, children: int, near: str) -> str:
    others = f" and the trends of {children} children {near}" if children else " alone"
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
    """The newest day of every child with three predicted from all days before it: range and what came.

    The forecast that a page would have shown the day before: leaning on the children of about that age then, from
    days before that date only, or on the child's own line where there are too few. Shows a director whether the
    80 % range keeps its word on the club's own children. A day on which the child chose to stop is marked, and so is a
    range that was cut at the floor or the cap.
    """
    pools: dict[tuple[date, tuple[str, ...]], Pool] = {}
    held = []
    for one in found:
        *earlier, newest = usable_days(one.days, date.max) or (None,)
        if newest is None or len(earlier) < 2:
            continue
        before = newest.on - timedelta(days=1)
        near = near_in_age(found, age_of(earlier, before), before)
        key = (before, tuple(other.athlete for other in near))
        if key not in pools:
            pools[key] = fit_pool(near, before, error=error, cap=cap, floor=floor)
        ends = _next_score(pools[key], one.athlete, earlier, clocks=newest.clock_variance)
        if ends is not None:
            was_cut = (floor is not None and ends[0] <= floor) or (cap is not None and ends[1] >= cap)
            held.append(
                Held(newest.band, *ends, newest.held, stopped(newest), was_cut, one.athlete, newest.on)
            )
    return tuple(held)


def _next_score(
    pool: Pool, athlete: str, days: Sequence[DayScore], *, clocks: float
) -> tuple[float, float] | None:
    """Range of a score on the day after the pool's date, leaning on what `forecast` leans on; None where on nothing."""
    if pool.trends is not None and athlete in pool.trends.children:
        return pool.score(athlete, 1 / 7, clocks=clocks)
    if not _stands_alone(days):
        return None
    found = _own_line(days, pool, 1 / 7, new=True)
    return found.low, found.high


def forecast_coverage(held: Iterable[Held]) -> tuple[Coverage, ...]:
    """Share of the newest days inside their 80 % range, for all children and by age band."""
    return coverage(held, level=LEVEL)
