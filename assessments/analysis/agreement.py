"""Blind second looks -> do coaches see the same shape, and who should practise judging together?

The aim is calibration, never a league table of coaches. A figure from a handful of children is shown with
its interval and raises no alarm; an alarm needs ten second looks and an interval that lies beyond the limit.
"""

from __future__ import annotations

import math
from calendar import monthrange
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np

from assessments.analysis.concordance import count_pairs, kappa_of_counts, step_weights
from assessments.analysis.reliability import Sem, icc, sem_interval, typical_error, wilson
from assessments.analysis.samples import Interval, t_factor

LEVELS = (0, 1, 2)
SEM_LIMIT = 1.0  # of 10
BIAS_LIMIT = 0.7  # of 10
LOOKS_NEEDED = 10
MONTHS_VALID = 12
SOON_DAYS = 30
# One-sided 95 %: the lower end of a two-sided 90 % interval.
CONFIDENCE = 0.90
Alarm = Literal["", "watch", "alarm"]
CalibrationWord = Literal["calibrated", "soon", "due", "never"]


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
    looks: int
    same: int
    same_interval: Interval | None
    kappa: float  # linear weights on the whole scale; NaN when only one level was used
    kappa_interval: Interval


@dataclass(frozen=True, slots=True)
class ShapeAgreement:
    """One shape: agreement by criterion and of the totals."""

    item: str
    looks: int
    criteria: tuple[CriterionAgreement, ...]
    sem: Sem | None  # of one rater's total; None under two complete looks
    icc: float | None
    icc_interval: Interval | None
    alarm: Alarm
    reason: str


@dataclass(frozen=True, slots=True)
class CoachBias:
    """One coach beside all others on the same children: above 0 is more generous."""

    coach: str
    looks: int
    mean: float
    interval: Interval | None
    alarm: Alarm
    reason: str


def shape_agreement(looks: Sequence[SecondLook], item: str) -> ShapeAgreement:
    """Agreement on one shape: exact share, weighted kappa by criterion, ICC and SEM of a rater's total.

    SEM of a rater = SD of paired differences of totals / sqrt(2), with its chi-square interval; ICC is the
    one-way form (icc1), because the two coaches differ from child to child. Sources: Cohen 1968; Shrout &
    Fleiss 1979; Hopkins 2000. Limit 1.0 of 10: the club's setting. One look a child and day.
    """
    own = [look for look in looks if look.item == item]
    names = sorted({name for look in own for name in (*look.first, *look.second)})
    criteria = tuple(_criterion(own, name) for name in names)
    totals = [look.totals for look in own]
    complete = np.array([pair for pair in totals if pair is not None], dtype=np.float64)
    if len(complete) < 2:
        words = f"{len(complete)} complete second looks: too few to say how well coaches agree."
        return ShapeAgreement(item, len(own), criteria, None, None, None, "", words)
    sem = sem_interval(
        typical_error(complete[:, 0], complete[:, 1]), len(complete) - 1, confidence=CONFIDENCE
    )
    correlation = icc(complete)
    alarm = _alarm(sem.value, sem.low, SEM_LIMIT, len(complete))
    words = (
        f"Two coaches' totals differ with a spread of {sem.value:.1f} points of 10 for one coach "
        f"(between {sem.low:.1f} and {sem.high:.1f}), from {len(complete)} second looks."
    )
    return ShapeAgreement(
        item, len(own), criteria, sem, correlation.icc1, correlation.intervals["icc1"], alarm, words
    )


def _criterion(looks: Sequence[SecondLook], name: str) -> CriterionAgreement:
    both = [(look.first.get(name), look.second.get(name)) for look in looks]
    seen = [(one, two) for one, two in both if one is not None and two is not None]
    same = sum(one == two for one, two in seen)
    if not seen:
        return CriterionAgreement(name, 0, 0, None, math.nan, (math.nan, math.nan))
    counts = count_pairs([one for one, _ in seen], [two for _, two in seen], LEVELS)
    kappa = kappa_of_counts(counts, step_weights(len(LEVELS), "linear"))
    interval = (math.nan, math.nan) if math.isnan(kappa.value) else kappa.interval()
    return CriterionAgreement(name, len(seen), same, wilson(same, len(seen)), kappa.value, interval)


def coach_bias(looks: Sequence[SecondLook]) -> tuple[CoachBias, ...]:
    """For each coach the mean of own total - other coach's total, all shapes together, with a t interval.

    Several looks at one child on one day count once, as their mean, so that a child does not weigh more for
    having been seen in more shapes. Limit 0.7 of 10: the club's setting. Ordered by name, not by size.
    """
    differences: dict[str, dict[tuple[str, date], list[float]]] = {}
    for look in looks:
        totals = look.totals
        if totals is None or look.judge == look.second_judge or not (look.judge and look.second_judge):
            continue
        gap = float(totals[0] - totals[1])
        for coach, signed in ((look.judge, gap), (look.second_judge, -gap)):
            differences.setdefault(coach, {}).setdefault((look.athlete, look.on), []).append(signed)
    return tuple(
        _bias(coach, [float(np.mean(gaps)) for gaps in differences[coach].values()])
        for coach in sorted(differences)
    )


def _bias(coach: str, gaps: Sequence[float]) -> CoachBias:
    n, mean = len(gaps), float(np.mean(gaps))
    if n < 2:
        return CoachBias(coach, n, mean, None, "", "One second look says nothing about a habit.")
    reach = t_factor(CONFIDENCE, n - 1) * float(np.std(gaps, ddof=1)) / math.sqrt(n)
    alarm = _alarm(abs(mean), abs(mean) - reach, BIAS_LIMIT, n)
    side = "higher" if mean > 0 else "lower"
    words = (
        f"{abs(mean):.1f} points of 10 {side} than others on the same children "
        f"(between {mean - reach:+.1f} and {mean + reach:+.1f}), {n} children seen twice."
    )
    return CoachBias(coach, n, mean, (mean - reach, mean + reach), alarm, words)


def _alarm(value: float, surely: float, limit: float, looks: int) -> Alarm:
    """'alarm' only when the whole interval lies beyond the limit and there are enough looks."""
    if value <= limit:
        return ""
    return "alarm" if looks >= LOOKS_NEEDED and surely > limit else "watch"


# --- calibration of a coach -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class CalibrationResult:
    """A coach's scores of the shared examples beside the agreed ones."""

    examples: int
    needed: int
    same: int
    bias: float
    sem: float
    passed: bool
    until: date | None
    reason: str


def calibrate(own: Sequence[int], agreed: Sequence[int], on: date) -> CalibrationResult:
    """Totals of shared examples beside the agreed totals: valid for 12 months when close enough.

    Needs ten examples, a mean difference within 0.7 of 10 and SD(differences) / sqrt(2) within 1.0 of 10.
    Common practice, no source for the limits.
    """
    if len(own) != len(agreed):
        raise ValueError("Every example needs an agreed total.")
    n = len(own)
    if n < LOOKS_NEEDED:
        words = f"{n} of {LOOKS_NEEDED} examples scored."
        return CalibrationResult(n, LOOKS_NEEDED, 0, math.nan, math.nan, False, None, words)
    gaps = np.subtract(own, agreed)
    bias, sem = float(gaps.mean()), typical_error(agreed, own)
    passed = abs(bias) <= BIAS_LIMIT and sem <= SEM_LIMIT
    words = f"Mean difference {bias:+.1f} and spread {sem:.1f} points of 10 on {n} examples."
    until = _months_later(on, MONTHS_VALID) if passed else None
    return CalibrationResult(n, LOOKS_NEEDED, int((gaps == 0).sum()), bias, sem, passed, until, words)


@dataclass(frozen=True, slots=True)
class CalibrationState:
    """Whether one coach's calibration still stands."""

    coach: str
    word: CalibrationWord
    until: date | None


def calibration_states(until: Mapping[str, date | None], on: date) -> tuple[CalibrationState, ...]:
    """Who needs calibration and until when it stands; by name. The last day named still counts."""
    return tuple(CalibrationState(coach, _word(until[coach], on), until[coach]) for coach in sorted(until))


def _word(until: date | None, on: date) -> CalibrationWord:
    if until is None:
        return "never"
    if until < on:
        return "due"
    return "soon" if (until - on).days <= SOON_DAYS else "calibrated"


def _months_later(day: date, months: int) -> date:
    """Same day some months later; the last day of the month when it has no such day."""
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
