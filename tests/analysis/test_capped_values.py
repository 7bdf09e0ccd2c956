"""Values that are only 'at least', and counted coverage, on every kind of input."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from assessments.analysis.censored import (
    bound_as_value,
    capped_normal,
    capped_regression,
    held_by_half,
    survival,
)
from assessments.analysis.coverage import Held, coverage, interval_score, kupiec, misses_that_fit
from assessments.analysis.samples import grid, pairs, sample

NAN = math.nan


def test_survival_of_children_who_all_stopped_ends_at_zero() -> None:
    curve = survival([5, 5, 8], [True, True, True])
    assert [(step.time, step.share) for step in curve] == [(5, pytest.approx(1 / 3)), (8, 0)]
    assert math.isnan(curve[-1].error)


def test_survival_of_children_who_all_held_is_empty() -> None:
    assert survival([60, 60], [False, False]) == ()
    assert held_by_half(()) is None


def test_half_holds_is_unknown_while_more_than_half_hold() -> None:
    assert held_by_half(survival([5, 60, 60, 60], [True, False, False, False])) is None
    assert held_by_half(survival([5, 60], [True, False])) == 5


def test_a_child_stopped_by_the_clock_never_lowers_the_curve() -> None:
    without = survival([5, 8, 12], [True, True, True])
    higher = survival([5, 8, 12, 60], [True, True, True, False])
    assert all(more.share >= less.share for more, less in zip(higher, without, strict=True))


@pytest.mark.parametrize(
    ("bound", "mean", "variance", "noise"),
    [(10, 12, 4, 4), (20, 12, 4, 4), (40, 12, 4, 4), (8, 12, 9, 4), (12, 12, 1, 9)],
)
def test_a_bound_turns_the_belief_into_the_right_one(
    bound: float, mean: float, variance: float, noise: float
) -> None:
    """Against the mean and variance of the belief times the chance of at least the bound, summed finely."""
    grid_of = np.linspace(mean - 60, mean + 80, 200_001)
    weight = norm.pdf(grid_of, mean, math.sqrt(variance)) * norm.cdf((grid_of - bound) / math.sqrt(noise))
    weight /= weight.sum()
    after = float((weight * grid_of).sum())
    spread = float((weight * (grid_of - after) ** 2).sum())
    added = bound_as_value(bound, mean, variance, noise)
    assert added is not None
    precision = 1 / variance + 1 / added[1]
    assert 1 / precision == pytest.approx(spread, rel=1e-5)
    assert (mean / variance + added[0] / added[1]) / precision == pytest.approx(after, rel=1e-5)


@given(st.floats(0, 60), st.floats(-20, 80), st.floats(0.1, 30), st.floats(0.1, 30))
def test_a_bound_never_lowers_a_belief(bound: float, mean: float, variance: float, noise: float) -> None:
    added = bound_as_value(bound, mean, variance, noise)
    if added is not None:
        assert added[0] >= mean
        assert added[1] >= 0.99 * noise  # and says no more than a plain value would


def test_a_bound_far_under_the_belief_says_nothing() -> None:
    assert bound_as_value(-500, 10, 4, 4) is None
    assert bound_as_value(2, 12, 4, 4) is None


@pytest.mark.parametrize(
    ("bound", "mean", "variance", "noise"),
    [(NAN, 1, 1, 1), (1, NAN, 1, 1), (1, 1, 0, 1), (1, 1, 1, 0), (1, 1, NAN, 1)],
)
def test_a_belief_that_cannot_be_is_refused(bound: float, mean: float, variance: float, noise: float) -> None:
    with pytest.raises(ValueError):
        bound_as_value(bound, mean, variance, noise)


def test_the_true_mean_is_found_behind_the_cap() -> None:
    random = np.random.default_rng(8)
    true = random.normal(50, 15, 2000)
    found = capped_normal(np.minimum(true, 60), true >= 60)
    assert found.coefficients[0] == pytest.approx(50, abs=4 * found.errors[0])
    assert found.sigma == pytest.approx(15, rel=0.06)
    assert np.minimum(true, 60).mean() < 48


Z = [1.0, 2.0, 3.0]


@pytest.mark.parametrize(
    "call",
    [
        lambda: capped_normal([], []),
        lambda: capped_normal([60, 60], [True, True]),
        lambda: capped_normal([5, 5, 5], [False] * 3),
        lambda: capped_normal([1, NAN], [False, False]),
        lambda: capped_normal(Z, [False]),
        lambda: capped_regression([[1, 1], [1, 1], [1, 1]], Z, [False] * 3),
        lambda: capped_regression([[1], [1]], Z, [False] * 3),
        lambda: capped_regression([1, 1, 1], Z, [False] * 3),
        lambda: capped_regression([[1], [NAN], [1]], Z, [False] * 3),
        lambda: survival([], []),
        lambda: survival(Z, [True]),
        lambda: survival([1, NAN], [True, True]),
        lambda: survival(Z, [[True]] * 3),
    ],
)
def test_capped_values_that_cannot_be_are_refused(call: Callable[[], object]) -> None:
    with pytest.raises(ValueError):
        call()


# --- coverage -------------------------------------------------------------------------------------


def test_coverage_counts_all_and_each_group() -> None:
    held = [Held("6", 0, 10, 5), Held("6", 0, 10, 11), Held("4", 0, 10, 10), Held("", 0, 10, 0)]
    found = coverage(held, level=0.8)
    assert [(one.group, one.count, one.covered) for one in found] == [("", 4, 3), ("4", 1, 1), ("6", 2, 1)]
    assert found[0].share == 0.75
    assert found[2].score == pytest.approx((10 + 20) / 2)


def test_coverage_of_nothing_is_not_a_number() -> None:
    (found,) = coverage([], level=0.8)
    assert (found.count, found.interval) == (0, None)
    assert math.isnan(found.share) and math.isnan(found.score)


@pytest.mark.parametrize(
    "call",
    [
        lambda: interval_score(2, 1, 1, level=0.8),
        lambda: interval_score(NAN, 1, 1, level=0.8),
        lambda: interval_score(0, 1, 1, level=1),
        lambda: interval_score(0, 1, 1, level=0),
        lambda: kupiec(3, 2, 0.1),
        lambda: kupiec(-1, 2, 0.1),
        lambda: kupiec(0, 0, 0.1),
        lambda: kupiec(1, 2, 0),
        lambda: kupiec(1, 2, 1),
        lambda: misses_that_fit(1, 1e-9, alpha=1.0),
    ],
)
def test_coverage_that_cannot_be_judged_is_refused(call: Callable[[], object]) -> None:
    with pytest.raises(ValueError):
        call()


def test_a_level_below_one_and_no_miss_may_fit() -> None:
    assert kupiec(0, 10, 0.05).fits
    assert kupiec(10, 10, 0.95).fits
    assert kupiec(0, 250, 0.05).p_value < 1e-6


@pytest.mark.parametrize(
    "call",
    [
        lambda: sample([[1]], "x"),
        lambda: sample([], "x"),
        lambda: sample([NAN], "x"),
        lambda: sample([1], "x", at_least=2),
        lambda: pairs([1, 2], [1, 2, 3]),
        lambda: grid([1, 2], "x"),
        lambda: grid([[1, 2]], "x"),
        lambda: grid([[1, 2], [3, math.inf]], "x"),
    ],
)
def test_samples_that_cannot_be_are_refused(call: Callable[[], object]) -> None:
    with pytest.raises(ValueError):
        call()
