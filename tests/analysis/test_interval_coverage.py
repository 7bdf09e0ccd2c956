"""Misses counted and judged: what is counted, what is left out, where the line lies."""

from __future__ import annotations

import math

import pytest

from assessments.analysis.coverage import Held, coverage, interval_score, kupiec, misses_that_fit
from assessments.analysis.reliability import wilson


def test_each_group_and_all_together_are_counted():
    held = [
        Held("7", 0, 10, 10), Held("6", 0, 10, 11), Held("6", 2, 4, 2), Held("", 5, 9, 4.5), Held("6", 0, 1, 3, True),
    ]  # fmt: skip
    every, six, seven = coverage(held, level=0.8)
    assert [one.group for one in (every, six, seven)] == ["", "6", "7"]
    assert [(one.count, one.covered, one.stopped) for one in (every, six, seven)] == [
        (4, 2, 1),
        (2, 1, 1),
        (1, 1, 0),
    ]
    assert [one.share for one in (every, six, seven)] == [0.5, 0.5, 1.0]
    assert [one.interval for one in (every, six, seven)] == [wilson(2, 4), wilson(1, 2), wilson(1, 1)]
    # By hand: width plus ten times the distance outside. 10; 10 + 10; 2; 4 + 5.
    assert [one.score for one in (every, six, seven)] == pytest.approx([(10 + 20 + 2 + 9) / 4, 11, 10])


def test_nothing_counted_has_no_share_and_no_score():
    (every,) = coverage([Held("", 0, 1, 3, stopped=True)], level=0.8)
    assert (every.count, every.covered, every.stopped) == (0, 0, 1)
    assert math.isnan(every.share) and math.isnan(every.score)


def test_an_interval_without_width_is_scored_by_its_distance_alone():
    assert interval_score(3, 3, 3, level=0.8) == 0
    assert interval_score(3, 3, 2, level=0.5) == 4


@pytest.mark.parametrize(("low", "high", "level"), [(4, 3, 0.8), (0, 1, 0), (0, 1, 1), (math.nan, 1, 0.8)])
def test_what_is_no_interval_or_no_level_has_no_score(low, high, level):
    assert interval_score(0, 1, 0.5, level=0.8) == 1
    with pytest.raises(ValueError, match=r"interval runs|level lies"):
        interval_score(low, high, 0.5, level=level)


@pytest.mark.parametrize(
    ("misses", "of", "promised"), [(-1, 10, 0.2), (11, 10, 0.2), (0, 0, 0.2), (1, 10, 0), (1, 10, 1)]
)
def test_what_is_no_count_or_no_promise_is_not_judged(misses, of, promised):
    assert kupiec(0, 1, 0.2).fits
    with pytest.raises(ValueError, match="cannot be judged"):
        kupiec(misses, of, promised)


def test_the_promised_share_itself_is_no_surprise():
    found = kupiec(20, 100, 0.2)
    assert (found.statistic, found.p_value, found.fits) == (
        pytest.approx(0, abs=1e-12),
        pytest.approx(1),
        True,
    )


def test_a_p_value_on_the_line_does_not_fit():
    on_the_line = kupiec(30, 100, 0.2).p_value
    assert not kupiec(30, 100, 0.2, alpha=on_the_line).fits
    assert kupiec(30, 100, 0.2, alpha=on_the_line * 0.999).fits


def test_the_fewest_and_the_most_that_fit_reach_both_ends_of_a_small_count():
    # By hand, n = 2 and p = 0.5: no miss and two misses both have LR = 4 ln 2 = 2.77, under 3.84.
    assert misses_that_fit(2, 0.5) == (0, 2)
    assert kupiec(2, 2, 0.5).statistic == pytest.approx(4 * math.log(2))
    with pytest.raises(ValueError, match="No count"):
        misses_that_fit(1, 0.5, alpha=0.9)
