"""The size of the noise and what exceeds it, on every kind of input."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from assessments.analysis.reliability import (
    detectable_change,
    icc,
    limits_of_agreement,
    mean_squares,
    reliable_change,
    repeatability_coefficient,
    sem_from_icc,
    sem_from_trials,
    sem_interval,
    smallest_worthwhile_change,
    typical_error,
    wilson,
)
from assessments.analysis.samples import NotEnough, normal_factor, t_factor

NAN = math.nan
TABLES = arrays(
    np.float64, st.tuples(st.integers(2, 6), st.integers(2, 4)), elements=st.integers(-50, 50).map(float)
)
FORMS = ("icc1", "icc2", "icc3", "icc1k", "icc2k", "icc3k")


@given(TABLES)
def test_squares_add_up(table: np.ndarray) -> None:
    found = mean_squares(table)
    n, k = table.shape
    parts = (n - 1) * found.between + (k - 1) * found.raters + (n - 1) * (k - 1) * found.error
    assert parts == pytest.approx(((table - table.mean()) ** 2).sum(), abs=1e-6)
    assert n * (k - 1) * found.within == pytest.approx(
        (k - 1) * found.raters + (n - 1) * (k - 1) * found.error, abs=1e-6
    )


@given(TABLES, st.floats(-100, 100), st.floats(0.1, 10))
def test_icc_does_not_depend_on_zero_and_unit(table: np.ndarray, shift: float, unit: float) -> None:
    one, two = icc(table), icc(table * unit + shift)
    for form in FORMS:
        assert getattr(two, form) == pytest.approx(getattr(one, form), abs=1e-6, nan_ok=True)


@given(TABLES)
def test_icc_does_not_depend_on_the_order_of_children_or_raters(table: np.ndarray) -> None:
    one, two = icc(table), icc(table[::-1, ::-1])
    for form in FORMS:
        assert getattr(two, form) == pytest.approx(getattr(one, form), abs=1e-9, nan_ok=True)


@given(TABLES)
def test_icc_interval_holds_its_value(table: np.ndarray) -> None:
    found = icc(table)
    for form in ("icc1", "icc3"):
        low, high = found.intervals[form]
        if not math.isnan(low):
            assert low - 1e-9 <= getattr(found, form) <= high + 1e-9


def test_icc_of_raters_that_agree_fully_is_one() -> None:
    found = icc([[1, 1], [5, 5], [9, 9]])
    assert [getattr(found, form) for form in FORMS] == [1.0] * 6
    assert all(math.isnan(end) for ends in found.intervals.values() for end in ends), "no noise seen"
    whole = icc([[1, 1], [5, 5], [9, 9]], step=1.0)
    assert [getattr(whole, form) for form in FORMS] == [1.0] * 6
    assert all(low < high == 1.0 for low, high in whole.intervals.values())


@example(np.array([[1.0, 0.0], [-6.0, -7.0]]))
@given(TABLES)
def test_whole_steps_never_make_an_icc_surer_from_below(table: np.ndarray) -> None:
    plain, whole = icc(table), icc(table, step=1.0)
    for form in FORMS:
        low, high = whole.intervals[form]
        if not math.isnan(low):
            assert low - 1e-9 <= getattr(whole, form) <= high + 1e-9
            assert math.isnan(plain.intervals[form][0]) or low <= plain.intervals[form][0] + 1e-9


def test_a_shift_between_raters_lowers_agreement_and_not_consistency() -> None:
    found = icc([[1, 4], [5, 8], [9, 12]])
    assert found.icc3 == 1.0
    assert found.icc1 < found.icc2 < 1.0


def test_icc_between_no_difference_of_children_is_negative_and_not_cut() -> None:
    assert icc([[1, 3], [3, 1], [2, 2]]).icc1 < 0


def test_narrower_confidence_gives_a_narrower_interval() -> None:
    table = [[9, 2], [6, 1], [8, 4], [7, 1]]
    wide, narrow = icc(table).intervals["icc2"], icc(table, confidence=0.5).intervals["icc2"]
    assert wide[0] < narrow[0] < narrow[1] < wide[1]


@pytest.mark.parametrize("table", [[], [1, 2], [[1, 2]], [[1], [2]], [[1, NAN], [2, 3]], [[[1]]]])
def test_tables_that_cannot_be_are_refused(table: list[object]) -> None:
    with pytest.raises(ValueError):
        icc(table)


@given(TABLES)
def test_sem_of_two_trials_is_the_typical_error(table: np.ndarray) -> None:
    two = table[:, :2]
    assert sem_from_trials(two).value == pytest.approx(typical_error(two[:, 0], two[:, 1]), abs=1e-9)


def test_a_shift_shared_by_all_children_is_no_noise() -> None:
    assert typical_error([10, 20, 30], [13, 23, 33]) == pytest.approx(0)
    assert repeatability_coefficient([10, 20, 30], [13, 23, 33]) == pytest.approx(6)


@pytest.mark.parametrize(
    ("first", "second"),
    [([], []), ([1], [2]), ([1, 2], [1]), ([1, NAN], [1, 2]), ([1, 2], [1, math.inf]), (1, 2)],
)
def test_pairs_that_cannot_be_are_refused(first: object, second: object) -> None:
    for formula in (typical_error, limits_of_agreement):
        with pytest.raises(ValueError):
            formula(first, second)


def test_all_equal_differences_have_no_spread() -> None:
    found = limits_of_agreement([5, 6, 7], [4, 5, 6])
    assert (found.bias, found.sd, found.low, found.high) == (1, 0, 1, 1)


def test_negative_values_are_values() -> None:
    assert typical_error([-3, -1, 0], [-1, -2, 4]) == pytest.approx(np.std([2, -1, 4], ddof=1) / math.sqrt(2))


def test_sem_interval_narrows_with_children() -> None:
    few, many = sem_interval(3, 7), sem_interval(3, 70)
    assert few.low < many.low < 3 < many.high < few.high


@pytest.mark.parametrize(("value", "df"), [(NAN, 5), (-1, 5), (math.inf, 5), (3, 0)])
def test_sem_interval_refuses_what_cannot_be(value: float, df: int) -> None:
    with pytest.raises(ValueError):
        sem_interval(value, df)


def test_sem_of_no_spread_is_zero() -> None:
    found = sem_from_trials([[1, 1], [2, 2], [3, 3]])
    assert (found.value, found.low, found.high) == (0, 0, 0)


@pytest.mark.parametrize(("sd", "correlation"), [(-1, 0.5), (1, 1.01), (1, -0.01), (NAN, 0.5), (1, NAN)])
def test_sem_from_icc_refuses_what_cannot_be(sd: float, correlation: float) -> None:
    with pytest.raises(ValueError):
        sem_from_icc(sd, correlation)


@pytest.mark.parametrize(("sd", "correlation", "sem"), [(10, 1, 0), (10, 0, 10), (0, 0.5, 0), (10, 0.75, 5)])
def test_sem_from_icc(sd: float, correlation: float, sem: float) -> None:
    assert sem_from_icc(sd, correlation) == pytest.approx(sem)


@given(st.floats(0, 100), st.floats(0.5, 0.99))
def test_detectable_change_grows_with_noise_and_confidence(sem: float, confidence: float) -> None:
    assert detectable_change(2 * sem, confidence) == pytest.approx(2 * detectable_change(sem, confidence))
    assert detectable_change(sem, confidence) <= detectable_change(sem, confidence + 0.009)
    assert detectable_change(sem, confidence) <= detectable_change(sem, confidence, df=5)


@pytest.mark.parametrize(
    ("sem", "confidence", "df"), [(NAN, 0.9, None), (-1, 0.9, None), (1, 0, None), (1, 1, None), (1, 0.9, 0)]
)
def test_detectable_change_refuses_what_cannot_be(sem: float, confidence: float, df: int | None) -> None:
    with pytest.raises(ValueError):
        detectable_change(sem, confidence, df=df)


def test_worthwhile_change_is_a_fifth_of_the_spread() -> None:
    assert smallest_worthwhile_change([1, 2, 3]) == pytest.approx(0.2)
    assert smallest_worthwhile_change([1, 2, 3], share=0.5) == pytest.approx(0.5)
    with pytest.raises(NotEnough):
        smallest_worthwhile_change([1])


def test_reliable_change_without_noise_is_refused() -> None:
    with pytest.raises(ValueError):
        reliable_change(1, 2, sd=5, reliability=1)


@given(st.integers(0, 50), st.integers(0, 50))
def test_wilson_holds_the_share_and_mirrors(met: int, missed: int) -> None:
    of = met + missed
    found, mirrored = wilson(met, of), wilson(missed, of)
    if of == 0:
        assert found is None
        return
    assert found is not None and mirrored is not None
    assert 0 <= found[0] <= met / of <= found[1] <= 1
    assert found == pytest.approx((1 - mirrored[1], 1 - mirrored[0]))


@pytest.mark.parametrize(("met", "of"), [(3, 2), (-1, 5), (0, -1)])
def test_wilson_refuses_what_is_no_share(met: int, of: int) -> None:
    with pytest.raises(ValueError):
        wilson(met, of)


def test_factors_of_common_confidences() -> None:
    assert normal_factor(0.90) == pytest.approx(1.644854, abs=1e-6)
    assert normal_factor(0.95) == pytest.approx(1.959964, abs=1e-6)
    assert t_factor(0.95, 7) == pytest.approx(2.364624, abs=1e-6)
    assert t_factor(0.90, 1e9) == pytest.approx(normal_factor(0.90), abs=1e-6)


def test_intervals_of_whole_steps_count_the_rounding_within_children() -> None:
    """Raters always a point apart leave nothing over: the variance of rounding, 1 / 12, stands in for it.

    The F interval of McGraw & Wong 1996 with scipy's quantiles; children's mean square 2 * 14 / 3.
    """
    table = [[1, 2], [2, 3], [4, 5], [5, 6]]
    found = icc(table, step=1.0)
    ratio = mean_squares(table).between * 12
    low, high = ratio / stats.f.ppf(0.975, 3, 3), ratio * stats.f.ppf(0.975, 3, 3)
    assert mean_squares(table).error == 0
    assert found.icc3 == 1
    assert found.intervals["icc3"] == (pytest.approx((low - 1) / (low + 1)), 1)
    assert found.intervals["icc3"][0] < (high - 1) / (high + 1) < 1
    assert math.isnan(icc(table).intervals["icc3"][0])
