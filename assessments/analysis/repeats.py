"""The club's own repeat tests -> its own error of measurement, beside the one the programme starts with.

A starter error model is partly a guess. When enough children were measured twice within two weeks, before
training can have changed much, the differences show the real noise. The answer is offered with its
interval; only a new edition takes it over, and only a director publishes that.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from assessments.analysis.records import DayScore, ErrorModel
from assessments.analysis.reliability import sem_interval
from assessments.analysis.samples import Interval, t_factor

CHILDREN_NEEDED = 15
DAYS_APART = 14


@dataclass(frozen=True, slots=True)
class RepeatPair:
    """One child measured twice: same measure, protocol, variant and side."""

    athlete: str
    first: float
    second: float
    first_on: date
    second_on: date


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
    model: ErrorModel | None  # starter times scale
    sem_at: tuple[float, float, float, float] | None  # value, SEM there, low, high; value is the pairs' mean
    shift: float | None  # second minus first: learning, when above 0
    shift_interval: Interval | None
    reason: str


def repeat_pair(athlete: str, days: Sequence[DayScore], *, days_apart: int = DAYS_APART) -> RepeatPair | None:
    """The earliest two scored days of one child on one series that lie 1 to `days_apart` days apart.

    Familiarisation days, first looks, values that are only 'at least' and trials that could not start are
    left out: they are not two measurements of the same thing. One pair a child, so that pairs are independent.
    """
    plain = sorted((day for day in days if _is_plain(day)), key=lambda day: day.on)
    for first, second in pairwise(plain):
        if timedelta(0) < second.on - first.on <= timedelta(days=days_apart):
            return RepeatPair(athlete, first.value, second.value, first.on, second.on)
    return None


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

    Each difference d has expected variance 2 * SEM(m)^2 at the pair's mean m, so
    scale^2 = sum((d - shift)^2 / (2 SEM(m)^2)) / (n - 1), shift being the mean difference with weights
    1 / SEM(m)^2; with a flat starter this is the typical error SD(d) / sqrt(2) of Hopkins 2000. The interval
    is the chi-square interval of a variance on n - 1 degrees of freedom. Do not use when children trained
    hard between the two days, or when many values stopped at the cap: then noise and change are mixed up.
    """
    kept = _one_a_child(repeats)
    n = len(kept)
    if n < 2:
        words = f"{n} of {needed} children measured twice within {days_apart} days."
        return ErrorEstimate(n, needed, days_apart, False, starter, None, None, None, None, None, None, words)
    first = np.array([pair.first for pair in kept], dtype=np.float64)
    second = np.array([pair.second for pair in kept], dtype=np.float64)
    expected = np.array([starter.sem((pair.first + pair.second) / 2) for pair in kept])
    if not (np.isfinite(first).all() and np.isfinite(second).all() and (expected > 0).all()):
        raise ValueError("Repeat tests need finite values and a starter error above 0.")
    weight, difference = 1 / expected**2, second - first
    shift = float((weight * difference).sum() / weight.sum())
    scale = math.sqrt(float(((difference - shift) ** 2 / (2 * expected**2)).sum()) / (n - 1))
    spread = sem_interval(scale, n - 1, confidence=confidence)
    reach = t_factor(confidence, n - 1) * scale * math.sqrt(2 / float(weight.sum()))
    enough = n >= needed
    middle = float(np.mean((first + second) / 2))
    at_middle = starter.sem(middle)
    return ErrorEstimate(
        n,
        needed,
        days_apart,
        enough,
        starter,
        scale,
        (spread.low, spread.high),
        _scaled(starter, scale, n) if enough else None,
        (middle, scale * at_middle, spread.low * at_middle, spread.high * at_middle),
        shift,
        (shift - reach, shift + reach),
        _reason(n, needed, days_apart),
    )


def _one_a_child(repeats: Iterable[RepeatPair]) -> list[RepeatPair]:
    earliest: dict[str, RepeatPair] = {}
    for pair in sorted(repeats, key=lambda pair: (pair.athlete, pair.first_on)):
        earliest.setdefault(pair.athlete, pair)
    return list(earliest.values())


def _scaled(starter: ErrorModel, scale: float, children: int) -> ErrorModel:
    note = f"From repeat tests of {children} children of this club."
    return ErrorModel(starter.a * scale, starter.b * scale, "derived", note)


def _reason(children: int, needed: int, days_apart: int) -> str:
    if children < needed:
        return (
            f"{children} of {needed} children measured twice within {days_apart} days: too few to take over."
        )
    return f"{children} children measured twice within {days_apart} days."
