"""The one item whose test settles most places in a few minutes, counted by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assessments.analysis.records import CoachMark, Requirement, RestSpell
from assessments.analysis.scoring import day_scores
from assessments.analysis.settling import Settling, best_use, seconds_each, settles_for
from assessments.analysis.summaries import group_summary
from assessments.analysis.verdicts import verdicts
from tests.analysis.small_club import MEASURES, MONDAY, child, frame, programme, shape, skill, trial

HOLLOW, LANDINGS = Requirement("hollow_hold", 20), Requirement("landings", 3)
ROLL = skill("roll", HOLLOW, LANDINGS)
JUMP = skill("jump", LANDINGS)
NAMES = ("abe", "bo", "cy", "dot", "eli")


def board(*rows, skills=(ROLL,), children=None, seconds=60, **changes):
    measures = {one.id: replace(one, seconds_per_child=seconds) for one in MEASURES}
    edition = programme(*skills, measures=measures, **changes)
    children = tuple(child(name) for name in NAMES) if children is None else children
    return verdicts(
        skills, day_scores(frame(rows), edition, on=MONDAY), programme=edition, children=children, on=MONDAY
    )


def known(*names, item="hollow_hold", value=40):
    return [trial(value, athlete=name, item=item) for name in names]


def test_an_item_settles_a_place_where_it_alone_is_unknown():
    found = board(*known("abe", "bo", "cy"), *known("dot", "abe", item="landings", value=5))
    assert settles_for(found, "landings") == (0, 1, 1, 0, 0), "abe is known, dot and eli lack the hold"
    assert settles_for(found, "hollow_hold") == (0, 0, 0, 1, 0)
    assert settles_for(found, "one_leg") == (0, 0, 0, 0, 0)


def test_each_skill_that_waits_for_it_is_a_place_of_its_own():
    found = board(*known("abe"), skills=(ROLL, JUMP))
    assert settles_for(found, "landings") == (2, 1, 1, 1, 1)


def test_a_skill_that_waits_for_an_earlier_one_is_settled_by_no_item_that_is_known():
    later = skill("jump", LANDINGS, after=("roll",))
    found = board(*known("abe", item="landings", value=5), skills=(ROLL, later))
    assert settles_for(found, "landings") == (0, 1, 1, 1, 1), "of abe only the hold is not known"


def test_rest_advice_and_a_coachs_word_wait_for_no_test():
    children = (
        child("abe", rests=(RestSpell(("lower_back",), MONDAY),)),
        child("bo", words={"jump": CoachMark("consistent")}),
        child("cy"),
    )
    found = board(skills=(JUMP,), children=children)
    assert settles_for(found, "landings") == (0, 0, 1)
    soft = skill("soft", replace(HOLLOW, soft_under=9), LANDINGS)
    advised = board(skills=(soft,), children=(child("abe"),))
    assert (settles_for(advised, "landings"), settles_for(advised, "hollow_hold")) == ((1,), (0,))


def test_the_item_with_most_places_is_named_with_its_children_and_minutes():
    found = board(*known("bo", "cy", "eli"), *known("abe", item="landings", value=5), seconds=50)
    assert best_use(found) == Settling("landings", ("bo", "cy", "eli"), 3, 3)


def test_equal_items_are_settled_by_the_order_of_the_programme():
    found = board(*known("abe"), *known("bo", item="landings", value=5))
    assert best_use(found) == Settling("hollow_hold", ("bo",), 1, 1)


@pytest.mark.parametrize(
    ("minutes", "seconds", "names", "places", "takes"),
    [
        (15, 60, NAMES, 7, 5),
        (3, 60, ("abe", "cy", "dot"), 5, 3),
        (2, 60, ("cy", "dot"), 4, 2),
        (3, 61, ("cy", "dot"), 4, 3),
        (3, 59, ("abe", "cy", "dot"), 5, 3),
        (0, 60, ("cy",), 2, 1),
        (1, 120, ("cy",), 2, 2),
    ],
)
def test_children_with_most_places_come_first_as_far_as_the_minutes_reach(
    minutes, seconds, names, places, takes
):
    found = board(*known("cy", "dot"), skills=(ROLL, JUMP), seconds=seconds)
    assert best_use(found, minutes=minutes) == Settling("landings", names, places, takes)


def test_fifteen_minutes_are_meant_when_nothing_is_said():
    found = board(skills=(JUMP,), seconds=300)
    assert best_use(found) == Settling("landings", ("abe", "bo", "cy"), 3, 15)


def test_nothing_is_named_where_nothing_waits():
    assert best_use(board(*known(*NAMES, item="landings", value=5), skills=(JUMP,))) is None


def test_a_shape_may_be_the_best_use_and_takes_a_minute_a_child():
    looked = skill("rock", Requirement("tuck", 7, "shape"))
    found = board(skills=(looked,), seconds=200)
    assert best_use(found) == Settling("tuck", NAMES, 5, 5)
    assert seconds_each(found.programme, "tuck") == 60
    assert seconds_each(found.programme, "landings") == 200


def test_a_measure_without_a_time_takes_a_second():
    found = board(seconds=0, shapes={"tuck": shape()})
    assert seconds_each(found.programme, "landings") == 1


def test_the_group_and_the_minutes_count_the_same_places():
    rests = (RestSpell(("lower_back",), MONDAY),)
    children = (*(child(name) for name in NAMES), child("fay", rests=rests))
    found = board(
        *known("abe", "bo"), *known("cy", item="landings", value=5), skills=(ROLL, JUMP), children=children
    )
    counted = {one.item: one.settles for one in group_summary(found).measures}
    assert counted == {item: sum(settles_for(found, item)) for item in counted}
    assert (counted["landings"], counted["hollow_hold"]) == (6, 1), "abe, bo twice, dot and eli once; cy"
