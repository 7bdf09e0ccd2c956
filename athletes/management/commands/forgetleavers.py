"""Erase what is kept for too long. A dry run unless --apply is given."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from athletes import privacy
from club.access import Viewer


class Command(BaseCommand):
    """forgetleavers [--apply]"""

    help = "List (or with --apply erase) leavers after 24 months and rest notes 12 months after they ended."

    def add_arguments(self, parser: CommandParser) -> None:
        """Only one switch."""
        parser.add_argument("--apply", action="store_true", help="erase; without it nothing is changed")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print what is due, and carry it out when asked."""
        today = timezone.localdate()
        due = privacy.overdue(today)
        viewer = Viewer(today=today)
        self.stdout.write(f"{len(due.athletes)} children left over 24 months ago.")
        self.stdout.write(f"{len(due.rest_notes)} rest notes ended over 12 months ago.")
        if not options["apply"]:
            self.stdout.write("Nothing was changed. Run again with --apply to erase them.")
            return
        for note in due.rest_notes:
            note.delete()
        for athlete in due.athletes:
            privacy.erase(athlete, viewer)
        self.stdout.write(self.style.SUCCESS("Erased."))
