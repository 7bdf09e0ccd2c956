"""Robust slope: Sen 1968, J Am Stat Assoc 63:1379 (READ-1 in scipy's tests) and Gilbert 1987, example 16.3.

Second opinion: scipy.stats.theilslopes.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import theilslopes

from assessments.analysis.samples import NotEnough
from assessments.analysis.slope import theil_sen

SEN = ([1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78])
GILBERT = ([1, 1, 1, 2, 3, 3, 4, 5], [10, 22, 21, 30, 22, 30, 40, 40])


def test_theil_sen_sen_1968() -> None:
    found = theil_sen(*SEN, confidence=0.93)
    assert (found.slope, found.intercept) == pytest.approx((4, 4))  # slope READ-1, intercept COMPUTED
    assert found.interval == pytest.approx((26 / 7, 35 / 8))  # printed 3.71 to 4.38
    assert found.interval == pytest.approx((3.71, 4.38), abs=0.005)


def test_the_intercept_is_that_of_the_medians_and_not_the_joint_one() -> None:
    """Two intercepts are in use: median y - slope * median t (here 4), and the median of y - slope * t (6, COMPUTED)."""
    times, values = (np.array(row, dtype=float) for row in SEN)
    found = theil_sen(times, values)
    assert found.intercept == pytest.approx(np.median(values) - found.slope * np.median(times)) == 4
    assert np.median(values - found.slope * times) == pytest.approx(6)
    assert theilslopes(values, times, method="joint").intercept == pytest.approx(6)


@pytest.mark.parametrize(("rows", "usable"), [(SEN, 21), (GILBERT, 24)])
def test_days_at_the_same_time_make_no_slope(
    rows: tuple[list[float], list[float]], usable: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """21 pairs of Sen, 24 of 28 of Gilbert (COMPUTED): counted where the median is taken."""
    counted: list[int] = []
    real = np.median

    def median(values: np.ndarray) -> float:
        counted.append(len(values))
        return float(real(values))

    monkeypatch.setattr("assessments.analysis.slope.np.median", median)
    theil_sen(*rows)
    assert counted[0] == usable


def test_mann_kendall_sum_of_gilbert_1987() -> None:
    """S = 19 (READ-2): more rises than falls among the slopes whose median is taken; a level pair counts for nothing."""
    times, values = GILBERT
    pairs = [(i, j) for i in range(8) for j in range(i + 1, 8)]
    assert sum(int(np.sign(values[j] - values[i]) * np.sign(times[j] - times[i])) for i, j in pairs) == 19
    sums = []
    middle = theil_sen(times, values).slope
    for line in (
        middle - 0.6,
        middle,
        middle + 0.6,
    ):  # at the median slope rises and falls about the line are as many, or nearly
        left = [value - line * time for time, value in zip(times, values, strict=True)]
        sums.append(sum(int(np.sign(left[j] - left[i]) * np.sign(times[j] - times[i])) for i, j in pairs))
    assert sums[0] > 0 > sums[2] and abs(sums[1]) <= 2


@pytest.mark.parametrize(("confidence", "low", "high"), [(0.80, 4, 9), (0.90, 10 / 3, 9), (0.95, 0.5, 10)])
def test_theil_sen_ties_gilbert_1987(confidence: float, low: float, high: float) -> None:
    found = theil_sen(*GILBERT, confidence=confidence)
    assert found.slope == pytest.approx(5.5)  # COMPUTED; 24 usable slopes of 28, days at equal t make none
    assert found.interval == pytest.approx((low, high))


@pytest.mark.parametrize("count", [2, 3, 4])
def test_theil_sen_refuses_interval_when_too_few(count: int) -> None:
    found = theil_sen(SEN[0][:count], SEN[1][:count])
    assert found.interval is None  # two points would give an interval of no width at all
    assert found.points == count


def test_theil_sen_has_an_interval_from_five_points() -> None:
    assert theil_sen(SEN[0][:5], SEN[1][:5]).interval is not None


def test_all_days_together_have_no_slope() -> None:
    with pytest.raises(NotEnough):
        theil_sen([3, 3, 3, 3, 3], [1, 2, 3, 4, 5])


@pytest.mark.parametrize("seed", range(12))
def test_theil_sen_is_that_of_scipy(seed: int) -> None:
    random = np.random.default_rng(seed)
    n = int(random.integers(5, 25))
    times = random.integers(0, 10, n).astype(float)
    values = random.integers(0, 12, n).astype(float) + times
    second = theilslopes(values, times, 0.90)
    found = theil_sen(times, values, confidence=0.90)
    assert (found.slope, found.intercept) == pytest.approx((second.slope, second.intercept), abs=1e-12)
    assert found.interval == pytest.approx((second.low_slope, second.high_slope), abs=1e-12)
