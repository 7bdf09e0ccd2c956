"""Conformity decisions and the level filter against published and hand-worked numbers.

- JCGM 106:2012, Evaluation of measurement data: the role of measurement uncertainty in conformity assessment; worked
  numbers as reproduced on metrologyrules.com (March 2022): result 13.6, u 1.8, limits 12.5 and 16.3 -> 0.6626.
- ILAC-G8:09/2019: accepted at the limit without a guard band, up to half of the decisions are wrong.
- The other figures are worked by hand from the normal distribution and the scalar Kalman filter (R. E. Kalman 1960,
  doi:10.1115/1.3662552), noise R = 25 and drift R / 12 a week.
- J. P. Weir 2005, doi:10.1519/15184.1: detectable change 1.645 * sqrt(2) * SEM.
"""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from scipy import stats

from assessments.analysis import acceptance_limit, level_on, probability_met
from assessments.analysis.records import DayScore
from assessments.analysis.trend import change_between


def chance(level, line=20.0):
    return float(stats.norm.cdf((level.mean - line) / math.sqrt(level.variance)))


def test_the_two_sided_example_of_jcgm_106_comes_back():
    inside = probability_met(13.6, 12.5, 1.8) - probability_met(13.6, 16.3, 1.8)
    assert inside == pytest.approx(0.6626, abs=5e-5)


@pytest.mark.parametrize(
    ("score", "sem", "expected"),
    [(24, 3, 0.9088), (24, 3 / math.sqrt(2), 0.9703), (20, 3, 0.5)],
)
def test_one_day_and_the_mean_of_two(score, sem, expected):
    assert probability_met(score, 20, sem) == pytest.approx(expected, abs=5e-5)


def test_whole_counts_move_the_line_by_half_a_step():
    assert probability_met(2.5, 3, 0.8, whole=True) == 0.5
    assert probability_met(3, 3, 0.8, whole=True) == pytest.approx(stats.norm.cdf(0.5 / 0.8))


@pytest.mark.parametrize(("confidence", "z"), [(0.75, 0.674), (0.85, 1.036), (0.90, 1.282), (0.95, 1.645)])
def test_the_guard_band_is_the_usual_multiple(confidence, z):
    assert (acceptance_limit(20, 5, confidence) - 20) / 5 == pytest.approx(z, abs=5e-4)
    assert probability_met(acceptance_limit(20, 5, confidence), 20, 5) == pytest.approx(confidence)


@pytest.mark.parametrize(("week", "expected"), [(1, 0.937), (5, 0.884), (13, 0.815)])
def test_two_days_grow_stale(week, expected):
    assert chance(level_on([0, 1], [25, 26], 5, week)) == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize(("week", "expected"), [(0, 0.919), (4, 0.887), (12, 0.839)])
def test_one_day_grows_stale(week, expected):
    assert chance(level_on([0], [27], 5, week)) == pytest.approx(expected, abs=5e-4)


def test_after_one_day_twelve_weeks_double_the_variance():
    assert level_on([0], [27], 5, 12).variance == pytest.approx(2 * level_on([0], [27], 5, 0).variance)


def test_a_child_at_the_threshold_passes_one_day_in_ten():
    assert acceptance_limit(20, 5, 0.90) == pytest.approx(26.4, abs=0.01)
    draws = np.random.default_rng(106).normal(20, 5, 100_000)
    share = float(np.mean(draws >= acceptance_limit(20, 5, 0.90)))
    assert share == pytest.approx(0.10, abs=3 * math.sqrt(0.09 / 100_000))


def test_without_a_guard_band_half_are_taken_at_the_limit():
    draws = np.random.default_rng(8).normal(20, 5, 100_000)
    assert float(np.mean(draws >= acceptance_limit(20, 5, 0.50))) == pytest.approx(0.5, abs=0.005)


def test_long_jump_with_a_6_cm_error_needs_about_14_cm():
    earlier, later = (
        DayScore(date(2026, 3, day), str(day), 80.0, False, "scored", 3, 1, 6.0, False, False, 6.0, "6", "")
        for day in (1, 30)
    )
    assert change_between(earlier, later, timed=False).detectable == pytest.approx(13.96, abs=0.005)


def test_the_filter_agrees_with_generalised_least_squares():
    """Independent route: a random walk seen through noise, solved whole with a flat prior on its start."""
    rng = np.random.default_rng(3)
    for _ in range(50):
        weeks = np.sort(rng.choice(60, size=rng.integers(1, 8), replace=False)).astype(float)
        scores, error = rng.normal(20, 8, len(weeks)), rng.uniform(1, 9)
        now, noise = weeks[-1] + rng.integers(0, 20), error**2
        drift = noise / 12
        walked = drift * (np.minimum.outer(weeks, weeks) - weeks[0])
        inverse = np.linalg.inv(walked + noise * np.eye(len(weeks)))
        ones = np.ones(len(weeks))
        to_now = drift * (np.minimum(weeks, now) - weeks[0])
        start_variance = 1 / (ones @ inverse @ ones)
        start = start_variance * (ones @ inverse @ scores)
        mean = start + to_now @ inverse @ (scores - start)
        gap = 1 - to_now @ inverse @ ones
        variance = drift * (now - weeks[0]) - to_now @ inverse @ to_now + gap**2 * start_variance
        found = level_on(weeks.tolist(), scores.tolist(), error, now)
        assert (found.mean, found.variance) == pytest.approx((mean, variance))
