"""What a group's states come to: counts, what to expect, what holds back, what to test, how scores spread."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

from assessments.analysis.conformity import normal_share
from assessments.analysis.records import CoachMark, Requirement, RestSpell
from assessments.analysis.scoring import day_scores
from assessments.analysis.summaries import expected_ready, group_summary, spread
from assessments.analysis.verdicts import verdicts
from tests.analysis.small_club import MONDAY, child, frame, programme, shown, skill, trial

ROLL = skill("roll", Requirement("hollow_hold", 20), Requirement("landings", 3))
ROCK = skill("rock", Requirement("tuck", 7, "shape", must_have=("chin",)), after=("roll",))
NAMES = ("abe", "bo", "cy", "dot", "eli")


def board(*rows, skills=(ROLL,), children=None, week=0.0):
    edition = programme(*skills)
    on = MONDAY + timedelta(days=round(7 * week))
    children = tuple(child(name) for name in NAMES) if children is None else children
    return verdicts(
        skills, day_scores(frame(rows), edition, on=on), programme=edition, children=children, on=on
    )


def hollow(*values, **changes):
    return [trial(value, athlete=name, **changes) for name, value in zip(NAMES, values, strict=False)]


def landings(*values, **changes):
    return hollow(*values, item="landings", **changes)


def of(summary, item):
    return next(one for one in summary.measures if one.item == item)


def test_counts_hold_every_state_and_add_up():
    found = group_summary(board(*hollow(40, 22, 3, 40), *landings(5, 5, 5)))
    assert found.counts == {"resting": 0, "not_known": 2, "not_yet": 1, "nearly": 1, "ready": 1}
    assert found.skills[0].counts == found.counts
    assert (found.children, found.resting) == (5, 0)


def test_the_expected_number_adds_the_chances_of_what_decides():
    found = group_summary(board(*hollow(25, 25, 20), *landings(5, 5, 5)))
    chances = [normal_share(1.0), normal_share(1.0), 0.5]
    assert found.skills[0].expected_ready == pytest.approx(sum(chances))
    assert found.skills[0].expected_spread == pytest.approx(math.sqrt(sum(p * (1 - p) for p in chances)))


def test_whom_no_measured_chance_speaks_for_is_left_out_of_the_expected_number():
    rest = (RestSpell(("lower_back",), MONDAY),)
    children = (child("abe"), child("bo", rests=rest), child("cy"), child("dot", born_on=date(2023, 1, 1)))
    rows = [*hollow(25, 25, math.nan, 25), *landings(5, 5, 5, 5)]
    assert len(expected_ready(board(*rows, children=children), 0)) == 1
    shapes = [shown(athlete="abe"), shown(0, athlete="bo")]
    words = {"roll": CoachMark("consistent")}
    known = (child("abe", words=words), child("bo", words=words), child("cy"))
    waiting = board(*shapes, shown(athlete="cy"), skills=(ROLL, ROCK), children=known)
    assert expected_ready(waiting, 1).tolist() == [pytest.approx(normal_share(3.5))]


def test_the_commonest_holdup_says_what_to_train():
    found = group_summary(board(*hollow(3, 3, 22, 40, 3), *landings(5, 5, 5, 0, 5)))
    assert (found.commonest, found.commonest_count) == ("hollow_hold", 4)
    assert (found.skills[0].deciding, found.skills[0].deciding_count) == ("hollow_hold", 4)


def test_a_skill_that_waits_for_another_names_it_but_nothing_to_train():
    shapes = [shown(athlete=name, week=week) for name in NAMES for week in (0, 1)]
    found = group_summary(board(*shapes, skills=(ROCK,), week=1))
    assert (found.skills[0].deciding, found.skills[0].deciding_count) == ("roll", 5)
    assert (found.commonest, found.commonest_count) == ("", 0)


def test_ready_and_resting_children_have_no_holdup():
    rest = (RestSpell(("lower_back",), MONDAY),)
    found = group_summary(
        board(*hollow(40, 3), *landings(5, 5), children=(child("abe"), child("bo", rests=rest)))
    )
    assert (found.counts["ready"], found.counts["resting"], found.resting) == (1, 1, 1)
    assert found.skills[0].deciding == ""


def test_the_test_that_would_settle_most_places_is_named():
    found = group_summary(board(*hollow(40, 40, 40), *landings(math.nan, math.nan, math.nan, 5)))
    assert (found.settles, found.settles_count) == ("landings", 3)
    assert of(found, "landings").settles == 3
    assert of(found, "hollow_hold").settles == 1, "eli lacks both, so neither alone settles it"


def test_equal_counts_are_settled_by_name():
    found = group_summary(board(*hollow(40), *landings(math.nan, 5)))
    assert (found.settles, found.settles_count) == ("hollow_hold", 1)


def test_an_item_asked_for_twice_by_a_skill_counts_once():
    twice = skill("both", Requirement("hollow_hold", 8), Requirement("hollow_hold", 20))
    assert of(group_summary(board(skills=(twice,))), "hollow_hold").settles == 5


def test_advice_and_rest_wait_for_no_test():
    soft = skill("soft", Requirement("hollow_hold", 20, soft_under=9), Requirement("landings", 3))
    rest = (RestSpell(("head",), MONDAY),)
    found = group_summary(board(skills=(soft,), children=(child("abe"), child("bo", rests=rest))))
    assert (of(found, "hollow_hold").settles, of(found, "landings").settles) == (0, 1)


def test_the_spread_takes_the_newest_day_of_each_child():
    rows = [*hollow(10, 12, 14, 16, 18), *hollow(50, week=1)]
    found = spread(board(*rows, week=2), "hollow_hold")
    assert (found.children, found.low, found.middle, found.high) == (5, 14, 16, 18)
    assert of(group_summary(board(*rows, week=2)), "hollow_hold").oldest_on == MONDAY


def test_a_few_children_have_no_spread():
    found = spread(board(*hollow(10, 12, 14, 16)), "hollow_hold")
    assert (found.children, found.enough, found.low, found.middle, found.high) == (4, False, None, None, None)


def test_a_child_who_chose_to_stop_lowers_no_quarter():
    """By hand: of 14, 16, 18 and 20 with one who stopped at 5, half reach 16 and a quarter 18, as without that one."""
    values = dict(zip(NAMES, (14, 16, 18, 20, 5), strict=True))
    rows = [
        trial(value, athlete=name, outcome="chose_to_stop" if value == 5 else "scored")
        for name, value in values.items()
    ]
    found = spread(board(*rows), "hollow_hold")
    assert (found.children, found.at_least, found.low, found.middle, found.high) == (5, 1, 14, 16, 18)


def test_beyond_the_cap_nothing_is_known():
    rows = [trial(60, athlete=name, outcome="reached_cap") for name in NAMES[:3]] + [
        trial(value, athlete=name) for name, value in zip(NAMES[3:], (20, 30), strict=True)
    ]
    found = spread(board(*rows), "hollow_hold")
    assert (found.low, found.middle, found.high, found.at_least) == (30, None, None, 3)


def test_of_two_sides_the_lower_one_counts():
    sides = [trial(value, item="one_leg", side=side, athlete=name) for name in NAMES
             for side, value in (("left", 5.0), ("right", 9.0))]  # fmt: skip
    assert spread(board(*sides), "one_leg").middle == 5


def test_play_days_other_versions_and_other_children_are_no_part_of_the_spread():
    rows = [
        trial(10, athlete="abe", familiarisation=True), trial(10, athlete="bo", series="v2"),
        trial(10, athlete="stranger"), trial(30, athlete="cy"),
    ]  # fmt: skip
    assert of(group_summary(board(*rows)), "hollow_hold").children == 1


def test_zones_and_bounds_are_counted():
    rows = [*hollow(5, 15, 25), trial(60, athlete="dot", outcome="reached_cap")]
    found = of(group_summary(board(*rows)), "hollow_hold")
    assert found.zones == {"starting_out": 1, "building": 1, "club_aim": 2}
    assert spread(board(*rows), "hollow_hold").at_least == 1


def test_the_oldest_evidence_is_that_of_any_item():
    rows = [*hollow(10, week=3), *landings(3, week=1)]
    assert group_summary(board(*rows, week=4)).oldest_on == MONDAY + timedelta(weeks=1)


def test_nobody_has_an_empty_summary():
    found = group_summary(board(*hollow(4), children=()))
    assert (found.children, found.oldest_on, found.commonest, found.settles) == (0, None, "", "")
    assert all(count == 0 for count in found.counts.values())
    nothing = group_summary(board())
    assert (nothing.counts["not_known"], nothing.oldest_on) == (5, None)
