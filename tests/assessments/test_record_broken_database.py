"""The Nth call to the database breaks, for every N on the path of one batch. Nothing half-done is ever told or kept."""

from __future__ import annotations

import pytest
from django.db import DatabaseError, connection

from assessments.models import Attendance, RefusedEntry, Result
from assessments.recording import record
from athletes.models import RestNote
from tests.assessments.entry_making import changed, entry, words
from tests.conftest import station_viewer

MODELS = (Result, RefusedEntry, RestNote, Attendance)
WORDS = ["already_here", "stored", "conflict", "refused", "refused", "stored", "stored"]


@pytest.fixture
def batch(cast, programme):
    """One list with everything in it: known, new, contested, impossible, edited, a number used twice, pain."""
    viewer = station_viewer(cast.tablet)
    known = entry(cast.day, cast.mia, seq=1, value=20)
    record([known], viewer)
    return viewer, [
        known,
        entry(cast.day, cast.tom, seq=2),
        entry(cast.day, cast.mia, seq=3, value=25),
        entry(cast.day, cast.mia, seq=4, value=999),
        changed(known, value=21),
        entry(cast.day, cast.tom, seq=1, trial=2),
        entry(cast.day, cast.tom, seq=6, value=None, outcome="stopped_for_pain"),
    ]


def counts() -> list[int]:
    return [model.objects.count() for model in MODELS]


class Breaking:
    """Breaks one call, the `at`th; counts them all."""

    def __init__(self, at: int) -> None:
        self.at, self.calls = at, 0

    def __call__(self, execute, sql, params, many, context):
        self.calls += 1
        if self.calls == self.at:
            raise DatabaseError(f"call {self.at} broke: {sql[:60]}")
        return execute(sql, params, many, context)


@pytest.mark.django_db
def test_whichever_call_breaks_nothing_is_half_done(batch):
    viewer, entries = batch
    before, broken = counts(), 0
    for at in range(1, 500):
        breaking = Breaking(at)
        try:
            with connection.execute_wrapper(breaking):
                answers = record(entries, viewer)
        except DatabaseError:
            broken += 1
            assert counts() == before, f"half done when call {at} broke"
            continue
        break
    # Now nothing breaks any more: the same list gets its words, and every row is there once.
    assert breaking.calls < at, "the last round met no breakage"
    assert broken == at - 1 >= 20
    assert words(answers) == WORDS
    assert counts() == [before[0] + 4, before[1] + 2, 1, 1]
    assert words(record(entries, viewer))[1:3] == ["already_here", "already_here"]
    assert counts() == [before[0] + 4, before[1] + 2, 1, 1]


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("after", [False, True])
def test_a_commit_that_breaks_leaves_all_or_nothing(batch, monkeypatch, after):
    viewer, entries = batch
    before, commit = counts(), connection._commit

    def break_it():
        if after:
            commit()
        raise DatabaseError("broke at commit")

    monkeypatch.setattr(connection, "_commit", break_it)
    with pytest.raises(DatabaseError):
        record(entries, viewer)
    monkeypatch.undo()
    connection.close()
    assert counts() == ([before[0] + 4, before[1] + 2, 1, 1] if after else before)
    answers = words(record(entries, viewer))
    assert answers == (["already_here"] * 3 + ["refused"] * 2 + ["already_here"] * 2 if after else WORDS)
    assert counts() == [before[0] + 4, before[1] + 2, 1, 1]
