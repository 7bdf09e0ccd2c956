"""Who is there, and the answer to 'anything sore, ill or new?'. The page and the tablets use the same door."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from assessments.entries import clean
from assessments.models import AssessmentDay, Attendance
from athletes.models import Athlete, RestNote, resting_areas
from club import audit
from club.access import Role, Viewer
from club.models import User

EARLIEST_YEAR = 1970
_FROM_ROLL = uuid.UUID("0f1d5a58-6b4c-5a0e-9f3e-3a3f5f1f7c11")


@dataclass(frozen=True, slots=True)
class RollLine:
    """What somebody said about one child on one day. Nothing said is None.

    A tablet's line is the sum of what was said there, so presence and the answer have their own moments, on the
    tablet's clock; without them `at` counts.
    """

    child: uuid.UUID
    at: datetime
    present: bool | None = None
    present_at: datetime | None = None
    sore: str | None = None
    sore_at: datetime | None = None
    areas: tuple[str, ...] = ()
    note: str = ""
    by: uuid.UUID | None = None


def roll_line_from_json(body: object) -> RollLine | None:
    """Read {child, at, present, present_at, sore, sore_at, areas, note, by}; nothing when it cannot be read."""
    if not isinstance(body, Mapping):
        return None
    said: Mapping[str, Any] = clean(body)
    try:
        at = _moment(said.get("at"))
        child, by = uuid.UUID(str(said.get("child"))), said.get("by")
        present, sore, areas = said.get("present"), said.get("sore"), said.get("areas")
        return RollLine(
            child=child,
            at=at,
            present=present if isinstance(present, bool) else None,
            present_at=_moment(said["present_at"]) if said.get("present_at") else None,
            sore_at=_moment(said["sore_at"]) if said.get("sore_at") else None,
            sore=sore if sore in (Attendance.Answer.YES, Attendance.Answer.NO) else None,
            areas=tuple(str(area) for area in areas) if isinstance(areas, list) else (),
            note=str(said.get("note") or "")[:200],
            by=uuid.UUID(str(by)) if by else None,
        )
    except (ValueError, OverflowError):
        return None


def _moment(text: object) -> datetime:
    """A moment with a zone; ValueError for what is none, or lies before there were tablets."""
    at = datetime.fromisoformat(str(text).replace("Z", "+00:00"))
    at = (at if at.tzinfo else timezone.make_aware(at)).astimezone(UTC)
    if at.year < EARLIEST_YEAR:
        raise ValueError(f"{text} is too long ago")
    return at


def mark(
    day: AssessmentDay, lines: Sequence[RollLine], viewer: Viewer, *, offset: timedelta = timedelta()
) -> set[uuid.UUID]:
    """Write the lines down; answer with the children that were known. What was said last about a child speaks,
    whichever line arrives first. `offset` is the club's clock minus the one that the lines were written by.

    A yes stops the child's testing for the day and opens a rest note, once however often and by whom it is told; a
    later no never undoes it.
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
                note = _mark_one(day, pks[line.child], line, asker=asker, offset=offset)
                if note is not None:
                    audit.note(viewer, "opened a rest note", note.athlete)
    return set(pks)


def _mark_one(
    day: AssessmentDay, athlete_id: int, line: RollLine, *, asker: User | None, offset: timedelta
) -> RestNote | None:
    """Write one line down; the rest note that it opened, if it did."""
    opened = None
    Attendance.objects.get_or_create(day=day, athlete_id=athlete_id)
    row = Attendance.objects.select_for_update().get(day=day, athlete_id=athlete_id)
    now = timezone.now()
    seen = min((line.present_at or line.at) + offset, now)
    at = min((line.sore_at or line.at) + offset, now)
    if line.present is not None and (row.present_at is None or seen >= row.present_at):
        row.present, row.present_at = line.present, seen
    if line.sore == Attendance.Answer.YES:
        row.sore, row.asked_at, row.asked_by = Attendance.Answer.YES, at, asker
        row.present = True if row.present is None else row.present
        row.stopped_at = min(row.stopped_at, at) if row.stopped_at else at
        opened = _open_rest_note(day, athlete_id, line, at=at, asker=asker)
    newest = row.asked_at is None or at >= row.asked_at
    if line.sore == Attendance.Answer.NO and row.sore != Attendance.Answer.YES and newest:
        row.sore, row.asked_at, row.asked_by = Attendance.Answer.NO, at, asker
    row.save()
    return opened


def _open_rest_note(
    day: AssessmentDay, athlete_id: int, line: RollLine, *, at: datetime, asker: User | None
) -> RestNote | None:
    areas = resting_areas(line.areas)
    # One yes is one note, however often it is sent. Two tablets that ask one child tell of the same soreness; the row
    # of the child is locked here, so they follow one another.
    origin = uuid.uuid5(_FROM_ROLL, f"{day.code}|{line.child}|{(line.sore_at or line.at).isoformat()}")
    today = RestNote.objects.filter(athlete=athlete_id, opened_on=day.held_on, ended_on=None)
    told = list(today.values_list("areas", "note"))
    fresh = [area for area in areas if not any(area in known for known, _ in told)]
    if not fresh and (not line.note or line.note in {note for _, note in told}):
        return None
    note, new = RestNote.objects.get_or_create(
        from_entry=origin,
        defaults={
            "athlete_id": athlete_id,
            "areas": fresh or areas,
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
