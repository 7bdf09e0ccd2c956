"""Write a whole, consistent copy of the club's SQLite database while it is in use."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection


class Command(BaseCommand):
    """backup FILE"""

    help = "Copy the database to FILE. For PostgreSQL use pg_dump."

    def add_arguments(self, parser: CommandParser) -> None:
        """Where the copy goes."""
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        """SQLite's own backup: whole even while tablets write."""
        if connection.vendor != "sqlite":
            raise CommandError("This club uses PostgreSQL. Use pg_dump; nothing was written.")
        target: Path = options["file"]
        if target.exists():
            raise CommandError(f"{target} exists. Choose another name; nothing was written.")
        connection.ensure_connection()
        with sqlite3.connect(target) as copy:
            connection.connection.backup(copy)
        copy.close()
        target.chmod(0o600)
        self.stdout.write(
            self.style.SUCCESS(f"Copied to {target}. It holds children's data: keep it locked away.")
        )
