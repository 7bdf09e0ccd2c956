"""Tablet and club compare what they hold; the roll goes in once; the day's sheet tells nothing that it need not."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from assessments.days import close_day
from assessments.models import Attendance, Measure, RefusedEntry, Result, TabletDay
from assessments.reconciling import tablet_lines
from assessments.recording import record
from athletes.models import RestNote
from athletes.privacy import erase
from tests import factories
from tests.assessments.entry_making import body, changed, entry
from tests.conftest import station_viewer, viewer_of

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


def test_a_refused_number_is_no_gap_and_counts_as_here(cast, ask):
    refused = entry(cast.day, cast.mia, seq=2, value=999)
    record([entry(cast.day, cast.mia, seq=1), refused], station_viewer(cast.tablet))
    answer = ask("sync_reconcile", {"tablet": "tablet-a", "ids": [], "made": 2, "highest_seq": 2})
    assert answer["gaps"] == []
    [line] = tablet_lines(cast.day)
    assert (line.stored, line.refused, line.equal) == (1, 1, True)


def test_an_entry_that_could_not_be_read_counts_for_its_day_too(cast, ask):
    bad = {**body(cast.day, cast.mia, seq=1), "outcome": "nonsense"}
    said = ask("sync", {"tablet": "tablet-a", "made": 1, "highest_seq": 1, "waiting": 0, "entries": [bad]})
    assert said["answers"][0]["word"] == "refused"
    assert [line.equal for line in tablet_lines(cast.day)] == [True]


def test_with_each_batch_a_tablet_says_what_it_made_and_what_still_waits(cast, ask):
    one = body(cast.day, cast.mia, seq=1)
    said = {"tablet": "tablet-a", "label": "Blue", "made": 12, "highest_seq": 12, "waiting": 11}
    ask("sync", {**said, "entries": [one]})
    row = TabletDay.objects.get()
    assert (row.label, row.made, row.highest_seq, row.waiting) == ("Blue", 12, 12, 11)
    assert not tablet_lines(cast.day)[0].equal
    ask("sync", {"entries": [one]})  # an older tablet says nothing of itself: what it said before stays
    row.refresh_from_db()
    assert (row.made, row.waiting) == (12, 11)


def test_a_batch_that_breaks_leaves_no_word_of_the_tablet(cast, ask, monkeypatch):
    def broken(*_, **__):
        raise OperationalError("disk I/O error")

    monkeypatch.setattr("assessments.reconciling.record", broken)
    with pytest.raises(OperationalError):
        ask("sync", {"tablet": "tablet-a", "made": 1, "waiting": 0, "entries": [body(cast.day, cast.mia)]})
    assert not TabletDay.objects.exists()


@pytest.mark.parametrize(("minutes", "left", "equal"), [(1, False, True), (3, False, False), (3, True, True)])
def test_a_tablet_that_fell_silent_may_have_gone_on_counting(cast, ask, minutes, left, equal, monkeypatch):
    record([entry(cast.day, cast.mia, seq=1)], station_viewer(cast.tablet))
    said = {"tablet": "tablet-a", "ids": [], "made": 1, "highest_seq": 1, "waiting": 0, "left": left}
    ask("sync_reconcile", said)
    later = factories.NOW + timedelta(minutes=minutes)
    monkeypatch.setattr(timezone, "now", lambda: later)
    assert [(line.complete, line.equal) for line in tablet_lines(cast.day)] == [(True, equal)]


def test_after_the_close_a_tablet_has_to_speak_once_more(cast, ask, monkeypatch):
    record([entry(cast.day, cast.mia, seq=1)], station_viewer(cast.tablet))
    said = {"tablet": "tablet-a", "ids": [], "made": 1, "highest_seq": 1, "waiting": 0}
    ask("sync_reconcile", said)
    later = factories.NOW + timedelta(seconds=30)
    monkeypatch.setattr(timezone, "now", lambda: later)
    close_day(cast.day, station_viewer(cast.tablet), words="")
    cast.day.refresh_from_db()
    assert [line.equal for line in tablet_lines(cast.day)] == [False]
    ask("sync", {"tablet": "tablet-a", "made": 1, "highest_seq": 1, "waiting": 0, "entries": []})
    assert [line.equal for line in tablet_lines(cast.day)] == [True]


def test_a_tablet_hears_what_a_person_settled_here_and_sends_again_what_was_lost(cast, ask):
    settled, open_still, lost = (entry(cast.day, cast.mia, seq=n, value=999) for n in (1, 2, 3))
    record([settled, open_still], station_viewer(cast.tablet))
    RefusedEntry.objects.filter(entry=settled.id).update(settled_at=factories.NOW)
    ids = [str(one.id) for one in (settled, open_still, lost)]
    answer = ask("sync_reconcile", {"tablet": "tablet-a", "ids": ids, "made": 3, "highest_seq": 3})
    assert (answer["settled"], answer["missing"]) == ([str(settled.id)], [str(lost.id)])


def line(child, **fields):
    return {"child": str(child.code), "at": "2026-11-25T15:00:00+00:00", **fields}


def test_an_edited_copy_of_an_entry_does_not_hide_that_the_entry_is_gone(cast, ask):
    one = entry(cast.day, cast.mia, seq=1)
    viewer = station_viewer(cast.tablet)
    assert [answer.word for answer in record([one, changed(one, value=21)], viewer)] == ["stored", "refused"]
    said = {"tablet": "tablet-a", "ids": [str(one.id)], "made": 1, "highest_seq": 1}
    assert ask("sync_reconcile", said)["missing"] == []
    Result.objects.all().delete()  # as after an older copy of the database was put back
    assert ask("sync_reconcile", said)["missing"] == [str(one.id)]


def test_an_edited_copy_goes_with_its_erased_child(cast, ask):
    one, viewer = entry(cast.day, cast.mia, seq=1), station_viewer(cast.tablet)
    record([one], viewer)
    record([changed(one, value=21)], viewer)
    assert [(row.athlete, row.day) for row in RefusedEntry.objects.all()] == [(cast.mia, cast.day)]
    erase(cast.mia, viewer_of(cast.director))
    assert not RefusedEntry.objects.exists()


def test_the_roll_is_written_down_by_its_newest_line(cast, ask):
    newer = line(cast.mia, present=True, sore="no", at="2026-11-25T15:05:00+00:00", by=str(cast.coach.code))
    answer = ask("sync_roll", {"lines": [newer, line(cast.mia, present=False), line(cast.bea, present=True)]})
    assert answer["known"] == [str(cast.mia.code)]
    row = Attendance.objects.get()
    assert (row.present, row.sore, row.asked_by) == (True, "no", cast.coach)


def test_a_line_that_arrives_late_does_not_take_back_what_was_said_after_it(cast, ask):
    ask("sync_roll", {"lines": [line(cast.mia, present=True, sore="no", at="2026-11-25T15:05:00+00:00")]})
    older = line(cast.mia, present=False, sore="no", at="2026-11-25T15:01:00+00:00", by=str(cast.coach.code))
    ask("sync_roll", {"lines": [older]})
    row = Attendance.objects.get()
    assert (row.present, row.asked_by) == (True, None)
    ask("sync_roll", {"lines": [line(cast.mia, present=False, at="2026-11-25T15:09:00+00:00")]})
    row.refresh_from_db()
    assert row.present is False


def test_presence_and_answer_of_one_line_have_their_own_moments(cast, ask):
    ask("sync_roll", {"lines": [line(cast.mia, present=False, at="2026-11-25T15:05:00+00:00")]})
    both = line(cast.mia, present=True, sore="no", at="2026-11-25T15:08:00+00:00")
    ask("sync_roll", {"lines": [{**both, "present_at": "2026-11-25T15:02:00+00:00"}]})
    row = Attendance.objects.get()
    assert (row.present, row.sore) == (False, "no")


def test_one_yes_told_again_with_another_moment_or_from_another_tablet_is_one_rest_note(cast, ask):
    yes = line(cast.mia, sore="yes", sore_at="2026-11-25T15:00:00+00:00", areas=["wrist"])
    ask("sync_roll", {"lines": [yes]})
    ask("sync_roll", {"lines": [{**yes, "present": True, "at": "2026-11-25T15:20:00+00:00"}]})
    ask("sync_roll", {"lines": [line(cast.mia, sore="yes", areas=["wrist"], at="2026-11-25T15:10:00+00:00")]})
    assert RestNote.objects.count() == 1
    ask(
        "sync_roll",
        {"lines": [line(cast.mia, sore="yes", areas=["wrist", "ankle"], at="2026-11-25T15:30:00Z")]},
    )
    assert [note.areas for note in RestNote.objects.order_by("pk")] == [["wrist"], ["ankle"]]


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
