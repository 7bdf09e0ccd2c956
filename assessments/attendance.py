"""Who is there, and the answer to 'anything sore, ill or new?'. The page and the tablets use the same door."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from assessments.entries import clean
from assessments.models import AssessmentDay, Attendance
from athletes.models import AREA_WORDS, Athlete, RestNote
from club import audit
from club.access import Role, Viewer
from club.models import User

EARLIEST_YEAR = 1970
_FROM_ROLL = uuid.UUID("0f1d5a58-6b4c-5a0e-9f3e-3a3f5f1f7c11")


@dataclass(frozen=True, slots=True)
class RollLine:
    """What somebody said about one child on one day. Nothing said is None."""

    child: uuid.UUID
    at: datetime
    present: bool | None = None
    sore: str | None = None
    areas: tuple[str, ...] = ()
    note: str = ""
    by: uuid.UUID | None = None


def roll_line_from_json(body: object) -> RollLine | None:
    """Read {child, at, present, sore, areas, by}; nothing when it cannot be read."""
    if not isinstance(body, Mapping):
        return None
    said: Mapping[str, Any] = clean(body)
    try:
        at = datetime.fromisoformat(str(said.get("at")).replace("Z", "+00:00"))
        at = (at if at.tzinfo else timezone.make_aware(at)).astimezone(UTC)
        if at.year < EARLIEST_YEAR:
            return None
        child, by = uuid.UUID(str(said.get("child"))), said.get("by")
        present, sore, areas = said.get("present"), said.get("sore"), said.get("areas")
        return RollLine(
            child=child,
            at=at,
            present=present if isinstance(present, bool) else None,
            sore=sore if sore in (Attendance.Answer.YES, Attendance.Answer.NO) else None,
            areas=tuple(str(area) for area in areas) if isinstance(areas, list) else (),
            note=str(said.get("note") or "")[:200],
            by=uuid.UUID(str(by)) if by else None,
        )
    except (ValueError, OverflowError):
        return None


def mark(day: AssessmentDay, lines: Sequence[RollLine], viewer: Viewer) -> set[uuid.UUID]:
    """Write the lines down; answer with the children that were known. The newest line about a child speaks.

    A yes stops the child's testing for the day and opens a rest note, once a line; a later no never undoes it.
    """
    children = Athlete.objects.visible_to(viewer).filter(code__in={line.child for line in lines})
    pks = dict(children.values_list("code", "pk"))
    asked_by = {line.by for line in lines if line.by}
    staff = User.objects.filter(code__in=asked_by, role__in=(Role.COACH, Role.DIRECTOR)) if asked_by else ()
    people = {person.code: person for person in staff}
    with transaction.atomic():
        for line in sorted(lines, key=lambda one: one.at):
            if line.child in pks:
                asker = people.get(line.by) if line.by else viewer.member
                note = _mark_one(day, pks[line.child], line, asker=asker)
                if note is not None:
                    audit.note(viewer, "opened a rest note", note.athlete)
    return set(pks)


def _mark_one(day: AssessmentDay, athlete_id: int, line: RollLine, *, asker: User | None) -> RestNote | None:
    """Write one line down; the rest note that it opened, if it did."""
    opened = None
    Attendance.objects.get_or_create(day=day, athlete_id=athlete_id)
    row = Attendance.objects.select_for_update().get(day=day, athlete_id=athlete_id)
    at = min(line.at, timezone.now())
    if line.present is not None:
        row.present = line.present
    if line.sore == Attendance.Answer.YES:
        row.sore, row.asked_at, row.asked_by = Attendance.Answer.YES, at, asker
        row.present = True if row.present is None else row.present
        row.stopped_at = min(row.stopped_at, at) if row.stopped_at else at
        opened = _open_rest_note(day, athlete_id, line, at=at, asker=asker)
    elif line.sore == Attendance.Answer.NO and row.sore != Attendance.Answer.YES:
        row.sore, row.asked_at, row.asked_by = Attendance.Answer.NO, at, asker
    row.save()
    return opened


def _open_rest_note(
    day: AssessmentDay, athlete_id: int, line: RollLine, *, at: datetime, asker: User | None
) -> RestNote | None:
    areas = [area for area in dict.fromkeys(line.areas) if area in AREA_WORDS] or ["general"]
    # One yes about one child on one day, however often it is sent and whatever tablet sends it.
    origin = uuid.uuid5(_FROM_ROLL, f"{day.code}|{line.child}|{line.at.isoformat()}")
    note, new = RestNote.objects.get_or_create(
        from_entry=origin,
        defaults={
            "athlete_id": athlete_id,
            "areas": areas,
            "note": line.note,
            "opened_on": day.held_on,
            "opened_at": at,
            "opened_by": asker,
        },
    )
    return note if new else None


def roll_of(day: AssessmentDay, viewer: Viewer) -> list[Attendance]:
    """A line for each child of the day's groups, in the order of the floor; children never asked included."""
    known = {row.athlete_id: row for row in day.attendances.select_related("athlete__group")}
    children = Athlete.objects.visible_to(viewer).filter(group__in=day.groups.all()).training(day.held_on)
    rows = [
        known.pop(child.pk) if child.pk in known else Attendance(day=day, athlete=child)
        for child in children.select_related("group")
    ]
    seen = set(Athlete.objects.visible_to(viewer).filter(pk__in=known).values_list("pk", flat=True))
    rows += [row for pk, row in known.items() if pk in seen]
    return sorted(rows, key=_floor_order)


def _floor_order(row: Attendance) -> tuple[int, str, str, str, int]:
    child = row.athlete
    group = child.group.name if child.group else ""
    return (row.order, group, child.first_name, child.last_name, child.pk)
