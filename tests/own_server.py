"""A real server in processes of its own, on a database that outlives it, so that it can be killed."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import uuid
from pathlib import Path

from django.conf import settings
from django.db import connection

PATIENCE = 60


def copy_of_this_database(folder: Path) -> str:
    """Where a server of its own finds what this test has made: a copy of the file, or this PostgreSQL itself."""
    if connection.vendor == "postgresql":
        name = connection.settings_dict["NAME"]
        address = os.environ["GROUNDWORK_DATABASE"]
        before, _, options = address.partition("?")
        return f"{before.rsplit('/', 1)[0]}/{name}?{options}"
    path = folder / "club.sqlite3"
    connection.ensure_connection()
    copy = sqlite3.connect(path)
    connection.connection.backup(copy)
    copy.close()
    return str(path)


class OwnServer:
    """gunicorn with so many workers on 127.0.0.1."""

    def __init__(self, database: str, *, workers: int = 2, token: str = "") -> None:
        self.database, self.workers, self.token = database, workers, token
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start, and wait until it answers."""
        where = ["-w", str(self.workers), "-b", f"127.0.0.1:{self.port}", "--no-control-socket"]
        self.process = subprocess.Popen(
            [sys.executable, "-m", "gunicorn", "club.wsgi", *where],
            cwd=settings.BASE_DIR,
            env=self._environment(),
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
        headers = {"Content-Type": "application/json", "X-Station-Pass": self.token}
        try:
            line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
            line.request(method, path, json.dumps(said), headers)
            answer = line.getresponse()
            return json.loads(answer.read()) if answer.status == 200 else None
        except (OSError, http.client.HTTPException, ValueError):
            return None

    def manage(self, *words: str) -> str:
        """Run one of the club's commands on the same database; what it says."""
        command = [sys.executable, "manage.py", *words]
        done = subprocess.run(
            command,
            cwd=settings.BASE_DIR,
            env=self._environment(),
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def _environment(self) -> dict[str, str]:
        return {**os.environ, "GROUNDWORK_DATABASE": self.database, "GROUNDWORK_LOCAL": "yes"}

    def ids(self) -> list[str]:
        """The ids of all results in its database file, repeats included."""
        with sqlite3.connect(self.database) as database:
            return [
                str(uuid.UUID(code)) for (code,) in database.execute("SELECT code FROM assessments_result")
            ]

    def kill(self) -> None:
        """As a power cut: every process at once, in the middle of whatever it does."""
        if self.process is not None and self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
