"""Bring in past test days from a spreadsheet. A preview unless --apply is given."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from assessments import imports
from assessments.programme import NoProgramme, current_programme
from assessments.result_columns import parse_mapping
from assessments.results_layout import Choices
from athletes.sheet_file import UnreadableFile
from club.access import Role, Viewer


class Command(BaseCommand):
    """importresults FILE [--apply] [--map 'Header=measure_id:left'] [--day-first | --month-first] [--zeros WORD]"""

    help = "Look at past test days in a CSV or XLSX file, and with --apply record them. Safe to run twice."

    def add_arguments(self, parser: CommandParser) -> None:
        """The file, and what a person says about it."""
        parser.add_argument("file", type=Path)
        parser.add_argument("--apply", action="store_true", help="write; without it nothing is changed")
        parser.add_argument(
            "--map",
            action="append",
            default=[],
            dest="mapping",
            metavar="HEADER=PLACE",
            help="where a column goes: 'Balance L=single_leg_stance:left', with a try or a variant after "
            "another colon, or 'Mood=ignore'; remembered once it is applied",
        )
        order = parser.add_mutually_exclusive_group()
        order.add_argument("--day-first", dest="order", action="store_const", const="day_first", default="")
        order.add_argument("--month-first", dest="order", action="store_const", const="month_first")
        parser.add_argument(
            "--zeros",
            choices=("could-not", "not-tried"),
            default="",
            help="what a bare 0 in this file means",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Print what would be recorded, record it when asked, and end with 1 when something waits."""
        path: Path = options["file"]
        today = timezone.localdate()
        try:
            programme = current_programme()
            mapping = dict(parse_mapping(written, programme) for written in options["mapping"])
            choices = Choices(options["order"], options["zeros"].replace("-", "_"), mapping)
            preview = imports.preview(path.read_bytes(), path.name, choices=choices, today=today)
        except OSError as error:
            raise CommandError(f"{path} cannot be opened: {error.strerror}.") from error
        except (UnreadableFile, NoProgramme, ValueError) as error:
            raise CommandError(str(error)) from error
        self._print(preview)
        clear = preview.is_clear
        if options["apply"]:
            applied = imports.apply(preview, Viewer(today=today, role=Role.DIRECTOR))
            for problem in applied.refused:
                self.stdout.write(self.style.WARNING(f"refused  {problem}"))
            self.stdout.write(
                self.style.SUCCESS(
                    f"Written: {applied.stored} results. {applied.already_here} were here already."
                )
            )
            clear = clear and not applied.refused
        else:
            self.stdout.write("Nothing was written. Run again with --apply to write.")
        if not clear:
            raise SystemExit(1)

    def _print(self, preview: imports.ResultsPreview) -> None:
        for note in preview.notes:
            self.stdout.write(f"note     {note}")
        for warning in preview.warnings:
            self.stdout.write(f"look at  {warning}")
        for problem in preview.problems:
            self.stdout.write(self.style.WARNING(f"problem  {problem}"))
        for column in preview.file.unmatched:
            text = f"column   {column.where} '{column.header}': {column.reason}. Map it with --map."
            self.stdout.write(self.style.WARNING(text))
        for day in preview.days:
            self.stdout.write(f"day      {day.on}: {day.entries} results of {day.children} children")
        self.stdout.write(
            f"{len(preview.new)} results to add, {preview.already_here} here already, "
            f"{preview.file.not_tried} blank, {len(preview.problems)} to settle, "
            f"{len(preview.file.unmatched)} columns without a place."
        )
