"""The club's server is killed in the middle of its work, again and again. What it told is there; all of it, once."""

from __future__ import annotations

import os
import random
import threading
from datetime import UTC, datetime, timedelta

import pytest

from tests import factories
from tests.assessments.entry_making import body
from tests.own_server import OwnServer, copy_of_this_database

KILLS = int(os.environ.get("GROUNDWORK_KILLS", "3"))


@pytest.fixture
def server(tmp_path, transactional_db, cast, programme):
    """A copy of this database with an open day of today, by the real clock."""
    cast.day.held_on = datetime.now(UTC).date()
    cast.day.save()
    factories.StationPassFactory(
        day=cast.day, token="kill-token", expires_at=datetime.now(UTC) + timedelta(days=1)
    )
    made = OwnServer(copy_of_this_database(tmp_path), token="kill-token")
    made.start()
    yield made
    made.kill()


def test_a_killed_server_has_told_no_lie_and_loses_nothing(server, cast):
    chance, url = random.Random(20261125), f"/days/{cast.day.code}/sync/"
    told: set[str] = set()
    made: list[list[dict]] = []
    for _ in range(KILLS):
        killer = threading.Timer(chance.uniform(0.05, 0.4), server.kill)
        killer.start()
        answer: dict | None = {}
        while answer is not None:
            tablet = f"tablet-{len(made)}"
            made.append([body(cast.day, cast.mia, trial=trial, tablet=tablet) for trial in range(1, 31)])
            answer = server.ask("POST", url, {"entries": made[-1]})
            if answer is not None:
                told |= {one["id"] for one in answer["answers"] if one["word"] in ("stored", "conflict")}
        killer.join()
        assert told <= set(server.ids()), "told stored, and not there after the kill"
        server.start()
    for batch in made:
        answer = server.ask("POST", url, {"entries": batch})
        assert {one["word"] for one in answer["answers"]} <= {"stored", "already_here", "conflict"}
    here = server.ids()
    assert len(here) == len(set(here))
    assert set(here) == {one["id"] for batch in made for one in batch}
