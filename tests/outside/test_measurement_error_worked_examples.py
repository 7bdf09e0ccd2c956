"""Noise and real change against Weir 2005, Hopkins 2000, Jacobson & Truax 1991 and Bland & Altman 1986.

Marks as in data/README.md: READ-2 quoted publication, COMPUTED an independent run, FROM MEMORY recalled.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from assessments.analysis.reliability import (
    detectable_change,
    icc,
    limits_of_agreement,
    reliable_change,
    repeatability_coefficient,
    sem_from_icc,
    sem_from_trials,
    smallest_worthwhile_change,
    typical_error,
)
from assessments.analysis.samples import t_factor

from .reading import columns

# Weir set B: numbers FROM MEMORY, used as arithmetic only.
WEIR_B = ([166, 168, 160, 150, 147, 146, 156, 155], [160, 172, 142, 159, 135, 143, 147, 168])


@pytest.fixture
def weir_a() -> np.ndarray:
    return np.array(columns("worked_reliability_weir_2005_a.csv", "trial_1", "trial_2")).T


def test_sem_mdc_weir_set_a(weir_a: np.ndarray) -> None:
    sem = sem_from_trials(weir_a).value
    assert sem == pytest.approx(7.6, abs=0.05)  # READ-2, p. 236
    assert sem == pytest.approx(7.556926813, rel=1e-9)  # COMPUTED
    assert detectable_change(sem, 0.95) == pytest.approx(21, abs=0.5)  # FROM MEMORY
    assert detectable_change(sem, 0.95) == pytest.approx(20.946732442, rel=2e-5)  # COMPUTED with 1.96


def test_weir_errors_of_prediction_follow_from_our_icc(weir_a: np.ndarray) -> None:
    sd, rho = float(np.std(weir_a, ddof=1)), icc(weir_a).icc3
    assert sd == pytest.approx(31.748753256, rel=1e-9)
    assert sd * math.sqrt(1 - rho**2) == pytest.approx(10.2, abs=0.05)  # SEP, READ-2
    assert sd * math.sqrt(rho * (1 - rho)) == pytest.approx(7.1, abs=0.05)  # SEE, READ-2


def test_weir_correlations_and_mean_squares(weir_a: np.ndarray) -> None:
    found = icc(weir_a)
    assert (found.icc1, found.icc2, found.icc3) == pytest.approx(
        (0.9501, 0.9500, 0.9470), abs=5e-5
    )  # COMPUTED
    assert (found.icc1k, found.icc2k, found.icc3k) == pytest.approx((0.9744, 0.9743, 0.9728), abs=5e-5)
    squares = found.squares
    assert (squares.between, squares.raters, squares.error) == pytest.approx(
        (2098.535714, 30.25, 57.107143), rel=1e-6
    )


def test_two_sem_formulas_are_not_interchangeable(weir_a: np.ndarray) -> None:
    from_icc = sem_from_icc(float(np.std(weir_a, ddof=1)), icc(weir_a).icc3)
    assert from_icc == pytest.approx(7.308, abs=5e-4)  # COMPUTED
    assert sem_from_trials(weir_a).value - from_icc == pytest.approx(0.249, abs=5e-4)


def test_sem_interval_chi_square(weir_a: np.ndarray) -> None:
    sem = sem_from_trials(weir_a)
    assert sem.df == 7
    assert (sem.low, sem.high) == pytest.approx((4.996, 15.380), abs=5e-4)  # COMPUTED


def test_icc_falls_sem_stays_weir_set_b(weir_a: np.ndarray) -> None:
    alike = np.array(WEIR_B, dtype=float).T
    assert sem_from_trials(alike).value == pytest.approx(sem_from_trials(weir_a).value, rel=1e-9)
    assert (icc(alike).icc3, icc(alike).icc2) == pytest.approx((0.538, 0.553), abs=5e-4)  # COMPUTED


def test_typical_error_equals_root_mse_two_trials(weir_a: np.ndarray) -> None:
    assert typical_error(weir_a[:, 0], weir_a[:, 1]) == pytest.approx(7.556926813, rel=1e-9)
    # Differences FROM MEMORY as Hopkins's own example; results COMPUTED.
    found = typical_error([0, 0, 0, 0, 0], [5, -2, 6, 0, -4])
    assert found == pytest.approx(3.082207, abs=5e-7)
    assert found * math.sqrt(2) == pytest.approx(4.358899, abs=5e-7)  # SD of the differences


def test_swc_point_two_sd(weir_a: np.ndarray) -> None:
    assert smallest_worthwhile_change(weir_a[:, 0]) == pytest.approx(6.554388, abs=5e-7)  # COMPUTED


def test_mdc_small_sample_uses_t(weir_a: np.ndarray) -> None:
    sem = sem_from_trials(weir_a)
    assert detectable_change(sem.value, 0.95, df=sem.df) == pytest.approx(
        25.3, abs=0.05
    )  # COMPUTED, t = 2.365


def test_mdc_default_is_ninety_percent() -> None:
    assert detectable_change(6) == pytest.approx(14, abs=0.5)  # long jump, SEM 6 cm: about 14 cm
    assert detectable_change(1) == pytest.approx(1.645 * math.sqrt(2), rel=1e-4)


def test_rci_jacobson_truax() -> None:
    found = reliable_change(47.5, 32.5, sd=7.5, reliability=0.80)  # example FROM MEMORY, results COMPUTED
    assert (found.sem, found.sem_of_difference, found.index) == pytest.approx(
        (3.354102, 4.743416, -3.162278), abs=5e-7
    )
    second = reliable_change(0, 7.645131, sd=10.5, reliability=0.931)  # inputs READ-2, results COMPUTED
    assert (second.sem, second.sem_of_difference) == pytest.approx((2.758124, 3.900577), abs=5e-7)
    assert second.index == pytest.approx(1.96, abs=1e-5)


@pytest.mark.parametrize(("step", "beyond"), [(-1e-4, False), (1e-4, True)])
def test_rci_agrees_with_mdc_at_the_boundary(step: float, beyond: bool) -> None:
    threshold = detectable_change(sem_from_icc(7.5, 0.80), 0.95)
    assert threshold == pytest.approx(9.297096, rel=2e-5)  # COMPUTED with 1.96
    change = threshold + step
    assert (abs(reliable_change(0, change, sd=7.5, reliability=0.80).index) > 1.959964) is beyond


def test_limits_of_agreement_bland_altman_1986() -> None:
    wright, mini = columns("worked_agreement_bland_altman_1986_pefr.csv", "wright_1", "mini_1")
    paper = limits_of_agreement(wright, mini, multiplier=2)
    assert paper.bias == pytest.approx(-2.1, abs=0.05)  # READ-2
    assert paper.sd == pytest.approx(38.8, abs=0.05)  # READ-2
    assert (paper.low, paper.high) == pytest.approx((-79.7, 75.5), abs=0.1)  # READ-2, rounded midway
    assert paper.low_interval == pytest.approx((-114.3, -45.1), abs=0.2)  # READ-2, rounded midway
    assert paper.high_interval == pytest.approx((40.9, 110.1), abs=0.2)  # FROM MEMORY
    assert paper.bias_interval == pytest.approx((-22.0, 17.8), abs=0.1)  # FROM MEMORY, rounded midway
    assert paper.n == 17
    # The same at full precision, COMPUTED (t on 16 df = 2.119905).
    assert (paper.bias, paper.sd) == pytest.approx((-2.117647059, 38.765129874), abs=5e-10)
    assert (paper.low, paper.high) == pytest.approx((-79.647907, 75.412613), abs=5e-7)
    assert paper.bias_interval == pytest.approx((-22.048838, 17.813544), abs=5e-7)
    assert paper.low_interval == pytest.approx((-114.169742, -45.126072), abs=5e-7)
    assert paper.high_interval == pytest.approx((40.890778, 109.934447), abs=1e-6)
    assert t_factor(0.95, 16) == pytest.approx(2.119905, abs=5e-7)


def test_a_high_correlation_of_two_meters_hides_limits_eighty_apart() -> None:
    """The paper's own point: r = 0.94 (FROM MEMORY; COMPUTED 0.943279) says nothing about agreement."""
    wright, mini = columns("worked_agreement_bland_altman_1986_pefr.csv", "wright_1", "mini_1")
    correlation = float(np.corrcoef(wright, mini)[0, 1])
    assert correlation == pytest.approx(0.943279, abs=5e-7)
    shifted = limits_of_agreement(np.array(wright) + 100, mini)
    assert float(np.corrcoef(np.array(wright) + 100, mini)[0, 1]) == pytest.approx(correlation)
    assert shifted.bias == pytest.approx(limits_of_agreement(wright, mini).bias + 100)


def test_default_multiplier_is_1_96_and_not_2() -> None:
    wright, mini = columns("worked_agreement_bland_altman_1986_pefr.csv", "wright_1", "mini_1")
    found = limits_of_agreement(wright, mini)
    assert (found.low, found.high) == pytest.approx((-78.097302, 73.862007), abs=1e-6)  # COMPUTED


def test_repeatability_coefficient_bland_altman_1986() -> None:
    for meter, printed, computed in (("wright", 43.2, 43.293798), ("mini", 56.4, 56.316333)):
        first, second = columns("worked_agreement_bland_altman_1986_pefr.csv", f"{meter}_1", f"{meter}_2")
        found = repeatability_coefficient(first, second)
        assert found == pytest.approx(printed, abs=0.1)  # FROM MEMORY, rounded midway
        assert found == pytest.approx(computed, abs=1e-6)  # COMPUTED
