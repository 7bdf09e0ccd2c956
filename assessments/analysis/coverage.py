"""Did the intervals hold what they promised? Misses counted, scored and compared with chance.

An interval of 80 % that covers 95 % is as wrong as one that covers 60 %: the first frightens nobody and
says nothing. Width and misses are therefore judged together.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from statistics import fmean

from assessments.analysis.reliability import wilson
from assessments.analysis.samples import Interval


@dataclass(frozen=True, slots=True)
class Held:
    """One prediction interval and what came."""

    group: str  # age band, or "" for all
    low: float
    high: float
    value: float
    stopped: bool = False  # the child chose to stop: more might have come, so it says neither hit nor miss
    cut: bool = False  # ends at the cap or at the lowest there can be, so it can be missed on one side only
    athlete: str = ""
    on: date | None = None  # when the value came

    @property
    def covered(self) -> bool:
        """Whether the value lies in the interval, ends included."""
        return self.low <= self.value <= self.high


@dataclass(frozen=True, slots=True)
class Coverage:
    """Share of intervals that held the value; of those that can be missed on both sides."""

    group: str
    count: int
    covered: int
    interval: Interval | None  # of the share
    score: float  # mean interval score; NaN when nothing was counted
    stopped: int = 0  # left out of the count: the child chose to stop
    cut: int = 0  # left out of the count: the interval can be missed on one side only
    cut_covered: int = 0  # of these, how many held the value

    @property
    def share(self) -> float:
        """Covered / count; NaN when nothing was counted."""
        return self.covered / self.count if self.count else math.nan


def coverage(held: Iterable[Held], *, level: float) -> tuple[Coverage, ...]:
    """Coverage of all intervals (group "") and of each group, groups in alphabetical order.

    An interval that was cut promises more than `level`: half of the misses cannot happen, so that 1 - (1 - level) / 2
    of them should hold (9 of 10 at 80 %). It is counted apart. A blank (NaN) is refused, because it would be a miss.
    """
    found = list(held)
    if any(math.isnan(number) for one in found for number in (one.low, one.high, one.value)):
        raise ValueError("An interval or what came is a blank; it says nothing.")
    groups = sorted({one.group for one in found if one.group})
    return tuple(
        _of(group, [one for one in found if group in ("", one.group)], level) for group in ("", *groups)
    )


def _of(group: str, held: list[Held], level: float) -> Coverage:
    stopped = sum(one.stopped for one in held)
    cut = [one for one in held if one.cut and not one.stopped]
    both = [one for one in held if not (one.cut or one.stopped)]
    covered = sum(one.covered for one in both)
    scores = [interval_score(one.low, one.high, one.value, level=level) for one in both]
    return Coverage(
        group,
        len(both),
        covered,
        wilson(covered, len(both)),
        fmean(scores) if scores else math.nan,
        stopped,
        len(cut),
        sum(one.covered for one in cut),
    )


def one_a_child(held: Iterable[Held]) -> tuple[Held, ...]:
    """One interval a child, because sides and versions of one child are no independent results.

    That with the newest day; of several that day the one expected lowest (middle of the interval), which is the side
    that decides. Both are known before the value came: choosing the lower value would count bad luck twice.
    """
    chosen: dict[str, Held] = {}
    for one in sorted(held, key=lambda one: (-(one.on or date.min).toordinal(), one.low + one.high, one.low)):
        chosen.setdefault(one.athlete, one)
    return tuple(chosen.values())


def interval_score(low: float, high: float, value: float, *, level: float) -> float:
    """Width + 2 / (1 - level) * how far the value lies outside. Lower is better.

    Source: Gneiting & Raftery 2007, J Am Stat Assoc 102:359, doi:10.1198/016214506000001437. Compares
    methods on the same predictions only; it is in the unit of the measure.
    """
    if not low <= high:
        raise ValueError(f"An interval runs upwards, not from {low} to {high}.")
    if not 0 < level < 1:
        raise ValueError(f"A level lies between 0 and 1, not {level}.")
    outside = max(low - value, value - high, 0.0)
    return (high - low) + 2 / (1 - level) * outside


@dataclass(frozen=True, slots=True)
class MissTest:
    """Whether a count of misses fits the promised share of misses."""

    statistic: float
    p_value: float
    fits: bool


def kupiec(misses: int, of: int, promised: float, *, alpha: float = 0.05) -> MissTest:
    """Likelihood ratio of the observed share of misses to the promised one, against chi-square with 1 df.

    LR = 2 [x ln(x / (n p)) + (n - x) ln((n - x) / (n (1 - p)))]. Source: Kupiec 1995, J Derivatives 3(2):73,
    doi:10.3905/jod.1995.407942. Assumes independent predictions; many of one child are not.
    """
    if not (0 <= misses <= of and of > 0 and 0 < promised < 1):
        raise ValueError(f"{misses} misses of {of} at {promised} cannot be judged.")
    hits = of - misses
    statistic = 2 * (_term(misses, of * promised) + _term(hits, of * (1 - promised)))
    p_value = math.erfc(math.sqrt(max(0.0, statistic) / 2))
    return MissTest(statistic, p_value, p_value > alpha)


def _term(count: int, expected: float) -> float:
    return count * math.log(count / expected) if count else 0.0


def misses_that_fit(of: int, promised: float, *, alpha: float = 0.05) -> Interval:
    """Fewest and most misses that `kupiec` does not reject."""
    fitting = [misses for misses in range(of + 1) if kupiec(misses, of, promised, alpha=alpha).fits]
    if not fitting:
        raise ValueError(f"No count of misses fits {promised} of {of}.")
    return fitting[0], fitting[-1]
