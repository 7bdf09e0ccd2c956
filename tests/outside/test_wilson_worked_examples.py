"""Intervals of a share: Newcombe 1998, Stat Med 17:857, table I, method 3 (READ-2); second opinion statsmodels."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest
from statsmodels.stats.proportion import proportion_confint

from assessments.analysis.reliability import wilson


@pytest.mark.parametrize(
    ("met", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson_newcombe_1998(met: int, of: int, low: float, high: float) -> None:
    assert wilson(met, of) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(
    ("met", "of", "low", "high"),
    [(81, 263, 0.2535, 0.3682), (15, 148, 0.0598, 0.1644), (0, 20, 0.0, 0.2005), (1, 29, 0.0018, 0.1963)],
)
def test_the_corrected_interval_is_another_and_holds_ours(met: int, of: int, low: float, high: float) -> None:
    """Method 4, with continuity correction (COMPUTED): never narrower; the app shows method 3."""
    corrected = binomtest(met, of).proportion_ci(method="wilsoncc")
    assert (corrected.low, corrected.high) == pytest.approx((low, high), abs=5e-5)
    ours = wilson(met, of)
    assert ours is not None
    assert low <= ours[0] and ours[1] < high - 0.001


@pytest.mark.parametrize(("met", "of"), [(0, 1), (1, 1), (3, 7), (20, 20), (50, 200)])
@pytest.mark.parametrize("confidence", [0.80, 0.95])
def test_wilson_is_that_of_statsmodels(met: int, of: int, confidence: float) -> None:
    second = proportion_confint(met, of, alpha=1 - confidence, method="wilson")
    assert wilson(met, of, confidence=confidence) == pytest.approx(second, abs=1e-12)


def test_nothing_counted_has_no_interval() -> None:
    assert wilson(0, 0) is None
