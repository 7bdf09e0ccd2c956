"""Intraclass correlations of Shrout & Fleiss 1979, Psychol Bull 86:420, doi:10.1037/0033-2909.86.2.420 (READ-2).

Intervals: McGraw & Wong 1996 with the correction on p. 390. Mean squares and full-precision intervals COMPUTED.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import f as f_distribution

from assessments.analysis.reliability import icc

from .reading import rows

PUBLISHED = {  # value, low, high to two places (READ-2)
    "icc1": (0.17, -0.13, 0.72),
    "icc2": (0.29, 0.02, 0.76),
    "icc3": (0.71, 0.34, 0.95),
    "icc1k": (0.44, -0.88, 0.91),
    "icc2k": (0.62, 0.07, 0.93),
    "icc3k": (0.91, 0.68, 0.99),
}
COMPUTED = {
    "icc1": (0.165742, -0.1329, 0.7226),
    "icc2": (0.289764, 0.0188, 0.7611),
    "icc3": (0.714841, 0.3425, 0.9459),
    "icc1k": (0.442797, -0.8844, 0.9124),
    "icc2k": (0.620051, 0.0711, 0.9272),
    "icc3k": (0.909316, 0.6757, 0.9859),
}


def ratings() -> np.ndarray:
    table = np.zeros((6, 4))
    for row in rows("worked_icc_shrout_fleiss_1979.csv"):
        table[int(row["target"]) - 1, int(row["judge"]) - 1] = float(row["rating"])
    return table


@pytest.mark.parametrize("form", PUBLISHED)
def test_icc_shrout_fleiss_six_forms(form: str) -> None:
    found = getattr(icc(ratings()), form)
    assert found == pytest.approx(PUBLISHED[form][0], abs=0.005)
    assert found == pytest.approx(COMPUTED[form][0], abs=1e-6)


@pytest.mark.parametrize("form", PUBLISHED)
def test_icc_shrout_fleiss_intervals(form: str) -> None:
    low, high = icc(ratings()).intervals[form]
    assert (low, high) == pytest.approx(PUBLISHED[form][1:], abs=0.005)
    assert (low, high) == pytest.approx(COMPUTED[form][1:], abs=6e-5)


def test_icc_shrout_fleiss_mean_squares() -> None:
    squares = icc(ratings()).squares
    found = (squares.between, squares.within, squares.raters, squares.error)
    assert found == pytest.approx((11.24167, 6.26389, 32.48611, 1.01944), abs=5e-6)  # COMPUTED
    assert squares.between / squares.within == pytest.approx(1.8, abs=0.05)  # F on 5 and 18 (READ-2)
    assert squares.between / squares.error == pytest.approx(11.0, abs=0.05)  # F on 5 and 15 (READ-2)
    assert (squares.rows - 1, squares.rows * (squares.columns - 1)) == (5, 18)
    assert (squares.columns - 1, (squares.rows - 1) * (squares.columns - 1)) == (3, 15)


def test_icc_shrout_fleiss_chance_of_such_differences_between_targets() -> None:
    """From full mean squares 0.16477 and 0.000135; the printed p came from F rounded to one place (READ-2, both)."""
    squares = icc(ratings()).squares
    for f, f_printed, df, p_printed, p_full, last_digit in (
        (squares.between / squares.within, 1.79, 18, 0.16472, 0.16477, 5e-6),
        (squares.between / squares.error, 11.03, 15, 0.00013, 0.000135, 5e-7),
    ):
        assert f == pytest.approx(f_printed, abs=0.005)
        assert float(f_distribution.sf(f, 5, df)) == pytest.approx(p_full, abs=last_digit)
        assert float(f_distribution.sf(f, 5, df)) == pytest.approx(p_printed, abs=6e-5)


def test_icc_identical_scores_is_undefined_not_one() -> None:
    found = icc([[7, 7], [7, 7], [7, 7]])
    assert all(math.isnan(getattr(found, form)) for form in PUBLISHED)
    assert all(math.isnan(end) for form in PUBLISHED for end in found.intervals[form])
