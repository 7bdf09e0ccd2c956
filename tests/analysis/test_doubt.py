"""Twice the doubt of a line that leans on a stop, and when an old day says nothing about a new one, by scipy and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from assessments.analysis.conformity import normal_share
from assessments.analysis.trend import doubly_doubtful, estimate, normal_equivalent


@pytest.mark.parametrize("z", [-3.0, -0.01, 0.0, 1e-20, 0.3, 0.67, 0.68, 1.0, 1.6449, 3.0, 6.0, 8.0, 20.0])
def test_twice_the_doubt_and_never_less_than_even(z):
    """1.6449 has a doubt of 5 %, so 10 % and 1.2816 (any table of the normal distribution)."""
    expected = z if z <= 0 else max(0.0, float(stats.norm.isf(min(2 * stats.norm.sf(z), 1.0))))
    assert doubly_doubtful(np.array([z]))[0] == pytest.approx(expected, abs=1e-6)


def test_where_no_doubt_can_be_counted_nothing_changes():
    found = doubly_doubtful(np.array([60.0, math.nan, math.inf, -math.inf, 1.6448536]))
    assert found[:4].tolist() == pytest.approx([60.0, math.nan, math.inf, -math.inf], nan_ok=True)
    assert found[4] == pytest.approx(1.2815516, abs=1e-6)


def test_few_degrees_of_freedom_are_read_as_the_same_chance():
    z, df = np.array([2.0, -2.0, 2.0, math.nan, 0.0]), np.array([4.0, 4.0, math.inf, 4.0, 4.0])
    same = float(stats.norm.isf(stats.t.sf(2.0, 4)))
    assert normal_equivalent(z, df) == pytest.approx([same, -same, 2.0, math.nan, 0.0], nan_ok=True)


def found(*days, on=20.0, target=30.0, lasts=None):
    """One line of (week, score, only 'at least', stopped) with a noise of 5 s and a drift of 25 / 12 a week."""
    weeks, scores, bound, stop = (np.array([column]) for column in zip(*days, strict=True))
    return estimate(
        weeks.astype(float), scores.astype(float), seen=np.ones(bound.shape, np.bool_), at_least=bound, stopped=stop,
        noise=np.full(bound.shape, 25.0), drift=np.array([25.0 / 12]), on_week=on, target=np.array([target]),
        lasts=None if lasts is None else np.array([lasts]),
    )  # fmt: skip


@pytest.mark.parametrize(("gap", "joined"), [(15.0, True), (16.0, True), (16.5, False)])
def test_a_day_that_is_too_old_when_the_next_one_comes_says_nothing(gap, joined):
    """By hand: v = 25 + gap * 25 / 12 before the second day, K = v / (v + 25); alone the second day stands as it is."""
    one = found((0, 20, False, False), (gap, 40, False, False), on=gap, lasts=16.0)
    before = 25 + gap * 25 / 12
    share = before / (before + 25)
    mean, variance = (20 + share * 20, (1 - share) * before) if joined else (40, 25)
    assert (one.mean[0], one.variance[0]) == pytest.approx((mean, variance))


@pytest.mark.parametrize(("on", "known"), [(16.0, True), (16.5, False)])
def test_a_line_is_read_until_its_newest_day_is_too_old(on, known):
    assert math.isnan(found((0, 40, False, False), on=on, lasts=16.0).z[0]) is not known


def test_of_two_readings_as_high_the_one_without_a_stop_is_told():
    """30 s of 30 is even; with a stop at 31 it would be a little more, and with twice the doubt even again."""
    exact, stop = (20, 30, False, False), (20, 31, True, True)
    one = found(exact, stop)
    assert (one.z[0], one.mean[0], bool(one.doubled[0])) == (0, 30, False)
    far = found(exact, (20, 60, True, True))
    assert far.z[0] > 0 and bool(far.doubled[0])


def test_each_line_of_a_group_chooses_among_its_own_days():
    """Both lines have a stop on the second day; only of the second line it is over what was held before."""
    weeks, off = np.array([[0.0, 1.0], [0.0, 1.0]]), np.zeros((2, 2), np.bool_)
    stop = np.array([[False, True], [False, True]])
    both = estimate(
        weeks, np.array([[30.0, 20.0], [30.0, 50.0]]), seen=~off, at_least=stop,
        noise=np.full((2, 2), 25.0), drift=np.zeros(2), on_week=1.0,
    )  # fmt: skip
    assert both.mean == pytest.approx([30, 40])
    assert both.variance == pytest.approx([25, 12.5])
    assert np.isnan(both.z).all()


@pytest.mark.parametrize("z", [-12.0, -8.0, -3.0, 0.0, 3.0, 8.0])
def test_far_out_the_share_of_a_normal_distribution_keeps_its_digits(z: float) -> None:
    assert normal_share(z) == pytest.approx(stats.norm.cdf(z), rel=1e-12)
