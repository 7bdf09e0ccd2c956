"""A coach who sends ids of another group's children, in every form that takes one."""

from __future__ import annotations

import re
import uuid

import pytest
from django.urls import reverse

from assessments.models import Attendance, FamilyReport, RefusedEntry, Result, SkillDecision
from athletes.models import RestNote
from club.access import Role
from tests import factories
from tests.assessments.entry_making import body
from tests.club.attacking import send, signed_in, words_of

BEA = re.compile(r"\bBea\b")


@pytest.fixture
def story(cast, programme):
    """A day of the Bears beside that of the Tigers, with a result of one child on each."""
    measure = factories.MeasureFactory()
    cast.bears_day = factories.DayFactory(groups=[cast.bears], lead=cast.other_coach)
    cast.result = factories.ResultFactory(
        day=cast.day, athlete=cast.mia, measure=measure, variant="arms_by_side"
    )
    cast.bears_result = factories.ResultFactory(day=cast.bears_day, athlete=cast.bea, measure=measure)
    return cast


@pytest.fixture
def joint(story):
    """One day of both groups, led by the coach of the Tigers, with two entries in one place for Bea."""
    day = factories.DayFactory(groups=[story.tigers, story.bears], lead=story.coach)
    measure = factories.MeasureFactory()
    factories.StationFactory(day=day, measure=measure, variant="arms_by_side")
    story.joint_day = day
    story.twins = [
        factories.ResultFactory(
            day=day, athlete=story.bea, measure=measure, variant="arms_by_side", value=value
        )
        for value in (17.0, 23.0)
    ]
    return story


def move(client, result, child):
    said = {"new_id": uuid.uuid4(), "athlete": child.code, "reason": "Another child"}
    return client.post(reverse("assessments:result_move", args=[result.code]), said)


def test_a_result_moves_to_a_child_of_the_circle_only(story):
    client = signed_in(story.coach)
    assert move(client, story.result, story.bea).status_code == 422
    assert not Result.objects.filter(athlete=story.bea, day=story.day).exists()
    assert move(client, story.result, story.tom).status_code == 302
    assert Result.objects.filter(athlete=story.tom, day=story.day).exists()


@pytest.mark.parametrize("act", ["result_correct", "result_take_back", "result_move", "conflict_settle"])
def test_another_groups_result_is_not_there_to_be_changed(story, act):
    said = {
        "new_id": uuid.uuid4(), "reason": "x", "athlete": story.tom.code, "outcome": "scored", "value": 9, "trial": 1,
    }  # fmt: skip
    client = signed_in(story.coach)
    url = reverse(f"assessments:{act}", args=[story.bears_result.code])
    assert client.post(url, said).status_code == 404
    assert Result.objects.filter(athlete=story.bea).count() == 1
    own = {**said, "new_id": uuid.uuid4()}
    assert client.post(reverse(f"assessments:{act}", args=[story.result.code]), own).status_code == 302


@pytest.mark.parametrize("role", ["coach", "station"])
def test_the_door_takes_no_entry_about_another_groups_child(story, role):
    hers = body(story.day, story.bea)
    mine = body(story.day, story.mia)
    if role == "coach":
        answer = send(signed_in(story.coach), story.day, [hers, mine])
    else:
        answer = send(signed_in(story.coach), story.day, [hers, mine], **{"X-Station-Pass": story.token})
    assert words_of(answer) == ["refused", "conflict"]
    assert answer.json()["answers"][0]["reason"] == "This child is not known here."
    assert not Result.objects.filter(athlete=story.bea, day=story.day).exists()


def test_a_day_of_another_group_takes_nothing_from_an_outsider_of_it(story):
    hers = body(story.bears_day, story.bea)
    answer = send(signed_in(story.coach), story.day, [hers])
    assert words_of(answer) == ["refused"] and Result.objects.filter(athlete=story.bea).count() == 1
    assert words_of(send(signed_in(story.other_coach), story.bears_day, [hers])) == ["stored"]


def test_an_undo_never_reaches_an_entry_of_another_child(story):
    undo = body(story.day, story.mia, outcome="withdrawn", value=None, replaces=str(story.bears_result.code))
    assert words_of(send(signed_in(story.coach), story.day, [undo])) == ["stored"]
    assert Result.objects.current().filter(pk=story.bears_result.pk).exists()
    own = body(story.day, story.mia, outcome="withdrawn", value=None, replaces=str(story.result.code))
    send(signed_in(story.coach), story.day, [own])
    assert not Result.objects.current().filter(pk=story.result.pk).exists()


def test_attendance_speaks_of_the_circle_only(story):
    said = {
        f"present_{story.bea.code}": "yes",
        f"sore_{story.bea.code}": "yes",
        f"present_{story.mia.code}": "yes",
    }
    url = reverse("assessments:attendance", args=[story.day.code])
    assert signed_in(story.coach).post(url, said).status_code == 302
    assert list(Attendance.objects.values_list("athlete", flat=True)) == [story.mia.pk]
    assert not RestNote.objects.exists()


def test_the_roll_of_a_tablet_opens_no_rest_note_of_another_group(story):
    lines = [
        {"child": str(child.code), "at": factories.NOW.isoformat(), "sore": "yes", "areas": ["wrist"]}
        for child in (story.bea, story.mia)
    ]
    answer = send(signed_in(story.coach), story.day, {"lines": lines}, door="sync_roll")
    assert answer.json()["known"] == [str(story.mia.code)]
    assert list(RestNote.objects.values_list("athlete", flat=True)) == [story.mia.pk]


def test_a_decision_about_another_groups_child_is_not_taken(story):
    client, said = signed_in(story.coach), {"word": "override", "reason": "Seen often", "first_seen": ""}
    there = reverse("assessments:skill_decide", args=[story.bea.code, "bunny_hop"])
    assert client.post(there, said).status_code == 404 and not SkillDecision.objects.exists()
    here = reverse("assessments:skill_decide", args=[story.mia.code, "bunny_hop"])
    assert client.post(here, said).status_code == 302
    hers = factories.SkillDecisionFactory(athlete=story.bea)
    assert client.post(reverse("assessments:decision_take_back", args=[hers.code])).status_code == 404


@pytest.mark.parametrize("act", ["edit", "approve", "withdraw"])
def test_a_family_note_of_another_group_cannot_be_touched(story, act):
    hers = factories.FamilyReportFactory(athlete=story.bea)
    mine = factories.FamilyReportFactory(athlete=story.mia)
    client = signed_in(story.coach)
    assert client.post(reverse(f"assessments:family_report_{act}", args=[hers.code])).status_code == 404
    assert client.post(reverse(f"assessments:family_report_{act}", args=[mine.code])).status_code != 404
    assert list(FamilyReport.objects.filter(athlete=story.bea).values_list("status", flat=True)) == ["draft"]
    write = reverse("assessments:family_report_write", args=[story.bea.code])
    assert client.post(write).status_code == 404


@pytest.mark.parametrize("act", ["rest_note_end", "rest_note_narrow"])
def test_a_rest_note_of_another_group_cannot_be_ended(story, act):
    hers, mine = factories.RestNoteFactory(athlete=story.bea), factories.RestNoteFactory(athlete=story.mia)
    said = {
        "ended_ground": "professional", "ended_adult": "A doctor", "ended_on": factories.TODAY.isoformat(),
        "areas": ["wrist"],
    }  # fmt: skip
    client = signed_in(story.coach)
    assert client.post(reverse(f"athletes:{act}", args=[hers.code]), said).status_code == 404
    assert client.post(reverse(f"athletes:{act}", args=[mine.code]), said).status_code == 302


def test_a_day_cannot_be_planned_for_another_group(story):
    said = {
        "held_on": factories.TODAY.isoformat(),
        "item_hollow_hold": "on",
        "variant_hollow_hold": "arms_by_side",
    }
    client, url = signed_in(story.coach), reverse("assessments:day_plan")
    assert client.post(url, {**said, "groups": [story.bears.pk]}).status_code == 422
    assert client.post(url, {**said, "groups": [story.tigers.pk]}).status_code == 302


def test_changing_a_joint_day_leaves_the_other_group_on_it(joint):
    said = {
        "held_on": factories.TODAY.isoformat(), "item_hollow_hold": "on", "variant_hollow_hold": "arms_by_side",
        "groups": [joint.tigers.pk],
    }  # fmt: skip
    url = reverse("assessments:day_edit", args=[joint.joint_day.code])
    assert signed_in(joint.coach).post(url, said).status_code == 302
    assert set(joint.joint_day.groups.all()) == {joint.tigers, joint.bears}
    assert signed_in(joint.director).post(url, said).status_code == 302
    assert set(joint.joint_day.groups.all()) == {joint.tigers}


@pytest.mark.parametrize(
    "page", ["day", "result_list", "day_unsettled", "attendance", "station_sheets", "day_close", "day_rotation",
             "floor_data"],
)  # fmt: skip
def test_a_joint_day_shows_each_coach_their_own_children(joint, page):
    url = reverse(f"assessments:{page}", args=[joint.joint_day.code])
    told = signed_in(joint.director).get(url).content.decode()
    mine = signed_in(joint.coach).get(url).content.decode()
    assert not BEA.search(mine) and str(joint.twins[0].code) not in mine
    assert page == "day_close" or BEA.search(told)


def test_the_lead_of_a_joint_day_settles_only_inside_the_circle(joint):
    url = reverse("assessments:conflict_settle", args=[joint.twins[0].code])
    assert signed_in(joint.coach).post(url).status_code == 404
    assert Result.objects.current().filter(day=joint.joint_day).count() == 2
    assert signed_in(joint.director).post(url).status_code == 302
    assert list(Result.objects.current().filter(day=joint.joint_day)) == [joint.twins[0]]


def test_an_entry_that_was_replaced_cannot_be_declared_the_one_that_counts(joint):
    first, second = joint.twins
    newer = factories.ResultFactory(
        day=joint.joint_day,
        athlete=joint.bea,
        measure=first.measure,
        variant="arms_by_side",
        replaces=first.code,
    )
    client = signed_in(joint.director)
    client.post(reverse("assessments:conflict_settle", args=[first.code]))
    assert set(Result.objects.current().filter(day=joint.joint_day)) == {second, newer}
    client.post(reverse("assessments:conflict_settle", args=[newer.code]))
    assert list(Result.objects.current().filter(day=joint.joint_day)) == [newer]


def test_a_coach_who_does_not_lead_the_day_settles_nothing(joint):
    colleague = factories.UserFactory(role=Role.COACH)
    factories.CoachingFactory(coach=colleague, group=joint.bears)
    url = reverse("assessments:conflict_settle", args=[joint.twins[0].code])
    assert signed_in(colleague).post(url).status_code == 403
    joint.joint_day.lead = colleague
    joint.joint_day.save()
    assert signed_in(colleague).post(url).status_code == 302


def test_a_refused_entry_is_settled_by_the_lead_of_its_own_day_only(story):
    send(signed_in(story.other_coach), story.bears_day, [body(story.bears_day, story.bea, value=-5)])
    url = reverse("assessments:refused_settle", args=[RefusedEntry.objects.get().code])
    assert signed_in(story.coach).post(url, {"act": "aside"}).status_code == 404
    assert signed_in(story.other_coach).post(url, {"act": "aside"}).status_code == 302
