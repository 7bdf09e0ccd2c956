"""One child's own line: a slope that one odd day cannot bend, and a prediction from enough own days."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from assessments.analysis.samples import Interval, NotEnough, normal_factor, pairs, t_factor

POINTS_FOR_INTERVAL = 5


@dataclass(frozen=True, slots=True)
class Slope:
    """Median of the slopes between any two days, in value per unit of time."""

    slope: float
    intercept: float
    points: int
    interval: Interval | None  # None under five points: two would give an interval of no width


def theil_sen(times: ArrayLike, values: ArrayLike, *, confidence: float = 0.90) -> Slope:
    """Median slope over all pairs of days; days at the same time make no pair.

    Intercept: median value - slope * median time. The interval takes the slopes of rank
    (N -/+ z * sqrt(variance of Kendall's S)) / 2, with the variance corrected for ties. Source: Sen 1968,
    J Am Stat Assoc 63:1379, doi:10.1080/01621459.1968.10480934. Robust against an odd day, not against a
    change of protocol. NotEnough when all days fall together.
    """
    when, found = pairs(times, values)
    first, second = np.triu_indices(len(when), k=1)
    apart = when[second] - when[first]
    slopes = np.sort((found[second] - found[first])[apart != 0] / apart[apart != 0])
    if len(slopes) == 0:
        raise NotEnough("A slope needs two different days.")
    slope = float(np.median(slopes))
    intercept = float(np.median(found) - slope * np.median(when))
    n = len(when)
    if n < POINTS_FOR_INTERVAL:
        return Slope(slope, intercept, n, None)
    variance = (_pairs_variance(n) - _ties(when) - _ties(found)) / 18
    reach = normal_factor(confidence) * math.sqrt(max(0.0, variance))
    low = max(round((len(slopes) - reach) / 2) - 1, 0)
    high = min(round((len(slopes) + reach) / 2), len(slopes) - 1)
    return Slope(slope, intercept, n, (float(slopes[low]), float(slopes[high])))


def _pairs_variance(count: float) -> float:
    return count * (count - 1) * (2 * count + 5)


def _ties(row: ArrayLike) -> float:
    _, counts = np.unique(np.asarray(row), return_counts=True)
    return float(sum(_pairs_variance(int(count)) for count in counts))


@dataclass(frozen=True, slots=True)
class Prediction:
    """A predicted value with the range in which a new one should fall."""

    value: float
    low: float
    high: float
    note: str  # says where the range was cut, "" when it was not


def predict(
    times: ArrayLike,
    values: ArrayLike,
    at: float,
    *,
    level: float = 0.80,
    floor: float | None = None,
    new: bool = True,
) -> Prediction:
    """Straight line by least squares and its prediction interval at a new time.

    Interval of a new value: line -/+ t(n - 2) * s * sqrt(1 + 1/n + (at - mean)^2 / sum of squares); with `new` False
    that of the line itself, without the 1. Source: any text on regression; checked against R. Needs five days. `floor` cuts
    an end that cannot be (seconds and counts below 0) and says so.
    """
    when, found = pairs(times, values, at_least=POINTS_FOR_INTERVAL)
    middle = float(when.mean())
    squares = float(((when - middle) ** 2).sum())
    if squares == 0:
        raise NotEnough("A line needs two different days.")
    slope = float(((when - middle) * found).sum()) / squares
    line = float(found.mean()) + slope * (at - middle)
    left = found - found.mean() - slope * (when - middle)
    n = len(when)
    noise = math.sqrt(float((left**2).sum()) / (n - 2))
    reach = t_factor(level, n - 2) * noise * math.sqrt(new + 1 / n + (at - middle) ** 2 / squares)
    return cut(line, line - reach, line + reach, floor=floor)


def cut(
    value: float, low: float, high: float, *, floor: float | None = None, cap: float | None = None
) -> Prediction:
    """A prediction kept between what the measure allows, with a note when an end was cut."""
    notes = []
    if floor is not None and low < floor:
        notes.append(f"cut at {floor:g}, the lowest there can be")
    if cap is not None and high > cap:
        notes.append(f"cut at {cap:g}, where the clock or count stops")
    lowest, highest = _or(floor, -math.inf), _or(cap, math.inf)
    value, low, high = (min(max(end, lowest), highest) for end in (value, low, high))
    return Prediction(value, low, high, "; ".join(notes))


def _or(bound: float | None, otherwise: float) -> float:
    return otherwise if bound is None else bound
