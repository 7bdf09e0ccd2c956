"""Bring in a club's list of children. A preview unless --apply is given."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from athletes import roster
from athletes.roster_file import Answer, read_roster
from athletes.sheet_file import UnreadableFile
from club.access import Role, Viewer


class Command(BaseCommand):
    """importroster FILE [--apply] [--day-first | --month-first] [--one PLACE] [--two PLACE]"""

    help = "Look at a CSV or XLSX list of children, and with --apply add and update them. Nothing is deleted."

    def add_arguments(self, parser: CommandParser) -> None:
        """The file, and what a person says about it."""
        parser.add_argument("file", type=Path)
        parser.add_argument("--apply", action="store_true", help="write; without it nothing is changed")
        order = parser.add_mutually_exclusive_group()
        order.add_argument("--day-first", dest="order", action="store_const", const="day_first", default="")
        order.add_argument("--month-first", dest="order", action="store_const", const="month_first")
        for option, words in (("--one", "one child"), ("--two", "two children")):
            parser.add_argument(
                option,
                action="append",
                default=[],
                metavar="SHEET:LINE",
                help=f"the line in question and the child that it looks like are {words}",
            )

    def handle(self, *args: Any, **options: Any) -> None:
        """Print what would change, write it when asked, and end with 1 when a line waits for a person."""
        answers: dict[str, Answer] = dict.fromkeys(options["one"], "same") | dict.fromkeys(
            options["two"], "two"
        )
        today = timezone.localdate()
        path: Path = options["file"]
        try:
            file = read_roster(path.read_bytes(), path.name, order=options["order"], today=today)
        except OSError as error:
            raise CommandError(f"{path} cannot be opened: {error.strerror}.") from error
        except UnreadableFile as error:
            raise CommandError(str(error)) from error
        preview = roster.preview(file, answers)
        self._print(preview)
        if options["apply"]:
            changed = roster.apply(preview, Viewer(today=today, role=Role.DIRECTOR))
            self.stdout.write(self.style.SUCCESS(f"Written: {changed} children added or changed."))
        else:
            self.stdout.write("Nothing was written. Run again with --apply to write.")
        if not preview.is_clear:
            raise SystemExit(1)

    def _print(self, preview: roster.RosterPreview) -> None:
        for note in preview.notes:
            self.stdout.write(f"note     {note}")
        for problem in preview.problems:
            self.stdout.write(self.style.WARNING(f"problem  {problem}"))
        for question in preview.questions:
            text = f"question {question.row.where}: {question.text} Answer with --one or --two '{question.row.place}'."
            self.stdout.write(self.style.WARNING(text))
        for name in preview.new_groups:
            self.stdout.write(f"group    {name}")
        for change in preview.added:
            self.stdout.write(f"add      {change.name}, born {change.born_on}, {change.group or 'no group'}")
        for change in preview.updated:
            self.stdout.write(f"change   {change.name}: {'; '.join(change.words)}")
        self.stdout.write(
            f"{len(preview.added)} to add, {len(preview.updated)} to change, {preview.unchanged} as they are, "
            f"{preview.waiting} lines to settle."
        )
