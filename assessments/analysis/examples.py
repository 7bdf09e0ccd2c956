"""Shared examples that every coach scores -> how close each comes to the agreed totals, and all to one another.

Ten examples with agreed totals, live or drawn, are scored before a coach judges alone. What comes out is a
proposal; a director confirms it. The limits are common practice without a source.
"""

from __future__ import annotations

import math
from calendar import monthrange
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np

from assessments.analysis.agreement import BIAS_LIMIT, SEM_LIMIT, mean_difference
from assessments.analysis.concordance import alpha_interval, krippendorff_alpha
from assessments.analysis.samples import Interval

EXAMPLES_NEEDED = 10
COACHES_NEEDED = 2
MONTHS_VALID = 12
SOON_DAYS = 30
CalibrationWord = Literal["calibrated", "soon", "due", "never"]


@dataclass(frozen=True, slots=True)
class CalibrationResult:
    """A coach's scores of the shared examples beside the agreed ones."""

    examples: int
    needed: int
    same: int
    near: int  # within one point, the same ones among them
    bias: float  # own - agreed, points; above 0 is more generous
    bias_interval: Interval | None  # 90 %
    sem: float  # the coach's own error: SD(own - agreed), points
    bias_limit: float  # points, for the highest total of the shape
    sem_limit: float
    passed: bool
    until: date | None
    reason: str


def calibrate(own: Sequence[int], agreed: Sequence[int], on: date, *, top: int = 10) -> CalibrationResult:
    """Totals of shared examples beside the agreed totals: valid for 12 months when close enough.

    Needs ten examples, a mean difference within 0.7 of 10 and SD(own - agreed) within 1.0 of 10; of another highest total
    `top` the same shares. The limits are those of second looks, for the error of one coach (`agreement`): two coaches share
    the spread of their differences, SD / sqrt(2) each, but the agreed totals are the standard, so here all of it is the
    coach's own. Common practice, no source for the limits. The interval of the mean difference is Student's t, 90 %.
    ValueError for unequal numbers or a total outside 0 to `top`.
    """
    if len(own) != len(agreed):
        raise ValueError("Every example needs an agreed total.")
    _check_totals([own, agreed], top)
    n = len(own)
    gaps = np.subtract(own, agreed)
    same, near = int((gaps == 0).sum()), int((np.abs(gaps) <= 1).sum())
    bias_limit, sem_limit = BIAS_LIMIT * top / 10, SEM_LIMIT * top / 10
    if n < EXAMPLES_NEEDED:
        words = f"{n} of {EXAMPLES_NEEDED} examples scored."
        return CalibrationResult(
            n,
            EXAMPLES_NEEDED,
            same,
            near,
            math.nan,
            None,
            math.nan,
            bias_limit,
            sem_limit,
            False,
            None,
            words,
        )
    bias, sem = float(gaps.mean()), float(gaps.std(ddof=1))
    passed = abs(bias) <= bias_limit and sem <= sem_limit
    words = f"Mean difference {bias:+.1f} and spread {sem:.1f} points of {top} on {n} examples."
    return CalibrationResult(
        examples=n,
        needed=EXAMPLES_NEEDED,
        same=same,
        near=near,
        bias=bias,
        bias_interval=mean_difference([float(gap) for gap in gaps]),
        sem=sem,
        bias_limit=bias_limit,
        sem_limit=sem_limit,
        passed=passed,
        until=_months_later(on, MONTHS_VALID) if passed else None,
        reason=words,
    )


@dataclass(frozen=True, slots=True)
class SharedScores:
    """How well all coaches who scored the same examples agree with one another."""

    coaches: int
    examples: int
    alpha: float | None  # None when there are too few, NaN when all totals are equal
    interval: Interval | None  # 95 %
    reason: str  # why nothing can be said, "" when something can


def _check_totals(rows: Iterable[Sequence[int]], top: int) -> None:
    if any(not 0 <= total <= top for row in rows for total in row):
        raise ValueError(f"A total lies between 0 and {top}.")


def shared_scores(totals: Mapping[str, Sequence[int]], *, top: int = 10) -> SharedScores:
    """Krippendorff's alpha on points over the coaches' totals of the same examples, with its interval.

    From two coaches and ten examples. Sources: Krippendorff 2011; interval by `alpha_interval`. It says nothing
    about who is right: see `calibrate`. ValueError when coaches scored different numbers of examples, or for a total
    outside 0 to `top`.
    """
    rows = [totals[coach] for coach in sorted(totals)]
    if len({len(row) for row in rows}) > 1:
        raise ValueError("Every coach scores every example.")
    _check_totals(rows, top)
    examples = len(rows[0]) if rows else 0
    if len(rows) < COACHES_NEEDED:
        return SharedScores(len(rows), examples, None, None, f"It takes {COACHES_NEEDED} coaches to compare.")
    if examples < EXAMPLES_NEEDED:
        return SharedScores(
            len(rows), examples, None, None, f"{examples} of {EXAMPLES_NEEDED} examples scored: too few."
        )
    alpha = krippendorff_alpha(rows, "interval")
    if math.isnan(alpha):
        return SharedScores(
            len(rows), examples, alpha, None, "Every total is the same: the examples do not differ."
        )
    return SharedScores(len(rows), examples, alpha, alpha_interval(rows, step=1.0), "")


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
