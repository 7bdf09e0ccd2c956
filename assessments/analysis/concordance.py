"""Do raters give the same level? Weighted kappa for two, Krippendorff's alpha for several with gaps.

Both correct for the agreement that chance alone would bring. Both must be told the whole scale of the
rubric: leaving out levels that happen not to occur changes the weights and so the answer.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from assessments.analysis.reliability import icc, wilson
from assessments.analysis.samples import FloatArray, Interval, NotEnough, normal_factor

Weights = Literal["none", "linear", "quadratic"]
Scale = Literal["nominal", "ordinal", "interval", "ratio"]
POWER: dict[Weights, float] = {"none": 0.0, "linear": 1.0, "quadratic": 2.0}


@dataclass(frozen=True, slots=True)
class Kappa:
    """Kappa with its standard error, NaN where the levels leave it undefined."""

    value: float
    error: float  # standard error, for an interval
    error_if_none: float  # standard error if there were only chance agreement
    count: float
    agreed: float = math.nan  # weighted share of agreement, 0 to 1
    expected: float = math.nan  # the same by chance

    def interval(self, confidence: float = 0.95) -> Interval:
        """Normal interval, cut at -1 and 1; rough below 20 children.

        A standard error of 0 (all pairs the same, or each rater with one level only) is no certainty: then
        Wilson's interval of the weighted share of agreement p is carried over, (p - expected) / (1 - expected).
        """
        if self.error < 1e-6 and not math.isnan(self.agreed):
            ends = wilson(self.agreed * self.count, round(self.count), confidence=confidence) or (0.0, 1.0)
            low, high = ((end - self.expected) / (1 - self.expected) for end in ends)
        else:
            reach = normal_factor(confidence) * self.error
            low, high = self.value - reach, self.value + reach
        return max(-1.0, low), min(1.0, high)


def weighted_kappa(
    a: Sequence[Hashable], b: Sequence[Hashable], levels: Sequence[Hashable], weights: Weights = "linear"
) -> float:
    """Agreement of two raters beyond chance: 1 - observed disagreement / disagreement expected by chance.

    Disagreement is the number of steps between two levels of the whole scale `levels`, squared for
    "quadratic", and 1 or 0 for "none". Source: Cohen 1968, Psychol Bull 70:213, doi:10.1037/h0026256.
    NaN when both raters used one and the same level only. Do not use for totals (see icc).
    """
    return kappa_of_counts(count_pairs(a, b, levels), step_weights(len(levels), weights)).value


def count_pairs(a: Sequence[Hashable], b: Sequence[Hashable], levels: Sequence[Hashable]) -> FloatArray:
    """Table of how often rater one gave a level (rows) and rater two another (columns), whole scale."""
    if len(levels) < 2 or len(set(levels)) != len(levels):
        raise ValueError("A scale needs at least two levels, each named once.")
    if len(a) != len(b):
        raise ValueError("Each level of one rater needs one of the other.")
    if len(a) == 0:
        raise NotEnough("There is no pair of levels to compare.")
    position = {level: place for place, level in enumerate(levels)}
    unknown = [level for level in (*a, *b) if level not in position]
    if unknown:
        raise ValueError(f"{unknown[0]!r} is not a level of this scale.")
    table = np.zeros((len(levels), len(levels)))
    for one, two in zip(a, b, strict=True):
        table[position[one], position[two]] += 1
    return table


def step_weights(levels: int, weights: Weights) -> FloatArray:
    """Disagreement between any two of the levels, from 0 (same) to 1 (both ends; or any, for "none")."""
    steps = np.abs(np.subtract.outer(np.arange(levels), np.arange(levels))) / (levels - 1)
    return np.where(steps == 0, 0.0, steps ** POWER[weights])


def kappa_of_counts(counts: ArrayLike, disagreement: ArrayLike) -> Kappa:
    """Weighted kappa of a table of counts with any disagreement weights.

    Standard errors: Fleiss, Cohen & Everitt 1969, Psychol Bull 72:323, doi:10.1037/h0028106, in large
    samples. The weights need zeros on the diagonal and may be asymmetric.
    """
    table, cost = np.asarray(counts, dtype=np.float64), np.asarray(disagreement, dtype=np.float64)
    if table.ndim != 2 or table.shape[0] != table.shape[1] or table.shape != cost.shape:
        raise ValueError("Counts and weights must be square tables of the same size.")
    if not (
        np.isfinite(table).all() and np.isfinite(cost).all() and (table >= 0).all() and (cost >= 0).all()
    ):
        raise ValueError("Counts and weights must be finite and not below 0.")
    if np.diagonal(cost).any() or not cost.any():
        raise ValueError("Agreeing must cost nothing and some disagreement something.")
    count = float(table.sum())
    if count == 0:
        raise NotEnough("There is no pair of levels to compare.")
    share, weight = table / count, 1 - cost / cost.max()
    rows, columns = share.sum(axis=1), share.sum(axis=0)
    chance = np.outer(rows, columns)
    agreed, expected = float((weight * share).sum()), float((weight * chance).sum())
    if 1 - expected <= 1e-12:
        return Kappa(math.nan, math.nan, math.nan, count)
    mixed = np.add.outer(weight @ columns, rows @ weight)
    part = share * (weight * (1 - expected) - mixed * (1 - agreed)) ** 2
    spread = float(part.sum()) - (agreed * expected - 2 * expected + agreed) ** 2
    spread_if_none = float((chance * (weight - mixed) ** 2).sum()) - expected**2
    return Kappa(
        (agreed - expected) / (1 - expected),
        math.sqrt(max(0.0, spread) / count) / (1 - expected) ** 2,
        math.sqrt(max(0.0, spread_if_none) / count) / (1 - expected),
        count,
        min(agreed, 1.0),
        expected,
    )


def krippendorff_alpha(ratings: ArrayLike, scale: Scale = "ordinal") -> float:
    """Agreement of several raters with gaps: 1 - observed disagreement / expected disagreement.

    `ratings` has a row for each rater and a column for each child, NaN where a rater saw nothing; a child
    seen once drops out. Differences: nominal 0 or 1; interval (c - k)^2; ratio ((c - k) / (c + k))^2;
    ordinal the squared number of ratings between two levels. Source: Krippendorff 2011, Computing
    Krippendorff's alpha-reliability; Hayes & Krippendorff 2007, doi:10.1080/19312450709336664.
    NaN when all ratings are equal. Ratio scales must not hold values below 0.
    """
    table = np.asarray(ratings, dtype=np.float64)
    if table.ndim != 2:
        raise ValueError("Ratings must be a table of raters and children.")
    if np.isinf(table).any():
        raise ValueError("A rating is a number or a blank.")
    seen = ~np.isnan(table)
    table, seen = table[:, seen.sum(axis=0) >= 2], seen[:, seen.sum(axis=0) >= 2]
    if not seen.any():
        raise NotEnough("No child was rated twice.")
    values = np.unique(table[seen])
    if scale == "ratio" and values[0] < 0:
        raise ValueError("A ratio scale has no values below 0.")
    pairs = np.zeros((len(values), len(values)))
    for child in range(table.shape[1]):
        found = np.searchsorted(values, table[seen[:, child], child])
        counts = np.bincount(found, minlength=len(values)).astype(np.float64)
        pairs += (np.outer(counts, counts) - np.diag(counts)) / (len(found) - 1)
    totals = pairs.sum(axis=1)
    distance = _distances(values, totals, scale)
    expected = float((np.outer(totals, totals) * distance).sum()) / (float(totals.sum()) - 1)
    return 1 - float((pairs * distance).sum()) / expected if expected > 0 else math.nan


def alpha_interval(ratings: ArrayLike, *, confidence: float = 0.95, step: float = 0.0) -> Interval:
    """Interval of alpha on an interval scale, of a full table (raters x children).

    On such a table alpha = 1 - (n k - 1) / ((n - 1) F + n (k - 1)) for n children, k raters and F = mean
    square between / within children, so the F interval of icc1 (Shrout & Fleiss 1979) carries over. `step` is
    that of `icc`. It speaks of these raters on other children; habits that a rater keeps on every child make it
    a little too wide. Not for tables with gaps. NaN when all ratings are equal.
    """
    table = np.asarray(ratings, dtype=np.float64).T
    found = icc(table, confidence=confidence, step=step)
    n, k = found.squares.rows, found.squares.columns

    def carried(rho: float) -> float:
        if rho >= 1:
            return 1.0
        return 1 - (n * k - 1) / ((n - 1) * (1 + (k - 1) * rho) / (1 - rho) + n * (k - 1))

    low, high = found.intervals["icc1"]
    return carried(low), carried(high)


def _distances(values: FloatArray, totals: FloatArray, scale: Scale) -> FloatArray:
    apart: FloatArray = np.abs(np.subtract.outer(values, values))
    if scale == "nominal":
        return (apart > 0).astype(np.float64)
    if scale == "interval":
        return apart**2
    if scale == "ratio":
        together = np.add.outer(values, values)
        return (apart / np.where(together == 0, 1.0, together)) ** 2
    middle = np.cumsum(totals) - totals / 2
    between: FloatArray = np.subtract.outer(middle, middle) ** 2
    return between
