"""Values that are only 'at least': the clock stopped first, or the child chose to.

Treating a stop at the cap as the value pulls every mean down. Two remedies: survival curves, which assume
no shape, and a normal distribution cut at the cap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from assessments.analysis.samples import BoolArray, FloatArray, NotEnough, normal_factor, sample

#: A bound with less than a hundredth of the weight of a plain value is left out.
NEXT_TO_NOTHING = 0.01
#: By rounding, half of six children must not become a hair more than half, nor values without spread have one.
HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class Survival:
    """Share of children that hold longer than `time`, after the children who stopped there."""

    time: float
    at_risk: int
    stopped: int
    share: float
    error: float  # Greenwood
    low: float
    high: float


def survival(times: ArrayLike, stopped: Sequence[bool], *, confidence: float = 0.95) -> tuple[Survival, ...]:
    """Kaplan-Meier curve: at each time with a stop, share *= 1 - stops / children still holding.

    `stopped` is False where the value is only 'at least'; such a child still counts as holding at its own
    time. Greenwood's standard error; interval on the log scale, cut at 1. Source: Kaplan & Meier 1958,
    doi:10.1080/01621459.1958.10501452. Do not use when children who were about to stop were stopped early.
    """
    found = sample(times, "times")
    flags = _flags(stopped, len(found))
    z = normal_factor(confidence)
    share, variance, curve = 1.0, 0.0, []
    for time in np.unique(found[flags]):
        at_risk, events = int((found >= time).sum()), int((flags & (found == time)).sum())
        share *= 1 - events / at_risk
        if share <= 0:
            curve.append(Survival(float(time), at_risk, events, 0.0, math.nan, math.nan, math.nan))
            break
        variance += events / (at_risk * (at_risk - events))
        reach = z * math.sqrt(variance)
        low, high = share * math.exp(-reach), min(1.0, share * math.exp(reach))
        curve.append(Survival(float(time), at_risk, events, share, share * math.sqrt(variance), low, high))
    return tuple(curve)


def held_by(curve: Sequence[Survival], share: float) -> float | None:
    """Time that this share of the children hold; None while more than that are still holding at the end."""
    return next((step.time for step in curve if step.share <= share + HAIR), None)


def held_by_half(curve: Sequence[Survival]) -> float | None:
    """Time that half the children hold; None while more than half are still holding at the end."""
    return held_by(curve, 0.5)


@dataclass(frozen=True, slots=True)
class CappedFit:
    """A normal regression of values cut at a cap."""

    coefficients: tuple[float, ...]
    errors: tuple[float, ...]
    sigma: float
    log_likelihood: float
    capped: int


def capped_regression(design: ArrayLike, values: ArrayLike, capped: Sequence[bool]) -> CappedFit:
    """Regression by maximum likelihood when some values are only 'at least' (Tobit).

    A plain value adds the log density at it, a capped one the log of the chance of at least that much.
    Source: Tobin 1958, Econometrica 26:24. The errors must be roughly normal. Needs more plain values than
    coefficients; refused otherwise, because all-capped values say nothing about spread.
    """
    from scipy.optimize import minimize
    from scipy.special import log_ndtr

    table, found = np.asarray(design, dtype=np.float64), sample(values, "values")
    flags = _flags(capped, len(found))
    if table.ndim != 2 or len(table) != len(found) or not np.isfinite(table).all():
        raise ValueError("The design needs one complete row for each value.")
    if (~flags).sum() <= table.shape[1]:
        raise NotEnough("There are too few values below the cap.")
    start, _, rank, _ = np.linalg.lstsq(table, found, rcond=None)
    if rank < table.shape[1]:
        raise ValueError("Columns of the design repeat each other.")
    spread = float(np.std(found - table @ start))
    if spread <= HAIR * float(np.abs(found).max()):
        raise NotEnough("All values are equal or follow the design exactly; there is no spread to fit.")

    def cost(point: FloatArray) -> float:
        sigma = math.exp(min(float(point[-1]), 50.0)) * spread
        gap = (found - table @ (start + point[:-1] * spread * scale)) / sigma
        plain, over = gap[~flags], gap[flags]
        density = -0.5 * (plain**2).sum() - len(plain) * math.log(sigma * math.sqrt(2 * math.pi))
        return -float(density + log_ndtr(-over).sum())

    scale = 1 / np.maximum(np.sqrt((table**2).mean(axis=0)), 1e-12)
    zero = np.zeros(table.shape[1] + 1)
    point = np.asarray(minimize(cost, zero, method="BFGS", options={"gtol": 1e-9}).x)
    coefficients, sigma = start + point[:-1] * spread * scale, math.exp(float(point[-1])) * spread
    errors = np.sqrt(np.diag(np.linalg.inv(_information(table, found, flags, coefficients, sigma))))[:-1]
    return CappedFit(
        tuple(map(float, coefficients)), tuple(map(float, errors)), sigma, -cost(point), int(flags.sum())
    )


def capped_normal(values: ArrayLike, capped: Sequence[bool]) -> CappedFit:
    """Mean (the only coefficient) and spread of values of which some are only 'at least'."""
    found = sample(values, "values")
    return capped_regression(np.ones((len(found), 1)), found, capped)


def bound_as_value(bound: float, mean: float, variance: float, noise: float) -> tuple[float, float] | None:
    """What 'at least `bound`' adds to a belief N(mean, variance): a value and its noise variance, or None.

    The belief given the bound has mean m' = mean + variance * h / s and variance
    v' = variance - variance^2 h (h + a) / s^2, with s^2 = variance + noise, a = (mean - bound) / s and
    h = density(a) / share(a). The value and noise returned turn the old belief into the new one; they never
    pull down. None when the bound says next to nothing. Source: Minka 2001, Expectation propagation for
    approximate Bayesian inference (one moment-matching step). The belief must not contain the bound already.
    """
    from scipy.special import log_ndtr

    if not (variance > 0 and noise > 0 and math.isfinite(bound) and math.isfinite(mean)):
        raise ValueError("A belief needs a finite mean and variances above 0.")
    s = math.sqrt(variance + noise)
    a = (mean - bound) / s
    h = math.exp(-0.5 * a * a - 0.5 * math.log(2 * math.pi) - float(log_ndtr(a)))
    # Precision that is added = curve / (1 - variance * curve), and the mean moves by variance * h / s.
    curve = h * (h + a) / s**2
    precision = curve / (1 - variance * curve)
    if not precision * noise > NEXT_TO_NOTHING:
        return None
    return mean + h / s / curve, 1 / precision


def _information(
    table: FloatArray, found: FloatArray, flags: BoolArray, coefficients: FloatArray, sigma: float
) -> FloatArray:
    """Observed information of the coefficients and of sigma."""
    from scipy.special import log_ndtr

    gap = (found - table @ coefficients) / sigma
    hazard = np.exp(-0.5 * gap**2 - 0.5 * math.log(2 * math.pi) - log_ndtr(-gap))
    curve = hazard * (hazard - gap)
    slope = np.where(flags, curve, 1.0) / sigma**2
    cross = np.where(flags, hazard + gap * curve, 2 * gap) / sigma**2
    own = np.where(flags, 2 * gap * hazard + gap**2 * curve, 3 * gap**2 - 1) / sigma**2
    side = (table * cross[:, None]).sum(axis=0)
    information = np.empty((table.shape[1] + 1, table.shape[1] + 1))
    information[:-1, :-1] = (table * slope[:, None]).T @ table
    information[:-1, -1] = information[-1, :-1] = side
    information[-1, -1] = own.sum()
    return information


def _flags(flags: Sequence[bool], length: int) -> BoolArray:
    row = np.asarray(flags, dtype=np.bool_)
    if row.ndim != 1 or len(row) != length:
        raise ValueError("Each value needs one mark.")
    return row
