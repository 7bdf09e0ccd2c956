"""Blind second looks -> do coaches see the same shape, and who should practise judging together?

The aim is calibration, never a league table of coaches. What is said beyond plain counts needs ten different
children: looks at one child on two days are no two children. An alarm also needs an interval that lies beyond
the limit as a whole.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

import numpy as np

from assessments.analysis.concordance import count_pairs, kappa_of_counts, step_weights
from assessments.analysis.reliability import (
    Agreement,
    Sem,
    icc,
    limits_of_agreement,
    sem_interval,
    typical_error,
    wilson,
)
from assessments.analysis.samples import ROUNDING, FloatArray, Interval, t_factor

LEVELS = (0, 1, 2)
SEM_LIMIT = 1.0  # of 10
BIAS_LIMIT = 0.7  # of 10
CHILDREN_NEEDED = 10
#: One-sided 95 %: the lower end of a two-sided 90 % interval. The intraclass correlation carries 95 %.
CONFIDENCE = 0.90
Alarm = Literal["", "watch", "alarm"]


@dataclass(frozen=True, slots=True)
class SecondLook:
    """Two coaches judged the same child in the same shape on the same day, the second one blind."""

    athlete: str
    item: str
    on: date
    judge: str
    second_judge: str
    first: Mapping[str, int | None]  # criterion -> level
    second: Mapping[str, int | None]

    @property
    def totals(self) -> tuple[int, int] | None:
        """Both totals, None when a criterion was not seen by one of the two."""
        shared = self.first.keys() | self.second.keys()
        levels = [(self.first.get(name), self.second.get(name)) for name in sorted(shared)]
        both = [(one, two) for one, two in levels if one is not None and two is not None]
        if not levels or len(both) < len(levels):
            return None
        return sum(one for one, _ in both), sum(two for _, two in both)


@dataclass(frozen=True, slots=True)
class CriterionAgreement:
    """How often two coaches gave one criterion the same level."""

    criterion: str
    children: int
    same: int
    same_interval: Interval | None
    kappa: float | None  # linear weights on the whole scale; None under ten children, NaN with one level only
    kappa_interval: Interval | None


@dataclass(frozen=True, slots=True)
class ShapeAgreement:
    """One shape: agreement by criterion and of the totals; each child counts once."""

    item: str
    children: int
    criteria: tuple[CriterionAgreement, ...]
    complete: int  # children with two complete totals: all that follows is about them
    sem: Sem | None  # of one rater's total; None under two children
    icc: float | None  # None under ten children, NaN when all totals are equal
    icc_interval: Interval | None
    limits: Agreement | None  # second total - first total; None under ten children
    alarm: Alarm
    reason: str


@dataclass(frozen=True, slots=True)
class CoachBias:
    """One coach beside all others on the same children: above 0 is more generous."""

    coach: str
    children: int
    mean: float
    interval: Interval | None
    alarm: Alarm
    reason: str


def shape_agreement(looks: Sequence[SecondLook], item: str) -> ShapeAgreement:
    """Agreement on one shape: exact share, weighted kappa by criterion, ICC, SEM and limits of the totals.

    Of several looks at a child the newest counts, for the totals the newest complete one. SEM of a rater = SD
    of paired differences of totals / sqrt(2), with its chi-square interval, whose upper end is never under
    that of rounding alone; ICC is the one-way form (icc1), because the two coaches differ from child to child.
    Sources: Cohen 1968; Shrout & Fleiss 1979; Hopkins 2000; Bland & Altman 1986. Limit 1.0 of 10: the club's
    setting. Not for looks that were not blind.
    """
    own = [look for look in looks if look.item == item]
    newest, complete = _newest(own), _newest(look for look in own if look.totals is not None)
    names = sorted({name for look in newest for name in (*look.first, *look.second)})
    criteria = tuple(_criterion(newest, name) for name in names)
    totals = np.array([look.totals for look in complete], dtype=np.float64)
    found = ShapeAgreement(item, len(newest), criteria, len(totals), None, None, None, None, "", "")
    if len(totals) < 2:
        words = f"{len(totals)} {_children(len(totals))} with two complete totals: too few to say how well coaches agree."
        return replace(found, reason=words)
    sem = _rater_error(totals)
    found = replace(
        found,
        sem=sem,
        alarm=_alarm(sem.value, sem.low, SEM_LIMIT, len(totals)),
        reason=(
            f"Two coaches’ totals differ with a spread of {sem.value:.1f} points of 10 for one coach "
            f"(between {sem.low:.1f} and {sem.high:.1f}), from {len(totals)} children seen twice."
        ),
    )
    if len(totals) < CHILDREN_NEEDED:
        return found
    correlation = icc(totals, step=1.0)
    return replace(
        found,
        icc=correlation.icc1,
        icc_interval=correlation.intervals["icc1"],
        limits=limits_of_agreement(totals[:, 1], totals[:, 0]),
    )


def _children(count: int) -> str:
    return "child" if count == 1 else "children"


def _newest(looks: Iterable[SecondLook]) -> list[SecondLook]:
    """The newest look at each child, by child."""
    newest = {look.athlete: look for look in sorted(looks, key=lambda look: look.on)}
    return [newest[athlete] for athlete in sorted(newest)]


def _rater_error(totals: FloatArray) -> Sem:
    value, df = typical_error(totals[:, 0], totals[:, 1]), len(totals) - 1
    at_least = sem_interval(max(value, ROUNDING), df, confidence=CONFIDENCE)
    return replace(sem_interval(value, df, confidence=CONFIDENCE), high=at_least.high)


def _criterion(looks: Sequence[SecondLook], name: str) -> CriterionAgreement:
    both = [(look.first.get(name), look.second.get(name)) for look in looks]
    seen = [(one, two) for one, two in both if one is not None and two is not None]
    same = sum(one == two for one, two in seen)
    if len(seen) < CHILDREN_NEEDED:
        return CriterionAgreement(name, len(seen), same, wilson(same, len(seen)), None, None)
    counts = count_pairs([one for one, _ in seen], [two for _, two in seen], LEVELS)
    kappa = kappa_of_counts(counts, step_weights(len(LEVELS), "linear"))
    interval = None if math.isnan(kappa.value) else kappa.interval()
    return CriterionAgreement(name, len(seen), same, wilson(same, len(seen)), kappa.value, interval)


def coach_bias(looks: Sequence[SecondLook]) -> tuple[CoachBias, ...]:
    """For each coach the mean of own total - other coach's total, all shapes together, with a t interval.

    All looks at one child count once, as their mean, so that a child does not weigh more for having been seen
    in more shapes or on more days. Limit 0.7 of 10: the club's setting. Ordered by name, not by size.
    """
    differences: dict[str, dict[str, list[float]]] = {}
    for look in looks:
        totals = look.totals
        if totals is None or look.judge == look.second_judge or not (look.judge and look.second_judge):
            continue
        gap = float(totals[0] - totals[1])
        for coach, signed in ((look.judge, gap), (look.second_judge, -gap)):
            differences.setdefault(coach, {}).setdefault(look.athlete, []).append(signed)
    return tuple(
        _bias(coach, [float(np.mean(gaps)) for gaps in differences[coach].values()])
        for coach in sorted(differences)
    )


def _bias(coach: str, gaps: Sequence[float]) -> CoachBias:
    n, mean = len(gaps), float(np.mean(gaps))
    if n < 2:
        return CoachBias(coach, n, mean, None, "", "One child seen twice says nothing about a habit.")
    low, high = mean_difference(gaps)
    alarm = _alarm(abs(mean), abs(mean) - (high - low) / 2, BIAS_LIMIT, n)
    side = "higher" if mean > 0 else "lower"
    words = (
        f"{abs(mean):.1f} points of 10 {side} than others on the same children "
        f"(between {low:+.1f} and {high:+.1f}), {n} children seen twice."
    )
    return CoachBias(coach, n, mean, (low, high), alarm, words)


def mean_difference(gaps: Sequence[float]) -> Interval:
    """Student's t interval (90 %) of a mean difference of totals; two or more, one a child or example.

    The spread counts as at least that of rounding two totals to whole points, so that equal differences are
    not taken for certainty.
    """
    spread = max(float(np.std(gaps, ddof=1)), math.sqrt(2) * ROUNDING)
    reach = t_factor(CONFIDENCE, len(gaps) - 1) * spread / math.sqrt(len(gaps))
    mean = float(np.mean(gaps))
    return mean - reach, mean + reach


def _alarm(value: float, surely: float, limit: float, children: int) -> Alarm:
    """'alarm' only when the whole interval lies beyond the limit and there are enough children."""
    if value <= limit:
        return ""
    return "alarm" if children >= CHILDREN_NEEDED and surely > limit else "watch"
