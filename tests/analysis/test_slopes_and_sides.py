"""The median slope of few and of tied days, the room that several clocks take, and the side that stands for a child."""

from __future__ import annotations

import math

import pytest

from assessments.analysis.coverage import Held, one_a_child
from assessments.analysis.slope import Slope, theil_sen
from assessments.analysis.symmetry import symmetry


def test_two_days_have_a_line_and_no_interval():
    assert theil_sen([0, 2], [1, 5]) == Slope(2.0, 1.0, 2, None)


def test_the_surest_interval_of_five_days_goes_from_the_lowest_slope_to_the_highest():
    """By hand: variance 5 * 4 * 15 / 18 = 16.7, so at 99 % the ranks lie (10 -/+ 2.576 * 4.08) / 2 = -0.3 and 10.3."""
    found = theil_sen([0, 1, 2, 3, 4], [0, 1, 4, 9, 16], confidence=0.99)
    assert (found.points, found.interval) == (5, (1.0, 7.0))
    # At 90 %: (10 -/+ 1.645 * 4.08) / 2 = 1.6 and 8.4, the second lowest and the ninth of 1 2 3 3 4 4 5 5 6 7.
    assert theil_sen([0, 1, 2, 3, 4], [0, 1, 4, 9, 16]).interval == (2.0, 6.0)


def test_days_that_are_nearly_all_tied_leave_no_spread():
    """By hand: 300 - 156 - 156 is below 0, so the two middle slopes of -5 0 0 0 are both ends."""
    assert theil_sen([0, 0, 0, 0, 1], [0, 0, 0, 5, 0]).interval == (0.0, 0.0)


@pytest.mark.parametrize("late", [-2.0, 0.0, 2.0])
def test_lateness_of_either_side_takes_more_to_show_a_difference(late):
    found = symmetry(20, 24, sem_left=1, sem_right=1, late=late)
    assert found.noise == pytest.approx(1.96 * math.sqrt(2) + abs(late))
    assert found.shown is (late == 0)


def test_the_side_expected_lowest_stands_for_a_child_however_wide_its_range():
    low, high = Held("6", 0, 10, 9, athlete="mia"), Held("6", 0, 30, 2, athlete="mia")
    for both in ((low, high), (high, low)):
        assert one_a_child(both) == (low,)
