"""Put a copy back. The database that it replaces is kept beside it."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from django.utils import timezone


class Command(BaseCommand):
    """restore FILE"""

    help = "Replace the SQLite database by the copy in FILE. Stop the server first."

    def add_arguments(self, parser: CommandParser) -> None:
        """Which copy."""
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        """Check the copy, keep what is there now, write, bring the tables up to date."""
        if connection.vendor != "sqlite":
            raise CommandError("This club uses PostgreSQL. Use pg_restore; nothing was changed.")
        source: Path = options["file"]
        self.check_copy(source)
        kept = source.with_name(f"before-restore-{timezone.now():%Y%m%d-%H%M%S}.sqlite3")
        connection.ensure_connection()
        with sqlite3.connect(kept) as old:
            connection.connection.backup(old)
        old.close()
        kept.chmod(0o600)
        with sqlite3.connect(source) as copy:
            copy.backup(connection.connection)
        copy.close()
        call_command("migrate", verbosity=0, interactive=False)
        self.stdout.write(self.style.SUCCESS(f"Restored. What was there is kept in {kept}."))
        self.stdout.write("Tablets send again what the club no longer holds when they next open the floor.")

    @staticmethod
    def check_copy(source: Path) -> None:
        """A file that is there, whole, and a club's."""
        if not source.exists():
            raise CommandError(f"There is no {source}. Nothing was changed.")
        try:
            with sqlite3.connect(f"file:{source}?mode=ro", uri=True) as copy:
                whole = copy.execute("PRAGMA integrity_check").fetchone()[0]
                copy.execute("SELECT COUNT(*) FROM club_clubprofile")
        except sqlite3.DatabaseError as wrong:
            raise CommandError(f"{source} is not a copy of a club: {wrong}. Nothing was changed.") from wrong
        if whole != "ok":
            raise CommandError(f"{source} is damaged: {whole}. Nothing was changed.")
