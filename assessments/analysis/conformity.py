"""Is a level at least a threshold, when it is only known through a noisy score?

Conformity assessment by JCGM 106:2012 (Evaluation of measurement data: the role of measurement uncertainty in
conformity assessment), with a guard band as in ILAC-G8:09/2019. The error belongs to a child who stands exactly at
the threshold, because the risk that is limited is the risk of calling that child ready.
"""

from __future__ import annotations

import math
from statistics import NormalDist

from assessments.analysis.records import MeasureSpec, ShapeSpec
from assessments.analysis.samples import t_factor

_NORMAL = NormalDist()
SQRT2 = math.sqrt(2.0)


def counts_whole(spec: MeasureSpec | ShapeSpec) -> bool:
    """Counts and shape totals come in whole steps; seconds and distances do not."""
    return spec.kind in ("count", "score_count", "shape")


def line_of(threshold: float, *, whole: bool) -> float:
    """The line that a level must reach: half a step under the threshold for whole counts."""
    return threshold - 0.5 if whole else threshold


def normal_share(z: float) -> float:
    """Share of a normal distribution below z."""
    return 0.5 * math.erfc(-z / SQRT2)


def z_for(confidence: float) -> float:
    """z that leaves `confidence` below it, such as 1.282 for 0.90."""
    if not 0.5 <= confidence < 1.0:
        raise ValueError(f"a confidence lies from 0.5 to below 1, not {confidence}")
    return _NORMAL.inv_cdf(confidence)


def probability_met(score: float, threshold: float, sem: float, whole: bool = False) -> float:
    """Chance that the true level is at least the threshold: Phi((score - line) / sem), flat prior.

    JCGM 106:2012, 7.2 to 7.4. `sem` is the standard error at the threshold. Not for must-have criteria, and for an
    'at least' score it is only a lower bound.
    """
    if not (math.isfinite(score) and math.isfinite(threshold)):
        raise ValueError("score and threshold are finite numbers")
    _check_error(sem)
    return normal_share((score - line_of(threshold, whole=whole)) / sem)


def guard_factor(confidence: float, df: int | None = None) -> float:
    """Standard errors of the guard band: z that leaves `confidence` below it, Student's t where the error has few `df`."""
    return z_for(confidence) if df is None else t_factor(2.0 * confidence - 1.0, df)


def acceptance_limit(
    threshold: float, sem: float, confidence: float, *, whole: bool = False, df: int | None = None
) -> float:
    """Score of one day that is enough: line + z_c * sem (threshold and guard band).

    A child who stands exactly at the threshold reaches it on 1 - c of days. With `df`, where the club found its error from
    few children, Student's t stands in place of z.
    """
    if not math.isfinite(threshold):
        raise ValueError(f"a threshold is a finite number, not {threshold}")
    _check_error(sem)
    return line_of(threshold, whole=whole) + guard_factor(confidence, df) * sem


def _check_error(sem: float) -> None:
    if not 0 < sem < math.inf:
        raise ValueError(f"an error is a number above 0, not {sem}")
