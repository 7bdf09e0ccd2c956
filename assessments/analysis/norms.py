"""The club's own results -> smoothed percentiles by age band, as a draft for the director to look at.

Nothing here is adopted by itself, and nothing is shown to families. A band with few children has no values.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from assessments.analysis.pool import usable_days
from assessments.analysis.records import Band, Benchmark, Interpretation
from assessments.analysis.samples import BoolArray, FloatArray, Interval

PERCENTS = (10.0, 25.0, 50.0, 75.0, 90.0)
BANDWIDTH = 0.5  # years: standard deviation of the kernel
FARTHEST = 1.5  # years: results farther from the middle of a band do not enter it
CHILDREN_NEEDED = 20
DRAWS = 300
SEED = 20260901
LEVEL = 0.80


@dataclass(frozen=True, slots=True)
class NormBand:
    """One age band: percentiles with their intervals, None where they lie above the cap or nothing can be said."""

    band: str
    age: float  # middle of the band
    children: int  # whose result lies in the band itself
    enough: bool
    values: tuple[float | None, ...]
    intervals: tuple[Interval | None, ...]


@dataclass(frozen=True, slots=True)
class Norms:
    """Percentiles of one series (and side) of one club."""

    percents: tuple[float, ...]
    bands: tuple[NormBand, ...]
    needed: int
    level: float  # of the intervals


@dataclass(frozen=True, slots=True)
class _Results:
    ages: FloatArray
    values: FloatArray
    stopped: BoolArray  # False: the value is only 'at least'

    def of(self, rows: NDArray[np.int64]) -> _Results:
        return _Results(self.ages[rows], self.values[rows], self.stopped[rows])


def club_norms(
    found: Sequence[Interpretation],
    bands: Sequence[Band],
    on: date,
    *,
    percents: Sequence[float] = PERCENTS,
    needed: int = CHILDREN_NEEDED,
    draws: int = DRAWS,
    seed: int = SEED,
    lowest: float | None = 0.0,
    cap: float | None = None,
) -> Norms:
    """Percentiles at the middle of each band from results weighted by their distance in age.

    Each child gives one result to a band: the one nearest in age to its middle. Results get normal kernel
    weights (0.5 years); values that are only 'at least' enter as in Kaplan & Meier 1958, so a cap lowers
    nothing, and a percentile above the measure's `cap` has no value. All percentiles of a band come from one
    distribution and so cannot cross; one common shift, slope * (middle - mean age of the results), takes out the
    pull of one-sided ages at the ends (local linear regression, Fan & Gijbels 1996). Intervals: children drawn
    anew with replacement (Efron 1979), seeded. Do not use across protocols or variants, nor for another club.
    """
    if not percents or any(not 0 < percent < 100 for percent in percents) or any(np.diff(percents) <= 0):
        raise ValueError("Percentiles lie between 0 and 100 and rise.")
    random = np.random.default_rng(seed)
    rows = []
    for band in bands:
        middle = (band.low + band.high) / 2
        results = _nearest(found, middle, on)
        inside = int(((results.ages >= band.low) & (results.ages < band.high)).sum())
        if inside < needed:
            nothing = (None,) * len(percents)
            rows.append(NormBand(band.id, middle, inside, False, nothing, nothing))
            continue
        values = _percentiles(results, middle, percents, lowest, cap)
        drawn = [
            _percentiles(
                results.of(random.integers(0, len(results.ages), len(results.ages))),
                middle,
                percents,
                lowest,
                cap,
            )
            for _ in range(draws)
        ]
        intervals = tuple(_interval([row[place] for row in drawn]) for place in range(len(percents)))
        rows.append(NormBand(band.id, middle, inside, True, values, intervals))
    return Norms(tuple(percents), tuple(rows), needed, LEVEL)


def _nearest(found: Sequence[Interpretation], middle: float, on: date) -> _Results:
    """One result a child: the one nearest in age to the middle of the band, the newer of two as near."""
    kept = []
    for one in found:
        days = usable_days(one.days, on)
        near = [day for day in days if abs(day.age - middle) <= FARTHEST]
        if near:
            kept.append(min(reversed(near), key=lambda day: abs(day.age - middle)))
    return _Results(
        np.array([day.age for day in kept], dtype=np.float64),
        np.array([day.held for day in kept], dtype=np.float64),
        np.array([not day.at_least for day in kept], dtype=np.bool_),
    )


def _percentiles(
    results: _Results, middle: float, percents: Sequence[float], lowest: float | None, cap: float | None
) -> tuple[float | None, ...]:
    weights = np.exp(-0.5 * ((results.ages - middle) / BANDWIDTH) ** 2)
    levels, mass, left = _masses(results.values, results.stopped, weights)
    if len(levels) == 0:
        return (None,) * len(percents)
    rank = np.cumsum(mass) - mass / 2
    # With something left above the highest level, ranks beyond it are above the cap: nothing is known there.
    highest = rank[-1] if left > 1e-9 else 1.0
    shift = _shift(results, weights, middle)
    values: list[float | None] = []
    for percent in percents:
        if percent / 100 > highest:
            values.append(None)
            continue
        value = float(np.interp(percent / 100, rank, levels)) + shift
        value = value if lowest is None else max(value, lowest)
        values.append(None if cap is not None and value > cap else value)
    return tuple(values)


def _masses(
    values: FloatArray, stopped: BoolArray, weights: FloatArray
) -> tuple[FloatArray, FloatArray, float]:
    """Weighted Kaplan-Meier: share of the distribution at each level where somebody stopped, and what is left."""
    levels, where = np.unique(values[stopped], return_inverse=True)
    here = np.bincount(where, weights=weights[stopped], minlength=len(levels))
    order = np.argsort(values)
    below = np.concatenate([[0.0], np.cumsum(weights[order])])
    at_risk = below[-1] - below[np.searchsorted(values[order], levels)]
    left = np.cumprod(np.clip(1 - here / at_risk, 0.0, 1.0))
    mass = -np.diff(np.concatenate([[1.0], left]))
    return levels, mass, float(left[-1]) if len(left) else 1.0


def _shift(results: _Results, weights: FloatArray, middle: float) -> float:
    total = float(weights.sum())
    mean_age = float((weights * results.ages).sum()) / total
    mean_value = float((weights * results.values).sum()) / total
    spread = float((weights * (results.ages - mean_age) ** 2).sum())
    if spread <= 1e-12:
        return 0.0
    slope = float((weights * (results.ages - mean_age) * (results.values - mean_value)).sum()) / spread
    return slope * (middle - mean_age)


def _interval(drawn: Sequence[float | None]) -> Interval | None:
    """Middle 80 % of the drawn values; one above the cap counts as higher than any (an end at infinity)."""
    ordered = sorted(math.inf if value is None else value for value in drawn)
    if not ordered:
        return None
    cut = round((len(ordered) - 1) * (1 - LEVEL) / 2)
    low, high = ordered[cut], ordered[-1 - cut]
    return (low, high) if math.isfinite(low) else None


def draft_benchmarks(
    norms: Norms,
    item: str,
    *,
    building: float = 25.0,
    aim: float = 50.0,
    precision: float = 1.0,
    cap: float | None = None,
) -> tuple[Benchmark, ...]:
    """A draft of benchmark rows: 'building' from one percentile of the club's children and the aim from another.

    Values are rounded down to the precision of the measure and the aim lies at least one step above. Bands
    with too few children, or with an aim above the cap, have no row. A draft edition for the director to
    change; percentiles of a club say what is, not what should be. Figures under those of the band before are left as they
    are, and the note says so: a fall with age is more likely chance or who was tested than what children can do.
    """
    if building not in norms.percents or aim not in norms.percents or building >= aim:
        raise ValueError("Both must be percentiles of these norms, the aim above.")
    low, high = norms.percents.index(building), norms.percents.index(aim)
    rows: list[Benchmark] = []
    for band in norms.bands:
        begins, ends = band.values[low], band.values[high]
        if begins is None or ends is None:
            continue
        start = _down(begins, precision)
        goal = max(_down(ends, precision), start + precision)
        if cap is not None and goal > cap:
            continue
        note = f"Draft: percentiles {building:g} and {aim:g} of {band.children} children of this club."
        if rows and (start < rows[-1].building or goal < rows[-1].aim):
            note += f" Lower than at {rows[-1].band}: look at it before you publish."
        rows.append(Benchmark(item, band.band, start, goal, "derived", (), note))
    return tuple(rows)


def _down(value: float, precision: float) -> float:
    return math.floor(value / precision + 1e-9) * precision
