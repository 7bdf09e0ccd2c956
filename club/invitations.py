"""Invite a person: issue a single-use link and send it."""

from __future__ import annotations

from collections.abc import Callable

from django.core.mail import send_mail
from django.urls import reverse
from django.utils import timezone

from club import audit
from club.access import Viewer
from club.models import ClubProfile, Invitation


def invite(viewer: Viewer, *, email: str, name: str, role: str, absolute: Callable[[str], str]) -> str:
    """Issue an invitation, send it by e-mail, and return its link for handing over in person."""
    row, token = Invitation.issue(
        email=email, name=name, role=role, now=timezone.now(), invited_by=viewer.member
    )
    link = absolute(reverse("club:invitation_accept", args=[token]))
    audit.note(viewer, "invited", row, role=role)
    club_name = " ".join(ClubProfile.current().name.split())  # a subject is one line
    text = (
        f"{club_name} invites you to Groundwork, where the club keeps its foundation tests.\n\n"
        f"Choose a password here within 14 days:\n{link}\n\nIf you did not expect this, do nothing."
    )
    send_mail(f"Invitation from {club_name}", text, None, [email], fail_silently=True)
    return link
