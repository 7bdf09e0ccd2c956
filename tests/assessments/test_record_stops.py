"""What a stop for pain leaves behind: the rest note as it was told, the moment testing stopped, a line in the trail."""

from __future__ import annotations

from datetime import timedelta

import pytest

from assessments.models import Attendance, Result
from assessments.recording import record
from athletes.models import RestNote
from club.models import AuditEntry
from tests import factories
from tests.assessments.entry_making import entry, words
from tests.conftest import station_viewer, viewer_of

pytestmark = pytest.mark.django_db
NOON = factories.NOW.replace(hour=12)


@pytest.fixture
def coach(cast, programme):
    return viewer_of(cast.coach)


def hurt(cast, minutes=0, child=None, day=None, **fields):
    moment = (NOON + timedelta(minutes=minutes)).isoformat()
    return entry(
        day or cast.day, child or cast.mia, value=None, outcome="stopped_for_pain", t_wall=moment, **fields
    )


def stopped_at(child):
    return Attendance.objects.get(athlete=child).stopped_at


def test_the_note_tells_what_the_entry_told(cast, coach):
    earlier = factories.DayFactory(groups=[cast.tigers], held_on=factories.TODAY - timedelta(days=3))
    one = hurt(cast, day=earlier, areas=["wrist", "moon", "elbow", "wrist"], note="on landing")
    record([one], coach, offset_s=60)
    note = RestNote.objects.get()
    assert (note.athlete, note.areas, note.note) == (cast.mia, ["wrist", "elbow"], "on landing")
    assert (note.opened_on, note.opened_at) == (earlier.held_on, NOON + timedelta(minutes=1))
    there = Attendance.objects.get()
    assert (there.day, there.athlete, there.present) == (earlier, cast.mia, True)
    assert there.stopped_at == NOON + timedelta(minutes=1)


@pytest.mark.parametrize(
    ("by_station", "judged", "opener"),
    [(False, True, "director"), (False, False, "coach"), (True, False, None)],
)
def test_the_judge_opens_the_note_else_who_sent_it(cast, programme, by_station, judged, opener):
    viewer = station_viewer(cast.tablet) if by_station else viewer_of(cast.coach)
    record([hurt(cast, judge=str(cast.director.code) if judged else None)], viewer)
    assert RestNote.objects.get().opened_by == (getattr(cast, opener) if opener else None)


def test_the_trail_has_one_line_about_the_child(cast, coach):
    one = hurt(cast)
    record([one], coach)
    record([one], coach)
    lines = AuditEntry.objects.filter(verb="opened a rest note")
    assert [(line.actor, line.subject_code, line.detail) for line in lines] == [
        (cast.coach, cast.mia.code, {})
    ]


def test_the_first_pain_of_a_day_ends_the_testing_whichever_arrives_first(cast, coach):
    record([hurt(cast, 10)], coach)
    record([hurt(cast, 20)], coach)
    assert stopped_at(cast.mia) == NOON + timedelta(minutes=10)
    record([hurt(cast, 5)], coach)
    assert stopped_at(cast.mia) == NOON + timedelta(minutes=5)
    assert RestNote.objects.count() == 3


def test_a_child_marked_away_who_stops_keeps_the_mark(cast, coach):
    factories.AttendanceFactory(day=cast.day, athlete=cast.mia, present=False)
    record([hurt(cast)], coach)
    there = Attendance.objects.get()
    assert (there.present, there.stopped_at) == (False, NOON)


def test_a_clock_that_runs_ahead_stops_the_child_now(cast, coach):
    record([hurt(cast, 600)], coach)
    assert stopped_at(cast.mia) == factories.NOW


def test_an_old_sheet_in_the_list_hides_no_pain_of_today(cast, programme):
    old = factories.DayFactory(
        groups=[cast.tigers], imported=True, held_on=factories.TODAY - timedelta(days=90)
    )
    entries = [hurt(cast, day=old), hurt(cast, child=cast.tom)]
    assert words(record(entries, viewer_of(cast.director))) == ["stored", "stored"]
    assert RestNote.objects.get().athlete == cast.tom
    assert Attendance.objects.get().athlete == cast.tom


def test_of_several_pains_the_earliest_is_noted_first(cast, coach):
    record([hurt(cast, 9, note="third"), hurt(cast, 3, note="first"), hurt(cast, 6, note="second")], coach)
    notes = RestNote.objects.order_by("pk").values_list("note", flat=True)
    assert list(notes) == ["first", "second", "third"]
    assert stopped_at(cast.mia) == NOON + timedelta(minutes=3)


def test_in_one_list_the_earliest_pain_decides(cast, coach):
    def seen(minutes, trial):
        return entry(cast.day, cast.mia, trial=trial, t_wall=(NOON + timedelta(minutes=minutes)).isoformat())

    entries = [hurt(cast, 10), seen(4, 1), seen(6, 2), hurt(cast, 5), hurt(cast, 20), seen(5, 3)]
    answers = record(entries, coach)
    assert words(answers) == ["stored", "stored", "refused", "stored", "stored", "stored"]
    assert answers[2].reason == "Testing had stopped for this child on this day."


def test_a_pain_in_the_list_does_not_overwrite_an_earlier_stop(cast, coach):
    factories.AttendanceFactory(day=cast.day, athlete=cast.mia, stopped_at=NOON, sore="no")
    after = entry(cast.day, cast.mia, t_wall=(NOON + timedelta(minutes=2)).isoformat())
    assert words(record([hurt(cast, 10), after], coach)) == ["stored", "refused"]
    assert stopped_at(cast.mia) == NOON


def test_a_pain_on_another_day_or_of_another_child_stops_nothing_here(cast, coach):
    other = factories.DayFactory(groups=[cast.tigers])
    entries = [hurt(cast, day=other, areas=["wrist"]), hurt(cast, child=cast.tom, areas=["wrist"])]
    moment = (NOON + timedelta(minutes=2)).isoformat()
    assert words(record([*entries, entry(cast.day, cast.mia, t_wall=moment)], coach)) == ["stored"] * 3


def test_a_pain_in_the_list_does_not_say_that_the_child_was_away(cast, coach):
    before = entry(cast.day, cast.mia, t_wall=(NOON - timedelta(minutes=5)).isoformat())
    assert words(record([hurt(cast), before], coach)) == ["stored", "stored"]
    assert "away" not in Result.objects.get(code=before.id).flags


@pytest.mark.parametrize(("minutes", "word"), [(-5, "stored"), (5, "refused")])
def test_a_slow_clock_is_set_right_for_all_of_one_list(cast, coach, minutes, word):
    seen = entry(cast.day, cast.mia, t_wall=(NOON + timedelta(minutes=minutes)).isoformat())
    assert words(record([hurt(cast), seen], coach, offset_s=600)) == ["stored", word]
    assert stopped_at(cast.mia) == NOON + timedelta(minutes=10)
