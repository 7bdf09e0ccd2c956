"""Left and right: the weaker side decides, and a difference is shown only beyond its own noise.

Differences between sides are common in children, depend on the task and change over time; nothing here
is an alarm. Both raw values are always shown beside the percentage.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from assessments.analysis.records import Side

NOISE_FACTOR = 1.96


@dataclass(frozen=True, slots=True)
class Symmetry:
    """Two sides of one child on one test."""

    left: float
    right: float
    percent: float | None  # signed, right minus left; None when both are 0 or one is below 0
    difference: float
    noise: float  # smallest difference that is shown
    shown: bool
    lower: Side  # the side that decides, "" when both are equal


def symmetry(
    left: float | None, right: float | None, *, sem_left: float, sem_right: float, late: float = 0.0
) -> Symmetry | None:
    """Signed percentage difference (right - left) / max * 100, or None when a side is missing.

    Source: Bishop and others 2016, Strength Cond J 38(6):27, doi:10.1519/SSC.0000000000000264. It is shown
    only when |right - left| exceeds 1.96 * sqrt(SEM_left^2 + SEM_right^2), and `late` more where one side was timed with
    more clocks than the other and its stop is that much later on average. Do not use a fixed cut-off of 10 or
    15 percent, and do not read a risk of injury from it.
    """
    if left is None or right is None or math.isnan(left) or math.isnan(right):
        return None
    if not (math.isfinite(left) and math.isfinite(right)):
        raise ValueError("A side has a finite value or none.")
    if not (sem_left >= 0 and sem_right >= 0):
        raise ValueError("A SEM is at least 0.")
    larger = max(left, right)
    difference = right - left
    noise = NOISE_FACTOR * math.hypot(sem_left, sem_right) + abs(late)
    lower: Side = "" if difference == 0 else "left" if difference > 0 else "right"
    percent = difference / larger * 100 if larger > 0 and min(left, right) >= 0 else None
    return Symmetry(left, right, percent, difference, noise, abs(difference) > noise, lower)
