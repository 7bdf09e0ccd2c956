"""A server in a process of its own on a file of its own, so that it can be killed, and its database put back."""

from __future__ import annotations

import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import uuid

from django.conf import settings


class OwnServer:
    """One server, started by the test and ended by it."""

    def __init__(self, path: str) -> None:
        self.path = path
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        self.process = subprocess.Popen(
            self._command("runserver", "--noreload", f"127.0.0.1:{self.port}"),
            cwd=settings.BASE_DIR,
            env=self._environment(),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for _ in range(200):
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.1)
        raise AssertionError("the server did not start")

    def manage(self, *words: str) -> str:
        """Run one of the club's commands on the same database; what it says."""
        done = subprocess.run(
            self._command(*words),
            cwd=settings.BASE_DIR,
            env=self._environment(),
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def _command(self, *words: str) -> list[str]:
        return [sys.executable, "manage.py", *words]

    def _environment(self) -> dict[str, str]:
        return {**os.environ, "GROUNDWORK_DATABASE": self.path, "GROUNDWORK_LOCAL": "yes"}

    def kill(self) -> None:
        assert self.process is not None
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def ids(self) -> list[str]:
        with sqlite3.connect(self.path) as database:
            return [str(uuid.UUID(row[0])) for row in database.execute("SELECT code FROM assessments_result")]
