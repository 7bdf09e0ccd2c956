"""The club's own repeat tests -> its own error of measurement, beside the one the programme starts with.

A starter error model is partly a guess. When enough children were measured twice within two weeks, before
training can have changed much, the differences show the real noise. The answer is offered with its
interval; only a new edition takes it over, and only a director publishes that.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from assessments.analysis.clocks import clock_bias, clock_error
from assessments.analysis.records import DayScore, ErrorModel
from assessments.analysis.reliability import sem_interval
from assessments.analysis.samples import ROUNDING, FloatArray, Interval, normal_factor, t_factor

CHILDREN_NEEDED = 15
DAYS_APART = 14
WIDEST = 1000.0  # times the starter's noise


@dataclass(frozen=True, slots=True)
class RepeatPair:
    """One child measured twice: same measure, protocol, variant and side."""

    athlete: str
    first: float
    second: float
    first_on: date
    second_on: date
    clock_variance: float = 0.0  # part of the expected (second - first)^2 that several clocks explain


@dataclass(frozen=True, slots=True)
class ErrorEstimate:
    """What the repeat tests say about a starter error model."""

    children: int
    needed: int
    days_apart: int
    enough: bool
    starter: ErrorModel
    scale: float | None  # the club's noise / the starter's noise
    scale_interval: Interval | None
    model: (
        ErrorModel | None
    )  # starter times scale, never below rounding; None where it must not be taken over
    sem_at: tuple[float, float, float, float] | None  # value, SEM there, low, high; value is the pairs' mean
    shift: float | None  # second minus first: learning, when above 0
    shift_interval: Interval | None
    reason: str

    @property
    def confirming(self) -> bool:
        """Whether the second days were lower beyond chance, as when only good days are looked at again."""
        return self.shift_interval is not None and self.shift_interval[1] < 0


def repeat_pair(
    athlete: str, days: Sequence[DayScore], *, timed: bool = False, days_apart: int = DAYS_APART
) -> RepeatPair | None:
    """The earliest two scored days of one child on one series that lie 1 to `days_apart` days apart.

    Familiarisation days, first looks, values that are only 'at least' and trials that could not start are
    left out: they are not two measurements of the same thing. One pair a child, so that pairs are independent.
    `timed` says whether a coach stopped a clock (holds): then several children at once add to the noise.
    """
    plain = sorted((day for day in days if _is_plain(day)), key=lambda day: day.on)
    for first, second in pairwise(plain):
        if timedelta(0) < second.on - first.on <= timedelta(days=days_apart):
            clocks = _clock_variance(first.at_once, second.at_once) if timed else 0.0
            return RepeatPair(athlete, first.value, second.value, first.on, second.on, clocks)
    return None


def _clock_variance(first: int, second: int) -> float:
    """Seconds squared that watching several clocks adds to a difference: both stops, and unequal lateness."""
    added = float((clock_error([first, second]) ** 2).sum())
    return added + float(clock_bias(second) - clock_bias(first)) ** 2


def _is_plain(day: DayScore) -> bool:
    lower_bound = day.at_least or day.outcome != "scored"
    return not (lower_bound or day.familiarisation or day.first_look) and math.isfinite(day.value)


def estimate_error(
    repeats: Iterable[RepeatPair],
    starter: ErrorModel,
    *,
    needed: int = CHILDREN_NEEDED,
    days_apart: int = DAYS_APART,
    confidence: float = 0.90,
) -> ErrorEstimate:
    """Scale of the starter's SEM(x) = max(a, b x) that explains the differences between repeat tests.

    Each difference d has expected variance scale^2 * 2 * SEM(m)^2 + c at the pair's mean m, c being what several
    clocks add, which is no part of the error of the test: scoring adds it again for the clocks of each day. The
    scale solves sum((d - shift)^2 / variance) = n - 1, shift being the mean difference with weights 1 / variance
    (Paule & Mandel 1982, J Res Natl Bur Stand 87:377); the interval solves for the chi-square quantiles on n - 1
    degrees of freedom (Viechtbauer 2007, Stat Med 26:37). With single clocks that is sum(...) / (n - 1) and the
    chi-square interval of a variance; with a flat starter too the typical error SD(d) / sqrt(2) of Hopkins 2000.
    Do not use when children trained hard between the two days, or when many values stopped at the cap: then
    noise and change are mixed up. Nor when a second day was asked for because the first was good: a lucky day is
    followed by a plainer one (regression to the mean), so that the shift comes out below 0 and the noise too small. Where
    the shift's interval lies wholly below 0 there is no model to take over; a milder selection is not noticed.
    """
    kept = _one_a_child(repeats)
    n = len(kept)
    if n < 2:
        words = f"{n} of {needed} children measured twice within {days_apart} days."
        return ErrorEstimate(n, needed, days_apart, False, starter, None, None, None, None, None, None, words)
    first = np.array([pair.first for pair in kept], dtype=np.float64)
    second = np.array([pair.second for pair in kept], dtype=np.float64)
    clocks = np.array([pair.clock_variance for pair in kept], dtype=np.float64)
    expected = np.array([starter.sem((pair.first + pair.second) / 2) for pair in kept])
    if not (np.isfinite(first).all() and np.isfinite(second).all() and (expected > 0).all()):
        raise ValueError("Repeat tests need finite values and a starter error above 0.")
    difference, enough = second - first, n >= needed
    middle = float(np.mean((first + second) / 2))
    at_middle = starter.sem(middle)
    # No difference seen in whole units is not no noise: the upper end and the weights begin at rounding.
    least = ROUNDING / at_middle
    scale, low, high = _scales(difference, 2 * expected**2, clocks, confidence)
    high = max(high, sem_interval(least, n - 1, confidence=confidence).high)
    weight = 1 / (max(scale, least) ** 2 * 2 * expected**2 + clocks)
    shift = float((weight * difference).sum() / weight.sum())
    reach = t_factor(confidence, n - 1) / math.sqrt(float(weight.sum()))
    confirming = shift + reach < 0
    return ErrorEstimate(
        n,
        needed,
        days_apart,
        enough,
        starter,
        scale,
        (low, high),
        _scaled(starter, scale, n) if enough and not confirming else None,
        (middle, scale * at_middle, low * at_middle, high * at_middle),
        shift,
        (shift - reach, shift + reach),
        _reason(n, needed, days_apart, confirming=confirming),
    )


def _scales(
    difference: FloatArray, unit: FloatArray, clocks: FloatArray, confidence: float
) -> tuple[float, float, float]:
    """Scale, and the ends of its interval: each solves Q(scale) = target, and Q falls as the scale grows."""
    from scipy.special import chdtri

    normal_factor(confidence)
    df, tail = len(difference) - 1, (1 - confidence) / 2

    def spread(scale: float) -> float:
        variance = scale**2 * unit + clocks
        shift = (difference / variance).sum() / (1 / variance).sum()
        return float(((difference - shift) ** 2 / variance).sum())

    return (
        _where(spread, float(df)),
        _where(spread, float(chdtri(df, tail))),
        _where(spread, float(chdtri(df, 1 - tail))),
    )


def _where(falling: Callable[[float], float], target: float) -> float:
    """Where a falling function of the scale meets its target, by halving; 0 when it is below it from the start."""
    low, high = 1e-9, WIDEST
    if falling(low) <= target:
        return 0.0
    for _ in range(80):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if falling(middle) > target else (low, middle)
    return math.sqrt(low * high)


def _one_a_child(repeats: Iterable[RepeatPair]) -> list[RepeatPair]:
    earliest: dict[str, RepeatPair] = {}
    for pair in sorted(repeats, key=lambda pair: (pair.athlete, pair.first_on)):
        earliest.setdefault(pair.athlete, pair)
    return list(earliest.values())


def _scaled(starter: ErrorModel, scale: float, children: int) -> ErrorModel:
    note = f"From repeat tests of {children} children of this club."
    return ErrorModel(max(starter.a * scale, ROUNDING), starter.b * scale, "derived", note)


def _reason(children: int, needed: int, days_apart: int, *, confirming: bool) -> str:
    twice = f"children measured twice within {days_apart} days"
    if children < needed:
        return f"{children} of {needed} {twice}: too few to take over."
    if confirming:
        return (
            f"{children} {twice}. The second day was lower: these look like confirmations asked for after a good day, which "
            "make the noise look too small. Not to be taken over."
        )
    return f"{children} {twice}."
