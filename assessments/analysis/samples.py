"""Numbers on the way in: one place that says which samples the formulas accept.

Every formula here expects complete, finite numbers. A blank is not a zero and not a NaN that travels
on silently, so a caller leaves blanks out and what is left is checked once, here.
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray: TypeAlias = NDArray[np.float64]
BoolArray: TypeAlias = NDArray[np.bool_]
Interval: TypeAlias = tuple[float, float]


#: Standard deviation of what rounding to whole steps hides: uniform over one step.
ROUNDING = 1 / math.sqrt(12)


class NotEnough(ValueError):
    """There are too few numbers for this formula to say anything."""


def sample(values: ArrayLike, name: str, *, at_least: int = 1) -> FloatArray:
    """One row of finite numbers; NotEnough when there are too few, ValueError when one is missing."""
    row = np.asarray(values, dtype=np.float64)
    if row.ndim != 1:
        raise ValueError(f"{name} must be one row of numbers.")
    if len(row) < at_least:
        raise NotEnough(f"{name} needs at least {at_least} numbers and has {len(row)}.")
    if not np.isfinite(row).all():
        raise ValueError(f"{name} holds a blank or an infinite number; leave blanks out first.")
    return row


def pairs(first: ArrayLike, second: ArrayLike, *, at_least: int = 2) -> tuple[FloatArray, FloatArray]:
    """Two rows of the same length, number against number."""
    one, two = sample(first, "first", at_least=at_least), sample(second, "second", at_least=at_least)
    if len(one) != len(two):
        raise ValueError(f"Pairs need as many second values ({len(two)}) as first values ({len(one)}).")
    return one, two


def grid(rows: ArrayLike, name: str) -> FloatArray:
    """A full table of finite numbers with at least two rows and two columns."""
    table = np.asarray(rows, dtype=np.float64)
    if table.ndim != 2:
        raise ValueError(f"{name} must be a table of rows and columns.")
    if min(table.shape) < 2:
        raise NotEnough(
            f"{name} needs at least two rows and two columns and is {table.shape[0]} x {table.shape[1]}."
        )
    if not np.isfinite(table).all():
        raise ValueError(f"{name} holds a blank; leave out the rows that are not complete.")
    return table


def normal_factor(confidence: float) -> float:
    """How many standard errors a two-sided interval reaches: 1.645 for 0.90, 1.960 for 0.95."""
    if not 0 < confidence < 1:
        raise ValueError(f"A confidence lies between 0 and 1, not {confidence}.")
    return NormalDist().inv_cdf(0.5 + confidence / 2)


def t_factor(confidence: float, df: float) -> float:
    """The same for Student's t with `df` degrees of freedom: wider, because the noise itself is estimated."""
    from scipy.special import stdtrit

    if not df > 0:
        raise NotEnough("No degrees of freedom are left to judge the noise.")
    normal_factor(confidence)
    return float(stdtrit(df, 0.5 + confidence / 2))


def noise_factor(confidence: float, df: float | None = None) -> float:
    """Either of the two: Student's t where the noise was estimated with `df` degrees of freedom, else the normal."""
    return normal_factor(confidence) if df is None else t_factor(confidence, df)
