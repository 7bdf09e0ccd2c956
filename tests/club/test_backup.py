"""Backup and restore of a real SQLite file: whole, refused when damaged, and never losing what was there."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent


def manage(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    env = {k: v for k, v in os.environ.items() if not k.startswith("GROUNDWORK_")}
    env |= {"GROUNDWORK_DATA_DIR": str(folder), "GROUNDWORK_LOCAL": "yes"}
    return subprocess.run(
        [sys.executable, "manage.py", *words], cwd=ROOT, env=env, capture_output=True, text=True, check=False
    )


def names(path: Path) -> list[str]:
    with sqlite3.connect(path) as found:
        return [row[0] for row in found.execute("SELECT name FROM club_clubprofile")]


@pytest.fixture(scope="module")
def club(tmp_path_factory):
    folder = tmp_path_factory.mktemp("club")
    done = manage(folder, "newclub", "Heron Lane Gym", "--director", "lead@heron.example")
    assert done.returncode == 0, done.stderr
    return folder


def test_a_copy_comes_back_and_the_newer_state_is_kept(club):
    copy = club / "copy.sqlite3"
    assert manage(club, "backup", str(copy)).returncode == 0
    assert names(copy) == ["Heron Lane Gym"] and oct(copy.stat().st_mode)[-3:] == "600"
    with sqlite3.connect(club / "club.sqlite3") as live:
        live.execute("UPDATE club_clubprofile SET name = 'Renamed'")
    done = manage(club, "restore", str(copy))
    assert done.returncode == 0, done.stderr
    assert names(club / "club.sqlite3") == ["Heron Lane Gym"]
    assert [names(p) for p in club.glob("before-restore-*")] == [["Renamed"]]


def test_nothing_is_overwritten_by_a_backup(club):
    there = club / "there.sqlite3"
    there.write_text("mine")
    done = manage(club, "backup", str(there))
    assert done.returncode == 1 and "exists" in done.stderr and there.read_text() == "mine"


@pytest.mark.parametrize("kind", ["missing", "text", "other database"])
def test_a_wrong_copy_changes_nothing(club, kind):
    path = club / f"{kind.replace(' ', '-')}.sqlite3"
    if kind == "text":
        path.write_text("not a database, but long enough to be read as one " * 40)
    if kind == "other database":
        with sqlite3.connect(path) as other:
            other.execute("CREATE TABLE t (x)")
    before = names(club / "club.sqlite3")
    done = manage(club, "restore", str(path))
    assert done.returncode == 1 and "Nothing was changed" in done.stderr
    assert names(club / "club.sqlite3") == before
