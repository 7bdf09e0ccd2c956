"""A block after a rest or a long time: no amount from old results, and what rests is said of those in whom it rests."""

from __future__ import annotations

from dataclasses import replace

import pytest
from django.urls import reverse

from assessments.blocks import child_block, group_block
from assessments.reports import athlete_report, group_report
from tests import factories
from tests.assessments.number_story import children_of, day_on, hand_in
from tests.factories import TODAY

SUPPORT = {"measure": "front_support_hold", "variant": "flat_hands"}
RAISES = {"measure": "double_heel_raises", "variant": "feet_together", "how": "counted"}
ONE_LEG = {"measure": "single_leg_stance", "variant": ""}
BEGIN = "begin with the easiest version and watch."


def seen(cast, programme, child, weeks, *fields):
    day = day_on(weeks, cast.tigers, edition=programme)
    hand_in(cast.director, [(day, child, one) for one in fields])


def of_child(child, *, minutes=30):
    plan = child_block(athlete_report(child, TODAY), minutes=minutes)
    amounts = {step.spec.id: step.children[str(child.code)].amount for step in plan.steps}
    return amounts, {name: one.words for one in plan.untested for name in one.names}


def of_group(cast, *, minutes=30):
    return group_block(group_report(cast.tigers.athletes.all(), TODAY), minutes=minutes)


def page_of(member, name, code, as_member):
    return as_member(member).get(reverse(f"assessments:{name}", args=[code])).content.decode()


@pytest.mark.parametrize("weeks", [0, 3])
def test_a_rest_that_ended_since_the_test_leaves_no_amount(cast, programme, as_member, weeks):
    seen(cast, programme, cast.mia, weeks, SUPPORT | {"value": 40}, {"value": 20})
    factories.RestNoteFactory(athlete=cast.mia, areas=["wrist"], ended=True)
    amounts, untested = of_child(cast.mia)
    words = f"Not tested since the rest ended on 18 Nov 2026: {BEGIN}"
    if weeks:
        assert amounts == {"hollow_hold": "12 s"}, "the wrist says nothing about the hollow"
        assert untested == {"Front support hold, straight arms": words}
    else:
        assert amounts == {"front_support_hold": "24 s", "hollow_hold": "12 s"} and untested == {}
    assert (words in page_of(cast.coach, "child_block_plan", cast.mia.code, as_member)) == bool(weeks)


def test_a_rest_of_everything_that_ended_leaves_no_amount_at_all(cast, programme, as_member):
    seen(cast, programme, cast.mia, 3, SUPPORT | {"value": 40}, {"value": 20})
    factories.RestNoteFactory(athlete=cast.mia, areas=["head"], ended=True)
    amounts, untested = of_child(cast.mia)
    assert amounts == {} and set(untested) == {"Front support hold, straight arms", "Hollow hold"}
    page = page_of(cast.coach, "child_block_plan", cast.mia.code, as_member)
    assert "Front support hold, straight arms" in page and "No amount today" in page


@pytest.mark.parametrize(
    ("weeks", "support", "raises"),
    [(8, True, True), (9, False, True), (16, False, True), (17, False, False)],
)
def test_a_result_lasts_as_long_as_the_state_that_asks_for_it(cast, programme, weeks, support, raises):
    """A high-risk skill that loads wrists asks for the front support (8 weeks); none asks for heel raises (16)."""
    seen(cast, programme, cast.mia, weeks, SUPPORT | {"value": 40}, RAISES | {"value": 10})
    amounts, untested = of_child(cast.mia)
    assert ("front_support_hold" in amounts, "double_heel_raises" in amounts) == (support, raises)
    words = f"Not tested for {weeks} weeks: {BEGIN}"
    assert untested.get("Front support hold, straight arms") == (None if support else words)
    assert (words in untested.values()) == (not support or not raises)


def test_an_earlier_protocol_gives_no_amount(cast, programme):
    seen(cast, programme, cast.mia, 1, {"value": 20})
    report = athlete_report(cast.mia, TODAY)
    hollow = replace(report.programme.measures["hollow_hold"], version=2)
    later = replace(report.programme, measures={**report.programme.measures, "hollow_hold": hollow})
    assert [step.spec.id for step in child_block(report, minutes=15).steps] == ["hollow_hold"]
    plan = child_block(replace(report, programme=later), minutes=15)
    assert plan.steps == ()
    assert [(one.names, one.words) for one in plan.untested] == [
        (("Hollow hold",), f"Last tested by an earlier protocol: {BEGIN}")
    ]


def test_of_two_sides_the_lower_one_that_counts_decides(cast, programme):
    seen(cast, programme, cast.mia, 10, ONE_LEG | {"value": 10, "side": "right"})
    seen(cast, programme, cast.mia, 1, ONE_LEG | {"value": 20, "side": "left"})
    seen(cast, programme, cast.tom, 17, ONE_LEG | {"value": 10, "side": "right"})
    seen(cast, programme, cast.tom, 2, ONE_LEG | {"value": 20, "side": "left"})
    assert of_child(cast.mia)[0] == {"single_leg_stance": "8 s"}
    amounts, untested = of_child(cast.tom)
    assert amounts == {}, "the right side is too old to count, and nobody says what it can do"
    assert list(untested.values()) == ["Only one side was tested in time: test the right side first."]


# --- groups ---------------------------------------------------------------------------------------------------


def resting(plan, name="Front support hold, straight arms"):
    return [(one.who, one.areas, one.words) for one in plan.resting if one.name == name]


INSTEAD = (("wrist",), "instead hollow hold or forearm plank hold.")


@pytest.mark.parametrize("first", [True, False])
def test_what_rests_in_one_child_is_said_of_that_child(cast, programme, as_member, first):
    child, name = (cast.mia, "Mia A.") if first else (cast.tom, "Tom B.")
    assert resting(of_group(cast)) == []
    factories.RestNoteFactory(athlete=child, areas=["wrist"])
    assert resting(of_group(cast)) == [(name, *INSTEAD)]
    page = " ".join(page_of(cast.coach, "block_plan", cast.tigers.code, as_member).split())
    assert f"straight arms</strong>, {name} (wrist): instead hollow hold" in page


def test_what_rests_in_all_is_said_of_all_and_in_many_by_number(cast, programme):
    for child in (cast.mia, cast.tom):
        factories.RestNoteFactory(athlete=child, areas=["wrist"])
    assert resting(of_group(cast)) == [("all 2 children", *INSTEAD)]
    others = children_of(cast.tigers, 6)
    assert resting(of_group(cast)) == [("Mia A., Tom B.", *INSTEAD)]
    for child in others[:3]:
        factories.RestNoteFactory(athlete=child, areas=["wrist"])
    assert resting(of_group(cast)) == [("5 of 8 children", *INSTEAD)]


def test_children_who_do_different_things_instead_have_lines_of_their_own(cast, programme):
    factories.RestNoteFactory(athlete=cast.mia, areas=["wrist"])
    factories.RestNoteFactory(athlete=cast.tom, areas=["head"])
    assert resting(of_group(cast)) == [
        ("Mia A.", *INSTEAD),
        ("Tom B.", ("head",), "leave it out today."),
    ]


def test_a_child_who_has_an_amount_is_not_told_what_another_does_instead(cast, programme):
    seen(cast, programme, cast.mia, 1, SUPPORT | {"value": 20})
    factories.RestNoteFactory(athlete=cast.tom, areas=["wrist"])
    plan = of_group(cast)
    assert resting(plan) == []
    cells = next(step.children for step in plan.steps if step.spec.id == "front_support_hold")
    assert cells[str(cast.mia.code)].amount == "12 s"
    assert cells[str(cast.tom.code)].instead_names == ("Hollow hold", "Forearm plank hold")


def test_a_group_is_told_who_was_not_tested_for_long(cast, programme, as_member):
    seen(cast, programme, cast.tom, 20, {"value": 20})
    plan = of_group(cast)
    words = f"Not tested for 20 weeks: {BEGIN}"
    assert [(one.names, one.who, one.words) for one in plan.untested] == [(("Hollow hold",), "Tom B.", words)]
    seen(cast, programme, cast.mia, 1, {"value": 30})
    plan = of_group(cast)
    assert plan.untested == ()
    cells = plan.steps[0].children
    assert (cells[str(cast.mia.code)].amount, cells[str(cast.tom.code)].why) == ("18 s", words)
    assert words in page_of(cast.coach, "block_plan", cast.tigers.code, as_member)
