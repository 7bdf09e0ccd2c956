"""The same list five times at the same moment: one row an id, and five honest answers."""

from __future__ import annotations

import os
import threading
from collections import Counter

import pytest
from django.db import connection

from assessments.models import RefusedEntry, Result
from assessments.recording import record
from athletes.models import RestNote
from tests.assessments.entry_making import changed, entry
from tests.conftest import station_viewer

ROUNDS = int(os.environ.get("GROUNDWORK_PARALLEL_ROUNDS", "6"))
AT_ONCE = 5

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(work, count=AT_ONCE):
    """Run work(0) ... work(count - 1) in threads that start together; their answers, or what they raised."""
    gate, found = threading.Barrier(count), [None] * count

    def one(number):
        gate.wait()
        try:
            found[number] = work(number)
        finally:
            connection.close()

    threads = [threading.Thread(target=one, args=(number,)) for number in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


def test_five_at_once_store_each_entry_once(cast, programme):
    viewer = station_viewer(cast.tablet)
    for number in range(ROUNDS):
        entries = [
            entry(cast.day, child, trial=trial, tablet=f"round-{number}")
            for child in (cast.mia, cast.tom)
            for trial in range(1, 11)
        ]
        answers = at_once(lambda _, sent=entries: record(sent, viewer))
        told = Counter((one.id, one.word) for given in answers for one in given)
        for one in entries:
            new = told[(str(one.id), "stored")] + told[(str(one.id), "conflict")]
            assert (new, told[(str(one.id), "already_here")]) == (1, AT_ONCE - 1)
        assert Result.objects.filter(code__in=[one.id for one in entries]).count() == len(entries)


def test_opposite_orders_do_not_lock_each_other_out(cast, programme):
    viewer = station_viewer(cast.tablet)
    entries = [entry(cast.day, cast.mia, trial=trial) for trial in range(1, 31)]
    answers = at_once(lambda number: record(entries[:: 1 if number % 2 else -1], viewer))
    assert all(len(given) == 30 for given in answers)
    assert Result.objects.count() == 30


def test_one_id_with_five_contents_keeps_one_and_shows_four(cast, programme):
    viewer = station_viewer(cast.tablet)
    first = entry(cast.day, cast.mia, value=10)
    answers = at_once(lambda number: record([changed(first, value=10 + number)], viewer))
    assert sorted(given[0].word for given in answers) == ["refused"] * 4 + ["stored"]
    values = {row.body["value"] for row in RefusedEntry.objects.all()} | {Result.objects.get().value}
    assert values == {10, 11, 12, 13, 14}


def test_pain_sent_five_times_opens_one_rest_note(cast, programme):
    viewer = station_viewer(cast.tablet)
    one = entry(cast.day, cast.mia, value=None, outcome="stopped_for_pain")
    at_once(lambda _: record([one], viewer))
    assert RestNote.objects.count() == 1


def test_a_number_given_twice_by_two_tabs_loses_nothing(cast, programme):
    viewer = station_viewer(cast.tablet)
    entries = [entry(cast.day, cast.mia, trial=n + 1, seq=1) for n in range(AT_ONCE)]
    answers = at_once(lambda number: record([entries[number]], viewer))
    assert [given[0].word for given in answers] == ["stored"] * AT_ONCE
    assert Result.objects.count() == AT_ONCE
