"""Every entry of a day as a file: what stands, what was replaced, what was refused, with tablet, number and clocks."""

from __future__ import annotations

import csv
import io

import pytest
from django.urls import reverse

from assessments.models import RefusedEntry
from assessments.recording import record
from club.models import AuditEntry
from tests.assessments.entry_making import changed, entry
from tests.conftest import station_viewer


@pytest.fixture
def day(cast, programme):
    """Five entries of one tablet: stored, corrected by the fourth, contested twice, one impossible."""
    first = entry(cast.day, cast.mia, seq=1, value=20)
    batch = [
        first,
        entry(cast.day, cast.tom, seq=2, value=30),
        entry(cast.day, cast.tom, seq=3, value=31),
        entry(cast.day, cast.mia, seq=4, value=22, replaces=first.id, reason="=wrong key"),
        entry(cast.day, cast.mia, seq=5, trial=2, value=999),
    ]
    answers = record(batch, station_viewer(cast.tablet), offset_s=7.5)
    assert [one.word for one in answers] == ["stored", "conflict", "conflict", "stored", "refused"]
    return cast


def rows(client, day):
    answer = client.get(reverse("assessments:entries_export", args=[day.code]))
    assert answer.status_code == 200
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_every_entry_is_a_row_with_its_answer_its_tablet_and_both_clocks(day, as_member):
    found = {row["Number"]: row for row in rows(as_member(day.director), day.day)}
    assert {number: row["Answer"] for number, row in found.items()} == {
        "1": "stored, not standing", "2": "conflict", "3": "conflict", "4": "stored", "5": "refused",
    }  # fmt: skip
    assert found["4"]["Replaces"] == found["1"]["Entry"]
    assert found["4"]["Why"] == "'=wrong key"
    assert {row["Club clock minus tablet's (s)"] for number, row in found.items() if number != "5"} == {
        "7.500"
    }
    assert (found["5"]["Value"], found["5"]["Child"]) == ("999.0", "Mia Alder") and found["5"]["Why"]
    assert all(row["Received"] and row["Tablet"] for row in found.values())


def test_the_same_refused_body_twice_is_one_row_and_a_settled_one_says_so(day, as_member):
    again = entry(day.day, day.mia, seq=6, trial=3, value=999)
    for one in (again, changed(again)):
        record([one], station_viewer(day.tablet))
    RefusedEntry.objects.filter(entry=again.id).update(settled_at=day.day.closed_at or "2026-11-25T16:00:00Z")
    assert [row["Answer"] for row in rows(as_member(day.director), day.day)].count("refused, settled") == 1


def test_a_restricted_child_is_left_out_of_stored_and_refused_rows(day, as_member):
    day.mia.restricted = True
    day.mia.save()
    assert {row["Child"] for row in rows(as_member(day.director), day.day)} == {"Tom Birch"}


def test_only_a_director_takes_it_out_and_the_trail_says_so(day, as_member):
    url = reverse("assessments:entries_export", args=[day.day.code])
    assert as_member(day.coach).get(url).status_code == 403
    rows(as_member(day.director), day.day)
    last = AuditEntry.objects.latest("pk")
    assert (last.verb, last.subject_code) == ("took out every entry of a test day", day.day.code)
