"""A value is placed in a table at its age, or the table says why it cannot be."""

from __future__ import annotations

import math
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.analysis.centiles import (
    LmsTable,
    OffTheScale,
    OutsideAges,
    PercentileBand,
    PercentileTable,
    centile_of,
    pool_lms,
    value_from_lms,
    weighted_percentiles,
    z_from_lms,
)

LMS = LmsTable((4.0, 5.0, 7.0), (0.4, 0.5, 0.5), (10.0, 20.0, 40.0), (0.9, 0.8, 0.6))
BANDS = PercentileTable(
    (10, 50, 90), (PercentileBand(4, 5, (5.0, 10.0, 20.0), 60), PercentileBand(6, 7, (9.0, 18.0, 40.0), 55))
)
PARAMETERS = st.tuples(st.floats(-2, 2), st.floats(1, 300), st.floats(0.02, 0.5))


@given(PARAMETERS, st.floats(-3, 3))
def test_value_and_z_undo_each_other(lms: tuple[float, float, float], z: float) -> None:
    if 1 + lms[0] * lms[2] * z <= 1e-3:
        return
    assert z_from_lms(value_from_lms(z, *lms), *lms) == pytest.approx(z, abs=1e-7)


@given(PARAMETERS, st.floats(-2, 2), st.floats(0.001, 1))
def test_a_higher_z_is_a_higher_value(lms: tuple[float, float, float], z: float, more: float) -> None:
    if 1 + lms[0] * lms[2] * z <= 1e-3 or 1 + lms[0] * lms[2] * (z + more) <= 1e-3:
        return
    assert value_from_lms(z + more, *lms) > value_from_lms(z, *lms)


@given(PARAMETERS, st.floats(-2, 2), st.floats(0.1, 10))
def test_a_change_of_unit_leaves_z_alone(lms: tuple[float, float, float], z: float, unit: float) -> None:
    if 1 + lms[0] * lms[2] * z <= 1e-3:
        return
    value = value_from_lms(z, *lms)
    assert z_from_lms(value * unit, lms[0], lms[1] * unit, lms[2]) == pytest.approx(z, abs=1e-7)


@pytest.mark.parametrize(
    ("power", "m", "s"), [(1, 0, 0.1), (1, -5, 0.1), (1, 5, 0), (math.nan, 5, 0.1), (1, math.inf, 1)]
)
def test_senseless_parameters_are_refused(power: float, m: float, s: float) -> None:
    with pytest.raises(ValueError):
        z_from_lms(5, power, m, s)
    with pytest.raises(ValueError):
        value_from_lms(0, power, m, s)


@pytest.mark.parametrize(
    ("z", "power"), [(math.nan, 1), (math.inf, 1), (-math.inf, 0), (1e6, 0), (1e300, 1e-2)]
)
def test_a_z_without_a_finite_value_is_refused(z: float, power: float) -> None:
    with pytest.raises(OffTheScale):
        value_from_lms(z, power, 10, 1)


def test_a_value_too_far_from_the_middle_is_refused() -> None:
    with pytest.raises(OffTheScale):
        z_from_lms(1e300, 5, 1e-3, 0.1)


@pytest.mark.parametrize(("z", "centile"), [(0, 50), (-1.2815515655, 10), (math.inf, 100), (-math.inf, 0)])
def test_centile_of_z(z: float, centile: float) -> None:
    assert centile_of(z) == pytest.approx(centile, abs=1e-8)


def test_a_blank_has_no_centile() -> None:
    with pytest.raises(ValueError):
        centile_of(math.nan)


def test_far_centiles_keep_their_digits() -> None:
    assert centile_of(-10) == pytest.approx(7.619853e-22, rel=1e-5)


def test_lms_is_drawn_straight_between_ages() -> None:
    assert LMS.at(6.0) == pytest.approx((0.5, 30.0, 0.7))
    assert LMS.at(4.0) == (0.4, 10.0, 0.9)
    assert LMS.at(7.0) == (0.5, 40.0, 0.6)


@pytest.mark.parametrize("age", [3.99, 7.01, -1, math.nan])
def test_lms_refuses_ages_outside(age: float) -> None:
    with pytest.raises(OutsideAges):
        LMS.at(age)
    assert LMS.place(10, age).where == "outside_ages"
    assert LMS.place(10, age).centile is None


def test_lms_places_a_value() -> None:
    found = LMS.place(30.0, 6.0)
    assert (found.where, found.z, found.reason) == ("at", 0, "Centile 50 of this table at 6.0 years.")
    assert found.centile == pytest.approx(50)
    assert LMS.value(50, 6.0) == pytest.approx(30.0)


def test_lms_says_at_least_for_a_capped_value() -> None:
    found = LMS.place(30.0, 6.0, at_least=True)
    assert (found.where, found.reason) == ("at_least", "At least centile 50 of this table at 6.0 years.")


def test_lms_has_no_place_for_zero() -> None:
    found = LMS.place(0, 6.0)
    assert (found.where, found.centile, found.z) == ("off_the_scale", None, None)


@pytest.mark.parametrize("centile", [0, 100, -3, math.nan])
def test_lms_value_needs_a_centile_between_0_and_100(centile: float) -> None:
    with pytest.raises(ValueError):
        LMS.value(centile, 6.0)


@pytest.mark.parametrize(
    "rows",
    [
        ((), (), (), ()),
        ((4.0, 4.0), (1, 1), (1, 1), (1, 1)),
        ((5.0, 4.0), (1, 1), (1, 1), (1, 1)),
        ((4.0, 5.0), (1,), (1, 1), (1, 1)),
        ((4.0,), (1,), (0,), (1,)),
        ((math.nan,), (1,), (1,), (1,)),
    ],
)
def test_lms_table_that_cannot_be_is_refused(rows: tuple[tuple[float, ...], ...]) -> None:
    with pytest.raises(ValueError):
        LmsTable(*rows)


def test_percentiles_are_drawn_straight_between_band_middles() -> None:
    assert BANDS.at(5.0) == (5.0, 10.0, 20.0)
    assert BANDS.at(6.0) == (7.0, 14.0, 30.0)
    assert BANDS.at(7.5) == (9.0, 18.0, 40.0)


def test_the_published_row_of_an_age_is_kept() -> None:
    assert BANDS.band(5.99).count == 60
    assert BANDS.band(6.0).count == 55


@pytest.mark.parametrize("age", [3.9, 8.0])
def test_percentiles_refuse_ages_outside(age: float) -> None:
    with pytest.raises(OutsideAges, match="4 years to the day before 8"):
        BANDS.at(age)
    assert BANDS.place(10, age).where == "outside_ages"


@pytest.mark.parametrize(
    ("value", "where", "centile"),
    [
        (10, "at", 50),
        (7.5, "at", 30),
        (15, "at", 70),
        (5, "at", 10),
        (20, "at", 90),
        (4.9, "below", 10),
        (20.1, "above", 90),
    ],
)
def test_percentiles_place_a_value(value: float, where: str, centile: float) -> None:
    found = BANDS.place(value, 5.0)
    assert (found.where, found.z) == (where, None)
    assert found.centile == pytest.approx(centile)


@pytest.mark.parametrize(("value", "where"), [(4, "at_least"), (10, "at_least"), (25, "above")])
def test_percentiles_never_call_an_at_least_value_below(value: float, where: str) -> None:
    assert BANDS.place(value, 5.0, at_least=True).where == where


def test_an_at_least_value_under_the_table_has_no_centile() -> None:
    assert BANDS.place(4, 5.0, at_least=True).centile is None


def test_a_blank_has_no_place() -> None:
    assert BANDS.place(math.nan, 5.0).where == "off_the_scale"


def test_percentiles_that_share_a_value_give_their_middle() -> None:
    flat = PercentileTable((3, 5, 10), (PercentileBand(4, 4, (2.0, 2.0, 6.0)),))
    assert flat.place(2.0, 4.5).centile == pytest.approx(4)


@pytest.mark.parametrize(
    ("percents", "bands"),
    [
        ((10, 50), ()),
        ((50, 10), (PercentileBand(4, 5, (1, 2)),)),
        ((10, 50), (PercentileBand(4, 5, (1,)),)),
        ((10, 50), (PercentileBand(4, 5, (2, 1)),)),
        ((10, 50), (PercentileBand(4, 5, (1, math.nan)),)),
        ((10, 50), (PercentileBand(5, 4, (1, 2)),)),
        ((10, 50), (PercentileBand(4, 5, (1, 2)), PercentileBand(7, 8, (1, 2)))),
        ((10, 50), (PercentileBand(4, 5, (1, 2)), PercentileBand(5, 8, (1, 2)))),
    ],
)
def test_percentile_table_that_cannot_be_is_refused(
    percents: tuple[float, ...], bands: tuple[PercentileBand, ...]
) -> None:
    with pytest.raises(ValueError):
        PercentileTable(percents, bands)


ROWS = st.lists(st.tuples(st.integers(0, 60), st.floats(0.1, 5)), min_size=1, max_size=30)


@given(ROWS, st.randoms())
def test_percentiles_do_not_depend_on_the_order_of_records(
    rows: list[tuple[int, float]], random: Random
) -> None:
    shuffled = list(rows)
    random.shuffle(shuffled)
    wanted = (5, 25, 50, 75, 95)
    one, two = (weighted_percentiles(*zip(*each, strict=True), wanted) for each in (rows, shuffled))
    assert one == pytest.approx(two)


@given(ROWS)
def test_percentiles_do_not_depend_on_the_unit_of_the_weights(rows: list[tuple[int, float]]) -> None:
    values, weights = zip(*rows, strict=True)
    again = weighted_percentiles(values, [7 * weight for weight in weights], (10, 50, 90))
    assert again == pytest.approx(weighted_percentiles(values, weights, (10, 50, 90)))


@given(ROWS)
def test_percentiles_rise_and_stay_inside(rows: list[tuple[int, float]]) -> None:
    values, weights = zip(*rows, strict=True)
    found = weighted_percentiles(values, weights, (0, 10, 50, 90, 100))
    assert list(found) == sorted(found)
    assert min(values) <= found[0]
    assert found[-1] <= max(values)


def test_a_record_of_weight_two_counts_as_two_records() -> None:
    assert weighted_percentiles([1, 2, 3], [1, 2, 1], (30, 50)) == weighted_percentiles(
        [1, 2, 2, 3], [1] * 4, (30, 50)
    )


def test_a_record_of_weight_zero_does_not_count() -> None:
    assert weighted_percentiles([1, 2, 99], [1, 1, 0], (100,)) == (2,)


@pytest.mark.parametrize(
    ("values", "weights", "percents"),
    [
        ([], [], [50]),
        ([1], [1, 2], [50]),
        ([1], [-1], [50]),
        ([1], [0], [50]),
        ([math.nan], [1], [50]),
        ([1], [1], [101]),
    ],
)
def test_records_that_cannot_be_are_refused(
    values: list[float], weights: list[float], percents: list[float]
) -> None:
    with pytest.raises(ValueError):
        weighted_percentiles(values, weights, percents)


def test_pooled_middle_lies_between_both() -> None:
    other = LmsTable(LMS.ages, LMS.l, (14.0, 26.0, 44.0), LMS.s)
    pooled = pool_lms(LMS, other)
    assert all(a < m < b for a, m, b in zip(LMS.m, pooled.m, other.m, strict=True))
    assert pool_lms(other, LMS).m == pytest.approx(pooled.m)


def test_pooled_share_moves_the_middle() -> None:
    other = LmsTable(LMS.ages, LMS.l, (14.0, 26.0, 44.0), LMS.s)
    assert pool_lms(LMS, other, share=0.9).m[0] < pool_lms(LMS, other, share=0.1).m[0]


def test_pooled_quantiles_are_those_of_a_large_mixture() -> None:
    import numpy as np

    other = LmsTable(LMS.ages, (0.3, 0.3, 0.3), (16.0, 30.0, 50.0), (0.7, 0.7, 0.5))
    random = np.random.default_rng(4)
    z = random.normal(size=40_000)
    half = len(z) // 2
    drawn = [value_from_lms(max(float(one), -2.4), *LMS.at(5.0)) for one in z[:half]]
    drawn += [value_from_lms(max(float(one), -2.4), *other.at(5.0)) for one in z[half:]]
    pooled = pool_lms(LMS, other)
    for percent in (10, 50, 90):
        assert pooled.value(percent, 5.0) == pytest.approx(float(np.percentile(drawn, percent)), rel=0.03)


@pytest.mark.parametrize("share", [0, 1, -1, math.nan])
def test_pooling_needs_a_share(share: float) -> None:
    with pytest.raises(ValueError):
        pool_lms(LMS, LMS, share=share)


def test_pooling_needs_the_same_ages() -> None:
    with pytest.raises(ValueError):
        pool_lms(LMS, LmsTable((4.0,), (1,), (10,), (0.1,)))
