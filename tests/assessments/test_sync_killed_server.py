"""The club's server is killed in the middle of its work, again and again. What it told is there; all of it, once."""

from __future__ import annotations

import http.client
import json
import os
import random
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
import uuid
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from tests import factories
from tests.assessments.entry_making import body

KILLS = int(os.environ.get("GROUNDWORK_KILLS", "3"))
PATIENCE = 60


class Server:
    """Two real workers on a database file of their own."""

    def __init__(self, path: Path) -> None:
        self.path = path
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]

    def start(self) -> None:
        environment = {**os.environ, "GROUNDWORK_DATABASE": str(self.path), "GROUNDWORK_LOCAL": "yes"}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "gunicorn", "club.wsgi", "-w", "2", "-b", f"127.0.0.1:{self.port}"],
            cwd=settings.BASE_DIR,
            env=environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        began = time.monotonic()
        while time.monotonic() - began < PATIENCE:
            if self.ask("GET", "/health/") is not None:
                return
            time.sleep(0.05)
        raise AssertionError("the server did not start")

    def ask(self, method: str, path: str, said: object = None) -> dict | None:
        """The club's answer, or nothing when it could not give one."""
        headers = {"Content-Type": "application/json", "X-Station-Pass": "kill-token"}
        try:
            line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
            line.request(method, path, json.dumps(said), headers)
            answer = line.getresponse()
            return json.loads(answer.read()) if answer.status == 200 else None
        except (OSError, http.client.HTTPException, ValueError):
            return None

    def kill(self) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


@pytest.fixture
def server(tmp_path, transactional_db, cast, programme):
    """A copy of this database with an open day of today, by the real clock."""
    cast.day.held_on = datetime.now(UTC).date()
    cast.day.save()
    factories.StationPassFactory(
        day=cast.day, token="kill-token", expires_at=datetime.now(UTC) + timedelta(days=1)
    )
    copy = sqlite3.connect(tmp_path / "club.sqlite3")
    connection.connection.backup(copy)
    copy.close()
    made = Server(tmp_path / "club.sqlite3")
    made.start()
    yield made
    made.kill()


def ids_in(path: Path) -> list[str]:
    with sqlite3.connect(path) as database:
        return [str(uuid.UUID(code)) for (code,) in database.execute("SELECT code FROM assessments_result")]


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
        assert told <= set(ids_in(server.path)), "told stored, and not there after the kill"
        server.start()
    for batch in made:
        answer = server.ask("POST", url, {"entries": batch})
        assert {one["word"] for one in answer["answers"]} <= {"stored", "already_here", "conflict"}
    here = ids_in(server.path)
    assert len(here) == len(set(here))
    assert set(here) == {one["id"] for batch in made for one in batch}
