"""Misses counted and judged: what is counted, what is left out, where the line lies."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

from assessments.analysis.coverage import Held, coverage, interval_score, kupiec, misses_that_fit, one_a_child
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


def test_a_range_that_was_cut_promises_more_and_is_counted_apart():
    """A cut end cannot be missed, so nine of ten such ranges should hold: they would hide that open ones miss."""
    held = [
        Held("6", 3, 9, 2), Held("6", 3, 9, 4), Held("6", 50, 60, 60, cut=True), Held("7", 50, 60, 40, cut=True),
        Held("7", 0, 4, 2, cut=True), Held("7", 50, 60, 20, stopped=True, cut=True),
    ]  # fmt: skip
    every, six, seven = coverage(held, level=0.8)
    assert [(one.count, one.covered, one.cut, one.cut_covered) for one in (every, six, seven)] == [
        (2, 1, 3, 2),
        (2, 1, 1, 1),
        (0, 0, 2, 1),
    ]
    assert (every.share, every.interval, every.stopped) == (0.5, wilson(1, 2), 1)
    assert every.score == pytest.approx((6 + 10 + 6) / 2)
    assert math.isnan(seven.share) and seven.interval is None


@pytest.mark.parametrize("place", range(3))
def test_a_blank_is_no_miss_but_refused(place):
    ends = [0.0, 10.0, 5.0]
    assert coverage([Held("", *ends)], level=0.8)[0].count == 1
    ends[place] = math.nan
    with pytest.raises(ValueError, match="a blank"):
        coverage([Held("", *ends)], level=0.8)


def line(athlete, weeks, low, value=30, **more):
    return Held(
        "6", low, low + 8, value, athlete=athlete, on=date(2026, 6, 1) - timedelta(weeks=weeks), **more
    )


def test_a_child_with_two_sides_or_versions_counts_once():
    """The line with the newest day; of two that day the one expected lower, which is the side that decides."""
    left, right = line("a", 1, 20), line("a", 1, 24)
    old, other = line("a", 9, 2), line("b", 9, 2)
    for held in ([left, right, old, other], [other, old, right, left]):
        assert sorted(one_a_child(held), key=lambda one: one.athlete) == [left, other]


@pytest.mark.parametrize("values", [(10, 60), (60, 10)])
def test_what_came_does_not_choose_the_line(values):
    left, right = line("a", 1, 20, values[0]), line("a", 1, 24, values[1])
    assert one_a_child([right, left]) == (left,)
    stopped = line("a", 1, 20, stopped=True)
    assert one_a_child([right, stopped]) == (stopped,)
