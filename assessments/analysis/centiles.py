"""Where a value stands among children of that age in a published table: value <-> z <-> centile.

Two kinds of table are read. An LMS table gives three smooth numbers for each age (Cole & Green 1992,
Stat Med 11:1305, doi:10.1002/sim.4780111005); a percentile table gives the percentiles themselves by
age band. Neither is a target, and none of it is ever shown to a family: a centile compares a child with
other children, measured elsewhere, by another protocol.

Do not use these functions outside the ages of the table, for a value of zero (an LMS table has no z for
it), or for another protocol without saying so beside the figure.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from assessments.analysis.samples import sample

STANDARD = NormalDist()
POOLING_Z = STANDARD.inv_cdf(0.90)
#: L is 0, or so near the smallest number there is that dividing by it would lose all digits.
NO_POWER = 1e-200
Where = Literal["at", "at_least", "below", "above", "outside_ages", "off_the_scale"]


class OffTheScale(ValueError):
    """The formula has no answer for this value, or for this z."""


class OutsideAges(ValueError):
    """The table says nothing about this age."""


# --- score <-> z <-> centile ----------------------------------------------------------------------


def _check_lms(l: float, m: float, s: float) -> None:
    if not (math.isfinite(l) and math.isfinite(m) and math.isfinite(s) and m > 0 and s > 0):
        raise ValueError(f"L, M and S must be finite with M and S above 0, not {l}, {m}, {s}.")


def z_from_lms(value: float, l: float, m: float, s: float) -> float:
    """z of a value: ((value / M) ** L - 1) / (L * S), and ln(value / M) / S when L is 0.

    Source: Cole & Green 1992. Written with expm1, because the plain power loses digits when L is near 0.
    Do not use for values at or below zero: they are refused with OffTheScale.
    """
    _check_lms(l, m, s)
    if not (value > 0 and math.isfinite(value)):
        raise OffTheScale(f"An LMS table has no z for {value}: it needs a value above 0.")
    log_ratio = math.log(value / m)
    if abs(l) < NO_POWER:
        return log_ratio / s
    try:
        return math.expm1(l * log_ratio) / (l * s)
    except OverflowError as error:
        raise OffTheScale(f"{value} is too far from the middle of the table ({m}) to have a z.") from error


def value_from_lms(z: float, l: float, m: float, s: float) -> float:
    """Value at a z: M * (1 + L * S * z) ** (1 / L), and M * exp(S * z) when L is 0.

    Source: Cole & Green 1992. Do not use where 1 + L * S * z is not above 0: the curve ends there, and
    OffTheScale is raised instead of a complex number.
    """
    _check_lms(l, m, s)
    inner = l * s * z
    if not math.isfinite(inner) or inner <= -1:
        raise OffTheScale(f"The table has no value at z = {z}: the curve ends before it.")
    try:
        value = m * math.exp(s * z if abs(l) < NO_POWER else math.log1p(inner) / l)
    except OverflowError as error:
        raise OffTheScale(f"The table has no finite value at z = {z}.") from error
    return value


def centile_of(z: float) -> float:
    """Centile of a z, 0 to 100: the share of a normal distribution that lies below it."""
    if math.isnan(z):
        raise ValueError("A centile needs a z, not a blank.")
    return 50.0 * math.erfc(-z / math.sqrt(2.0))


# --- tables ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Placement:
    """Where one value stands in one table, or why it has no place there."""

    where: Where
    centile: float | None
    z: float | None
    reason: str  # one plain sentence


@dataclass(frozen=True, slots=True)
class LmsTable:
    """L, M and S by age; between two ages each is drawn as a straight line."""

    ages: tuple[float, ...]
    l: tuple[float, ...]
    m: tuple[float, ...]
    s: tuple[float, ...]

    def __post_init__(self) -> None:
        _check_rising(self.ages)
        if not len(self.ages) == len(self.l) == len(self.m) == len(self.s):
            raise ValueError("Every age of an LMS table needs its L, M and S.")
        for row in zip(self.l, self.m, self.s, strict=True):
            _check_lms(*row)

    def at(self, age: float) -> tuple[float, float, float]:
        """L, M and S at an age; OutsideAges before the first and after the last."""
        if not self.ages[0] <= age <= self.ages[-1]:
            raise OutsideAges(f"The table covers {self.ages[0]:g} to {self.ages[-1]:g} years, not {age:.2f}.")
        l, m, s = (float(np.interp(age, self.ages, column)) for column in (self.l, self.m, self.s))
        return l, m, s

    def value(self, centile: float, age: float) -> float:
        """The value that stands at a centile (above 0, below 100) at an age."""
        if not 0 < centile < 100:
            raise ValueError(f"A centile lies between 0 and 100, not {centile}.")
        return value_from_lms(STANDARD.inv_cdf(centile / 100), *self.at(age))

    def place(self, value: float, age: float, *, at_least: bool = False) -> Placement:
        """Centile of a value at an age; a value that is only 'at least' gives a centile 'at least'."""
        try:
            z = z_from_lms(value, *self.at(age))
        except OutsideAges as error:
            return Placement("outside_ages", None, None, str(error))
        except OffTheScale as error:
            return Placement("off_the_scale", None, None, str(error))
        centile = centile_of(z)
        if at_least:
            return Placement(
                "at_least", centile, z, f"At least centile {centile:.0f} of this table at {age:.1f} years."
            )
        return Placement("at", centile, z, f"Centile {centile:.0f} of this table at {age:.1f} years.")


@dataclass(frozen=True, slots=True)
class PercentileBand:
    """One row of a percentile table: children from `age_from` to `age_to` completed years."""

    age_from: int
    age_to: int
    values: tuple[float, ...]
    count: int | None = None


@dataclass(frozen=True, slots=True)
class PercentileTable:
    """Percentiles by age band. `at` joins the middles of the bands; `band` gives the row as published."""

    percents: tuple[float, ...]
    bands: tuple[PercentileBand, ...]

    def __post_init__(self) -> None:
        _check_rising(self.percents)
        if not self.bands:
            raise ValueError("A percentile table needs at least one band.")
        for band in self.bands:
            if len(band.values) != len(self.percents) or not np.isfinite(band.values).all():
                raise ValueError(f"The band from {band.age_from} years needs one value for each percentile.")
            if any(after < before for before, after in zip(band.values, band.values[1:], strict=False)):
                raise ValueError(f"Percentiles of the band from {band.age_from} years go down.")
            if band.age_to < band.age_from:
                raise ValueError(f"The band from {band.age_from} years ends before it begins.")
        for before, after in zip(self.bands, self.bands[1:], strict=False):
            if after.age_from != before.age_to + 1:
                raise ValueError(f"The band from {after.age_from} years does not follow the one before it.")

    def band(self, age: float) -> PercentileBand:
        """The published row for an age; OutsideAges when there is none."""
        for band in self.bands:
            if band.age_from <= age < band.age_to + 1:
                return band
        first, last = self.bands[0].age_from, self.bands[-1].age_to + 1
        raise OutsideAges(f"The table covers {first} years to the day before {last}, not {age:.2f}.")

    def at(self, age: float) -> tuple[float, ...]:
        """Percentiles at an age, drawn straight between the middles of the bands and level beyond them."""
        self.band(age)
        middles = [(band.age_from + band.age_to + 1) / 2 for band in self.bands]
        columns = zip(*(band.values for band in self.bands), strict=True)
        return tuple(float(np.interp(age, middles, column)) for column in columns)

    def place(self, value: float, age: float, *, at_least: bool = False) -> Placement:
        """Between which percentiles a value stands; beyond the outer ones only 'below' or 'above'."""
        if not math.isfinite(value):
            return Placement("off_the_scale", None, None, "A blank has no place in a table.")
        try:
            edges = self.at(age)
        except OutsideAges as error:
            return Placement("outside_ages", None, None, str(error))
        low, high = self.percents[0], self.percents[-1]
        if value > edges[-1]:
            return Placement("above", high, None, f"Above percentile {high:g}, the highest in this table.")
        if value < edges[0] and at_least:
            return Placement("at_least", None, None, "At least this value, which this table cannot place.")
        if value < edges[0]:
            return Placement("below", low, None, f"Below percentile {low:g}, the lowest in this table.")
        centile = _between(value, edges, self.percents)
        if at_least:
            return Placement("at_least", centile, None, f"At least percentile {centile:.0f} of this table.")
        return Placement("at", centile, None, f"About percentile {centile:.0f} of this table.")


def _check_rising(steps: Sequence[float]) -> None:
    if len(steps) == 0 or not np.isfinite(steps).all() or any(np.diff(steps) <= 0):
        raise ValueError("Ages and percentiles of a table must rise from row to row.")


def _between(value: float, edges: Sequence[float], percents: Sequence[float]) -> float:
    """Straight line between two percentiles; the middle of them when several share one value."""
    same = [percent for edge, percent in zip(edges, percents, strict=True) if edge == value]
    if same:
        return (same[0] + same[-1]) / 2
    return float(np.interp(value, edges, percents))


# --- percentiles from records ---------------------------------------------------------------------


def weighted_percentiles(values: ArrayLike, weights: ArrayLike, percents: ArrayLike) -> tuple[float, ...]:
    """Percentiles of weighted records, on mid-ranked weights.

    Each record stands at (weights below it + half its own weight) / all weights; between records the value
    is drawn as a straight line and held level beyond the outer ones (the definition of Hazen 1914 with
    weights). Records with equal values count as one. Weights are sampling weights, never fewer than 0.
    Do not use for values that stopped at a cap: see the club's own norms for those.
    """
    scores, masses = sample(values, "values"), sample(weights, "weights")
    wanted = sample(percents, "percents")
    if len(scores) != len(masses):
        raise ValueError("Every value needs one weight.")
    if (masses < 0).any() or masses.sum() <= 0:
        raise ValueError("Weights must not be below 0, and not all of them 0.")
    if (wanted < 0).any() or (wanted > 100).any():
        raise ValueError("Percentiles lie between 0 and 100.")
    levels, where = np.unique(scores[masses > 0], return_inverse=True)
    mass = np.bincount(where, weights=masses[masses > 0])
    rank = (np.cumsum(mass) - mass / 2) / mass.sum()
    return tuple(float(found) for found in np.interp(wanted / 100, rank, levels))


# --- one table for all children ------------------------------------------------------------------


def pool_lms(first: LmsTable, second: LmsTable, *, share: float = 0.5) -> LmsTable:
    """One LMS table for a mixture of two groups of children, `share` of them from the first.

    The app keeps no sex, so tables by sex are joined. At each age the mixture has the cumulative share
    F(y) = share * Phi(z_first(y)) + (1 - share) * Phi(z_second(y)); its 10th, 50th and 90th percentiles
    are found by halving, and L, M and S are those of the one LMS curve through these three points:
    M is the median, L solves (P10 / M) ** L + (P90 / M) ** L = 2, and S = ((P90 / M) ** L - 1) / (L * z90).
    Pooling a table with itself gives that table back. Do not use for groups measured by two protocols.
    """
    if not 0 < share < 1:
        raise ValueError(f"A share lies between 0 and 1, not {share}.")
    if first.ages != second.ages:
        raise ValueError("Two tables are pooled age by age and need the same ages.")
    rows = []
    for age in first.ages:
        mixture = ((share, first.at(age)), (1 - share, second.at(age)))
        low, middle, high = (_mixture_value(mixture, part) for part in (0.10, 0.50, 0.90))
        rows.append(_lms_through(low, middle, high))
    l, m, s = zip(*rows, strict=True)
    return LmsTable(first.ages, l, m, s)


def _mixture_value(mixture: Sequence[tuple[float, tuple[float, float, float]]], part: float) -> float:
    ends = [value_from_lms(STANDARD.inv_cdf(part), *lms) for _, lms in mixture]
    low, high = min(ends), max(ends)

    def below(value: float) -> float:
        return sum(share * centile_of(z_from_lms(value, *lms)) / 100 for share, lms in mixture)

    return _halve(below, part, low, high)


def _lms_through(low: float, middle: float, high: float) -> tuple[float, float, float]:
    under, over = math.log(low / middle), math.log(high / middle)

    def power(l: float, log_ratio: float) -> float:
        return log_ratio if l == 0 else math.expm1(l * log_ratio) / l

    l = _halve(lambda candidate: power(candidate, under) + power(candidate, over), 0.0, -20.0, 20.0)
    return l, middle, power(l, over) / POOLING_Z


def _halve(rising: Callable[[float], float], target: float, low: float, high: float) -> float:
    """Where a rising function reaches the target, by halving the interval a hundred times."""
    for _ in range(100):
        middle = (low + high) / 2
        if rising(middle) < target:
            low = middle
        else:
            high = middle
    return (low + high) / 2
