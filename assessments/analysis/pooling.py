"""Partial pooling: what one child's few test days say, steadied by the other children of the same test.

A trend through two or three noisy points is worthless alone, and the mean of all children is not this
child. The mixed model gives each child a line of its own, drawn towards the common line the more, the
less is known about the child.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from assessments.analysis.samples import FloatArray, NotEnough, sample

CHILDREN_NEEDED = 5


@dataclass(frozen=True, slots=True)
class Line:
    """Test days of one child: times, values, and the noise variance of each value up to a common factor."""

    child: str
    times: FloatArray
    values: FloatArray
    noise: FloatArray


@dataclass(frozen=True, slots=True)
class Trends:
    """A fitted mixed model: common line, spread of the children's lines, and each child's own line."""

    children: tuple[str, ...]
    fixed: FloatArray  # intercept and slope of the common line
    fixed_covariance: FloatArray
    spread: FloatArray  # 2 x 2 covariance of the children's lines
    residual: float  # factor of the noise variances
    effects: FloatArray  # children x 2: own line minus common line
    known: FloatArray  # children x 2 x 2: what is not known about own line, the common line being known
    pulled: FloatArray  # children x 2 x 2: how much of the common line is in own line
    criterion: float  # -2 log restricted likelihood, without any prior
    search: tuple[float, ...]  # where the search ended, to begin the next one from

    def line(self, child: str | None) -> tuple[FloatArray, FloatArray]:
        """Intercept and slope of a child with their covariance; of a child never seen when None."""
        if child is None:
            return self.fixed, self.spread + self.fixed_covariance
        row = self.children.index(child)
        pull = self.pulled[row]
        return self.fixed + self.effects[row], self.known[row] + pull @ self.fixed_covariance @ pull.T

    def at(self, child: str | None, time: float) -> tuple[float, float]:
        """Level of a child at a time, and the variance of what is not known about it."""
        line, covariance = self.line(child)
        point = np.array([1.0, time])
        return float(point @ line), float(point @ covariance @ point)


def fit_trends(
    lines: Sequence[Line], *, noise_weight: float = 0.0, steady: bool = False, start: Trends | None = None
) -> Trends:
    """Mixed model value = common line + child's own line + noise, fitted by restricted likelihood (REML).

    The covariance of the children's lines is written relative to the noise as a Cholesky factor, the noise
    factor and the common line are profiled out (Bates and others 2015, doi:10.18637/jss.v067.i01).
    `noise_weight` says how many children the starter noise is worth: the noise factor is drawn towards 1
    as by that many degrees of freedom, since two days a child cannot tell noise from trend. `steady` keeps
    the spread of intercepts and of slopes off zero with the weak prior of Chung and others 2013,
    doi:10.1007/s11336-013-9328-2. With neither it is plain REML. `start` is an
    earlier fit to begin the search from. Do not use across protocols or variants.
    """
    from scipy.optimize import minimize

    used = [line for line in lines if len(line.times)]
    _check(used)
    # Times in units of their spread around their mean: the search then has one scale.
    times = np.concatenate([line.times for line in used])
    middle, unit = float(times.mean()), float(times.std())
    model = _Profile(
        [replace(line, times=(line.times - middle) / unit) for line in used], noise_weight, steady
    )
    starts = STARTS if start is None else (_off_the_flat(start.search),)
    best = min(starts, key=lambda point: model.goal(_theta(np.array(point))))
    # Logarithms of the two spreads: the search then takes steps of the same share at any size.
    point = np.asarray(
        minimize(lambda at: model.goal(_theta(at)), best, method="BFGS", options={"gtol": 1e-4}).x
    )
    theta = _theta(point)
    if not steady:  # the criterion may be lowest at a spread of zero, where slopes mislead
        options = {"xatol": 1e-7, "fatol": 1e-10}
        theta = np.asarray(minimize(model.goal, theta, method="Nelder-Mead", options=options).x)
    return replace(
        model.trends(theta, [line.child for line in used], middle, unit), search=tuple(map(float, point))
    )


#: The spread of children lies between a ten-thousandth and ten thousand times the typical noise.
FARTHEST = math.log(1e4)
STARTS = ((0.0, 0.0, 0.0), (0.0, 0.0, -1.6), (-1.2, 0.0, -1.2), (1.1, 0.0, 0.0))
FLAT = -1.6


def _off_the_flat(search: tuple[float, ...]) -> tuple[float, ...]:
    """Where an earlier search ended, with slopes that differ: as they grow alike the criterion turns flat.

    A search that began there would stay, although other days may ask for another place.
    """
    return (*search[:2], max(search[2], FLAT))


def _theta(point: FloatArray) -> FloatArray:
    """Relative Cholesky factor from log spread of intercepts, slope on intercept, and log spread of slopes."""
    first, last = (math.exp(min(max(float(end), -FARTHEST), FARTHEST)) for end in (point[0], point[2]))
    return np.array([first, first * float(point[1]), last])


def _check(lines: Sequence[Line]) -> None:
    if len({line.child for line in lines}) != len(lines):
        raise ValueError("Each child has one line.")
    if len(lines) < CHILDREN_NEEDED:
        raise NotEnough(f"A common trend needs {CHILDREN_NEEDED} children and has {len(lines)}.")
    for line in lines:
        times, values, noise = (
            sample(part, name)
            for part, name in ((line.times, "times"), (line.values, "values"), (line.noise, "noise"))
        )
        if not len(times) == len(values) == len(noise) or (noise <= 0).any():
            raise ValueError("Every value needs a time and a noise variance above 0.")
    if sum(len(np.unique(line.times)) > 1 for line in lines) < CHILDREN_NEEDED:
        raise NotEnough(f"A common trend needs {CHILDREN_NEEDED} children with two test days.")


class _Profile:
    """The restricted likelihood as a function of the relative Cholesky factor alone."""

    def __init__(self, lines: Sequence[Line], noise_weight: float, steady: bool) -> None:
        self.noise_weight, self.steady = noise_weight, steady
        self.count = sum(len(line.times) for line in lines)
        # The search is in units of the typical noise.
        self.unit = math.sqrt(float(np.concatenate([line.noise for line in lines]).mean()))
        designs = [np.column_stack([np.ones_like(line.times), line.times]) for line in lines]
        # Sums over one child's days; the likelihood needs nothing else.
        self.cross = np.array(
            [design.T @ (design / line.noise[:, None]) for design, line in zip(designs, lines, strict=True)]
        )
        self.target = np.array(
            [design.T @ (line.values / line.noise) for design, line in zip(designs, lines, strict=True)]
        )
        self.square = sum(float((line.values**2 / line.noise).sum()) for line in lines)
        self.log_noise = sum(float(np.log(line.noise).sum()) for line in lines)

    def gain(self, theta: FloatArray) -> tuple[FloatArray, float]:
        """For each child G = F (I + F' C F)^-1 F' of factor F and cross C, and the log volume of all of them.

        Written out for two by two: it is worked out a few hundred times for each fit.
        """
        p, q, r = theta * self.unit
        a, b, c = self.cross[:, 0, 0], self.cross[:, 0, 1], self.cross[:, 1, 1]
        i11 = 1 + p * (a * p + b * q) + q * (b * p + c * q)
        i12 = r * (b * p + c * q)
        i22 = 1 + r * r * c
        volume = i11 * i22 - i12 * i12
        gain = np.empty_like(self.cross)
        gain[:, 0, 0] = p * p * i22
        gain[:, 0, 1] = gain[:, 1, 0] = p * (q * i22 - r * i12)
        gain[:, 1, 1] = q * (q * i22 - r * i12) + r * (r * i11 - q * i12)
        return gain / volume[:, None, None], float(np.log(volume).sum())

    def parts(self, theta: FloatArray) -> dict[str, Any]:
        """Everything that follows from one Cholesky factor."""
        gain, volume = self.gain(theta)
        pull = self.cross @ gain
        information = (self.cross - pull @ self.cross).sum(axis=0)
        right = (self.target - (pull @ self.target[:, :, None])[:, :, 0]).sum(axis=0)
        volume_fixed = float(information[0, 0] * information[1, 1] - information[0, 1] ** 2)
        fixed = np.array(
            [
                information[1, 1] * right[0] - information[0, 1] * right[1],
                information[0, 0] * right[1] - information[0, 1] * right[0],
            ]
        )
        fixed /= volume_fixed
        drawn = (gain @ self.target[:, :, None])[:, :, 0]
        quadratic = self.square - float((self.target * drawn).sum())
        leftover = max(quadratic - float(fixed @ right), 1e-12)
        df = self.count - 2
        residual = (leftover + self.noise_weight) / (df + self.noise_weight)
        criterion = (
            df * math.log(2 * math.pi * residual)
            + leftover / residual
            + self.log_noise
            + volume
            + math.log(volume_fixed)
        )
        return {
            "factor": self.unit * np.array([[theta[0], 0.0], [theta[1], theta[2]]]),
            "gain": gain,
            "information": information,
            "fixed": fixed,
            "residual": residual,
            "criterion": criterion,
        }

    def goal(self, theta: FloatArray) -> float:
        """What the search makes small: the criterion and, when asked, the two priors."""
        parts = self.parts(np.asarray(theta, dtype=np.float64))
        goal = float(parts["criterion"])
        residual = parts["residual"]
        if self.noise_weight:
            goal += self.noise_weight * (math.log(residual) + 1 / residual)
        if self.steady:
            spread = residual * parts["factor"] @ parts["factor"].T
            goal -= math.log(max(spread[0, 0], 1e-12)) + math.log(max(spread[1, 1], 1e-12))
        return goal

    def trends(self, theta: FloatArray, children: Sequence[str], middle: float, unit: float) -> Trends:
        """The fitted model, its lines turned back from unit times to the times that were given."""
        parts = self.parts(theta)
        gain, residual, factor = parts["gain"], parts["residual"], parts["factor"]
        effects = np.einsum("cij,cj->ci", gain, self.target - self.cross @ parts["fixed"])
        pulled = np.eye(2) - gain @ self.cross
        back: NDArray[np.float64] = np.array([[1.0, -middle / unit], [0.0, 1.0 / unit]])
        forth = np.linalg.inv(back)
        return Trends(
            tuple(children),
            back @ parts["fixed"],
            residual * back @ np.linalg.inv(parts["information"]) @ back.T,
            residual * back @ factor @ factor.T @ back.T,
            residual,
            effects @ back.T,
            residual * back @ gain @ back.T,
            back @ pulled @ forth,
            parts["criterion"] + 2 * math.log(unit),
            (),
        )


def shrink_means(means: ArrayLike, variance: float) -> tuple[FloatArray, float]:
    """Means of several children drawn towards their common mean, and the share of each that is kept.

    Share kept = 1 - (k - 3) * variance / sum((mean - common)^2), never below 0, for k means of equal error
    variance. Source: Efron & Morris 1977, Sci Am 236(5):119, doi:10.1038/scientificamerican0577-119.
    Needs four means; do not use when their errors differ much.
    """
    row = sample(means, "means", at_least=4)
    if not (variance >= 0 and math.isfinite(variance)):
        raise ValueError("A variance is a finite number of at least 0.")
    common = float(row.mean())
    total = float(((row - common) ** 2).sum())
    kept = max(0.0, 1 - (len(row) - 3) * variance / total) if total > 0 else 0.0
    return common + kept * (row - common), kept
