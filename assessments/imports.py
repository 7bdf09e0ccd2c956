"""Bring past test days in from a spreadsheet: look first, then hand every entry to the one door."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import cast

from django.db import transaction

from assessments.analysis.records import Programme, Side
from assessments.entries import Entry
from assessments.models import AssessmentDay, Attendance, ImportMapping, ProgrammeEdition, Result
from assessments.programme import current_programme
from assessments.recording import record
from assessments.result_columns import ColumnTarget, UnmatchedHeader, check_side
from assessments.results_file import ENTRY_NAMESPACE, EntryDraft, ResultsFile, read_results, said
from assessments.results_layout import Choices
from athletes.known_children import KnownChildren
from athletes.models import Athlete, Group
from athletes.roster import known_children
from athletes.sheet_file import Problem
from club import audit
from club.access import Viewer

_AT_ONCE = 500  # ids asked for in one query


@dataclass(frozen=True, slots=True)
class DayCount:
    """What one day would get."""

    on: date
    children: int
    entries: int


@dataclass(frozen=True, slots=True)
class ResultsPreview:
    """What applying would do."""

    new: tuple[EntryDraft, ...]
    already_here: int
    days: tuple[DayCount, ...]
    file: ResultsFile
    problems: tuple[Problem, ...]
    mapping: Mapping[str, ColumnTarget]

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """Taken, but worth a second look."""
        return self.file.warnings

    @property
    def notes(self) -> tuple[str, ...]:
        """What was left alone."""
        return self.file.notes

    @property
    def is_clear(self) -> bool:
        """Nothing waits for a person."""
        return not self.problems and not self.file.unmatched


@dataclass(frozen=True, slots=True)
class Applied:
    """What the door answered."""

    stored: int
    already_here: int
    refused: tuple[Problem, ...]


def remembered(programme: Programme) -> dict[str, ColumnTarget]:
    """Columns that the club has mapped by hand before, as far as the programme still knows the measure."""
    found: dict[str, ColumnTarget] = {}
    for row in ImportMapping.objects.all():
        target = ColumnTarget(row.item, cast(Side, row.side), row.trial, row.variant, row.ignored)
        if target.ignored or _still_fits(target, programme):
            found[row.header] = target
    return found


def _still_fits(target: ColumnTarget, programme: Programme) -> bool:
    spec = programme.measures.get(target.item)
    if spec is None or (target.variant and target.variant not in spec.variants):
        return False
    try:
        check_side(target.side, spec)
    except UnmatchedHeader:
        return False
    return True


def preview(content: bytes, filename: str, *, choices: Choices, today: date) -> ResultsPreview:
    """What a file of past results would add. Writes nothing."""
    programme = current_programme()
    mapping = {**remembered(programme), **choices.mapping}
    file = read_results(
        content,
        filename,
        programme=programme,
        children=KnownChildren(known_children()),
        choices=Choices(choices.order, choices.zeros, mapping),
        today=today,
    )
    here = _here(entry.id for entry in file.entries)
    live = _live_places(file.entries)
    new: list[EntryDraft] = []
    problems = list(file.problems)
    already = 0
    for draft in file.entries:
        if draft.id in here:
            if here[draft.id] == (draft.value, draft.outcome):
                already += 1
            else:
                problems.append(_changed(draft, *here[draft.id], programme=programme))
        elif (draft.on, draft.child, draft.item) in live:
            text = f"{draft.child_name} has a result for this on {draft.on} from the test day itself; that one stands."
            problems.append(Problem(draft.where, text))
        else:
            new.append(draft)
    return ResultsPreview(tuple(new), already, _day_counts(new), file, tuple(problems), choices.mapping)


def _here(ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, tuple[float | None, str]]:
    wanted = list(ids)
    found: dict[uuid.UUID, tuple[float | None, str]] = {}
    for start in range(0, len(wanted), _AT_ONCE):
        rows = Result.objects.filter(code__in=wanted[start : start + _AT_ONCE])
        found |= {
            code: (value, outcome) for code, value, outcome in rows.values_list("code", "value", "outcome")
        }
    return found


def _live_places(drafts: Iterable[EntryDraft]) -> set[tuple[date, str, str]]:
    """Where a test day held with this app has results already: a copy in a spreadsheet must not count twice."""
    rows = Result.objects.filter(day__held_on__in={draft.on for draft in drafts}, day__imported=False)
    return {
        (on, str(child), slug)
        for on, child, slug in rows.values_list("day__held_on", "athlete__code", "measure__slug").distinct()
    }


def _changed(draft: EntryDraft, value: float | None, outcome: str, *, programme: Programme) -> Problem:
    text = (
        f"{draft.child_name}, {programme.measures[draft.item].name}, {draft.on}: {said(value, outcome)} is here, "
        f"the file now says {said(draft.value, draft.outcome)}. Correct the result by hand if the file is right."
    )
    return Problem(draft.where, text)


def _day_counts(drafts: Iterable[EntryDraft]) -> tuple[DayCount, ...]:
    by_day: dict[date, list[EntryDraft]] = {}
    for draft in drafts:
        by_day.setdefault(draft.on, []).append(draft)
    return tuple(
        DayCount(on, len({draft.child for draft in by_day[on]}), len(by_day[on])) for on in sorted(by_day)
    )


def apply(preview: ResultsPreview, viewer: Viewer) -> Applied:
    """Write the days, hand the entries to the door, and remember the columns that were mapped by hand."""
    with transaction.atomic():
        _remember(preview.mapping, viewer)
        days = _days(preview.new, viewer)
    answers = record([_entry(draft, days[draft.on]) for draft in preview.new], viewer)
    refused = tuple(
        Problem(draft.where, f"{draft.child_name}: {answer.reason}")
        for draft, answer in zip(preview.new, answers, strict=True)
        if answer.word == "refused"
    )
    words = [answer.word for answer in answers]
    stored = words.count("stored") + words.count("conflict")
    if stored:
        audit.note(viewer, "brought in past results", stored=stored, days=len(days))
    return Applied(stored, words.count("already_here") + preview.already_here, refused)


def _remember(mapping: Mapping[str, ColumnTarget], viewer: Viewer) -> None:
    for header, target in mapping.items():
        ImportMapping.objects.update_or_create(
            header=header[:200],
            defaults={
                "item": target.item,
                "side": target.side,
                "trial": target.trial,
                "variant": target.variant,
                "ignored": target.ignored,
                "set_by": viewer.member,
            },
        )


def _days(drafts: Iterable[EntryDraft], viewer: Viewer) -> dict[date, AssessmentDay]:
    """One closed day a date, made once for ever, with the children who have results on it."""
    children: dict[date, set[str]] = {}
    for draft in drafts:
        children.setdefault(draft.on, set()).add(draft.child)
    edition = ProgrammeEdition.objects.current()
    days: dict[date, AssessmentDay] = {}
    for on, codes in children.items():
        closed = _noon(on)
        day, _ = AssessmentDay.objects.get_or_create(
            code=uuid.uuid5(ENTRY_NAMESPACE, f"day|{on.isoformat()}"),
            defaults={
                "held_on": on,
                "status": AssessmentDay.Status.CLOSED,
                "imported": True,
                "edition": edition,
                "created_by": viewer.member,
                "opened_at": closed,
                "closed_at": closed,
            },
        )
        athletes = Athlete.objects.filter(code__in=codes)
        day.groups.add(*Group.objects.filter(athletes__in=athletes).distinct())
        Attendance.objects.bulk_create(
            [Attendance(day=day, athlete=athlete, present=True) for athlete in athletes],
            ignore_conflicts=True,
        )
        days[on] = day
    return days


def _noon(on: date) -> datetime:
    return datetime.combine(on, time(12), UTC)


def _entry(draft: EntryDraft, day: AssessmentDay) -> Entry:
    return Entry(
        id=draft.id,
        tablet=f"import-{draft.child[:8]}",
        seq=draft.id.int % 2_147_483_647 + 1,  # the same for ever, like the id that it comes from
        day=day.code,
        child=uuid.UUID(draft.child),
        measure=draft.item,
        outcome=draft.outcome,
        how="imported",
        t_wall=_noon(draft.on),
        variant=draft.variant,
        side=draft.side,
        trial=draft.trial,
        value=draft.value,
        note=draft.note,
    )
