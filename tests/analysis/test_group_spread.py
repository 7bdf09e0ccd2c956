"""How far a group reaches: in one version, of two sides the weaker that still counts, nothing that is too old.

All by hand. Nothing is joined across versions: the club's own rule.
"""

from __future__ import annotations

import pytest

from assessments.analysis.summaries import group_summary, spread
from tests.analysis.small_club import child, trial
from tests.analysis.test_group_summary import board, hollow, of

NAMES = tuple("abcdefgh")
CHILDREN = tuple(child(name) for name in NAMES)


def support(values, variant, *, names=NAMES, **changes):
    """One try at the support in one version; ladder: knees, toes, feet high."""
    return [
        trial(value, athlete=name, item="support", series=f"v1:{variant}", **changes)
        for name, value in zip(names, values, strict=False)
    ]


def found(*rows, item="support", week=1.0):
    return spread(board(*rows, children=CHILDREN, week=week), item)


def quarters(one):
    return (one.children, one.low, one.middle, one.high)


def test_versions_are_not_mixed():
    """60 s on the knees say nothing about children who hold 8 s with their feet up."""
    knees = support((50, 55, 60, 65, 70), "knees")
    high = support((8, 9, 10), "feet_high", names=NAMES[5:])
    one = found(*knees, *high)
    assert quarters(one) == (5, 55, 60, 65)
    assert (one.variant, one.others, one.stale) == ("knees", {"feet_high": 3}, 0)


def test_the_version_that_most_did_last_is_told_and_of_two_the_harder():
    knees = support((50, 55, 60, 65), "knees")
    toes = support((8, 9, 10, 11), "toes", names=NAMES[4:])
    level = found(*knees, *toes)
    assert (level.variant, level.children, level.enough, level.others) == ("toes", 4, False, {"knees": 4})
    moved_on = found(*knees, *toes, *support((7,), "toes", week=0.5))
    assert (moved_on.variant, moved_on.others) == ("toes", {"knees": 3})
    assert quarters(moved_on) == (5, 8, 9, 10), "of the first child only the newer version counts"


@pytest.mark.parametrize("first", ["knees", "feet_high"])
def test_of_two_versions_on_one_date_the_harder_one_stands(first):
    other = "feet_high" if first == "knees" else "knees"
    one = found(*support((20,) * 5, first), *support((9,) * 5, other))
    assert (one.variant, one.children, one.others) == ("feet_high", 5, {})
    assert one.middle == (9 if first == "knees" else 20)


def test_a_score_that_is_too_old_is_left_out_and_counted():
    rows = hollow(10, 12, 14, 16, 18)
    within, beyond = (spread(board(*rows, week=week), "hollow_hold") for week in (16, 16 + 1 / 7))
    assert (within.children, within.middle, within.stale) == (5, 14, 0)
    assert (beyond.children, beyond.enough, beyond.stale) == (0, False, 5)
    newer = [trial(30, athlete=name, week=10) for name in ("abe", "bo", "cy", "dot", "eli")]
    summary = group_summary(board(*rows, week=20))
    assert of(summary, "hollow_hold").children == 5, "known of, though too old to speak for today"
    again = spread(board(*rows, *newer[:3], week=20), "hollow_hold")
    assert (again.children, again.stale) == (3, 2)


def test_an_old_version_that_is_newer_than_nothing_else_does_not_outlast_its_time():
    """Knees 17 weeks ago and toes 3 weeks ago: toes. Knees 3 weeks ago and toes 17: knees."""
    rows = [*support((40,) * 5, "knees"), *support((12,) * 5, "toes", week=14)]
    assert found(*rows, week=17).variant == "toes"
    back = [*support((12,) * 5, "toes"), *support((40,) * 5, "knees", week=14)]
    assert (found(*back, week=17).variant, found(*back, week=17).middle) == ("knees", 40)


def sides(left, right, *, left_week, right_week):
    return [
        trial(value, item="one_leg", side=side, athlete=name, week=week)
        for name in NAMES[:5]
        for side, value, week in (("left", left, left_week), ("right", right, right_week))
    ]


@pytest.mark.parametrize(
    ("left_week", "right_week", "middle"),
    [
        (20, 20, 5),
        (20, 10, 5),  # the weaker side is three months old and still counts
        (20, 4, 5),  # to the day
        (20, 3, 20),  # it is too old to count
        (3, 20, 5),
    ],
)
def test_of_two_sides_the_weaker_one_that_still_counts_stands(left_week, right_week, middle):
    rows = sides(20, 5, left_week=left_week, right_week=right_week)
    one = found(*rows, item="one_leg", week=20)
    assert (one.children, one.middle, one.stale) == (5, middle, 0)


def test_the_zones_of_a_group_follow_the_version_done_last():
    rows = [*support((60,), "knees"), *support((9,), "feet_high", week=0.5)]
    measure = of(group_summary(board(*rows, children=CHILDREN, week=1)), "support")
    assert measure.children == 1
    stale = of(group_summary(board(*rows, children=CHILDREN, week=60)), "support")
    assert stale.children == 1


def test_times_of_several_clocks_count_without_their_lateness():
    """Eight clocks are 2.15 s late on average and one is 0.27 s: 1.88 s less. A cap that came first is not late."""
    rows = [*hollow(10, 12, 14, 16, at_once=8), trial(60, athlete="eli", outcome="reached_cap", at_once=8)]
    one = spread(board(*rows), "hollow_hold")
    assert (one.low, one.middle, one.high) == pytest.approx((10.12, 12.12, 14.12))
    assert one.late == 4
    alone = spread(board(*hollow(10, 12, 14, 16, 18)), "hollow_hold")
    assert (alone.low, alone.middle, alone.high, alone.late) == (12, 14, 16, 0)
    short = spread(board(*hollow(1, 1, 1, 1, 1, at_once=8)), "hollow_hold")
    assert short.middle == 0, "nobody holds for less than nothing"


def test_nobody_has_no_version():
    one = found(item="support")
    assert (one.variant, one.others, one.stale, one.children) == ("", {}, 0, 0)
