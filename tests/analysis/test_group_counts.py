"""What a group summary names and adds up: each skill, each item over all its requirements, each child's own band."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from assessments.analysis.conformity import normal_share
from assessments.analysis.records import CoachMark, Requirement
from assessments.analysis.scoring import day_scores
from assessments.analysis.summaries import expected_ready, group_summary, spread
from assessments.analysis.verdicts import verdicts
from tests.analysis.small_club import MONDAY, child, frame, programme, shown, skill, trial

ROLL = skill("roll", Requirement("hollow_hold", 20), Requirement("landings", 3))
JUMP = skill("jump", Requirement("landings", 3))
NAMES = ("abe", "bo", "cy", "dot", "eli")


def board(*rows, skills=(ROLL,), children=None, week=0.0):
    edition, on = programme(*skills), MONDAY + timedelta(days=round(7 * week))
    children = tuple(child(name) for name in NAMES) if children is None else children
    scores = day_scores(frame(rows), edition, on=on)
    return verdicts(skills, scores, programme=edition, children=children, on=on)


def row_of(item, *values, **changes):
    return [
        trial(value, item=item, athlete=name, **changes) for name, value in zip(NAMES, values, strict=False)
    ]


def of(summary, item):
    return next(one for one in summary.measures if one.item == item)


def test_a_summary_names_its_day_its_skills_and_its_items():
    found = group_summary(board(*row_of("landings", 5), skills=(ROLL, JUMP), week=3))
    assert found.on == MONDAY + timedelta(weeks=3)
    assert [one.skill for one in found.skills] == ["roll", "jump"]
    assert [one.item for one in found.measures] == [*programme().measures, *programme().shapes]


def test_each_item_has_the_scores_of_its_own_children():
    rows = [
        *row_of("hollow_hold", 10, 20),
        *row_of("landings", 4, 5, 3),
        trial(30, item="reach", athlete="eli"),
    ]
    found = group_summary(board(*rows, shown(athlete="dot")))
    assert {one.item: one.children for one in found.measures} == {
        "hollow_hold": 2, "landings": 3, "one_leg": 0, "support": 0, "reach": 1, "tuck": 1,
    }  # fmt: skip


def test_an_item_that_a_skill_asks_for_twice_holds_back_by_both():
    """Three children fall short of 8 s, two more of 20 s: the hold decides in all five."""
    twice = skill("twice", Requirement("hollow_hold", 8), Requirement("hollow_hold", 20))
    found = group_summary(board(*row_of("hollow_hold", 1, 1, 1, 12, 12), skills=(twice,)))
    assert (found.skills[0].deciding, found.skills[0].deciding_count) == ("hollow_hold", 5)
    assert (found.commonest, found.commonest_count) == ("hollow_hold", 5)


def test_what_holds_back_is_added_up_over_skills():
    found = group_summary(
        board(*row_of("hollow_hold", *[40] * 5), *row_of("landings", 0, 0, 5, 5, 5), skills=(ROLL, JUMP))
    )
    assert [(one.deciding, one.deciding_count) for one in found.skills] == [("landings", 2), ("landings", 2)]
    assert (found.commonest, found.commonest_count) == ("landings", 4)


def test_one_test_may_settle_a_place_in_each_skill():
    found = group_summary(board(*row_of("hollow_hold", 40, 40), skills=(ROLL, JUMP)))
    assert of(found, "landings").settles == 2 + 5
    assert (found.settles, found.settles_count) == ("landings", 7)


def test_children_who_fall_short_are_part_of_the_expected_number():
    """By hand: 3 s of the 20 asked is 3.4 standard errors of 5 s under it."""
    rows = [*row_of("hollow_hold", 3, 21), *row_of("landings", 5, 5)]
    assert expected_ready(board(*rows), 0).tolist() == [
        pytest.approx(normal_share(-3.4)), pytest.approx(normal_share(0.2)),
    ]  # fmt: skip


@pytest.mark.parametrize(("value", "deciding"), [(12, "hollow_hold"), (25, "roll"), (40, "roll")])
def test_a_child_who_falls_short_is_held_back_by_that_and_not_by_the_skill_before(value, deciding):
    later = skill("later", Requirement("hollow_hold", 20), after=("roll",))
    found = group_summary(board(*row_of("hollow_hold", value), skills=(later,), children=(child("abe"),)))
    assert (found.skills[0].deciding, found.skills[0].deciding_count) == (deciding, 1)


def test_whom_a_coach_has_spoken_of_is_held_back_by_nothing():
    done = child("abe", words={"roll": CoachMark("consistent", MONDAY)})
    rows = [*row_of("hollow_hold", 3, 3), *row_of("landings", 5, 5)]
    assert group_summary(board(*rows, children=(child("abe"), child("bo")))).skills[0].deciding_count == 2
    assert group_summary(board(*rows, children=(done, child("bo")))).skills[0].deciding_count == 1


def test_a_zone_is_that_of_the_childs_own_band_on_the_day():
    """12 s: building from 10 at six, starting out under 15 at seven; the birthday itself opens the band."""
    rows = row_of("hollow_hold", 12, 12, 12)
    children = (child("abe"), child("bo", born_on=date(2019, 3, 2)), child("cy", born_on=date(2019, 3, 3)))
    found = of(group_summary(board(*rows, children=children, week=10)), "hollow_hold")
    assert found.zones == {"building": 2, "starting_out": 1}


def test_of_two_days_the_newer_stands_whatever_it_is():
    rows = [*row_of("hollow_hold", 30, 31, 32, 33, 34), *row_of("hollow_hold", 10, 40, 10, 40, 10, week=2)]
    found = spread(board(*rows, week=3), "hollow_hold")
    assert (found.children, found.low, found.middle, found.high) == (5, 10, 10, 40)


def support(**versions):
    """One try of each child in a version of the support: name=(version, seconds)."""
    return [
        trial(seconds, item="support", series=f"v1:{version}", athlete=name)
        for name, (version, seconds) in versions.items()
    ]


def test_of_two_versions_as_common_the_harder_is_told_and_the_others_easiest_first():
    """Knees, toes, feet high is the order of the programme, not that of the alphabet."""
    rows = support(
        abe=("knees", 9), bo=("knees", 8), cy=("feet_high", 7), dot=("feet_high", 6), eli=("toes", 5)
    )
    found = spread(board(*rows), "support")
    assert (found.children, found.variant) == (2, "feet_high")
    assert list(found.others.items()) == [("knees", 2), ("toes", 1)]
    more = spread(board(*rows[:1], *rows[2:]), "support")
    assert list(more.others.items()) == [("knees", 1), ("toes", 1)]
    common = spread(
        board(*rows, *support(fay=("knees", 3)), children=tuple(child(n) for n in (*NAMES, "fay"))), "support"
    )
    assert (common.children, common.variant, list(common.others)) == (3, "knees", ["toes", "feet_high"])


def test_of_two_versions_on_one_date_the_harder_one_stands():
    both = [
        *support(abe=("knees", 40)),
        *support(abe=("feet_high", 5)),
        *support(bo=("knees", 30)),
        *support(bo=("toes", 4)),
    ]
    found = spread(board(*both), "support")
    assert {found.variant, *found.others} == {"feet_high", "toes"}
