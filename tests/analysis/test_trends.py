"""Slopes and pooled lines, on every kind of input."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.analysis.pooling import Line, fit_trends, shrink_means
from assessments.analysis.samples import NotEnough
from assessments.analysis.slope import cut, predict, theil_sen

NAN = math.nan
POINTS = st.lists(st.tuples(st.integers(-50, 50), st.integers(-50, 50)), min_size=2, max_size=15)


@given(POINTS, st.integers(-100, 100), st.integers(1, 9))
def test_slope_does_not_depend_on_zero_order_and_unit(
    points: list[tuple[int, int]], shift: int, unit: int
) -> None:
    times, values = zip(*points, strict=True)
    if len(set(times)) < 2:
        return
    found = theil_sen(times, values)
    moved = theil_sen(
        [time + shift for time in times[::-1]], [unit * value + shift for value in values[::-1]]
    )
    assert moved.slope == pytest.approx(unit * found.slope)
    if found.interval is not None:
        assert found.interval[0] <= found.slope <= found.interval[1]


def test_one_odd_day_does_not_bend_the_slope() -> None:
    times = list(range(10))
    values = [2.0 * time for time in times]
    values[7] = 500.0
    assert theil_sen(times, values).slope == 2.0


def test_prediction_needs_five_days_and_two_dates() -> None:
    with pytest.raises(NotEnough):
        predict([1, 2, 3, 4], [1, 2, 3, 4], 5)
    with pytest.raises(NotEnough):
        predict([2] * 5, [1, 2, 3, 4, 5], 5)


def test_prediction_on_a_line_is_the_line() -> None:
    found = predict([0, 1, 2, 3, 4], [1, 3, 5, 7, 9], 6)
    assert (found.value, found.low, found.high) == pytest.approx((13, 13, 13))


@pytest.mark.parametrize(
    ("floor", "cap", "expected", "note"),
    [
        (None, None, (5, -2, 70), ""),
        (0, None, (5, 0, 70), "cut at 0, the lowest there can be"),
        (None, 60, (5, -2, 60), "cut at 60, where the clock or count stops"),
        (0, 60, (5, 0, 60), "cut at 0, the lowest there can be; cut at 60, where the clock or count stops"),
        (-2, 70, (5, -2, 70), ""),
    ],
)
def test_ranges_are_cut_to_what_can_be_and_say_so(
    floor: float | None, cap: float | None, expected: tuple[float, float, float], note: str
) -> None:
    found = cut(5, -2, 70, floor=floor, cap=cap)
    assert ((found.value, found.low, found.high), found.note) == (expected, note)


# --- pooled lines ---------------------------------------------------------------------------------


def children(count: int = 12, days: int = 4, *, seed: int = 5, noise: float = 2.0) -> list[Line]:
    random = np.random.default_rng(seed)
    found = []
    for child in range(count):
        times = np.arange(days) * 9.0 - 27
        level, rise = random.normal(20, 5), random.normal(0.3, 0.15)
        values = level + rise * times + random.normal(0, noise, days)
        found.append(Line(f"c{child}", times, values, np.full(days, noise**2)))
    return found


@pytest.mark.parametrize("steady", [False, True])
def test_shifting_all_dates_moves_nothing_but_the_origin(steady: bool) -> None:
    here = fit_trends(children(), noise_weight=14, steady=steady)
    there = fit_trends(
        [replace(line, times=line.times + 100) for line in children()], noise_weight=14, steady=steady
    )
    for child in ("c0", "c7", None):
        assert there.at(child, 104.0) == pytest.approx(here.at(child, 4.0), rel=1e-3)


def test_changing_the_unit_of_values_changes_the_unit_of_lines() -> None:
    plain = fit_trends(children())
    scaled = fit_trends(
        [replace(line, values=10 * line.values, noise=100 * line.noise) for line in children()]
    )
    mean, variance = plain.at("c3", 4.0)
    assert scaled.at("c3", 4.0) == pytest.approx((10 * mean, 100 * variance), rel=1e-3)


def test_the_order_of_children_does_not_matter() -> None:
    forwards, backwards = fit_trends(children()), fit_trends(children()[::-1])
    assert backwards.at("c3", 4.0) == pytest.approx(forwards.at("c3", 4.0), rel=1e-3)


def test_children_without_days_are_left_out() -> None:
    empty = Line("empty", np.array([]), np.array([]), np.array([]))
    assert fit_trends([*children(), empty]).children == fit_trends(children()).children


def test_more_noise_pulls_a_child_more_towards_the_others() -> None:
    one = children()
    sure, unsure = one[0], replace(one[0], noise=one[0].noise * 25)
    surely, unsurely = fit_trends([sure, *one[1:]], steady=True), fit_trends([unsure, *one[1:]], steady=True)
    own = float(np.polyval(np.polyfit(sure.times, sure.values, 1), 4.0))
    assert abs(surely.at("c0", 4.0)[0] - own) < abs(unsurely.at("c0", 4.0)[0] - own)
    assert surely.at("c0", 4.0)[1] < unsurely.at("c0", 4.0)[1]


def test_what_is_not_known_grows_into_the_future() -> None:
    found = fit_trends(children(), steady=True)
    assert found.at("c0", 0)[1] < found.at("c0", 10)[1] < found.at("c0", 26)[1]


def test_a_steady_fit_never_calls_all_children_alike() -> None:
    alike = [replace(line, values=20 + 0.3 * line.times) for line in children()]
    random = np.random.default_rng(2)
    alike = [replace(line, values=line.values + random.normal(0, 2, len(line.values))) for line in alike]
    assert np.linalg.eigvalsh(fit_trends(alike, noise_weight=14, steady=True).spread).min() > 0


def test_starter_noise_steadies_the_noise_of_few_days() -> None:
    few = children(6, 2, seed=3)
    free, held = fit_trends(few).residual, fit_trends(few, noise_weight=1000).residual
    assert abs(held - 1) < abs(free - 1)
    assert held == pytest.approx(1, abs=0.05)


@pytest.mark.parametrize("noise", [4.0, 0.5, 1e-2])
def test_children_far_apart_beside_their_noise_keep_their_spread(noise: float) -> None:
    found = fit_trends(
        [replace(line, noise=np.full(4, noise)) for line in children()], noise_weight=1e4, steady=True
    )
    assert found.spread[0, 0] == pytest.approx(22, rel=0.25)  # as without a prior on the noise


def test_a_spread_without_end_is_turned_back() -> None:
    exact = [replace(line, noise=np.full(4, 1e-16)) for line in children()]
    found = fit_trends(exact, noise_weight=1e4, steady=True)
    own = float(np.polyval(np.polyfit(exact[0].times, exact[0].values, 1), 4.0))
    assert found.at("c0", 4.0)[0] == pytest.approx(own, abs=0.01)


def test_all_equal_values_give_a_flat_line() -> None:
    flat = [replace(line, values=np.full(4, 15.0)) for line in children()]
    found = fit_trends(flat, noise_weight=14, steady=True)
    assert found.at("c0", 20)[0] == pytest.approx(15)


ONE = children()


@pytest.mark.parametrize(
    "lines",
    [
        [],
        ONE[:4],
        [*ONE, ONE[0]],
        [*ONE[:5], replace(ONE[5], values=np.array([1, 2, NAN, 4.0]))],
        [*ONE[:5], replace(ONE[5], noise=np.array([1, 2, 0, 4.0]))],
        [*ONE[:5], replace(ONE[5], values=np.array([1.0]))],
        [*ONE[:4], *(replace(line, times=np.zeros(4)) for line in ONE[4:])],
    ],
    ids=["none", "four", "twice", "blank", "no noise", "uneven", "same day"],
)
def test_lines_that_cannot_be_pooled_are_refused(lines: list[Line]) -> None:
    with pytest.raises(ValueError):
        fit_trends(lines)


def test_means_are_drawn_together_and_never_past_each_other() -> None:
    found, kept = shrink_means([1, 2, 3, 4, 10], 1.0)
    assert 0 < kept < 1
    assert list(found) == sorted(found)
    assert float(np.mean(found)) == pytest.approx(4)


@pytest.mark.parametrize(("means", "variance"), [([5, 5, 5, 5], 1.0), ([1, 2, 3, 4], 1000.0)])
def test_means_that_differ_by_noise_alone_become_one(means: list[float], variance: float) -> None:
    found, kept = shrink_means(means, variance)
    assert kept == 0
    assert found == pytest.approx([float(np.mean(means))] * 4)


@pytest.mark.parametrize(
    ("means", "variance"), [([1, 2, 3], 1), ([1, 2, 3, NAN], 1), ([1, 2, 3, 4], -1), ([1, 2, 3, 4], NAN)]
)
def test_means_that_cannot_be_shrunk_are_refused(means: list[float], variance: float) -> None:
    with pytest.raises(ValueError):
        shrink_means(means, variance)
