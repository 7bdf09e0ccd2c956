"""z-scores and centiles against the US CDC growth-chart notes and WHO 2007 rows.

Sources: Kuczmarski and others 2002, Vital Health Stat 11(246), data-file notes (READ-1); de Onis and others 2007,
Bull WHO 85:660, doi:10.2471/BLT.07.043497 (L, M, S READ-1, results COMPUTED with rcpchgrowth 4.6.5).
"""

from __future__ import annotations

import pytest

from assessments.analysis.centiles import OffTheScale, centile_of, value_from_lms, z_from_lms

BOY_9_MONTHS = (-0.1600954, 9.476500305, 0.11218624)  # CDC, row 9.5 months
WHO_2007 = [
    pytest.param((-1.4864, 16.6133, 0.12307), 13.616, 22.063, id="girls BMI 10.0 y"),
    pytest.param((1, 138.6363, 0.04614), 126.605, 150.667, id="girls height 10.0 y"),
    pytest.param((1, 149.0807, 0.04753), 135.754, 162.408, id="boys height 12.0 y"),
    pytest.param((-1.4629, 15.7368, 0.09526), 13.422, 19.371, id="boys BMI 8.0 y"),
]
THIRD, NINETIETH = -1.8807936081512509, 1.2815515655446004


def test_lms_cdc_boy_9m_z() -> None:
    z = z_from_lms(9.7, *BOY_9_MONTHS)
    assert z == pytest.approx(0.207, abs=0.0005)  # READ-1
    assert z == pytest.approx(0.2073994118625, rel=1e-9)  # COMPUTED, rcpchgrowth the same


def test_lms_cdc_boy_9m_centile_58() -> None:
    centile = centile_of(z_from_lms(9.7, *BOY_9_MONTHS))
    assert centile == pytest.approx(58, abs=0.5)  # READ-1
    assert centile == pytest.approx(58.2151, abs=5e-5)  # COMPUTED


def test_lms_cdc_boy_9m_inverse() -> None:
    value = value_from_lms(-1.645, *BOY_9_MONTHS)
    assert value == pytest.approx(7.90, abs=0.005)  # READ-1
    assert value == pytest.approx(7.900629150650, rel=1e-9)  # COMPUTED


@pytest.mark.parametrize(("z", "value"), [(THIRD, 7.700624405), (NINETIETH, 10.96017225)])
def test_lms_cdc_table_centiles(z: float, value: float) -> None:
    assert value_from_lms(z, *BOY_9_MONTHS) == pytest.approx(value, abs=1e-7)  # READ-2, CDC table


@pytest.mark.parametrize(("value", "z"), [(14, 3.37209), (6, -4.22684)])
def test_lms_far_values_stay_plain_and_no_rule_for_weights_is_applied(value: float, z: float) -> None:
    # The WHO rule beyond 3 SD would give 3.408 and -4.070; it is for weight indices, not for performance.
    assert z_from_lms(value, *BOY_9_MONTHS) == pytest.approx(z, abs=1e-4)  # COMPUTED


def test_lms_l_zero_branch() -> None:
    _, m, s = BOY_9_MONTHS
    assert z_from_lms(9.7, 0, m, s) == pytest.approx(
        0.2077866549431, rel=1e-9
    )  # COMPUTED, rcpchgrowth the same
    assert value_from_lms(-1.645, 0, m, s) == pytest.approx(7.879533622601, rel=1e-9)


@pytest.mark.parametrize(("power", "z"), [(1e-7, 0.20778665519), (1e-9, 0.20778665495)])
def test_lms_l_near_zero_continuous(power: float, z: float) -> None:
    # The plain power formula gives 0.20778666259 and 0.20778759 here: it has lost seven digits.
    _, m, s = BOY_9_MONTHS
    assert z_from_lms(9.7, power, m, s) == pytest.approx(z, abs=1e-11)  # COMPUTED
    assert value_from_lms(z_from_lms(9.7, power, m, s), power, m, s) == pytest.approx(9.7, rel=1e-12)


def test_lms_l_one_is_plain_sd_score() -> None:
    _, m, s = BOY_9_MONTHS
    assert z_from_lms(9.7, 1, m, s) == pytest.approx(0.2102274203915, rel=1e-9)  # (y - M) / (M S)


@pytest.mark.parametrize(("lms", "low", "high"), WHO_2007)
def test_lms_who_2007_rows(lms: tuple[float, float, float], low: float, high: float) -> None:
    assert value_from_lms(THIRD, *lms) == pytest.approx(low, abs=0.0005)
    assert value_from_lms(-THIRD, *lms) == pytest.approx(high, abs=0.0005)


@pytest.mark.parametrize(("lms", "low", "high"), WHO_2007)
@pytest.mark.parametrize("z", [-2.5, -1, 0, 0.7, 2.2])
def test_lms_round_trip_who_2007(lms: tuple[float, float, float], low: float, high: float, z: float) -> None:
    assert z_from_lms(value_from_lms(z, *lms), *lms) == pytest.approx(z, abs=1e-12)


def test_lms_out_of_domain_refused() -> None:
    power, _, s = BOY_9_MONTHS
    end = -1 / (power * s)
    assert end == pytest.approx(55.7, abs=0.05)
    assert value_from_lms(end - 0.01, *BOY_9_MONTHS) > 0
    with pytest.raises(OffTheScale):
        value_from_lms(end + 0.01, *BOY_9_MONTHS)


@pytest.mark.parametrize("value", [0, -3, float("nan"), float("inf")])
def test_lms_has_no_z_at_or_below_zero(value: float) -> None:
    with pytest.raises(OffTheScale):
        z_from_lms(value, *BOY_9_MONTHS)
