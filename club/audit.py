"""The audit trail's only door."""

from __future__ import annotations

from django.db import models

from club.access import Viewer
from club.models import AuditEntry


def note(viewer: Viewer, verb: str, subject: models.Model | None = None, **detail: object) -> AuditEntry:
    """Write down who did what to whom. Never pass a score, a note or a name in `detail`."""
    return AuditEntry.objects.create(
        actor=viewer.member,
        actor_name=viewer.name,
        verb=verb,
        subject_type=subject._meta.model_name or "" if subject is not None else "",
        subject_code=getattr(subject, "code", None),
        detail=detail,
    )
