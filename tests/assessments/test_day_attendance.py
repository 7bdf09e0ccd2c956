"""Attendance through the page: who is here, and what a yes to 'anything sore, ill or new?' does."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from assessments.models import Attendance
from assessments.recording import record
from athletes.models import RestNote
from tests.assessments.entry_making import entry, words
from tests.conftest import viewer_of
from tests.factories import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def tick(as_member, cast, programme):
    """Send the attendance page as the coach."""

    def send(user=None, **answers):
        url = reverse("assessments:attendance", args=[cast.day.code])
        names = {"mia": cast.mia, "tom": cast.tom, "bea": cast.bea}
        said = {}
        for key, value in answers.items():
            what, who = key.split("_")
            said[f"{what}_{names[who].code}"] = value
        return as_member(user or cast.coach).post(url, said)

    return send


def test_ticks_are_kept_and_the_untouched_stay_unknown(cast, tick):
    tick(present_mia="yes", sore_mia="no")
    row = Attendance.objects.get()
    assert (row.athlete, row.present, row.sore, row.asked_by) == (cast.mia, True, "no", cast.coach)


def test_a_yes_rests_the_child_and_no_score_is_taken(cast, tick, monkeypatch):
    tick(present_mia="yes", sore_mia="yes", areas_mia="wrist", present_tom="yes", sore_tom="no")
    assert RestNote.objects.get().areas == ["wrist"]
    later = NOW + timedelta(minutes=1)
    monkeypatch.setattr(timezone, "now", lambda: later)
    entries = [
        entry(
            cast.day, cast.mia, measure="front_support_hold", variant="flat_hands", t_wall=later.isoformat()
        ),
        entry(cast.day, cast.tom),
    ]
    assert words(record(entries, viewer_of(cast.coach))) == ["refused", "stored"]


def test_a_yes_without_an_area_rests_everything(cast, tick):
    tick(sore_mia="yes", areas_mia="")
    assert RestNote.objects.get().areas == ["general"]


def test_saying_yes_twice_opens_one_note(cast, tick):
    tick(sore_mia="yes", areas_mia="wrist")
    tick(present_mia="yes")
    assert RestNote.objects.count() == 1
    assert Attendance.objects.get().sore == "yes"


def test_a_child_of_another_group_cannot_be_ticked(cast, tick):
    assert tick(present_bea="yes").status_code == 302
    assert not Attendance.objects.exists()
    assert tick(cast.other_coach, present_mia="yes").status_code == 404
