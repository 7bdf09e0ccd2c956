"""Pain stops everything: no score, a rest note, the end of that child's testing. A rest outranks every score."""

from __future__ import annotations

from datetime import timedelta

import pytest

from assessments.models import Attendance, Result
from assessments.recording import record
from athletes.models import RestNote
from tests import factories
from tests.assessments.entry_making import entry, words
from tests.conftest import station_viewer, viewer_of

pytestmark = pytest.mark.django_db
NOON = factories.NOW.replace(hour=12)


@pytest.fixture
def tablet(cast, programme):
    return station_viewer(cast.tablet)


def hurt(cast, **fields):
    return entry(
        cast.day, cast.mia,
        **{"value": None, "outcome": "stopped_for_pain", "areas": ["wrist"], "t_wall": NOON.isoformat(), **fields},
    )  # fmt: skip


def seen(cast, minutes, **fields):
    return entry(cast.day, cast.mia, t_wall=(NOON + timedelta(minutes=minutes)).isoformat(), **fields)


def test_pain_opens_one_rest_note_and_stops_the_day(cast, tablet):
    one = hurt(cast, judge=str(cast.coach.code), note="left wrist, landing")
    assert words(record([one], tablet)) == ["stored"]
    assert words(record([one], tablet)) == ["already_here"]
    note = RestNote.objects.get()
    assert (note.athlete, note.areas, note.from_entry) == (cast.mia, ["wrist"], one.id)
    assert (note.opened_on, note.opened_by, note.note) == (factories.TODAY, cast.coach, "left wrist, landing")
    assert Attendance.objects.get(athlete=cast.mia).stopped_at == NOON
    assert Result.objects.get().value is None


@pytest.mark.parametrize(
    "changed", [{"side": "left"}, {"variant": "gone"}, {"side": "right", "variant": "gone"}]
)
def test_pain_at_a_station_that_was_changed_in_mid_day_is_taken(cast, tablet, changed):
    """A score is refused for the side or version that it names; a pain needs only a known day and child."""
    assert words(record([seen(cast, -1, **changed)], tablet)) == ["refused"]
    assert words(record([hurt(cast, **changed)], tablet)) == ["stored"]
    assert RestNote.objects.get().areas == ["wrist"]


@pytest.mark.parametrize("areas", [[], ["somewhere"]])
def test_pain_without_a_known_area_rests_everything(cast, tablet, areas):
    record([hurt(cast, areas=areas)], tablet)
    assert RestNote.objects.get().areas == ["general"]


def test_what_was_seen_before_the_pain_is_taken_whenever_it_arrives(cast, tablet):
    record([hurt(cast)], tablet)
    before, after = seen(cast, -5), seen(cast, 5, trial=2)
    assert words(record([before, after], tablet)) == ["stored", "refused"]


def test_it_is_the_same_when_all_comes_in_one_list(cast, tablet):
    assert words(record([seen(cast, 5, trial=2), hurt(cast), seen(cast, -5)], tablet)) == [
        "refused", "stored", "stored",
    ]  # fmt: skip


def test_a_wrong_clock_is_measured_and_does_not_decide(cast, tablet):
    record([hurt(cast)], tablet)
    # This tablet is two hours behind: its 10:05 is our 12:05, after the pain.
    behind = seen(cast, -115)
    assert words(record([behind], tablet, offset_s=7200)) == ["refused"]


def test_other_children_go_on(cast, tablet):
    record([hurt(cast)], tablet)
    assert words(record([entry(cast.day, cast.tom)], tablet)) == ["stored"]


@pytest.mark.parametrize(
    ("areas", "measure", "word"),
    [
        (["wrist"], {"measure": "front_support_hold", "variant": "flat_hands"}, "refused"),
        (["wrist"], {}, "stored"),
        (["neck"], {}, "refused"),
        (["general"], {}, "refused"),
        (["head"], {"measure": "releve_hold", "variant": "", "value": 10}, "refused"),
    ],
)
def test_a_rest_keeps_away_what_loads_the_area(cast, tablet, areas, measure, word):
    factories.RestNoteFactory(athlete=cast.mia, areas=areas)
    assert words(record([entry(cast.day, cast.mia, **measure)], tablet)) == [word]


def test_a_rest_that_has_ended_keeps_nothing_away(cast, tablet):
    note = factories.RestNoteFactory(athlete=cast.mia, areas=["general"])
    one = entry(cast.day, cast.mia)
    assert words(record([one], tablet)) == ["refused"]
    RestNote.objects.filter(pk=note.pk).update(
        ended_on=factories.TODAY, ended_ground="no_symptoms", ended_adult="A parent"
    )
    assert words(record([one], tablet)) == ["stored"]


def test_a_rest_that_opened_after_the_day_does_not_reach_back(cast, programme):
    last_week = factories.DayFactory(groups=[cast.tigers], held_on=factories.TODAY - timedelta(days=7))
    factories.RestNoteFactory(athlete=cast.mia, areas=["general"], opened_on=factories.TODAY)
    assert words(record([entry(last_week, cast.mia)], viewer_of(cast.coach))) == ["stored"]


def test_an_old_sheet_opens_no_rest_note(cast, programme):
    old = factories.DayFactory(
        groups=[cast.tigers], imported=True, held_on=factories.TODAY - timedelta(days=400)
    )
    one = entry(old, cast.mia, value=None, outcome="stopped_for_pain")
    assert words(record([one], viewer_of(cast.director))) == ["stored"]
    assert not RestNote.objects.exists()


@pytest.mark.parametrize("order", [(0, 1), (1, 0), (2,)])
def test_a_stop_said_again_with_its_place_is_one_rest_note(cast, tablet, order):
    first = hurt(cast, areas=[])
    again = hurt(cast, areas=["wrist"], replaces=str(first.id), note="landing")
    for place in order:
        given = [first, again] if place == 2 else [(first, again)[place]]
        assert set(words(record(given, tablet))) == {"stored"}
    note = RestNote.objects.get()
    assert (note.areas, note.note, note.from_entry) == (["wrist"], "landing", again.id)
    third = hurt(cast, areas=["ankle"], replaces=str(again.id))
    record([third], tablet)
    record([first, again, third], tablet)
    note.refresh_from_db()
    assert (RestNote.objects.count(), note.areas, note.note) == (1, ["ankle"], "landing")


def test_a_stop_said_again_leaves_a_note_that_a_person_has_ended(cast, tablet):
    first = hurt(cast)
    record([first], tablet)
    RestNote.objects.update(ended_on=factories.TODAY, ended_ground="professional", ended_adult="Sam Alder")
    record([hurt(cast, areas=["ankle"], replaces=str(first.id))], tablet)
    assert [(note.areas, note.ended_on) for note in RestNote.objects.all()] == [(["wrist"], factories.TODAY)]


def test_a_stop_that_replaces_another_childs_opens_a_note_of_its_own(cast, tablet):
    first = hurt(cast)
    other = entry(
        cast.day, cast.tom, value=None, outcome="stopped_for_pain", areas=["ankle"], replaces=str(first.id)
    )
    record([first, other], tablet)
    assert {note.athlete: note.areas for note in RestNote.objects.all()} == {
        cast.mia: ["wrist"], cast.tom: ["ankle"],
    }  # fmt: skip


def test_not_attempted_may_be_said_of_a_resting_child(cast, tablet):
    factories.RestNoteFactory(athlete=cast.mia, areas=["general"])
    entries = [
        entry(cast.day, cast.mia, value=None, outcome="not_attempted", reason="rests"),
        entry(cast.day, cast.mia, trial=2),
    ]
    assert words(record(entries, tablet)) == ["stored", "refused"]
