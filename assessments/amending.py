"""Second thoughts about results. Every act is a new entry through the door; no row is ever changed.

The ids of the new entries come from the page that asked, so that a form sent twice acts once.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any, cast

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from assessments.analysis.records import Outcome, Side
from assessments.entries import Entry, entry_from_json
from assessments.models import AssessmentDay, Attendance, RefusedEntry, Result
from assessments.models.results import EVIDENCE
from assessments.recording import Answer, record
from athletes.models import Athlete, RestNote
from club import audit
from club.access import Can, Viewer

SETTLED = "Settled: another entry counts"


class NotMoved(Exception):
    """The door would not take the new entry, so the old one still stands; the message says why."""


@dataclass(frozen=True, slots=True)
class Line:
    """One entry in the history of a result."""

    result: Result
    stands: bool
    word: str  # entered | corrected | taken back


def entry_of(result: Result) -> Entry:
    """The entry that a stored row came from, its moment on the club's clock."""
    return Entry(
        id=result.code,
        tablet=result.tablet,
        seq=result.seq,
        day=result.day.code,
        child=result.athlete.code,
        measure=result.measure.slug,
        outcome=cast(Outcome, result.outcome),
        how=result.how,
        t_wall=result.t_wall + timedelta(seconds=result.offset_s or 0.0),
        variant=result.variant,
        side=cast(Side, result.side),
        trial=result.trial,
        value=result.value,
        levels=result.levels,
        form_break=result.form_break,
        reminder=result.reminder,
        at_once=result.at_once,
        second=result.second,
        judge=result.judge.code if result.judge else None,
        offline=False,
        note=result.note,
    )


def correct(
    result: Result, viewer: Viewer, *, reason: str, new_id: uuid.UUID, changes: Mapping[str, Any]
) -> Answer:
    """A new entry takes the place of this one. `changes` are fields of Entry."""
    entry = replace(_from_desk(result, new_id, reason), **changes)
    answer = record([entry], viewer)[0]
    if answer.word != "refused":
        audit.note(viewer, "corrected a result", result)
    return answer


def take_back(
    result: Result, viewer: Viewer, *, reason: str, new_id: uuid.UUID, end_stop: bool = False
) -> Answer:
    """The entry no longer counts; it stays in the history with the reason. `end_stop`: the pain was not this child's."""
    with transaction.atomic():
        answer = record([_undo_of(result, new_id, reason)], viewer)[0]
        if end_stop and answer.word != "refused":
            _end_stop(result, viewer)
    audit.note(viewer, "took a result back", result)
    return answer


def move_to_child(
    result: Result,
    athlete: Athlete,
    viewer: Viewer,
    *,
    reason: str,
    new_id: uuid.UUID,
    end_stop: bool = False,
) -> Answer:
    """The result was another child's: taken back here, entered there, both or neither. `end_stop` as above."""
    undo_id = uuid.uuid5(new_id, "undo")
    moved = replace(_from_desk(result, new_id, reason), child=athlete.code, replaces=None)
    try:
        with transaction.atomic():
            first, second = record([_undo_of(result, undo_id, reason), moved], viewer)
            if second.word == "refused" or first.word == "refused":
                raise NotMoved(second.reason or first.reason)
            if end_stop:
                _end_stop(result, viewer)
    except NotMoved as why:
        return Answer(str(new_id), "refused", str(why))
    audit.note(viewer, "moved a result away", result)
    audit.note(viewer, "moved a result here", athlete)
    return second


def may_end_stop(result: Result, viewer: Viewer) -> bool:
    """A stop for pain is ended by the day's lead or the director, and only where one was entered."""
    return result.outcome == "stopped_for_pain" and may_settle(result.day, viewer)


def _end_stop(result: Result, viewer: Viewer) -> None:
    """The pain was another child's: this one's rest note is closed as a mistake, and the day goes on for this one
    unless something else has stopped it."""
    notes = RestNote.objects.filter(from_entry__in=_pains_of(result), ended_on__isnull=True)
    who = viewer.member.name if viewer.member is not None else "the day's lead"
    notes.update(
        ended_on=F("opened_on"), ended_ground=RestNote.BY_MISTAKE, ended_adult=who, ended_by=viewer.member
    )
    there = Attendance.objects.select_for_update().filter(day=result.day_id, athlete=result.athlete_id)
    others = Result.objects.filter(day=result.day_id, athlete=result.athlete_id, outcome=result.outcome)
    others = others.current().exclude(pk=result.pk)
    for row in there:
        still = [one.t_wall + timedelta(seconds=one.offset_s or 0.0) for one in others]
        if row.sore == Attendance.Answer.YES and row.asked_at is not None:
            still.append(row.asked_at)
        row.stopped_at = min(still, default=None)
        row.save(update_fields=["stopped_at"])
    audit.note(viewer, "ended a stop entered by mistake", result.athlete)


def _pains_of(result: Result) -> list[uuid.UUID]:
    """This entry and those that it replaced: each may have opened a note."""
    return [line.result.code for line in history_of(result) if line.result.outcome == "stopped_for_pain"]


def settle(kept: Result, viewer: Viewer, *, reason: str = "") -> list[Answer]:
    """Of the entries in one place this one counts; the others stay in the history.

    Empty when there is nothing to settle, or when the entry no longer stands itself: then none would be left.
    """
    standing = list(place_of(kept))
    others = [row for row in standing if row.pk != kept.pk]
    if not others or len(others) == len(standing):
        return []
    undone = [
        _undo_of(other, uuid.uuid5(kept.code, f"over {other.code}"), reason or SETTLED) for other in others
    ]
    answers = record(undone, viewer)
    audit.note(viewer, "settled two entries", kept)
    return answers


def settle_refused(refused: RefusedEntry, viewer: Viewer, *, take: bool) -> Answer | None:
    """Try a refused entry again in one's own name, or put it aside. Nothing is deleted here."""
    answer = None
    if take:
        answer = record([entry_from_json(refused.body)], viewer)[0]
        if answer.word == "refused":
            return answer
    waiting = RefusedEntry.objects.waiting().filter(pk=refused.pk)
    waiting.update(settled_at=timezone.now(), settled_by=viewer.member)
    audit.note(viewer, "settled a refused entry", refused)
    return answer


def may_settle(day: AssessmentDay, viewer: Viewer) -> bool:
    """Whoever settles conflicts in the whole club, and the lead of the day."""
    lead = viewer.member is not None and day.lead_id == viewer.member.pk
    return viewer.can(Can.SETTLE_RESULTS) or (lead and viewer.can(Can.PLAN_DAYS))


def place_of(result: Result) -> Any:
    """The standing entries with evidence that share this one's place, itself included."""
    return (
        Result.objects.filter(
            day=result.day_id,
            athlete=result.athlete_id,
            measure=result.measure_id,
            variant=result.variant,
            side=result.side,
            trial=result.trial,
            second=result.second,
            outcome__in=EVIDENCE,
        )
        .current()
        .select_related("day", "athlete", "measure", "judge", "recorded_by")
    )


def history_of(result: Result) -> list[Line]:
    """Everything that this entry replaced and that replaced it, oldest first."""
    rows = Result.objects.filter(day=result.day_id, athlete=result.athlete_id).order_by("received_at", "pk")
    family = _family(result, list(rows.select_related("measure", "judge", "recorded_by", "day", "athlete")))
    replaced = {row.replaces for row in family if row.replaces}
    return [
        Line(row, stands=row.code not in replaced and row.outcome != "withdrawn", word=_word(row))
        for row in family
    ]


def _family(result: Result, rows: Sequence[Result]) -> list[Result]:
    kin = {result.code, result.replaces} - {None}
    size = 0
    while size != len(kin):
        size = len(kin)
        for row in rows:
            if row.code in kin or row.replaces in kin:
                kin |= {row.code, row.replaces} - {None}
    return [row for row in rows if row.code in kin]


def _word(row: Result) -> str:
    if row.outcome == "withdrawn":
        return "taken back"
    return "corrected" if row.replaces else "entered"


def _from_desk(result: Result, new_id: uuid.UUID, reason: str) -> Entry:
    return replace(
        entry_of(result),
        areas=_areas_of(result),
        id=new_id,
        tablet=f"desk-{new_id.hex}",
        seq=1,
        replaces=result.code,
        reason=reason[:120],
    )


def _areas_of(result: Result) -> tuple[str, ...]:
    """Where it hurt: an entry's areas live in the rest note that it opened."""
    found = RestNote.objects.filter(from_entry=result.code) if result.outcome == "stopped_for_pain" else ()
    return tuple(area for note in found for area in note.areas)


def _undo_of(result: Result, new_id: uuid.UUID, reason: str) -> Entry:
    return replace(
        _from_desk(result, new_id, reason),
        outcome="withdrawn",
        value=None,
        levels=None,
        form_break="",
        note="",
        areas=(),
    )
