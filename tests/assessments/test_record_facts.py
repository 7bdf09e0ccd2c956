"""What the club knows decides the marks and refusals of an entry: each mark alone, on both sides of its line."""

from __future__ import annotations

import copy
import uuid
from datetime import timedelta

import pytest

from assessments.models import AssessmentDay, Measure, ProgrammeEdition, Protocol, Result
from assessments.programme import publish
from assessments.recording import record
from tests import factories
from tests.assessments.entry_making import entry, words
from tests.assessments.programme_documents import entry as one_of
from tests.conftest import station_viewer, viewer_of

pytestmark = pytest.mark.django_db
NOON = factories.NOW.replace(hour=12)
LAST_WEEK = factories.TODAY - timedelta(days=7)
STOPPED = "Testing had stopped for this child on this day."


@pytest.fixture
def ready(cast, programme):
    """A planned station, a child that is there and was asked: an entry by the coach carries no mark."""
    factories.StationFactory(
        day=cast.day, measure=Measure.objects.get(slug="hollow_hold"), variant="arms_by_side"
    )
    cast.there = factories.AttendanceFactory(day=cast.day, athlete=cast.mia, present=True, sore="no")
    return cast


def flags_of(cast, viewer=None, **fields):
    one = entry(cast.day, cast.mia, **{"judge": str(cast.coach.code), **fields})
    assert words(record([one], viewer or viewer_of(cast.director))) == ["stored"]
    return Result.objects.get(code=one.id).flags


def test_an_ordinary_entry_carries_no_mark(ready):
    assert flags_of(ready) == []
    assert flags_of(ready, judge=None, trial=2) == []
    assert flags_of(ready, judge=str(ready.director.code), second=True) == []


def test_a_newer_schema_is_marked(ready):
    assert flags_of(ready, schema=2) == ["newer_schema"]


@pytest.mark.parametrize("judge", ["guardian", "nobody"])
def test_only_staff_judge(ready, judge):
    code = ready.guardian.code if judge == "guardian" else uuid.UUID(int=8)
    assert flags_of(ready, judge=str(code)) == ["judge_unknown"]
    assert Result.objects.get().judge is None


def test_a_day_that_was_not_opened_is_marked(ready):
    AssessmentDay.objects.filter(pk=ready.day.pk).update(status="planned")
    assert flags_of(ready) == ["day_not_open"]


@pytest.mark.parametrize(
    ("changes", "flags"),
    [
        ({"present": None}, []),
        ({"present": False}, ["away"]),
        ({"sore": "yes"}, []),
        ({"sore": "not_asked"}, ["sore_not_asked"]),
    ],
)
def test_what_the_roll_says_is_marked(ready, changes, flags):
    type(ready.there).objects.update(**changes)
    assert flags_of(ready) == flags
    assert flags_of(ready, value=None, outcome="not_attempted") == [f for f in flags if f == "away"]


def test_a_child_of_another_group_is_marked_until_it_is_on_the_roll(ready):
    ready.there.delete()
    assert flags_of(ready) == ["sore_not_asked"]
    type(ready.mia).objects.filter(pk=ready.mia.pk).update(group=ready.bears)
    assert flags_of(ready, trial=2) == ["not_in_day_groups", "sore_not_asked"]
    ready.day.groups.add(ready.bears)
    assert flags_of(ready, trial=2, second=True) == ["sore_not_asked"]
    ready.day.groups.remove(ready.bears)
    factories.AttendanceFactory(day=ready.day, athlete=ready.mia, sore="no")
    assert flags_of(ready, trial=1, second=True) == []


def test_on_a_day_without_groups_every_child_is_of_another_group(ready):
    ready.there.delete()
    ready.day.groups.clear()
    assert flags_of(ready) == ["not_in_day_groups", "sore_not_asked"]


def test_what_no_station_holds_is_marked(ready):
    assert flags_of(ready, variant="tucked") == ["not_planned"]
    assert flags_of(ready, measure="arch_hold", variant="arms_by_side") == ["not_planned"]


def test_an_imported_day_had_no_stations_and_no_questions(ready):
    ready.there.delete()
    AssessmentDay.objects.filter(pk=ready.day.pk).update(imported=True)
    assert flags_of(ready, variant="tucked") == []


@pytest.mark.parametrize(
    ("changes", "flags"),
    [
        ({}, []),
        ({"expires_at": factories.NOW + timedelta(seconds=1)}, []),
        ({"expires_at": factories.NOW}, ["pass_expired"]),
        ({"ended_at": factories.NOW - timedelta(hours=1)}, ["pass_ended"]),
        ({"ended_at": factories.NOW, "expires_at": factories.NOW}, ["pass_ended"]),
    ],
)
def test_the_pass_that_saw_it_is_kept_with_its_state(ready, changes, flags):
    second = factories.StationPassFactory(day=ready.day, token="second", **changes)
    assert second.pk != ready.day.pk, "the one is not to be taken for the other"
    assert flags_of(ready, **{"pass": str(second.code)}) == flags
    assert Result.objects.get().station_pass == second


def test_an_unknown_pass_or_one_of_another_day_gives_way_to_the_senders_own(ready):
    other = factories.StationPassFactory(
        day=factories.DayFactory(groups=[ready.tigers], held_on=LAST_WEEK), token="other"
    )
    tablet = station_viewer(ready.tablet)
    for trial, code in ((1, other.code), (2, uuid.UUID(int=9))):
        assert flags_of(ready, tablet, trial=trial, **{"pass": str(code)}) == ["pass_unknown"]
        assert Result.objects.get(trial=trial).station_pass == ready.tablet
    assert flags_of(ready, second=True, **{"pass": str(other.code)}) == ["pass_unknown"]
    assert Result.objects.get(second=True).station_pass is None
    assert flags_of(ready, tablet, second=True, trial=2) == []
    assert Result.objects.get(second=True, trial=2).station_pass == ready.tablet


def test_the_protocol_is_kept_beside_its_measure(ready):
    hold = Measure.objects.get(slug="hollow_hold")
    Protocol.objects.filter(measure=hold).delete()
    again = factories.ProtocolFactory(measure=hold, version=1)
    assert again.pk != hold.pk, "the one is not to be taken for the other"
    assert flags_of(ready) == []
    row = Result.objects.get()
    assert (row.measure, row.protocol) == (hold, again)


def test_a_measure_whose_protocol_is_not_here_is_not_known(ready):
    one = entry(ready.day, ready.mia)
    Protocol.objects.filter(measure__slug="hollow_hold").update(version=7)
    answer = record([one], viewer_of(ready.coach))[0]
    assert (answer.word, answer.reason) == ("refused", "This measure is not known here.")


def test_a_day_is_judged_by_its_own_edition(ready):
    first = ProgrammeEdition.objects.current()
    document = copy.deepcopy(first.document)
    one_of(document, "measures", "hollow_hold")["cap"] = 90
    draft = ProgrammeEdition.objects.create(document=document, based_on=first, title="A higher cap")
    publish(draft, viewer_of(ready.director), "A higher cap")
    AssessmentDay.objects.filter(pk=ready.day.pk).update(edition=first)
    today = factories.DayFactory(groups=[ready.tigers])
    answers = record(
        [entry(ready.day, ready.mia, value=70), entry(today, ready.mia, value=70)], viewer_of(ready.coach)
    )
    assert words(answers) == ["refused", "stored"]
    assert answers[0].reason == "70 is above the cap of 60: keep 60 and mark it 'reached cap'."


def test_a_day_to_come_is_refused_with_its_reason(ready):
    tomorrow = factories.DayFactory(groups=[ready.tigers], held_on=factories.TODAY + timedelta(days=1))
    answer = record([entry(tomorrow, ready.mia)], viewer_of(ready.coach))[0]
    assert (answer.word, answer.reason) == ("refused", "This test day has not come yet.")


def at(cast, minutes, **fields):
    return entry(cast.day, cast.mia, t_wall=(NOON + timedelta(minutes=minutes)).isoformat(), **fields)


def reasons(cast, *entries):
    return [answer.reason for answer in record(list(entries), viewer_of(cast.coach))]


def test_testing_stops_after_the_moment_it_was_stopped(ready):
    type(ready.there).objects.update(stopped_at=NOON)
    given = [at(ready, 0), at(ready, 1, trial=2), at(ready, 1, value=None, outcome="interrupted")]
    assert reasons(ready, *given) == ["", STOPPED, ""]


@pytest.mark.parametrize(
    ("changes", "refused"),
    [
        ({"opened_on": LAST_WEEK}, True),
        ({"opened_on": factories.TODAY, "opened_at": NOON - timedelta(minutes=1)}, True),
        ({"opened_on": factories.TODAY, "opened_at": NOON}, False),
        ({"opened_on": factories.TODAY + timedelta(days=1), "opened_at": NOON - timedelta(days=7)}, False),
        ({"opened_on": LAST_WEEK, "ended_on": factories.TODAY - timedelta(days=1)}, False),
        ({"opened_on": LAST_WEEK, "ended_on": factories.TODAY}, False),
        ({"opened_on": LAST_WEEK, "ended_on": factories.TODAY + timedelta(days=1)}, True),
    ],
)
def test_a_rest_counts_from_its_moment_to_the_day_before_its_end(ready, changes, refused):
    ended = {"ended_ground": "no_symptoms", "ended_adult": "A parent"} if "ended_on" in changes else {}
    factories.RestNoteFactory(athlete=ready.mia, areas=["general"], **changes, **ended)
    assert reasons(ready, at(ready, 0)) == ["This child rests: ill or not well." if refused else ""]


def test_the_reason_names_every_area_that_keeps_it_away(ready):
    factories.RestNoteFactory(athlete=ready.mia, areas=["wrist"])
    factories.RestNoteFactory(athlete=ready.mia, areas=["neck", "hip", "head", "wrist"])
    factories.RestNoteFactory(athlete=ready.tom, areas=["general"])
    assert reasons(ready, at(ready, 0)) == ["This child rests: head, hip."]
