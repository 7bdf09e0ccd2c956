"""Entries of every released tablet are still taken, and a newer tablet can speak to an older club."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from assessments import entries
from assessments.entries import Entry, entry_from_json, entry_to_json
from assessments.models import Result
from assessments.recording import record
from tests.assessments.entry_making import body, entry, words
from tests.conftest import viewer_of

pytestmark = pytest.mark.django_db
DATA = Path(__file__).parent.parent / "data"
RELEASED = sorted(DATA.glob("entry_schema_*.json"))


@pytest.mark.parametrize("path", RELEASED, ids=lambda path: path.stem)
def test_an_entry_of_each_released_schema_is_taken(cast, programme, path):
    text = path.read_text().replace("DAY", str(cast.day.code)).replace("CHILD", str(cast.mia.code))
    assert words(record([entry_from_json(json.loads(text))], viewer_of(cast.coach))) == ["stored"]
    row = Result.objects.get()
    assert (row.value, row.trial, row.at_once, row.reminder, row.offline) == (31, 2, 4, True, True)
    assert (row.form_break, row.t_mono_start, row.t_mono_stop) == ("low_back", 120034.2, 151560.9)
    assert row.t_wall.isoformat() == "2026-11-25T15:12:09.412000+00:00"


def test_there_is_an_entry_kept_of_each_schema():
    assert [path.stem for path in RELEASED] == [f"entry_schema_{n}" for n in range(1, entries.SCHEMA + 1)]


def test_names_that_nobody_knows_yet_are_left_alone(cast, programme):
    newer = {**body(cast.day, cast.mia), "schema": 2, "mood": "cheerful", "extra": {"deep": [1, 2]}}
    assert words(record([entry_from_json(newer)], viewer_of(cast.coach))) == ["stored"]
    assert "newer_schema" in Result.objects.get().flags


def test_an_older_schema_is_brought_up_to_date_step_by_step(cast, programme, monkeypatch):
    steps = {1: lambda old: {**old, "value": old["seconds"]}, 2: lambda old: {**old, "note": "two steps"}}
    monkeypatch.setattr(entries, "ADAPTERS", steps)
    old = {**body(cast.day, cast.mia), "schema": 1, "seconds": 12}
    read = entry_from_json(old)
    assert isinstance(read, Entry)
    assert (read.value, read.note, read.schema) == (12, "two steps", 3)


def test_what_is_written_out_reads_back_the_same(cast, programme):
    one = entry(cast.day, cast.mia, note="after the second cue", areas=["wrist"], replaces=str(cast.mia.code))
    assert entry_from_json(json.loads(json.dumps(entry_to_json(one)))) == one


def test_milliseconds_and_words_name_the_same_moment(cast, programme):
    said = [
        {"t_wall": 1795619529412},
        {"t_wall": "2026-11-25T15:12:09.412Z"},
        {"t_wall": "2026-11-25T16:12:09.412+01:00"},
    ]
    assert len({entry(cast.day, cast.mia, **one).t_wall for one in said}) == 1


def test_a_longer_list_asks_no_more_of_the_database(cast, programme, django_assert_num_queries):
    viewer = viewer_of(cast.coach)
    record([entry(cast.day, cast.mia, trial=90)], viewer)

    def ask(number, trial):
        return [entry(cast.day, (cast.mia, cast.tom)[n % 2], trial=trial + n) for n in range(number)]

    with CaptureQueriesContext(connection) as few:
        record(ask(2, 1), viewer)
    with django_assert_num_queries(len(few)):
        record(ask(20, 10), viewer)
