"""Agreement on rubric levels: Cohen 1968, Fleiss, Cohen & Everitt 1969, Fleiss & Cohen 1973, Krippendorff 2011.

Second opinion on every kappa: statsmodels `cohens_kappa`. Marks as in data/README.md.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from statsmodels.stats.inter_rater import cohens_kappa

from assessments.analysis.concordance import (
    count_pairs,
    kappa_of_counts,
    krippendorff_alpha,
    step_weights,
    weighted_kappa,
)
from assessments.analysis.reliability import mean_squares

from .reading import columns, rows

COHEN = 200 * np.array([[0.44, 0.07, 0.09], [0.05, 0.20, 0.05], [0.01, 0.03, 0.06]])
COHEN_WEIGHTS = np.array([[0, 1, 3], [1, 0, 6], [3, 6, 0]])
FLEISS = np.array([[106, 10, 4], [22, 28, 10], [2, 12, 6]])
FLEISS_AGREE = np.array([[1, 0, 0.4444], [0, 1, 0.6667], [0.4444, 0.6667, 1]])
SAS = np.array([[0, 4, 1], [0, 8, 0], [0, 1, 5]])
ANXIETY = "worked_kappa_anxiety_ratings.csv"
SCALE = (1, 2, 3, 4, 5, 6)


def test_weighted_kappa_cohen_1968() -> None:
    plain = kappa_of_counts(COHEN, step_weights(3, "none"))
    assert plain.value == pytest.approx(0.492, abs=0.0005)  # READ-2
    assert (plain.value, plain.error) == pytest.approx((0.491525, 0.051002), abs=1e-6)  # COMPUTED
    weighted = kappa_of_counts(COHEN, COHEN_WEIGHTS)
    assert weighted.value == pytest.approx(0.348, abs=0.0005)  # READ-2
    assert (weighted.value, weighted.error) == pytest.approx((0.347826, 0.075504), abs=1e-6)  # COMPUTED


def test_weighted_kappa_asymmetric_weights() -> None:
    found = kappa_of_counts(COHEN, [[0, 1, 4], [1, 0, 6], [2, 2, 0]])
    assert found.value == pytest.approx(0.353, abs=0.0005)  # READ-2
    assert found.value == pytest.approx(0.353383, abs=1e-6)  # COMPUTED by hand


def test_kappa_standard_error_1969() -> None:
    plain = kappa_of_counts(FLEISS, step_weights(3, "none"))
    assert plain.value == pytest.approx(0.428571, abs=1e-6)  # 0.429 FROM MEMORY, full figure COMPUTED
    assert (plain.error, plain.error_if_none) == pytest.approx((0.053711, 0.055512), abs=1e-6)
    weighted = kappa_of_counts(FLEISS, 1 - FLEISS_AGREE)
    assert weighted.value == pytest.approx(0.507070, abs=1e-6)  # 0.507 FROM MEMORY, full figure COMPUTED
    assert (weighted.error, weighted.error_if_none) == pytest.approx((0.056994, 0.065336), abs=1e-6)


def test_kappa_linear_weights_three_by_three() -> None:
    plain, linear = (
        kappa_of_counts(SAS, step_weights(3, "none")),
        kappa_of_counts(SAS, step_weights(3, "linear")),
    )
    assert (plain.value, plain.error) == pytest.approx((0.4842, 0.1380), abs=5e-5)  # READ-2, SAS output
    assert plain.interval() == pytest.approx((0.2137, 0.7547), abs=1e-4)
    assert (linear.value, linear.error) == pytest.approx((0.4701, 0.1457), abs=5e-5)
    assert linear.interval() == pytest.approx((0.1845, 0.7558), abs=1e-4)
    assert kappa_of_counts(SAS, step_weights(3, "quadratic")).value == pytest.approx(
        0.450161, abs=1e-6
    )  # COMPUTED


@pytest.mark.parametrize("table", [COHEN, FLEISS, SAS], ids=["cohen", "fleiss", "sas"])
@pytest.mark.parametrize(
    ("ours", "theirs"), [("none", None), ("linear", "linear"), ("quadratic", "quadratic")]
)
def test_kappa_and_its_errors_are_those_of_statsmodels(
    table: np.ndarray, ours: str, theirs: str | None
) -> None:
    found, second = kappa_of_counts(table, step_weights(3, ours)), cohens_kappa(table, wt=theirs)
    assert found.value == pytest.approx(second.kappa, rel=1e-9)
    assert found.error == pytest.approx(second.std_kappa, rel=1e-9)
    assert found.error_if_none == pytest.approx(second.std_kappa0, rel=1e-9)


@pytest.mark.parametrize(
    ("weights", "whole", "squeezed"),
    [
        ("none", -0.006289308, -0.006289308),
        ("linear", 0.126213592, 0.1459075),
        ("quadratic", 0.229797980, 0.2520325),
    ],
)
def test_weighted_kappa_uses_full_rubric_scale(weights: str, whole: float, squeezed: float) -> None:
    two, three = columns(ANXIETY, "rater_2", "rater_3")
    assert weighted_kappa(two, three, SCALE, weights) == pytest.approx(whole, abs=1e-9)  # COMPUTED
    seen = sorted({*two, *three})
    assert seen == [1, 2, 3, 4, 6]
    assert weighted_kappa(two, three, seen, weights) == pytest.approx(squeezed, abs=5e-8)  # READ-2, R irr


def test_linear_is_the_default_weight() -> None:
    two, three = columns(ANXIETY, "rater_2", "rater_3")
    assert weighted_kappa(two, three, SCALE) == pytest.approx(0.126213592, abs=1e-9)


@pytest.mark.parametrize(("first", "second", "expected"), [(1, 2, 0.296765120), (2, 3, 0.229797980)])
def test_quadratic_kappa_equals_anova_form(first: int, second: int, expected: float) -> None:
    one, two = columns(ANXIETY, f"rater_{first}", f"rater_{second}")
    squares = mean_squares(np.array([one, two]).T)
    n = squares.rows
    between, left_over, raters = squares.between * (n - 1), squares.error * (n - 1), squares.raters
    anova = (between - left_over) / (between + left_over + 2 * raters)
    kappa = weighted_kappa(one, two, SCALE, "quadratic")
    assert kappa == pytest.approx(expected, abs=1e-9)  # COMPUTED
    assert kappa == pytest.approx(anova, rel=1e-12)  # Fleiss & Cohen 1973, identity


def test_count_table_of_three_pairs_of_raters_matches_statsmodels() -> None:
    raters = columns(ANXIETY, "rater_1", "rater_2", "rater_3")
    for one, two in itertools.combinations(raters, 2):
        second = cohens_kappa(count_pairs(one, two, SCALE), wt="linear").kappa
        assert weighted_kappa(one, two, SCALE) == pytest.approx(second, rel=1e-9)


@pytest.mark.parametrize(
    ("scale", "recalled", "computed"),
    [
        ("nominal", 0.743, 0.743421),
        ("ordinal", 0.815, 0.815388),
        ("interval", 0.849, 0.849107),
        ("ratio", 0.797, 0.797403),
    ],
)
def test_krippendorff_alpha_ordinal_2011(scale: str, recalled: float, computed: float) -> None:
    table = [
        [float(row[f"u{unit}"]) if row[f"u{unit}"] else np.nan for unit in range(1, 13)]
        for row in rows("worked_alpha_krippendorff_2011.csv")
    ]
    found = krippendorff_alpha(table, scale)
    assert found == pytest.approx(recalled, abs=0.0005)  # FROM MEMORY
    assert found == pytest.approx(computed, abs=1e-6)  # COMPUTED, krippendorff 0.9.0
