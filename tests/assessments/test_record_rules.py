"""What cannot have been seen is refused with a sentence; what is only odd is taken and marked."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from assessments.models import RefusedEntry, Result
from assessments.recording import record
from tests import factories
from tests.assessments.entry_making import entry, shape_levels, words
from tests.conftest import station_viewer, viewer_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def coach(cast, programme):
    return viewer_of(cast.coach)


LONG_JUMP = {"measure": "standing_long_jump", "variant": "", "how": "typed"}
STAND = {"measure": "single_leg_stance", "variant": "", "side": "left"}
SHAPE = {"measure": "hollow", "variant": "", "value": None, "how": "rubric"}

POSSIBLE = [
    {"value": 0, "outcome": "scored"},
    {"value": 60, "outcome": "reached_cap"},
    {"value": 41, "outcome": "chose_to_stop"},
    {"value": None, "outcome": "could_not_start"},
    {"value": 0, "outcome": "could_not_start"},
    {"value": None, "outcome": "not_attempted", "reason": "tired"},
    {"value": None, "outcome": "interrupted"},
    {**LONG_JUMP, "value": 102.5},
    {**STAND, "value": 12},
    {"measure": "kneeling_push_ups", "variant": "", "value": 7, "how": "counted"},
    {**SHAPE, "levels": shape_levels(2)},
    {**SHAPE, "levels": {**shape_levels(1), "head": None}},
    {**SHAPE, "levels": shape_levels(2), "value": 10},
    {**SHAPE, "levels": None, "outcome": "not_attempted"},
]
IMPOSSIBLE = [
    ({"value": 61}, "above the cap of 60"),
    ({"value": 181}, "not possible"),
    ({"value": -1}, "not possible"),
    ({"value": None}, "needs a value"),
    ({"value": 59, "outcome": "reached_cap"}, "means 60"),
    ({"value": 20, "outcome": "not_attempted"}, "no value can be kept"),
    ({"value": 20, "outcome": "stopped_for_pain"}, "no value can be kept"),
    ({"value": 20, "outcome": "could_not_start"}, "has no value"),
    ({"side": "left"}, "no left and right"),
    ({"variant": "upside_down"}, "no version called"),
    ({"levels": {"low_back": 2}}, "measured, not judged"),
    ({"measure": "weight"}, "not known here"),
    ({**LONG_JUMP, "value": 261}, "not possible"),
    ({**LONG_JUMP, "value": 100, "outcome": "reached_cap"}, "no cap"),
    ({**STAND, "side": "", "value": 12}, "needs a side"),
    ({"measure": "kneeling_push_ups", "variant": "", "value": 7.5}, "whole numbers"),
    ({**SHAPE, "levels": None}, "needs a level"),
    ({**SHAPE, "levels": {"charm": 2}}, "no criterion called"),
    ({**SHAPE, "levels": shape_levels(2), "value": 9}, "add up to 10"),
    ({**SHAPE, "levels": shape_levels(2), "outcome": "reached_cap"}, "no cap"),
    ({"value": None, "outcome": "withdrawn"}, "which entry it takes back"),
    ({"day": str(uuid.uuid4())}, "test day is not known"),
    ({"child": str(uuid.uuid4())}, "child is not known"),
]


@pytest.mark.parametrize("fields", POSSIBLE)
def test_what_can_be_seen_is_taken(cast, coach, fields):
    assert words(record([entry(cast.day, cast.mia, **fields)], coach)) == ["stored"]


@pytest.mark.parametrize(("fields", "why"), IMPOSSIBLE)
def test_what_cannot_be_seen_is_refused_with_its_reason_and_kept(cast, coach, fields, why):
    one = entry(cast.day, cast.mia, **fields)
    answer = record([one], coach)[0]
    assert answer.word == "refused"
    assert why in answer.reason
    assert not Result.objects.exists()
    assert RefusedEntry.objects.get().entry == one.id


def test_a_shape_keeps_its_levels_and_no_total(cast, coach):
    record([entry(cast.day, cast.mia, **SHAPE, levels=shape_levels(2))], coach)
    row = Result.objects.get()
    assert (row.value, row.levels) == (None, shape_levels(2))


def test_could_not_start_is_kept_as_zero(cast, coach):
    record([entry(cast.day, cast.mia, value=None, outcome="could_not_start")], coach)
    assert Result.objects.get().value == 0


def test_a_day_that_has_not_come_takes_nothing(cast, coach):
    tomorrow = factories.DayFactory(groups=[cast.tigers], held_on=factories.TODAY + timedelta(days=1))
    answers = record([entry(cast.day, cast.mia), entry(tomorrow, cast.mia)], coach)
    assert words(answers) == ["stored", "refused"]


def test_a_child_of_another_circle_is_answered_like_one_that_does_not_exist(cast, coach):
    theirs, nobody = entry(cast.day, cast.bea), entry(cast.day, cast.mia, child=str(uuid.uuid4()))
    first, second = record([theirs, nobody], coach)
    assert (first.word, first.reason) == (second.word, second.reason)
    assert words(record([theirs], viewer_of(cast.director))) == ["stored"]


def test_an_erased_child_is_refused_and_the_others_of_the_list_are_taken(cast, coach):
    gone, here = entry(cast.day, cast.tom), entry(cast.day, cast.mia)
    cast.tom.delete()
    assert words(record([gone, here], coach)) == ["refused", "stored"]


def test_an_entry_after_closing_is_taken_and_marked_late(cast, coach):
    closed = factories.DayFactory(closed=True, groups=[cast.tigers])
    assert words(record([entry(closed, cast.mia), entry(cast.day, cast.mia)], coach)) == ["stored", "stored"]
    assert dict(Result.objects.values_list("day", "late")) == {closed.pk: True, cast.day.pk: False}


@pytest.mark.parametrize(
    ("fields", "flag"),
    [
        ({"judge": str(uuid.uuid4())}, "judge_unknown"),
        ({"variant": ""}, "variant_not_said"),
        ({"trial": 5}, "extra_trial"),
        ({**LONG_JUMP, "value": 10}, "unusual_value"),
        ({"schema": 9}, "newer_schema"),
        ({"pass": str(uuid.uuid4())}, "pass_unknown"),
        ({}, "sore_not_asked"),
        ({}, "not_planned"),
    ],
)
def test_what_is_odd_is_taken_and_marked(cast, coach, fields, flag):
    assert words(record([entry(cast.day, cast.mia, **fields)], coach)) == ["stored"]
    assert flag in Result.objects.get().flags


def test_a_planned_entry_by_a_known_judge_carries_no_mark(cast, coach):
    measure = factories.assessed.Measure.objects.get(slug="hollow_hold")
    factories.StationFactory(day=cast.day, measure=measure, variant="arms_by_side")
    factories.AttendanceFactory(day=cast.day, athlete=cast.mia)
    record([entry(cast.day, cast.mia, judge=str(cast.coach.code))], coach)
    assert Result.objects.get().flags == []


def test_an_expired_pass_is_marked_and_what_it_saw_is_taken(cast, programme):
    cast.tablet.expires_at = factories.NOW - timedelta(hours=1)
    cast.tablet.save()
    one = entry(cast.day, cast.mia, **{"pass": str(cast.tablet.code)})
    assert words(record([one], viewer_of(cast.director))) == ["stored"]
    row = Result.objects.get()
    assert "pass_expired" in row.flags
    assert row.station_pass == cast.tablet


def test_a_station_records_for_its_own_day_only(cast, programme):
    tablet = station_viewer(cast.tablet)
    other = factories.DayFactory(groups=[cast.tigers], held_on=factories.TODAY - timedelta(days=7))
    assert words(record([entry(cast.day, cast.mia), entry(other, cast.mia)], tablet)) == ["stored", "refused"]


def test_without_a_programme_nothing_is_known(cast):
    assert words(record([entry(cast.day, cast.mia)], viewer_of(cast.coach))) == ["refused"]
