"""Every entry gets one final answer, and what was told is what is kept."""

from __future__ import annotations

import pytest

from assessments.entries import Unreadable, entry_from_json
from assessments.models import RefusedEntry, Result
from assessments.recording import record
from tests.assessments.entry_making import body, changed, entry, words
from tests.conftest import station_viewer, viewer_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def coach(cast, programme):
    return viewer_of(cast.coach)


def test_a_new_entry_is_stored_as_it_was_seen(cast, coach):
    one = entry(cast.day, cast.mia, value=42, judge=str(cast.coach.code), form_break="low_back", at_once=4)
    answers = record([one], coach, offset_s=1.5)
    assert [(a.id, a.word) for a in answers] == [(str(one.id), "stored")]
    row = Result.objects.get(code=one.id)
    assert (row.athlete, row.day, row.measure.slug) == (cast.mia, cast.day, "hollow_hold")
    assert (row.value, row.outcome, row.at_once, row.form_break) == (42, "scored", 4, "low_back")
    assert (row.judge, row.recorded_by, row.offset_s, row.late) == (cast.coach, cast.coach, 1.5, False)
    assert row.protocol.version == 1


def test_the_same_entry_again_is_already_here(cast, coach):
    one = entry(cast.day, cast.mia)
    record([one], coach)
    assert words(record([one, one], coach)) == ["already_here", "already_here"]
    assert Result.objects.count() == 1


def test_one_id_twice_in_a_list_makes_one_row(cast, coach):
    one = entry(cast.day, cast.mia)
    assert words(record([one, one], coach)) == ["stored", "already_here"]
    assert Result.objects.count() == 1


def test_the_same_id_with_other_content_is_refused_and_both_are_kept(cast, coach):
    one = entry(cast.day, cast.mia, value=20)
    other = changed(one, value=30)
    record([one], coach)
    assert words(record([other], coach)) == ["refused"]
    assert words(record([other], coach)) == ["refused"]
    assert Result.objects.get().value == 20
    assert RefusedEntry.objects.get().body["value"] == 30


def test_how_an_entry_travelled_is_not_its_content(cast, coach):
    one = entry(cast.day, cast.mia)
    record([one], coach)
    again = changed(one, offline=True, schema=2, **{"pass": str(cast.tablet.code)})
    assert words(record([again], coach)) == ["already_here"]


def test_answers_come_in_the_order_of_the_entries(cast, coach):
    good = [entry(cast.day, cast.mia, trial=n) for n in (1, 2)]
    bad = entry(cast.day, cast.mia, value=9999)
    unreadable = entry_from_json({"id": "x", "value": "much"})
    assert isinstance(unreadable, Unreadable)
    answers = record([good[1], bad, unreadable, good[0]], coach)
    assert [a.id for a in answers] == [str(good[1].id), str(bad.id), "x", str(good[0].id)]
    assert words(answers) == ["stored", "refused", "refused", "stored"]
    assert Result.objects.count() == 2
    assert RefusedEntry.objects.count() == 2


def test_nothing_unreadable_makes_the_door_stumble(cast, coach):
    whole = body(cast.day, cast.mia)
    spoiled = [
        None, [], "text", 7, {}, {"id": None}, {**whole, "id": "not a code"}, {**whole, "value": "20 s"},
        {**whole, "seq": -1}, {**whole, "seq": 2**40}, {**whole, "trial": "one"}, {**whole, "side": "middle"},
        {**whole, "outcome": "won"}, {**whole, "levels": [1]}, {**whole, "levels": {"head": 3}},
        {**whole, "t_wall": "yesterday"}, {**whole, "t_wall": 1e300}, {**whole, "tablet": "x" * 80},
        {**whole, "measure": "\x00"}, {**whole, "schema": -1}, {**whole, "value": float("nan")},
        {**whole, "value": 1e40}, {**whole, "second": "yes"}, {**whole, "day": {"a": 1}},
        {**whole, "replaces": "?"}, {**whole, "how": ""},
    ]  # fmt: skip
    answers = record([entry_from_json(one) for one in spoiled], coach)
    assert words(answers) == ["refused"] * len(spoiled)
    assert all(answer.reason for answer in answers)
    assert not Result.objects.exists()
    kept = RefusedEntry.objects.count()
    record([entry_from_json(one) for one in spoiled], coach)
    assert RefusedEntry.objects.count() == kept


def test_long_or_broken_words_are_cut_and_kept(cast, coach):
    one = entry(cast.day, cast.mia, note="a\x00\ud800" + "b" * 500, reason="r" * 500)
    assert words(record([one], coach)) == ["stored"]
    row = Result.objects.get()
    assert len(row.note) == 200 and "\x00" not in row.note
    assert len(row.reason) == 120


def test_an_entry_taken_later_settles_its_earlier_refusal(cast, coach):
    other = viewer_of(cast.other_coach)
    one = entry(cast.day, cast.mia)
    assert words(record([one], other)) == ["refused"]
    assert RefusedEntry.objects.waiting().count() == 1
    assert words(record([one], coach)) == ["stored"]
    assert not RefusedEntry.objects.waiting().exists()


def test_a_tablet_that_counts_from_one_again_loses_nothing(cast, programme):
    tablet = station_viewer(cast.tablet)
    first = entry(cast.day, cast.mia, seq=1)
    second = entry(cast.day, cast.tom, seq=1)
    assert words(record([first], tablet)) == ["stored"]
    assert words(record([second], tablet)) == ["stored"]
    assert words(record([second], tablet)) == ["already_here"]
    row = Result.objects.get(code=second.id)
    assert "number_reused" in row.flags
    assert row.tablet.startswith("tablet-a#")
