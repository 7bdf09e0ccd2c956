"""Prediction intervals and their coverage: cars (Ezekiel 1930, R output READ-1), Kupiec 1995, Gneiting & Raftery 2007."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import binom

from assessments.analysis.coverage import interval_score, kupiec, misses_that_fit
from assessments.analysis.slope import predict

from .reading import columns


def cars() -> list[list[float]]:
    return columns("worked_prediction_cars.csv", "speed_mph", "stop_distance_ft")


def test_prediction_interval_cars() -> None:
    found = predict(*cars(), 10, level=0.95)
    assert (found.value, found.low, found.high) == pytest.approx(
        (21.74499, -9.809601, 53.29959), abs=1e-5
    )  # READ-1
    assert found.note == ""


def test_confidence_interval_of_the_line_cars() -> None:
    speed, distance = cars()
    found = predict(speed, distance, 10, level=0.95, new=False)
    assert (found.value, found.low, found.high) == pytest.approx(
        (21.74499, 15.46192, 28.02807), abs=1e-5
    )  # READ-1
    # Intercept, slope and residual spread (COMPUTED); the two intervals differ by the spread of one value alone.
    start, one = (predict(speed, distance, at).value for at in (0, 1))
    assert (start, one - start) == pytest.approx((-17.579095, 3.932409), abs=5e-7)
    value = predict(speed, distance, 10, level=0.95)
    reach = [(value.high - value.low) / 2, (found.high - found.low) / 2]
    assert np.sqrt(reach[0] ** 2 - reach[1] ** 2) / 2.010635 == pytest.approx(15.379587, abs=1e-5)


def test_prediction_interval_below_zero_is_cut_and_said() -> None:
    found = predict(*cars(), 10, level=0.95, floor=0)
    assert found.low == 0
    assert found.high == pytest.approx(53.29959, abs=1e-5)
    assert found.note == "cut at 0, the lowest there can be"


@pytest.mark.parametrize(("at", "level"), [(4, 0.8), (15.4, 0.8), (25, 0.95)])
def test_prediction_is_that_of_statsmodels(at: float, level: float) -> None:
    speed, distance = cars()
    model = sm.OLS(distance, sm.add_constant(speed)).fit()
    second = model.get_prediction([[1, at]]).summary_frame(alpha=1 - level)
    found = predict(speed, distance, at, level=level)
    assert (found.value, found.low, found.high) == pytest.approx(
        (second["mean"][0], second["obs_ci_lower"][0], second["obs_ci_upper"][0]), rel=1e-9
    )


@pytest.mark.parametrize(
    ("of", "promised", "low", "high"),
    [
        (255, 0.05, 7, 20),
        (510, 0.05, 17, 35),
        (1000, 0.05, 38, 64),
        (255, 0.01, 1, 6),
        (510, 0.01, 2, 10),
        (1000, 0.01, 5, 16),
    ],
)
def test_kupiec_acceptance_regions(of: int, promised: float, low: int, high: int) -> None:
    assert misses_that_fit(of, promised) == (low, high)  # READ-2, one (255 at 1 %) COMPUTED
    assert not kupiec(low - 1, of, promised).fits
    assert not kupiec(high + 1, of, promised).fits


def test_kupiec_statistics() -> None:
    assert kupiec(25, 500, 0.05).statistic == 0
    assert kupiec(0, 250, 0.05).statistic == pytest.approx(25.646647, abs=1e-6)  # COMPUTED


@pytest.mark.parametrize(("value", "score"), [(15, 10), (8, 50), (23, 70)])
def test_interval_score_hand_values(value: float, score: float) -> None:
    assert interval_score(10, 20, value, level=0.90) == pytest.approx(score)


def test_forecast_interval_coverage_simulated() -> None:
    """Six points, true line 10 + 2t, SD 3, predicted at t = 8: the 90 % interval holds 88.4 to 91.5 % of 4,000.

    The same draws gave 0.89625 in an independent run (COMPUTED).
    """
    random = np.random.default_rng(20261125)
    times = np.arange(6.0)
    draws, held = 4000, 0
    for _ in range(draws):
        values = 10 + 2 * times + random.normal(0, 3, len(times))
        found = predict(times, values, 8, level=0.90)
        held += found.low <= 10 + 2 * 8 + random.normal(0, 3) <= found.high
    assert 0.884 <= held / draws <= 0.915  # binomial 99.9 % band
    assert held / draws == pytest.approx(0.89625, abs=1e-9)


@pytest.mark.parametrize(
    ("of", "promised", "low", "high"), [(2000, 0.05, 69, 133), (500, 0.05, 11, 42), (500, 0.20, 72, 130)]
)
def test_misses_of_many_forecasts_stay_in_their_band(of: int, promised: float, low: int, high: int) -> None:
    """Bands of misses that hold 99.9 % of runs (binomial, COMPUTED), and our forecasts of lines that hold true."""
    assert binom.interval(0.999, of, promised) == (low, high)
    random = np.random.default_rng(20261125)
    times, missed = np.arange(6.0), 0
    for _ in range(of):
        values = 10 + 2 * times + random.normal(0, 3, len(times))
        found = predict(times, values, 8, level=1 - promised)
        missed += not found.low <= 10 + 2 * 8 + random.normal(0, 3) <= found.high
    assert low <= missed <= high


@pytest.mark.parametrize(("n", "factor"), [(5, 3.041443), (10, 2.372570), (20, 2.144711)])
def test_few_values_need_more_than_two_standard_deviations(n: int, factor: float) -> None:
    """A flat history predicts with t(n - 1) * sqrt(1 + 1/n) standard deviations; a trend costs one more degree."""
    from assessments.analysis.samples import t_factor

    assert t_factor(0.95, n - 1) * np.sqrt(1 + 1 / n) == pytest.approx(factor, abs=5e-7)  # COMPUTED
