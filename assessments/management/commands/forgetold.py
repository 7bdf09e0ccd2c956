"""Delete what has served its time: refused entries, drafts nobody released, old lines of the trail."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db.models import QuerySet
from django.utils import timezone

from assessments.models import FamilyReport, RefusedEntry
from club.models import AuditEntry

REFUSED_DAYS, DRAFT_DAYS, TRAIL_DAYS = 30, 90, 730


class Command(BaseCommand):
    """forgetold [--apply]"""

    help = "List (or with --apply delete) refused entries after 30 days, drafts after 90, the trail after 24 months."

    def add_arguments(self, parser: CommandParser) -> None:
        """Only one switch."""
        parser.add_argument("--apply", action="store_true", help="delete; without it nothing is changed")

    def handle(self, *args: Any, **options: Any) -> None:
        """Settled refusals only: what still needs a person stays in view. Erasures stay in the trail."""
        now = timezone.now()
        due: dict[str, QuerySet[Any]] = {
            "settled refused entries": RefusedEntry.objects.filter(
                settled_at__isnull=False, received_at__lt=now - timedelta(days=REFUSED_DAYS)
            ),
            "unreleased family notes": FamilyReport.objects.filter(
                status=FamilyReport.Status.DRAFT, written_at__lt=now - timedelta(days=DRAFT_DAYS)
            ),
            "lines of the trail": AuditEntry.objects.filter(at__lt=now - timedelta(days=TRAIL_DAYS)).exclude(
                verb="erased a child"
            ),
        }
        for words, rows in due.items():
            self.stdout.write(f"{rows.count()} {words} are due.")
            if options["apply"]:
                rows.delete()
        self.stdout.write("Deleted." if options["apply"] else "Nothing was changed. Run again with --apply.")
