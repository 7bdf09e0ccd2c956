"""Build the demo club if it is not there, say who may sign in, and serve it on this machine."""

from __future__ import annotations

import os
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from club.demo import build
from club.demo.story import CLUB, PASSWORD, PEOPLE
from club.models import ClubProfile


class Command(BaseCommand):
    """demo [--no-serve] [--fresh] [--port N]"""

    help = "An invented club with two seasons of test days, on http://127.0.0.1:8000. Safe to run twice."

    def add_arguments(self, parser: CommandParser) -> None:
        """Serving is the default."""
        parser.add_argument("--no-serve", action="store_true", help="build only")
        parser.add_argument("--fresh", action="store_true", help="throw the demo away and build it for today")
        parser.add_argument("--port", default="8000")

    def handle(self, *args: Any, **options: Any) -> None:
        """Migrate, build, greet, serve."""
        call_command("migrate", verbosity=0, interactive=False)
        other = ClubProfile.objects.exclude(name=CLUB).first()
        if other is not None:
            raise CommandError(
                f"This database holds {other.name}. The demo needs one of its own; nothing was changed."
            )
        if options["fresh"]:
            call_command("flush", verbosity=0, interactive=False)
        if not ClubProfile.objects.exists():
            self.stdout.write("Building the demo club. This takes about a minute, once.")
        build.build(timezone.localdate())
        self.greet(options["port"])
        if not options["no_serve"]:
            os.environ.setdefault("DJANGO_RUNSERVER_HIDE_WARNING", "true")
            call_command(
                "runserver", f"127.0.0.1:{options['port']}", use_reloader=False, insecure_serving=False
            )

    def greet(self, port: str) -> None:
        """What is there, and who may sign in."""
        numbers = ", ".join(f"{count} {word}" for word, count in build.facts().items())
        self.stdout.write(self.style.SUCCESS(f"{CLUB}: {numbers}."))
        self.stdout.write(f"\nSign in on http://127.0.0.1:{port} with the password: {PASSWORD}")
        for person in PEOPLE:
            self.stdout.write(f"  {person.role:<9} {person.email:<28} {person.name}")
        self.stdout.write(f"\nDatabase: {settings.DATABASES['default']['NAME']}. Stop with Ctrl-C.\n")
