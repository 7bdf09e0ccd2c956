"""Pain on the wrong child: the lead of the day ends that child's stop by hand and closes the note; nothing does it alone."""

from __future__ import annotations

import uuid

import pytest
from django.urls import reverse

from assessments.models import Attendance, Result
from assessments.recording import record
from assessments.reports import rests_of
from athletes.models import RestNote
from club.models import AuditEntry
from tests import factories
from tests.assessments.entry_making import entry, words
from tests.conftest import viewer_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def pain(cast, programme):
    """A stop for pain that was entered for Mia."""
    one = entry(cast.day, cast.mia, value=None, outcome="stopped_for_pain", areas=["wrist"])
    record([one], viewer_of(cast.coach))
    return Result.objects.get(code=one.id)


def send(client, name, result, **fields):
    said = {"new_id": uuid.uuid4(), "reason": "it was Tom who fell", **fields}
    return client.post(reverse(f"assessments:{name}", args=[result.code]), said)


def test_taking_it_back_alone_leaves_the_stop_and_the_note(as_member, cast, pain):
    assert send(as_member(cast.coach), "result_take_back", pain).status_code == 302
    assert Attendance.objects.get(athlete=cast.mia).stopped_at is not None
    assert RestNote.objects.open().filter(athlete=cast.mia).exists()


def test_the_lead_ends_the_stop_and_closes_the_note_as_a_mistake(as_member, cast, pain):
    assert send(as_member(cast.coach), "result_take_back", pain, end_stop="on").status_code == 302
    assert Attendance.objects.get(athlete=cast.mia).stopped_at is None
    note = RestNote.objects.get()
    assert (note.ended_on, note.ended_by, note.ground_words) == (
        note.opened_on, cast.coach, "Opened by mistake",
    )  # fmt: skip
    assert AuditEntry.objects.filter(verb="ended a stop entered by mistake").count() == 1
    assert words(record([entry(cast.day, cast.mia, value=20)], viewer_of(cast.coach))) == ["stored"]


def test_nothing_follows_from_a_note_that_was_a_mistake(as_member, cast, pain):
    assert [spell.areas for spell in rests_of([cast.mia.pk])[cast.mia.pk]] == [("wrist",)]
    send(as_member(cast.director), "result_take_back", pain, end_stop="on")
    assert rests_of([cast.mia.pk]) == {}
    again = factories.RestNoteFactory(athlete=cast.mia, areas=["wrist"], opened_on=factories.TODAY)
    assert not again.returning


def test_moved_to_the_child_who_fell_it_stops_that_one_with_the_same_area(as_member, cast, pain):
    answer = send(as_member(cast.director), "result_move", pain, athlete=cast.tom.code, end_stop="on")
    assert answer.status_code == 302
    stopped = {row.athlete: row.stopped_at is not None for row in Attendance.objects.all()}
    assert stopped == {cast.mia: False, cast.tom: True}
    note = RestNote.objects.open().get()
    assert (note.athlete, note.areas) == (cast.tom, ["wrist"])


def test_another_stop_of_the_day_still_holds(as_member, cast, pain):
    other = entry(cast.day, cast.mia, value=None, outcome="stopped_for_pain", areas=["ankle"], trial=2)
    record([other], viewer_of(cast.coach))
    send(as_member(cast.director), "result_take_back", pain, end_stop="on")
    assert Attendance.objects.get(athlete=cast.mia).stopped_at is not None
    assert [note.areas for note in RestNote.objects.open()] == [["ankle"]]


@pytest.mark.parametrize("name", ["result_take_back", "result_move"])
def test_a_coach_who_does_not_lead_the_day_is_not_offered_it(as_member, cast, pain, name):
    cast.day.lead = None
    cast.day.save()
    client = as_member(cast.coach)
    page = client.get(reverse(f"assessments:{name}", args=[pain.code]))
    assert b"End the stop" not in page.content
    send(client, name, pain, athlete=cast.tom.code, end_stop="on")
    assert Attendance.objects.get(athlete=cast.mia).stopped_at is not None


def test_a_score_has_no_stop_to_end(as_member, cast, programme):
    one = entry(cast.day, cast.mia, value=20)
    record([one], viewer_of(cast.coach))
    page = as_member(cast.director).get(reverse("assessments:result_take_back", args=[one.id]))
    assert b"End the stop" not in page.content
