"""The children of one test fitted together, as they stood on a date: what a forecast leans on.

One series and one side only. Only days that are evidence of progress enter; a value that is 'at least' raises
what is believed, or says nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TypeAlias

import numpy as np

from assessments.analysis.censored import bound_as_value
from assessments.analysis.pooling import CHILDREN_NEEDED, Line, Trends, fit_trends
from assessments.analysis.records import DayScore, ErrorModel, Interpretation
from assessments.analysis.samples import NotEnough, t_factor
from assessments.analysis.slope import cut

LEVEL = 0.80
YEARS_NEAR = 1.0
#: A straight line is believed over about a year: older days do not enter, nor children without a newer one.
WEEKS_BACK = 60
CHILDREN_WANTED = 12
NOISE_WEIGHT = 14.0  # children the starter noise is worth: the number a club needs to replace it, less one
PASSES = 3
FAINTEST = 0.01  # a belief without one day keeps at least this share of its precision
CHILDREN_TO_LOOK_BACK = 15
# What a straight line leaves out: a quarter of the drift that the level filter allows (noise variance / 12 a
# week). An engineering choice; simulated children without and with that drift both stay within 75 to 85 %.
DRIFT = 1 / 48
NARROWEST, WIDEST = 0.75, 1.75
EVIDENCE = ("scored", "reached_cap", "chose_to_stop", "could_not_start")


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
    ages: Mapping[str, float] = field(default_factory=dict)  # years on the pool's date

    def level(self, athlete: str, weeks: float) -> tuple[float, float]:
        """Believed level some weeks after the pool's date, and its standard error."""
        assert self.trends is not None
        mean, variance = self.trends.at(athlete, weeks)
        wander = DRIFT * max(weeks - self.newest[athlete], 0.0) * self.error.sem(mean) ** 2
        return mean, math.sqrt(max(variance, 0.0) + wander)

    def spread(self, athlete: str, weeks: float, *, clocks: float = 0.0) -> tuple[float, float]:
        """Expected new score some weeks after the pool's date, and its standard error.

        A score is that of one watched clock; `clocks` is the variance that several clocks add.
        """
        assert self.trends is not None
        mean, sd = self.level(athlete, weeks)
        return mean, math.sqrt(sd**2 + self.trends.residual * self.error.sem(mean) ** 2 + clocks)

    def score(self, athlete: str, weeks: float, *, clocks: float = 0.0) -> tuple[float, float]:
        """Range of a new score some weeks after the pool's date, cut to what the measure allows."""
        mean, spread = self.spread(athlete, weeks, clocks=clocks)
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


def counting_from(one: Interpretation, since: date | None) -> Interpretation:
    """The line without days before a date, such as the end of a rest."""
    if since is None:
        return one
    return replace(one, days=tuple(day for day in one.days if day.on >= since))


def stopped(day: DayScore) -> bool:
    """Whether the child chose to stop: what would have come is not known. At the cap it is: the cap came."""
    return day.at_least and day.outcome != "reached_cap"


def near_in_age(found: Sequence[Interpretation], age: float, on: date) -> tuple[Interpretation, ...]:
    """Children within a year of an age on a date; two, then three years when that makes fewer than twelve.

    A child who was not tested for over a year is not of that age in any result and is left out.
    """
    near: tuple[Interpretation, ...] = ()
    for years in (YEARS_NEAR, 2 * YEARS_NEAR, 3 * YEARS_NEAR):
        near = tuple(one for one in found if _apart(one, age, on) <= years)
        if len(near) >= CHILDREN_WANTED:
            break
    return near


def _apart(one: Interpretation, age: float, on: date) -> float:
    days = _recent(usable_days(one.days, on), on)
    return abs(age_of(days, on) - age) if days else math.inf


def _recent(days: Sequence[DayScore], on: date) -> tuple[DayScore, ...]:
    return tuple(day for day in days if on - day.on <= timedelta(weeks=WEEKS_BACK))


def age_of(days: Sequence[DayScore], on: date) -> float:
    """Age of a child on a date, from the newest of their days."""
    return days[-1].age + (on - days[-1].on).days / 365.25


def fit_pool(
    found: Sequence[Interpretation],
    on: date,
    *,
    error: ErrorModel,
    cap: float | None = None,
    floor: float | None = 0.0,
) -> Pool:
    """Fit the common trend of one series (and side): partial pooling with the measure's own error model.

    Time is in weeks from `on`, over at most 60 weeks. Noise variances are SEM^2 at the fitted level, never at the score
    itself, which would make low scores look sure. A value that is only 'at least' enters as what it adds to the belief
    without it (see `censored.bound_as_value`), and so never lowers anything. Intervals use Student's t on children - 2.
    """
    histories = {one.athlete: _recent(usable_days(one.days, on), on) for one in found}
    if len(histories) < len(found):
        raise ValueError("A child appears twice: pool one series and one side.")
    days = {athlete: kept for athlete, kept in histories.items() if kept}
    ages = {athlete: age_of(kept, on) for athlete, kept in days.items()}
    twice = sum(len({day.on for day in kept}) > 1 for kept in days.values())
    if twice < CHILDREN_NEEDED:
        return Pool(on, None, error, cap, floor, twice, math.inf, {}, ages)
    factor = t_factor(LEVEL, twice - 2)
    trends = _fit_or_none(days, on, error)
    if trends is None:
        return Pool(on, None, error, cap, floor, twice, math.inf, {}, ages)
    pool = Pool(on, trends, error, cap, floor, twice, factor, _newest(days, on), ages)
    return replace(pool, factor=pool.factor * _looking_back(days, pool))


def _newest(days: Mapping[str, Sequence[DayScore]], on: date) -> dict[str, float]:
    return {athlete: (kept[-1].on - on).days / 7 for athlete, kept in days.items()}


def _looking_back(days: Mapping[str, Sequence[DayScore]], pool: Pool) -> float:
    """How much wider or narrower the ranges must be to have held four of five newest days.

    The newest day of each child with three is predicted from the rest; the misses in standard errors, ranked,
    give the factor that would have covered the stated share (Vovk and others 2005, conformal prediction); a newest
    day on which the child chose to stop is neither hit nor miss and is left out.
    It is drawn towards 1 as by fifteen children and bounded, because a few dozen days say only so much.
    """
    before = {athlete: kept[:-1] if len(kept) > 2 else kept for athlete, kept in days.items()}
    newest = {athlete: kept[-1] for athlete, kept in days.items() if len(kept) > 2 and not stopped(kept[-1])}
    if len(newest) < CHILDREN_TO_LOOK_BACK:
        return 1.0
    trends = _fit_or_none(before, pool.on, pool.error, pool.trends)
    if trends is None:
        return 1.0
    earlier = replace(pool, trends=trends, newest=_newest(before, pool.on))
    misses = sorted(
        _miss(earlier, athlete, day) for athlete, day in newest.items() if athlete in trends.children
    )
    if len(misses) < CHILDREN_TO_LOOK_BACK:
        return 1.0
    rank = min(math.ceil(LEVEL * (len(misses) + 1)), len(misses))
    found = misses[rank - 1] / pool.factor
    steadied = (len(misses) * found + CHILDREN_TO_LOOK_BACK) / (len(misses) + CHILDREN_TO_LOOK_BACK)
    return min(max(steadied, NARROWEST), WIDEST)


def _miss(pool: Pool, athlete: str, day: DayScore) -> float:
    mean, spread = pool.spread(athlete, (day.on - pool.on).days / 7, clocks=day.clock_variance)
    gap = day.held - mean
    return max(gap, 0.0) / spread if day.at_least else abs(gap) / spread


#: What a day says, as a value and its noise variance, for each child; None for a bound that says nothing.
Said: TypeAlias = dict[str, list[tuple[float, float] | None]]


def _fit_or_none(
    histories: Mapping[str, Sequence[DayScore]], on: date, error: ErrorModel, start: Trends | None = None
) -> Trends | None:
    """The fit, or None: days that are only 'at least' may leave too few that show a direction."""
    try:
        return _fit(histories, on, error, start)
    except NotEnough:
        return None


def _fit(
    histories: Mapping[str, Sequence[DayScore]], on: date, error: ErrorModel, start: Trends | None = None
) -> Trends:
    """Fit, then say anew what each 'at least' adds to the belief without it, and fit again."""
    plain = [day.held for days in histories.values() for day in days if not day.at_least]
    typical = float(np.mean(plain)) if plain else -math.inf
    said = {athlete: _said_at_first(days, error, typical) for athlete, days in histories.items()}
    trends = _fit_said(histories, said, on, start)
    bounds = any(day.at_least for days in histories.values() for day in days)
    for _ in range(PASSES if bounds else 1):
        said = {
            athlete: _said(athlete, days, said[athlete], on, error, trends)
            for athlete, days in histories.items()
        }
        trends = _fit_said(histories, said, on, trends)
    return trends


def _fit_said(
    histories: Mapping[str, Sequence[DayScore]], said: Said, on: date, start: Trends | None
) -> Trends:
    lines = []
    for athlete, days in histories.items():
        heard = [
            ((day.on - on).days / 7, *one)
            for day, one in zip(days, said[athlete], strict=True)
            if one is not None
        ]
        times, values, noises = np.array(heard, dtype=np.float64).reshape(-1, 3).T
        lines.append(Line(athlete, times, values, noises))
    return fit_trends(lines, noise_weight=NOISE_WEIGHT, steady=True, start=start)


def _said_at_first(
    days: Sequence[DayScore], error: ErrorModel, typical: float
) -> list[tuple[float, float] | None]:
    """Before anything is fitted: noise at the child's mean; an 'at least' under that mean says nothing yet.

    A child with nothing but 'at least' is held against `typical`, the mean of all plain days of the pool.
    """
    plain = [day.held for day in days if not day.at_least]
    mean = float(np.mean(plain)) if plain else typical
    return [
        None
        if day.at_least and day.held < mean
        else (day.held, error.sem(mean if plain else day.held) ** 2 + day.clock_variance)
        for day in days
    ]


def _said(
    athlete: str,
    days: Sequence[DayScore],
    before: Sequence[tuple[float, float] | None],
    on: date,
    error: ErrorModel,
    trends: Trends,
) -> list[tuple[float, float] | None]:
    found: list[tuple[float, float] | None] = []
    for day, old in zip(days, before, strict=True):
        mean, variance = trends.at(athlete if athlete in trends.children else None, (day.on - on).days / 7)
        if not day.at_least:
            found.append((day.held, error.sem(mean) ** 2 + day.clock_variance))
            continue
        if old is not None:  # the belief without what this day had said
            precision = max(1 / variance - 1 / (old[1] * trends.residual), FAINTEST / variance)
            mean += (mean - old[0]) / (old[1] * trends.residual * precision)
            variance = 1 / precision
        noise = trends.residual * (error.sem(mean) ** 2 + day.clock_variance)
        added = bound_as_value(day.held, mean, variance, noise)
        found.append(None if added is None else (added[0], added[1] / trends.residual))
    return found
