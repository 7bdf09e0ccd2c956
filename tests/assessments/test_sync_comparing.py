"""Tablet and club compare what they hold; the roll goes in once; the day's sheet tells nothing that it need not."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from assessments.models import Attendance, Measure, TabletDay
from assessments.recording import record
from athletes.models import RestNote
from tests import factories
from tests.assessments.entry_making import entry
from tests.conftest import station_viewer

pytestmark = pytest.mark.django_db


@pytest.fixture
def ask(cast, programme):
    """Ask the club as the day's tablet: ask("sync_roll", body)."""

    def send(name, body=None, **more):
        url = reverse(f"assessments:{name}", args=[cast.day.code])
        extra = {"headers": {"X-Station-Pass": cast.token}, **more}
        if body is None:
            return Client().get(url, **extra).json()
        return Client().post(url, json.dumps(body), content_type="application/json", **extra).json()

    return send


def test_the_club_names_what_it_lacks_and_the_numbers_it_never_saw(cast, ask):
    here, lost = entry(cast.day, cast.mia, seq=1), entry(cast.day, cast.mia, seq=3, trial=2)
    record([here], station_viewer(cast.tablet))
    said = {"tablet": "tablet-a", "label": "Blue", "ids": [str(here.id), str(lost.id), "nonsense"], "made": 2}
    answer = ask("sync_reconcile", {**said, "highest_seq": 3, "waiting": 1})
    assert (answer["missing"], answer["stored"], answer["gaps"]) == ([str(lost.id)], 1, [2, 3])
    row = TabletDay.objects.get()
    assert (row.label, row.made, row.highest_seq, row.waiting) == ("Blue", 2, 3, 1)


def test_after_sending_what_was_lacking_both_counts_agree(cast, ask):
    entries = [entry(cast.day, cast.mia, seq=n, trial=n) for n in (1, 2)]
    record(entries, station_viewer(cast.tablet))
    said = {"tablet": "tablet-a", "ids": [str(one.id) for one in entries], "made": 2, "highest_seq": 2}
    answer = ask("sync_reconcile", said)
    assert (answer["missing"], answer["stored"], answer["gaps"]) == ([], 2, [])
    assert TabletDay.objects.count() == 1


def test_a_refused_number_is_no_gap(cast, ask):
    refused = entry(cast.day, cast.mia, seq=2, value=999)
    record([entry(cast.day, cast.mia, seq=1), refused], station_viewer(cast.tablet))
    answer = ask("sync_reconcile", {"tablet": "tablet-a", "ids": [], "made": 1, "highest_seq": 2})
    assert answer["gaps"] == []


def line(child, **fields):
    return {"child": str(child.code), "at": "2026-11-25T15:00:00+00:00", **fields}


def test_the_roll_is_written_down_by_its_newest_line(cast, ask):
    newer = line(cast.mia, present=True, sore="no", at="2026-11-25T15:05:00+00:00", by=str(cast.coach.code))
    answer = ask("sync_roll", {"lines": [newer, line(cast.mia, present=False), line(cast.bea, present=True)]})
    assert answer["known"] == [str(cast.mia.code)]
    row = Attendance.objects.get()
    assert (row.present, row.sore, row.asked_by) == (True, "no", cast.coach)


def test_a_yes_opens_one_rest_note_and_a_later_no_does_not_undo_it(cast, ask):
    yes = line(cast.mia, sore="yes", areas=["wrist"], by=str(cast.coach.code))
    for _ in range(2):
        ask("sync_roll", {"lines": [yes]})
    ask("sync_roll", {"lines": [line(cast.mia, sore="no", at="2026-11-25T15:30:00+00:00")]})
    note = RestNote.objects.get()
    assert (note.areas, note.opened_by) == (["wrist"], cast.coach)
    row = Attendance.objects.get()
    assert (row.sore, row.stopped_at is not None) == ("yes", True)


@pytest.mark.parametrize("bad", [None, 7, {}, {"child": "x"}, {"child": None, "at": "now"}])
def test_a_line_that_cannot_be_read_is_passed_over(cast, ask, bad):
    answer = ask("sync_roll", {"lines": [bad, line(cast.mia, present=True)]})
    assert answer["known"] == [str(cast.mia.code)]


def test_the_days_sheet_holds_first_name_initial_group_and_month_and_nothing_more(cast, ask):
    factories.RestNoteFactory(athlete=cast.mia, areas=["wrist"], note="fell at home")
    factories.StationFactory(day=cast.day, measure=Measure.objects.get(slug="hollow_hold"), variant="tucked")
    factories.StationFactory(day=cast.day, measure=Measure.objects.get(slug="hollow"), order=1)
    sheet = ask("floor_data")
    mia = next(child for child in sheet["children"] if child["code"] == str(cast.mia.code))
    assert mia == {
        "code": str(cast.mia.code), "first_name": "Mia", "initial": "A", "group": "Tigers", "birth_month": "Mar",
        "present": None, "sore": "not_asked", "stopped": False, "resting": ["wrist"], "order": mia["order"],
    }  # fmt: skip
    told = json.dumps(sheet)
    for secret in ("Alder", "2020", "fell at home", str(cast.bea.code), "pat@home.example"):
        assert secret not in told
    hold, shape = sheet["stations"]
    assert (hold["cap"], hold["attempts"], hold["variant"], hold["unit"]) == (60, 2, "tucked", "s")
    assert shape["criteria"][0]["id"] == "low_back"
    assert hold["breaks"], "what broke first comes from the shape that the measure holds"


def test_the_days_sheet_names_what_stands_already(cast, ask):
    one = entry(cast.day, cast.mia, value=20)
    record([one, entry(cast.day, cast.mia, value=30, replaces=str(one.id))], station_viewer(cast.tablet))
    assert [(row["child"], row["value"]) for row in ask("floor_data")["standing"]] == [
        (str(cast.mia.code), 30)
    ]


def test_a_child_who_left_is_not_on_the_sheet(cast, ask):
    cast.tom.left_on = factories.TODAY - timedelta(days=1)
    cast.tom.save()
    assert [child["first_name"] for child in ask("floor_data")["children"]] == ["Mia"]
