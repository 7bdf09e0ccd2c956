"""Load the files of a programme as the next edition."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from assessments import programme


class Command(BaseCommand):
    """loadprogramme [FOLDER]"""

    help = "Load measures, shapes, skills, benchmarks and sources as the next edition, checked whole."

    def add_arguments(self, parser: CommandParser) -> None:
        """The folder with the five files; without it, the starter programme."""
        parser.add_argument("folder", nargs="?", type=Path, help="a folder with the five YAML files")

    def handle(self, *args: Any, **options: Any) -> None:
        """Safe to run twice: the same files make no second edition."""
        folder: Path | None = options["folder"]
        if folder is not None and not folder.is_dir():
            raise CommandError(f"{folder} is not a folder. Nothing was loaded.")
        try:
            edition = programme.load(folder)
        except programme.Refused as refused:
            lines = "\n".join(f"  {problem}" for problem in refused.problems)
            raise CommandError(f"Nothing was loaded. These need a change first:\n{lines}") from refused
        self.stdout.write(self.style.SUCCESS(f"{edition} is the club's programme."))
