"""Rest notes: opened in two taps, ended only with a ground and a named adult."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from athletes.models import RestNote
from club.models import AuditEntry
from tests.factories import TODAY, RestNoteFactory


def end(client, note, **changes):
    data = {
        "ended_ground": "no_symptoms",
        "ended_adult": "Sam Alder",
        "ended_on": TODAY.isoformat(),
    } | changes
    return client.post(reverse("athletes:rest_note_end", args=[note.code]), data)


def test_opening_one_stops_the_child_and_is_noted(cast, as_member):
    url = reverse("athletes:rest_note_open", args=[cast.mia.code])
    client = as_member(cast.coach)
    assert client.post(url, {"areas": [], "opened_on": TODAY}).status_code == 422
    assert not RestNote.objects.exists()
    client.post(
        url, {"areas": ["wrist", "elbow"], "opened_on": TODAY.isoformat(), "note": "Fell on both hands."}
    )
    note = RestNote.objects.get()
    assert (note.areas, note.opened_by, note.ended_on) == (["wrist", "elbow"], cast.coach, None)
    assert AuditEntry.objects.filter(verb="opened a rest note", subject_code=cast.mia.code).exists()
    assert "Fell" not in str(list(AuditEntry.objects.values()))


@pytest.mark.parametrize("area", ["knee", "ankle", "hand_skin"])
def test_a_minor_rest_within_the_week_ends_on_the_parents_word(cast, as_member, area):
    note = RestNoteFactory(athlete=cast.mia, areas=[area], opened_on=TODAY - timedelta(days=7))
    assert end(as_member(cast.coach), note).status_code == 302
    note.refresh_from_db()
    assert (note.ended_on, note.ended_adult) == (TODAY, "Sam Alder")


@pytest.mark.parametrize(
    ("areas", "days", "earlier"),
    [
        (["knee"], 8, False),
        (["wrist"], 2, False),
        (["lower_back"], 1, False),
        (["head"], 1, False),
        (["knee"], 2, True),
    ],
    ids=["over a week", "wrist", "back", "head", "came back"],
)
def test_serious_or_returning_pain_needs_a_professionals_yes(cast, as_member, areas, days, earlier):
    if earlier:
        RestNoteFactory(athlete=cast.mia, areas=areas, opened_on=TODAY - timedelta(days=60), ended=True)
    note = RestNoteFactory(athlete=cast.mia, areas=areas, opened_on=TODAY - timedelta(days=days))
    client = as_member(cast.coach)
    answer = end(client, note)
    assert answer.status_code == 422 and b"health professional" in answer.content
    note.refresh_from_db()
    assert note.ended_on is None
    assert end(client, note, ended_ground="professional").status_code == 302


@pytest.mark.parametrize("missing", ["ended_ground", "ended_adult", "ended_on"])
def test_an_end_without_ground_adult_or_date_is_refused(cast, as_member, missing):
    note = RestNoteFactory(athlete=cast.mia, areas=["knee"], opened_on=TODAY)
    assert end(as_member(cast.coach), note, **{missing: ""}).status_code == 422
    note.refresh_from_db()
    assert note.ended_on is None


def test_the_database_refuses_an_end_without_an_adult(cast):
    note = RestNoteFactory(athlete=cast.mia)
    with pytest.raises(IntegrityError), transaction.atomic():
        RestNote.objects.filter(pk=note.pk).update(ended_on=TODAY)


def test_narrowing_can_only_take_areas_away(cast, as_member):
    note = RestNoteFactory(athlete=cast.mia, areas=["wrist", "elbow"])
    url = reverse("athletes:rest_note_narrow", args=[note.code])
    client = as_member(cast.coach)
    assert client.post(url, {"areas": ["knee"]}).status_code == 422
    assert client.post(url, {"areas": ["elbow"]}).status_code == 302
    note.refresh_from_db()
    assert note.areas == ["elbow"] and note.narrowed_at is not None


def test_the_list_marks_a_second_rest_within_ninety_days(cast, as_member):
    RestNoteFactory(athlete=cast.mia, opened_on=TODAY - timedelta(days=80), ended=True)
    RestNoteFactory(athlete=cast.mia, opened_on=TODAY - timedelta(days=2))
    RestNoteFactory(athlete=cast.bea, opened_on=TODAY - timedelta(days=2))
    page = as_member(cast.director).get(reverse("athletes:rest_note_list")).content.decode()
    assert page.count("second time in 90 days") == 1
    assert "Bea Cole" in page
    assert "Bea Cole" not in as_member(cast.coach).get(reverse("athletes:rest_note_list")).content.decode()


def test_the_directors_start_page_marks_what_came_back(cast, programme, as_member):
    RestNoteFactory(athlete=cast.mia, opened_on=TODAY - timedelta(days=91), ended=True)
    note = RestNoteFactory(athlete=cast.mia, opened_on=TODAY)
    page = as_member(cast.director).get(reverse("club:home"))
    assert "second time in 90 days" not in page.content.decode()
    RestNoteFactory(athlete=cast.mia, opened_on=TODAY - timedelta(days=90), ended=True)
    page = as_member(cast.director).get(reverse("club:home"))
    assert page.context["today"].came_back == {note.pk}
    assert "second time in 90 days" in page.content.decode()
