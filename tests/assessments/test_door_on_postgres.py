"""The door's own tests once more, on PostgreSQL: both engines give the same answers."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings

SAME = (
    "test_record_answers.py",
    "test_record_places.py",
    "test_record_parallel.py",
    "test_record_broken_database.py",
    "test_append_only.py",
    "test_sync_parallel.py",
    "test_door_machine.py",
)
#: As many histories as asked for; a fifth of the suite's own by default, since each is slower here.
HISTORIES = os.environ.get("GROUNDWORK_POSTGRES_HISTORIES", "10")


def _as_postgres(home: Path, *command: str) -> None:
    """PostgreSQL refuses to run as root."""
    before: list[str] = []
    if os.geteuid() == 0:
        who = ("--reuid=postgres", "--regid=postgres", "--clear-groups")
        before = ["setpriv", *who, "env", f"HOME={home}"]
    subprocess.run([*before, *command], check=True, capture_output=True, cwd=home)


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """A PostgreSQL that CI has started, or one of our own in a temporary folder."""
    given = os.environ.get("GROUNDWORK_TEST_POSTGRES")
    if given:
        yield given
        return
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if not found and not os.environ.get("CI"):
        pytest.skip("PostgreSQL is not installed. On Debian: apt-get install postgresql")
    assert found, "Install PostgreSQL, or set GROUNDWORK_TEST_POSTGRES to the address of one."
    tools = found[-1].parent
    home = Path(tempfile.mkdtemp(prefix="gwpg."))
    home.chmod(0o755)
    if os.geteuid() == 0:
        shutil.chown(home, "postgres")
    options = f"-c listen_addresses='' -c unix_socket_directories='{home}' -c fsync=off"
    make = ("-U", "app", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
    try:
        _as_postgres(home, str(tools / "initdb"), "-D", f"{home}/data", *make)
        start = ("-w", "-t", "30", "-D", f"{home}/data", "-l", f"{home}/log", "-o", options, "start")
        _as_postgres(home, str(tools / "pg_ctl"), *start)
        _as_postgres(home, str(tools / "createdb"), "-h", str(home), "-U", "app", "groundwork")
        yield f"postgresql://app@/groundwork?host={home}"
        _as_postgres(home, str(tools / "pg_ctl"), "-D", f"{home}/data", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(home, ignore_errors=True)


@pytest.mark.postgres
def test_the_door_gives_the_same_answers_on_postgresql(address):
    here = Path(__file__).parent
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:xdist", "-p", "no:randomly", "-p", "no:cacheprovider",
         *(str(here / name) for name in SAME)],
        cwd=settings.BASE_DIR, capture_output=True, text=True, check=False,
        env={**os.environ, "GROUNDWORK_DATABASE": address, "GROUNDWORK_HISTORIES": HISTORIES},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
    assert " passed" in done.stdout
