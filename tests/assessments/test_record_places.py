"""Two entries in one place: both are kept, a person says which one counts. An undo is a new entry."""

from __future__ import annotations

import uuid

import pytest

from assessments.models import Result
from assessments.recording import record
from tests.assessments.entry_making import changed, entry, shape_levels, words
from tests.conftest import viewer_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def coach(cast, programme):
    return viewer_of(cast.coach)


def standing():
    return set(Result.objects.current().values_list("code", flat=True))


def test_two_tablets_in_one_place_are_both_kept_and_marked(cast, coach):
    first = entry(cast.day, cast.mia, value=20)
    second = entry(cast.day, cast.mia, value=25, tablet="tablet-b")
    assert words(record([first], coach)) == ["stored"]
    assert words(record([second], coach)) == ["conflict"]
    assert set(Result.objects.contested().values_list("code", flat=True)) == {first.id, second.id}


@pytest.mark.parametrize(
    "other",
    [
        {"trial": 2}, {"variant": "tucked"}, {"second": True}, {"measure": "arch_hold"},
        {"outcome": "interrupted", "value": None}, {"outcome": "not_attempted", "value": None},
    ],
)  # fmt: skip
def test_what_stands_elsewhere_is_no_conflict(cast, coach, other):
    entries = [entry(cast.day, cast.mia), entry(cast.day, cast.mia, **other), entry(cast.day, cast.tom)]
    assert words(record(entries, coach)) == ["stored"] * 3
    assert not Result.objects.contested().exists()


def test_two_in_one_list_both_hear_of_the_conflict(cast, coach):
    entries = [entry(cast.day, cast.mia, value=value) for value in (20, 25)]
    assert words(record(entries, coach)) == ["conflict", "conflict"]


def test_a_correction_takes_the_place_of_what_it_replaces(cast, coach):
    first = entry(cast.day, cast.mia, value=20)
    better = entry(cast.day, cast.mia, value=22, replaces=str(first.id))
    assert words(record([first, better], coach)) == ["stored", "stored"]
    assert standing() == {better.id}


def test_a_correction_may_come_before_what_it_replaces(cast, coach):
    first = entry(cast.day, cast.mia, value=20)
    better = entry(cast.day, cast.mia, value=22, replaces=str(first.id))
    assert words(record([better], coach)) == ["stored"]
    assert words(record([first], coach)) == ["stored"]
    assert standing() == {better.id}


def test_an_undo_leaves_nothing_standing_and_everything_kept(cast, coach):
    first = entry(cast.day, cast.mia, value=20)
    undo = entry(cast.day, cast.mia, value=None, outcome="withdrawn", replaces=str(first.id))
    record([undo, first], coach)
    assert standing() == set()
    assert Result.objects.count() == 2


def test_two_corrections_of_one_entry_are_a_conflict(cast, coach):
    first = entry(cast.day, cast.mia, value=20)
    both = [entry(cast.day, cast.mia, value=v, replaces=str(first.id)) for v in (21, 22)]
    assert words(record([first, *both], coach)) == ["stored", "conflict", "conflict"]


def test_an_entry_cannot_push_another_childs_entry_away(cast, coach):
    toms = entry(cast.day, cast.tom)
    wrong = entry(cast.day, cast.mia, value=None, outcome="withdrawn", replaces=str(toms.id))
    record([toms, wrong], coach)
    assert standing() == {toms.id}


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 2, 0)])
def test_any_order_of_arrival_leaves_the_same_standing(cast, coach, order):
    first = entry(cast.day, cast.mia, id=str(uuid.UUID(int=1)), value=20)
    better = changed(first, id=str(uuid.UUID(int=2)), seq=500_002, value=22, replaces=str(first.id))
    undo = changed(
        first, id=str(uuid.UUID(int=3)), seq=500_003, value=None, outcome="withdrawn", replaces=str(better.id)
    )
    entries = [first, better, undo]
    for place in order:
        record([entries[place]], coach)
    assert standing() == set()


def test_a_second_look_has_a_place_of_its_own(cast, coach):
    look = {"measure": "hollow", "variant": "", "value": None, "how": "rubric"}
    entries = [
        entry(cast.day, cast.mia, **look, levels=shape_levels(2)),
        entry(cast.day, cast.mia, **look, levels=shape_levels(1), second=True),
    ]
    assert words(record(entries, coach)) == ["stored", "stored"]
