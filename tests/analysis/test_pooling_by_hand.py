"""Pooled lines against the whole matrices of the mixed model, child by child, with unequal days and noise.

The textbook form (Laird & Ware 1982, Biometrics 38:963; the weak prior on spreads Chung and others 2013): V = Z D Z' + R
for each child, the common line by generalised least squares, own line minus common line D Z' V^-1 (y - X b).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize

from assessments.analysis.pooling import Line, fit_trends, shrink_means
from assessments.analysis.samples import NotEnough


def club(count: int = 9, *, seed: int = 5) -> list[Line]:
    """Children of two to five days on dates of their own, each value with a noise of its own."""
    random = np.random.default_rng(seed)
    found = []
    for child in range(count):
        days = 2 + child % 4
        times = np.sort(random.uniform(-40, 0, days))
        noise = random.uniform(2, 9, days)
        line = random.normal(20, 4) + random.normal(0.3, 0.12) * times
        found.append(Line(f"c{child}", times, line + random.normal(0, np.sqrt(noise)), noise))
    return found


def design(line: Line) -> np.ndarray:
    return np.column_stack([np.ones(len(line.times)), line.times])


def common(
    lines: Sequence[Line], spread: np.ndarray, residual: float
) -> tuple[np.ndarray, np.ndarray, float]:
    """Common line, its covariance and -2 log restricted likelihood of a spread and a noise factor."""
    information, right, square, log, count = np.zeros((2, 2)), np.zeros(2), 0.0, 0.0, 0
    for line in lines:
        x = design(line)
        whole = x @ spread @ x.T + residual * np.diag(line.noise)
        information += x.T @ np.linalg.solve(whole, x)
        right += x.T @ np.linalg.solve(whole, line.values)
        square += line.values @ np.linalg.solve(whole, line.values)
        log += np.linalg.slogdet(whole)[1]
        count += len(line.times)
    fixed = np.linalg.solve(information, right)
    left = float(square - fixed @ right)
    criterion = (count - 2) * math.log(2 * math.pi) + log + np.linalg.slogdet(information)[1] + left
    return fixed, np.linalg.inv(information), float(criterion)


@pytest.mark.parametrize(("weight", "steady"), [(0.0, False), (14.0, True), (14.0, False), (0.0, True)])
def test_everything_follows_from_the_spread_and_the_noise(weight: float, steady: bool) -> None:
    lines = club()
    found = fit_trends(lines, noise_weight=weight, steady=steady)
    fixed, covariance, criterion = common(lines, found.spread, found.residual)
    assert found.fixed == pytest.approx(fixed)
    assert found.fixed_covariance == pytest.approx(covariance)
    if not weight:
        assert found.criterion == pytest.approx(criterion)
    assert found.children == tuple(line.child for line in lines)
    for row, line in enumerate(lines):
        x = design(line)
        whole = x @ found.spread @ x.T + found.residual * np.diag(line.noise)
        gain = found.spread @ x.T @ np.linalg.inv(whole)
        assert found.effects[row] == pytest.approx(gain @ (line.values - x @ fixed))
        known = found.spread - gain @ x @ found.spread
        assert found.known[row] == pytest.approx(known, abs=1e-9)
        assert found.pulled[row] == pytest.approx(np.eye(2) - gain @ x, abs=1e-9)
        pull = np.eye(2) - gain @ x
        own, left = found.line(line.child)
        assert own == pytest.approx(fixed + gain @ (line.values - x @ fixed))
        assert left == pytest.approx(known + pull @ covariance @ pull.T, abs=1e-9)
        level, variance = found.at(line.child, 7.0)
        assert (level, variance) == pytest.approx(
            (own[0] + 7 * own[1], left[0, 0] + 14 * left[0, 1] + 49 * left[1, 1])
        )
    assert found.at(None, 7.0)[1] == pytest.approx(
        float(np.array([1, 7]) @ (found.spread + covariance) @ np.array([1, 7]))
    )


def looked_for(lines: Sequence[Line], point: np.ndarray, weight: float, steady: bool) -> tuple[float, float]:
    """What the search makes small, and the noise factor at it, from the relative spread alone: all matrices whole."""
    first, last = math.exp(point[0]), math.exp(point[2])
    factor = np.array([[first, 0.0], [point[1], last]])
    relative = factor @ factor.T
    count = sum(len(line.times) for line in lines)
    _, covariance, of_one = common(lines, relative, 1.0)
    log = sum(
        np.linalg.slogdet(design(line) @ relative @ design(line).T + np.diag(line.noise))[1] for line in lines
    )
    log += np.linalg.slogdet(np.linalg.inv(covariance))[1]
    left = of_one - (count - 2) * math.log(2 * math.pi) - log
    residual = (left + weight) / (count - 2 + weight)
    goal = (count - 2) * math.log(2 * math.pi * residual) + left / residual + log
    goal += weight * (math.log(residual) + 1 / residual) if weight else 0.0
    if steady:
        goal -= math.log(residual * relative[0, 0]) + math.log(residual * relative[1, 1])
    return goal, residual


@pytest.mark.parametrize(("weight", "steady"), [(0.0, False), (14.0, True), (40.0, False), (0.0, True)])
def test_no_other_spread_fits_better(weight: float, steady: bool) -> None:
    """A search of its own over the whole matrices, from two other beginnings, comes to the same spread and noise."""
    lines = club(12, seed=2)
    times = np.concatenate([line.times for line in lines])
    middle, unit = times.mean(), times.std()
    there = [replace(line, times=(line.times - middle) / unit) for line in lines]
    best = min(
        (
            minimize(
                lambda point: looked_for(there, point, weight, steady)[0],
                begin,
                method="Nelder-Mead",
                options={"xatol": 1e-5, "fatol": 1e-9, "maxiter": 2000},
            )
            for begin in ([1.5, 0.0, 0.0], [0.5, 1.0, 1.0])
        ),
        key=lambda one: one.fun,
    )
    _, residual = looked_for(there, best.x, weight, steady)
    factor = np.array([[math.exp(best.x[0]), 0.0], [best.x[1], math.exp(best.x[2])]])
    back = np.array([[1.0, -middle / unit], [0.0, 1 / unit]])
    found = fit_trends(lines, noise_weight=weight, steady=steady)
    assert found.residual == pytest.approx(residual, rel=2e-3)
    assert found.spread == pytest.approx(residual * back @ factor @ factor.T @ back.T, rel=2e-2)


def test_a_search_that_begins_where_the_last_ended_ends_there_too() -> None:
    lines = club(12, seed=2)
    first = fit_trends(lines, noise_weight=14, steady=True)
    again = fit_trends(lines, noise_weight=14, steady=True, start=first)
    assert len(first.search) == 3
    assert again.search == pytest.approx(first.search, abs=1e-3)
    assert again.at("c3", 4.0) == pytest.approx(first.at("c3", 4.0), rel=1e-4)


@pytest.mark.parametrize("unit", [0.01, 30.0])
def test_a_steady_fit_is_the_same_in_any_unit(unit: float) -> None:
    """Metres for centimetres: levels a hundredth, variances a hundredth of a hundredth, the noise factor unmoved."""
    lines = club(12, seed=2)
    other = [replace(line, values=unit * line.values, noise=unit**2 * line.noise) for line in lines]
    plain, scaled = (fit_trends(one, noise_weight=14, steady=True) for one in (lines, other))
    mean, variance = plain.at("c3", 4.0)
    assert scaled.at("c3", 4.0) == pytest.approx((unit * mean, unit**2 * variance), rel=1e-3)
    assert scaled.residual == pytest.approx(plain.residual, rel=1e-3)


def test_days_without_any_noise_leave_the_weight_of_the_starter_noise_alone() -> None:
    """Every child on the common line, so nothing is left over: the factor is weight / (days - 2 + weight)."""
    exact = [replace(line, values=20 + 0.3 * line.times) for line in club()]
    days = sum(len(line.times) for line in exact)
    assert fit_trends(exact, noise_weight=14).residual == pytest.approx(14 / (days - 2 + 14), rel=1e-6)


@pytest.mark.parametrize("flat", [-3.0, -7.0, -9.0])
def test_a_search_that_begins_where_slopes_are_all_alike_comes_away_from_there(flat: float) -> None:
    """Far down the criterion hardly changes; it once held a search that began from such a fit."""
    lines = club(12, seed=2)
    alone = fit_trends(lines, noise_weight=14, steady=True)
    assert alone.search[2] > -2, "the example ends on the flat itself"
    stuck = replace(alone, search=(0.6, 0.1, flat))
    found = fit_trends(lines, noise_weight=14, steady=True, start=stuck)
    assert found.search == pytest.approx(alone.search, abs=1e-2)
    assert found.at("c3", 4.0) == pytest.approx(alone.at("c3", 4.0), rel=1e-3)


# --- refusals ----------------------------------------------------------------------------------------------


def test_each_refusal_names_what_is_wrong() -> None:
    lines = club(5)
    assert fit_trends(lines).children == ("c0", "c1", "c2", "c3", "c4")
    with pytest.raises(ValueError, match=r"^Each child has one line\.$"):
        fit_trends([*lines, lines[0]])
    with pytest.raises(NotEnough, match=r"^A common trend needs 5 children and has 4\.$"):
        fit_trends(lines[:4])
    with pytest.raises(NotEnough, match=r"^A common trend needs 5 children with two test days\.$"):
        fit_trends([*lines[:4], replace(lines[4], times=np.zeros(len(lines[4].times)))])
    for broken in (
        replace(lines[0], noise=np.array([4.0, 0.0])),
        replace(lines[0], noise=np.array([4.0])),
        replace(lines[0], values=np.array([4.0])),
        replace(lines[0], times=np.array([4.0])),
    ):
        with pytest.raises(ValueError, match=r"^Every value needs a time and a noise variance above 0\.$"):
            fit_trends([broken, *lines[1:]])
    for part in ("times", "values", "noise"):
        with pytest.raises(ValueError, match=f"^{part} holds a blank or an infinite number"):
            fit_trends([replace(lines[0], **{part: np.array([4.0, math.nan])}), *lines[1:]])


def test_means_that_cannot_be_drawn_together_are_named() -> None:
    assert shrink_means([1, 2, 3, 4], 0.0)[1] == 1
    with pytest.raises(NotEnough, match=r"^means needs at least 4 numbers and has 3\.$"):
        shrink_means([1, 2, 3], 1.0)
    for variance in (-0.1, math.inf, math.nan):
        with pytest.raises(ValueError, match=r"^A variance is a finite number of at least 0\.$"):
            shrink_means([1, 2, 3, 4], variance)


def test_means_are_drawn_by_a_share_that_can_be_worked_out() -> None:
    """Mean 4, squares 9 + 4 + 1 + 0 + 36 = 50; 1 - (5 - 3) * 5 / 50: four fifths are kept."""
    found, kept = shrink_means([1, 2, 3, 4, 10], 5.0)
    assert kept == pytest.approx(0.8)
    assert found == pytest.approx([1.6, 2.4, 3.2, 4.0, 8.8])
    assert shrink_means([1, 2, 3, 4, 10], 0.0)[0] == pytest.approx([1, 2, 3, 4, 10])
