"""Start an empty real club with the starter programme."""

from __future__ import annotations

from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.core.validators import validate_email
from django.forms import ValidationError
from django.urls import reverse
from django.utils import timezone

from assessments import programme
from club.access import Role
from club.models import ClubProfile, Invitation, User


class Command(BaseCommand):
    """newclub NAME --director EMAIL"""

    help = "Start an empty club: tables, starter programme, and an invitation for its director."

    def add_arguments(self, parser: CommandParser) -> None:
        """The club's name and the director's address."""
        parser.add_argument("name", help="the club's name")
        parser.add_argument(
            "--director", required=True, metavar="EMAIL", help="the director's e-mail address"
        )
        parser.add_argument("--url", default="http://127.0.0.1:8000", help="where the club's pages will be")

    def handle(self, *args: Any, **options: Any) -> None:
        """Safe to run once; a second run says what is already there."""
        name, email = options["name"].strip(), options["director"].strip().lower()
        try:
            validate_email(email)
        except ValidationError as wrong:
            raise CommandError(f"{email!r} is not an e-mail address. Nothing was made.") from wrong
        if not name:
            raise CommandError("Give the club a name. Nothing was made.")
        call_command("migrate", verbosity=0, interactive=False)
        club = ClubProfile.objects.first()
        if club is not None:
            raise CommandError(f"This database already holds {club.name}. Nothing was changed.")
        ClubProfile.objects.create(name=name, contact_email=email)
        edition = programme.load()
        self.stdout.write(self.style.SUCCESS(f"{name} is set up with the starter programme, {edition}."))
        if not User.objects.filter(email=email).exists():
            _, token = Invitation.issue(email=email, role=Role.DIRECTOR, now=timezone.now())
            link = options["url"].rstrip("/") + reverse("club:invitation_accept", args=[token])
            self.stdout.write(
                "Start the server, then open this link once, within 14 days, to choose a password:"
            )
            self.stdout.write(f"  {link}")
