"""Agreement beyond chance, on every kind of input."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.analysis.concordance import (
    Kappa,
    count_pairs,
    kappa_of_counts,
    krippendorff_alpha,
    step_weights,
    weighted_kappa,
)
from assessments.analysis.samples import NotEnough

NAN = math.nan
LOOKS = st.lists(st.tuples(st.integers(0, 2), st.integers(0, 2)), min_size=1, max_size=30)


@given(LOOKS)
def test_kappa_does_not_depend_on_who_is_first_or_on_order(looks: list[tuple[int, int]]) -> None:
    one, two = zip(*looks, strict=True)
    found = weighted_kappa(one, two, (0, 1, 2))
    assert weighted_kappa(two, one, (0, 1, 2)) == pytest.approx(found, nan_ok=True)
    assert weighted_kappa(one[::-1], two[::-1], (0, 1, 2)) == pytest.approx(found, nan_ok=True)


@given(LOOKS)
def test_kappa_does_not_depend_on_the_names_of_levels(looks: list[tuple[int, int]]) -> None:
    names = ("not yet", "with a reminder", "on their own")
    one, two = zip(*looks, strict=True)
    named = weighted_kappa([names[level] for level in one], [names[level] for level in two], names)
    assert named == pytest.approx(weighted_kappa(one, two, (0, 1, 2)), nan_ok=True)


def test_full_agreement_is_one() -> None:
    for weights in ("none", "linear", "quadratic"):
        assert weighted_kappa([0, 1, 2], [0, 1, 2], (0, 1, 2), weights) == pytest.approx(1)


def test_one_level_only_is_undefined_and_not_one() -> None:
    assert math.isnan(weighted_kappa([2, 2, 2], [2, 2, 2], (0, 1, 2)))


def test_a_near_miss_costs_less_than_a_far_one() -> None:
    near = weighted_kappa([0, 0, 1, 2, 2], [0, 1, 1, 2, 2], (0, 1, 2))
    far = weighted_kappa([0, 0, 1, 2, 2], [0, 2, 1, 2, 2], (0, 1, 2))
    assert near > far


def test_step_weights() -> None:
    assert step_weights(3, "linear").tolist() == [[0, 0.5, 1], [0.5, 0, 0.5], [1, 0.5, 0]]
    assert step_weights(3, "quadratic").tolist() == [[0, 0.25, 1], [0.25, 0, 0.25], [1, 0.25, 0]]
    assert step_weights(3, "none").tolist() == [[0, 1, 1], [1, 0, 1], [1, 1, 0]]


@pytest.mark.parametrize(
    ("a", "b", "levels"),
    [
        ([], [], (0, 1)),
        ([0], [0, 1], (0, 1)),
        ([0], [3], (0, 1)),
        ([3], [0], (0, 1)),
        ([NAN], [0], (0, 1)),
        ([0], [0], (0,)),
        ([0], [0], (0, 0)),
        ([-1], [0], (0, 1)),
    ],
)
def test_levels_that_cannot_be_are_refused(a: list[float], b: list[float], levels: tuple[int, ...]) -> None:
    with pytest.raises(ValueError):
        weighted_kappa(a, b, levels)


def test_counts_have_rater_one_in_rows() -> None:
    assert count_pairs([0, 0, 1], [1, 1, 0], (0, 1)).tolist() == [[0, 2], [1, 0]]


@pytest.mark.parametrize(
    ("counts", "cost"),
    [
        ([[1, 2]], [[0, 1], [1, 0]]),
        ([[1, 2], [3, 4]], [[0]]),
        ([[1, 2, 3], [3, 4, 5]], [[0, 1, 1], [1, 0, 1]]),
        ([[1, -2], [3, 4]], [[0, 1], [1, 0]]),
        ([[1, NAN], [3, 4]], [[0, 1], [1, 0]]),
        ([[1, 2], [3, 4]], [[1, 1], [1, 0]]),
        ([[1, 2], [3, 4]], [[0, 0], [0, 0]]),
        ([[1, 2], [3, 4]], [[0, -1], [1, 0]]),
        ([[0, 0], [0, 0]], [[0, 1], [1, 0]]),
    ],
)
def test_tables_that_cannot_be_are_refused(counts: list[list[float]], cost: list[list[float]]) -> None:
    with pytest.raises(ValueError):
        kappa_of_counts(counts, cost)


def test_interval_is_cut_at_one() -> None:
    assert Kappa(0.95, 0.2, 0.2, 10).interval()[1] == 1.0
    assert Kappa(-0.95, 0.2, 0.2, 10).interval()[0] == -1.0
    assert Kappa(0.0, 0.1, 0.1, 10).interval(0.90) == pytest.approx((-0.164485, 0.164485), abs=1e-6)


def test_full_agreement_leaves_the_doubt_of_its_count() -> None:
    """Ten of ten the same: Wilson's lower end is 0.7225; half at each end of the scale agree by chance in 0.5."""
    levels = [0, 2] * 5
    found = kappa_of_counts(count_pairs(levels, levels, (0, 1, 2)), step_weights(3, "linear"))
    assert found.value == pytest.approx(1)
    assert found.interval() == pytest.approx(((0.72247 - 0.5) / 0.5, 1.0), abs=1e-4)


def test_one_pair_one_step_apart_says_hardly_anything() -> None:
    found = kappa_of_counts(count_pairs([0], [1], (0, 1, 2)), step_weights(3, "linear"))
    assert found.value == 0
    assert found.interval()[0] < -0.5 and found.interval()[1] > 0.5


def test_more_looks_make_kappa_surer() -> None:
    table = np.array([[8, 2, 0], [1, 6, 2], [0, 1, 5]])
    few, many = (
        kappa_of_counts(table, step_weights(3, "linear")),
        kappa_of_counts(4 * table, step_weights(3, "linear")),
    )
    assert many.value == pytest.approx(few.value)
    assert many.error == pytest.approx(few.error / 2)


@pytest.mark.parametrize("scale", ["nominal", "ordinal", "interval", "ratio"])
def test_alpha_of_full_agreement_is_one(scale: str) -> None:
    assert krippendorff_alpha([[1, 2, 3], [1, 2, 3]], scale) == pytest.approx(1)


@pytest.mark.parametrize("scale", ["nominal", "ordinal", "interval", "ratio"])
def test_alpha_of_one_level_is_undefined(scale: str) -> None:
    assert math.isnan(krippendorff_alpha([[2, 2], [2, 2]], scale))


def test_alpha_leaves_out_children_seen_once() -> None:
    full = krippendorff_alpha([[1, 2, 3], [1, 3, 3]])
    assert krippendorff_alpha([[1, 2, 3, 5], [1, 3, 3, NAN]]) == pytest.approx(full)


def test_alpha_of_a_ratio_scale_takes_zero() -> None:
    assert krippendorff_alpha([[0, 0, 2], [0, 2, 2]], "ratio") < 1


def test_alpha_is_low_when_raters_disagree() -> None:
    assert krippendorff_alpha([[1, 2, 1, 2], [2, 1, 2, 1]], "nominal") < 0


@pytest.mark.parametrize("table", [[], [1, 2], [[1, 2]], [[NAN, 1], [2, NAN]], [[1, math.inf], [1, 2]]])
def test_alpha_refuses_what_cannot_be(table: list[object]) -> None:
    with pytest.raises(ValueError):
        krippendorff_alpha(table)


def test_alpha_refuses_negative_ratios() -> None:
    with pytest.raises(ValueError):
        krippendorff_alpha([[-1, 2], [1, 2]], "ratio")


def test_alpha_without_pairs_is_not_enough() -> None:
    with pytest.raises(NotEnough):
        krippendorff_alpha([[NAN, NAN], [1, 2]])


def test_one_level_alone_has_no_kappa_and_keeps_its_count() -> None:
    found = kappa_of_counts([[7, 0], [0, 0]], step_weights(2, "linear"))
    assert found.count == 7
    for part in (found.value, found.error, found.error_if_none, found.agreed, found.expected):
        assert math.isnan(part)
