"""A child's data as a whole: give it out, erase it, and say what is kept for too long."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models, transaction

from athletes.models import Athlete, Guardian, RestNote
from club import audit
from club.access import Role, Viewer
from club.models import Invitation, User

KEEP_RESULTS_DAYS = 730
KEEP_REST_NOTES_DAYS = 365

#: Staff appear by role, never by name; addresses of other adults are left out.
HIDDEN_FIELDS = frozenset({"id", "content_hash", "station_pass", "member", "granted_by", "edition", "email"})


@dataclass(frozen=True, slots=True)
class Overdue:
    """What should go by the club's retention rules."""

    athletes: tuple[Athlete, ...]
    rest_notes: tuple[RestNote, ...]


def related_rows(athlete: Athlete) -> Iterator[tuple[type[models.Model], models.QuerySet[Any]]]:
    """Every model that points at the child, with its rows, found by walking Django's own relations."""
    for relation in Athlete._meta.get_fields(include_hidden=True):
        if isinstance(relation, models.ManyToOneRel):
            field = relation.field
            yield relation.related_model, relation.related_model._base_manager.filter(**{field.name: athlete})


def export(athlete: Athlete) -> dict[str, Any]:
    """Everything held about one child, machine-readable: other children absent, staff named by role."""
    own = {
        field.name: getattr(athlete, field.name)
        for field in Athlete._meta.concrete_fields
        if field.name not in HIDDEN_FIELDS | {"group", "restricted", "restricted_reference"}
    }
    own["group"] = athlete.group.name if athlete.group else None
    rows: dict[str, list[dict[str, Any]]] = {}
    for model, found in related_rows(athlete):
        name = str(model._meta.verbose_name_plural)
        rows.setdefault(name, []).extend(_plain(row) for row in found.order_by("pk"))
    return {"child": own, **rows}


def _plain(row: models.Model) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for field in row._meta.concrete_fields:
        if field.name in HIDDEN_FIELDS or _points_to(field, Athlete):
            continue
        value = getattr(row, field.name)
        if isinstance(value, User):
            value = value.get_role_display()
        elif isinstance(value, models.Model):
            value = str(value)
        values[field.name] = value
    return values


def _points_to(field: models.Field[Any, Any], model: type[models.Model]) -> bool:
    return isinstance(field, models.ForeignKey) and field.related_model is model


def as_json(data: dict[str, Any]) -> str:
    """The export as text."""
    return DjangoJSONEncoder(indent=2, ensure_ascii=False).encode(data)


@transaction.atomic
def erase(athlete: Athlete, viewer: Viewer) -> int:
    """Erase a child and every row about them; parents' accounts and invitations without another child go too.

    What stays is one audit line with the code, so that a tablet's late entry is recognised and refused.
    """
    members = list(athlete.guardians.exclude(member=None).values_list("member", flat=True))
    addresses = list(athlete.guardians.values_list("email", flat=True))
    audit.note(viewer, "erased a child", athlete)
    gone = 0
    for model, rows in related_rows(athlete):
        if getattr(model, "privacy", "") == "erase":
            gone += rows.delete()[0]
    gone += athlete.delete()[0]
    orphans = User.objects.filter(pk__in=members, role=Role.GUARDIAN)
    for user in orphans.exclude(pk__in=Guardian.objects.exclude(member=None).values("member")):
        user.delete()
    others = Guardian.objects.filter(email__in=addresses).values("email")
    Invitation.objects.filter(email__in=addresses, role=Role.GUARDIAN).exclude(email__in=others).delete()
    return gone


def overdue(on: date) -> Overdue:
    """Leavers after 24 months, rest notes 12 months after they ended. Defaults to justify locally."""
    leavers = Athlete.objects.filter(left_on__lte=on - timedelta(days=KEEP_RESULTS_DAYS))
    notes = RestNote.objects.filter(ended_on__lte=on - timedelta(days=KEEP_REST_NOTES_DAYS))
    return Overdue(athletes=tuple(leavers), rest_notes=tuple(notes.select_related("athlete")))
