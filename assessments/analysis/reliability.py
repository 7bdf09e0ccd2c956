"""Repeat tests and several raters -> how large the error of measurement is, and what change exceeds it.

Two questions are kept apart. An intraclass correlation says how well a test tells children apart in one
group; it falls when the group is alike although the noise is the same. The standard error of measurement
(SEM) is the noise itself, in the unit of the test, and only that decides whether a child has changed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from assessments.analysis.samples import (
    Interval,
    NotEnough,
    grid,
    noise_factor,
    normal_factor,
    pairs,
    sample,
    t_factor,
)

NAN = math.nan


@dataclass(frozen=True, slots=True)
class MeanSquares:
    """Two-way analysis of variance of a full table: rows are children, columns are trials or raters."""

    rows: int
    columns: int
    between: float  # children, df rows - 1
    within: float  # df rows * (columns - 1)
    raters: float  # columns, df columns - 1
    error: float  # residual, df (rows - 1) * (columns - 1)


@dataclass(frozen=True, slots=True)
class Icc:
    """Six intraclass correlations with their intervals; NaN where the scores leave them undefined."""

    icc1: float
    icc2: float
    icc3: float
    icc1k: float
    icc2k: float
    icc3k: float
    intervals: Mapping[str, Interval]  # by the names above
    confidence: float
    squares: MeanSquares


def mean_squares(ratings: ArrayLike) -> MeanSquares:
    """Mean squares between children, within children, between raters and of what is left over.

    Source: Shrout & Fleiss 1979, Psychol Bull 86:420, doi:10.1037/0033-2909.86.2.420. Needs a full table.
    """
    table = grid(ratings, "ratings")
    n, k = table.shape
    # Sums of squares are taken about the mean: the same answer, without losing digits on large scores.
    centred = table - table.mean()
    between = k * float((centred.mean(axis=1) ** 2).sum())
    raters = n * float((centred.mean(axis=0) ** 2).sum())
    residual = centred - centred.mean(axis=1, keepdims=True) - centred.mean(axis=0, keepdims=True)
    left_over = float((residual**2).sum())
    tiny = 1e-24 * float((table**2).sum())
    between, raters, left_over = (0.0 if part <= tiny else part for part in (between, raters, left_over))
    return MeanSquares(
        n,
        k,
        between / (n - 1),
        (raters + left_over) / (n * (k - 1)),
        raters / (k - 1),
        left_over / ((n - 1) * (k - 1)),
    )


def icc(ratings: ArrayLike, *, confidence: float = 0.95, step: float = 0.0) -> Icc:
    """Intraclass correlation of a full table (children x raters) in its six forms.

    With mean squares B (children), W (within), J (raters), E (left over), n children and k raters:
    icc1 = (B - W) / (B + (k - 1) W), raters differ from child to child; icc2 = (B - E) / (B + (k - 1) E
    + k (J - E) / n), the raters stand for others; icc3 = (B - E) / (B + (k - 1) E), these raters only.
    icc1k, icc2k, icc3k are the same for the mean of k raters. Source: Shrout & Fleiss 1979; intervals of
    McGraw & Wong 1996, Psychol Methods 1:30, doi:10.1037/1082-989X.1.1.30, with the correction on p. 390.
    Do not use to judge change in a child, nor to compare groups of different spread. Scores that are all
    equal leave it undefined (NaN), not perfect. Ratings in whole steps hide up to half a step, so that no
    difference seen is not no difference: give `step`, and intervals count at least step^2 / 12 within
    children, the variance of rounding. Without it a table without any noise has no interval (NaN).
    """
    normal_factor(confidence)
    if not 0 <= step < math.inf:
        raise ValueError(f"A step between ratings is a number of at least 0, not {step}.")
    squares = mean_squares(ratings)
    n, k = squares.rows, squares.columns
    b, w, j, e = squares.between, squares.within, squares.raters, squares.error
    single = {
        "icc1": _ratio(b - w, b + (k - 1) * w),
        "icc2": _icc2(squares),
        "icc3": _ratio(b - e, b + (k - 1) * e),
    }
    mean = {"icc1k": _ratio(b - w, b), "icc2k": _ratio(b - e, b + (j - e) / n), "icc3k": _ratio(b - e, b)}
    w, e = max(w, step**2 / 12), max(e, step**2 / 12)
    intervals = {
        "icc1": _f_interval(b, w, (n - 1, n * (k - 1)), k, confidence),
        "icc2": _wider(
            _icc2_interval(squares, confidence), _icc2_interval(replace(squares, error=e), confidence)
        ),
        "icc3": _f_interval(b, e, (n - 1, (n - 1) * (k - 1)), k, confidence),
    }
    intervals = {form: _around(single[form], ends) for form, ends in intervals.items()}
    steps = {f"{name}k": (_step_up(low, k), _step_up(high, k)) for name, (low, high) in intervals.items()}
    return Icc(**single, **mean, intervals={**intervals, **steps}, confidence=confidence, squares=squares)


def _wider(one: Interval, other: Interval) -> Interval:
    """Both intervals together; the one that there is where the other is undefined.

    The approximate degrees of freedom of icc2 change with the noise, and more noise could look a little surer.
    """
    if math.isnan(one[0]) or math.isnan(other[0]):
        return other if math.isnan(one[0]) else one
    return min(one[0], other[0]), max(one[1], other[1])


def _around(value: float, ends: Interval) -> Interval:
    """The ends, wide enough to hold the value; none where there is no value."""
    if math.isnan(value) or math.isnan(ends[0]):
        return NAN, NAN
    return min(ends[0], value), max(ends[1], value)


def _icc2(squares: MeanSquares) -> float:
    n, k = squares.rows, squares.columns
    b, j, e = squares.between, squares.raters, squares.error
    return _ratio(b - e, b + (k - 1) * e + k * (j - e) / n)


def _ratio(above: float, below: float) -> float:
    return above / below if below > 0 else NAN


def _step_up(single: float, k: int) -> float:
    """Spearman-Brown: the correlation of a mean of k raters from that of one."""
    return _ratio(k * single, 1 + (k - 1) * single)


def _f_interval(above: float, below: float, dfs: tuple[int, int], k: int, confidence: float) -> Interval:
    from scipy.special import fdtri

    if below == 0:
        return NAN, NAN
    upper = 0.5 + confidence / 2
    low = above / below / float(fdtri(dfs[0], dfs[1], upper))
    high = above / below * float(fdtri(dfs[1], dfs[0], upper))
    return (low - 1) / (low + k - 1), (high - 1) / (high + k - 1)


def _icc2_interval(squares: MeanSquares, confidence: float) -> Interval:
    from scipy.special import fdtri

    n, k = squares.rows, squares.columns
    b, j, e = squares.between, squares.raters, squares.error
    rho = _icc2(squares)
    if math.isnan(rho) or rho >= 1:
        return NAN, NAN
    a = k * rho / (n * (1 - rho))
    c = 1 + k * rho * (n - 1) / (n * (1 - rho))
    spread = (a * j) ** 2 / (k - 1) + (c * e) ** 2 / ((n - 1) * (k - 1))
    if spread == 0:
        return NAN, NAN
    df = (a * j + c * e) ** 2 / spread
    upper, rest = 0.5 + confidence / 2, k * j + (k * n - k - n) * e
    f_low, f_high = float(fdtri(n - 1, df, upper)), float(fdtri(df, n - 1, upper))
    return n * (b - f_low * e) / (f_low * rest + n * b), n * (f_high * b - e) / (rest + n * f_high * b)


# --- the noise itself -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Sem:
    """Standard error of measurement with the interval that says how well the noise itself is known."""

    value: float
    df: int
    low: float
    high: float
    confidence: float


def sem_interval(value: float, df: int, *, confidence: float = 0.95) -> Sem:
    """Interval of a SEM: value * sqrt(df / chi-square) at both ends. With 8 children it is very wide.

    Source: the chi-square distribution of a sample variance; holds when the errors are roughly normal.
    """
    from scipy.special import chdtri

    if df < 1:
        raise NotEnough("A SEM needs at least one degree of freedom.")
    if not (value >= 0 and math.isfinite(value)):
        raise ValueError(f"A SEM is a finite number of at least 0, not {value}.")
    normal_factor(confidence)
    tail = (1 - confidence) / 2
    low = value * math.sqrt(df / float(chdtri(df, tail)))
    high = value * math.sqrt(df / float(chdtri(df, 1 - tail)))
    return Sem(value, df, low, high, confidence)


def sem_from_trials(ratings: ArrayLike, *, confidence: float = 0.95) -> Sem:
    """SEM of a full table (children x trials): square root of the residual mean square.

    Source: Weir 2005, J Strength Cond Res 19:231, doi:10.1519/15184.1. A shift that all children share
    (learning) is taken out. It needs every child in every trial; the club's own errors, where children have different
    numbers of days, come from pairs (`repeats`). It is not `sem_from_icc`.
    """
    squares = mean_squares(ratings)
    df = (squares.rows - 1) * (squares.columns - 1)
    return sem_interval(math.sqrt(squares.error), df, confidence=confidence)


def sem_from_icc(sd: float, correlation: float) -> float:
    """SEM from a published spread and correlation: SD * sqrt(1 - ICC).

    Source: Weir 2005. Only for papers that print nothing better: the answer depends on which SD and which
    ICC were printed and differs from `sem_from_trials` on the same data.
    """
    if not (sd >= 0 and 0 <= correlation <= 1):
        raise ValueError("A spread is at least 0 and a correlation between 0 and 1.")
    return sd * math.sqrt(1 - correlation)


def typical_error(first: ArrayLike, second: ArrayLike) -> float:
    """Typical error of two trials: SD of the differences / sqrt(2).

    Source: Hopkins 2000, Sports Med 30:1, doi:10.2165/00007256-200030010-00001. For two trials it equals
    the square root of the residual mean square. Needs two children or more; do not mix protocols.
    """
    one, two = pairs(first, second)
    return float(np.std(two - one, ddof=1)) / math.sqrt(2)


# --- what counts as change ------------------------------------------------------------------------


def detectable_change(sem: float, confidence: float = 0.90, *, df: int | None = None) -> float:
    """Smallest change that exceeds the noise: factor * sqrt(2) * SEM.

    The factor is 1.645 for 0.90 and 1.960 for 0.95; with `df`, when the SEM comes from few children, it is
    Student's t on those degrees of freedom. Source: Weir 2005. Not a change that matters, only one that
    is real.
    """
    if not (sem >= 0 and math.isfinite(sem)):
        raise ValueError(f"A SEM is a finite number of at least 0, not {sem}.")
    return noise_factor(confidence, df) * math.sqrt(2) * sem


def smallest_worthwhile_change(scores: ArrayLike, *, share: float = 0.2) -> float:
    """A fifth of the spread between children (0.2 * SD): a rule of thumb for what would be worth having.

    Source: Hopkins 2000. When it lies below the detectable change the test cannot see what matters.
    """
    if not 0 < share < math.inf:
        raise ValueError(f"A share of the spread is a number above 0, not {share}.")
    return share * float(np.std(sample(scores, "scores", at_least=2), ddof=1))


@dataclass(frozen=True, slots=True)
class ReliableChange:
    """Change of one person in standard errors of a difference."""

    index: float
    sem: float
    sem_of_difference: float


def reliable_change(before: float, after: float, *, sd: float, reliability: float) -> ReliableChange:
    """Reliable change index: (after - before) / (sqrt(2) * SD * sqrt(1 - r)).

    Source: Jacobson & Truax 1991, J Consult Clin Psychol 59:12, doi:10.1037/0022-006X.59.1.12. Beyond 1.96
    exactly when the change exceeds the 95 % detectable change with the same SEM. Not with r = 1.
    """
    sem = sem_from_icc(sd, reliability)
    if not sem > 0:
        raise ValueError("Without noise every change is real; there is no index.")
    spread = math.sqrt(2) * sem
    return ReliableChange((after - before) / spread, sem, spread)


# --- two ways of measuring the same ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Agreement:
    """Bias between two ways of measuring and the range that holds most differences."""

    n: int
    bias: float
    sd: float
    low: float
    high: float
    bias_interval: Interval
    low_interval: Interval
    high_interval: Interval


def limits_of_agreement(first: ArrayLike, second: ArrayLike, *, multiplier: float = 1.96) -> Agreement:
    """Mean of first - second, and that mean -/+ multiplier * SD of the differences, with 95 % intervals.

    Standard errors: SD / sqrt(n) for the bias, SD * sqrt(3 / n) for each limit. Source: Bland & Altman
    1986, Lancet 327:307, doi:10.1016/S0140-6736(86)90837-8 (the paper multiplies by 2). Do not use when the
    differences grow with the value.
    """
    one, two = pairs(first, second)
    difference = one - two
    n, bias, sd = len(difference), float(difference.mean()), float(np.std(difference, ddof=1))
    low, high = bias - multiplier * sd, bias + multiplier * sd
    t = t_factor(0.95, n - 1)
    reach, far = t * sd / math.sqrt(n), t * sd * math.sqrt(3 / n)
    return Agreement(
        n, bias, sd, low, high, (bias - reach, bias + reach), (low - far, low + far), (high - far, high + far)
    )


def repeatability_coefficient(first: ArrayLike, second: ArrayLike, *, multiplier: float = 2.0) -> float:
    """multiplier * sqrt(mean of squared differences): how far two readings by one way differ.

    Source: Bland & Altman 1986. The mean difference is taken as zero, so a learning effect enters it.
    """
    one, two = pairs(first, second, at_least=1)
    return multiplier * math.sqrt(float(((one - two) ** 2).mean()))


def wilson(met: float, of: float, *, confidence: float = 0.95) -> Interval | None:
    """Interval of a share met / of; None when there is nothing to count. Weighted counts may be fractions.

    Centre (p + z^2 / 2n) / (1 + z^2 / n), reach z * sqrt(p (1 - p) / n + z^2 / 4n^2) / (1 + z^2 / n).
    Source: Newcombe 1998, Stat Med 17:857 (method 3). Do not use when one child is counted many times.
    """
    if not 0 <= met <= of < math.inf:
        raise ValueError(f"{met} of {of} is not a share.")
    if of == 0:
        return None
    z = normal_factor(confidence)
    share, shrink = met / of, 1 + z * z / of
    centre = (share + z * z / (2 * of)) / shrink
    reach = z * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of)) / shrink
    # At the ends the formula gives exactly 0 and 1; rounding must not leave them a hair outside.
    low = 0.0 if met == 0 else centre - reach
    high = 1.0 if met == of else centre + reach
    return low, high
