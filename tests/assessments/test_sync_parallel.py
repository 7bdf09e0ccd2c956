"""One batch from five hands at once, through four real workers: one row an id, and five honest answers."""

from __future__ import annotations

import os
import threading
from collections import Counter
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection

from tests import factories
from tests.assessments.entry_making import body
from tests.own_server import OwnServer, copy_of_this_database

ROUNDS = int(os.environ.get("GROUNDWORK_PARALLEL_ROUNDS", "6"))
HANDS, WORKERS = 5, 4


@pytest.fixture
def server(tmp_path, transactional_db, cast, programme):
    """An open day of today by the real clock, at a server with four workers."""
    cast.day.held_on = datetime.now(UTC).date()
    cast.day.save()
    ends = datetime.now(UTC) + timedelta(days=1)
    factories.StationPassFactory(day=cast.day, token="parallel-token", expires_at=ends)
    made = OwnServer(copy_of_this_database(tmp_path), workers=WORKERS, token="parallel-token")
    made.start()
    yield made
    made.kill()
    connection.close()


def test_the_same_batch_from_five_hands_at_once_is_one_row_an_id(server, cast):
    url, made = f"/days/{cast.day.code}/sync/", set()
    for number in range(ROUNDS):
        sent = [body(cast.day, cast.mia, trial=trial, tablet=f"round-{number}") for trial in range(1, 11)]
        gate, heard = threading.Barrier(HANDS), [None] * HANDS

        def post(hand, gate=gate, heard=heard, sent=sent):
            gate.wait()
            heard[hand] = server.ask("POST", url, {"entries": sent})

        hands = [threading.Thread(target=post, args=(hand,)) for hand in range(HANDS)]
        for hand in hands:
            hand.start()
        for hand in hands:
            hand.join()
        assert None not in heard, f"round {number}: a batch got no answer"
        told = Counter((one["id"], one["word"]) for answer in heard for one in answer["answers"])
        for one in sent:
            new = told[(one["id"], "stored")] + told[(one["id"], "conflict")]
            assert (new, told[(one["id"], "already_here")]) == (1, HANDS - 1), f"round {number}"
        made |= {one["id"] for one in sent}
    # Each row that is there is told to be there; nothing that was made lacks.
    ids = sorted(made)
    known = {"tablet": "all", "ids": ids, "made": 0, "highest_seq": 0, "waiting": 0}
    assert server.ask("POST", f"{url}reconcile/", known)["missing"] == []
