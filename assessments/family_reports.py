"""Notes for families: written from what is known, changed, approved, taken back. Kept as they were given."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction
from django.utils import timezone

from assessments.family_text import HIGHEST_GRADE, reading_grade
from assessments.family_words import compose
from assessments.models import FamilyReport, ProgrammeEdition
from assessments.report_records import AthleteReport
from athletes.models import Athlete, Consent
from club import audit
from club.access import Viewer

TEXTS = ("title", "lead", "grew", "next_step", "home")
SEASONS = ("Winter", "Spring", "Summer", "Autumn")


class CannotRelease(ValueError):
    """Why a note does not go out, in words for the coach."""


def write(athlete: Athlete, *, report: AthleteReport, viewer: Viewer) -> FamilyReport:
    """A draft from the child's results of today; nobody but staff sees it."""
    note = compose(
        athlete.first_name,
        programme=report.programme,
        lines=report.interpretations,
        skills=report.skills,
        rests=report.rests,
        on=report.on,
    )
    made = FamilyReport.objects.create(
        athlete=athlete,
        title=season_words(report.on),
        body=note.body(),
        edition=ProgrammeEdition.objects.filter(number=report.programme.edition).first(),
        written_by=viewer.member,
        written_at=timezone.now(),
    )
    audit.note(viewer, "wrote a family note", athlete)
    return made


def change(note: FamilyReport, texts: Mapping[str, Any], *, viewer: Viewer) -> bool:
    """Put the coach's words into a draft; False when it has been released meanwhile."""
    body = {**note.body, **texts}
    changed = _drafts(note).update(body=body)
    if changed:
        audit.note(viewer, "changed a family note", note.athlete)
    return bool(changed)


def approve(note: FamilyReport, *, viewer: Viewer) -> None:
    """Release a draft to the child's family. Safe to repeat."""
    with transaction.atomic():
        consents = Consent.objects.filter(athlete=note.athlete, purpose="family_notes")
        if consents.exists() and not consents.in_force().exists():
            raise CannotRelease("The family withdrew its yes to notes in the app. Talk to them instead.")
        changed = _drafts(note).update(
            status=FamilyReport.Status.APPROVED, approved_by=viewer.member, approved_at=timezone.now()
        )
        if changed:
            audit.note(viewer, "released a family note", note.athlete)


def withdraw(note: FamilyReport, *, viewer: Viewer) -> None:
    """Take a note back: it disappears for the family and stays, marked, for the staff."""
    with transaction.atomic():
        changed = (
            FamilyReport.objects.filter(pk=note.pk)
            .exclude(status=FamilyReport.Status.WITHDRAWN)
            .update(
                status=FamilyReport.Status.WITHDRAWN,
                withdrawn_by=viewer.member,
                withdrawn_at=timezone.now(),
            )
        )
        if changed:
            audit.note(viewer, "took back a family note", note.athlete)


def warnings_about(note: FamilyReport, others: Mapping[str, Any]) -> tuple[str, ...]:
    """What a coach should look at before a note goes out; `others` are first names in the group."""
    text = "\n".join(str(note.body.get(name, "")) for name in TEXTS)
    name = note.athlete.first_name
    found = []
    grade = reading_grade(text, name=name)
    if grade > HIGHEST_GRADE:
        found.append(f"Reads like school year {round(grade)}. Shorter words and sentences help.")
    known = set(text.replace(".", " ").replace(",", " ").replace("’", " ").split())
    named = sorted(other for other in others if other != name and other in known)
    if named:
        found.append(f"It says {', '.join(named)}. If that is another child, take the name out.")
    if note.athlete.restricted:
        found.append("Disclosure is restricted: only a named adult will see it. Check with the director.")
    return tuple(found)


def season_words(on: date) -> str:
    """Such as 'Autumn 2026'; a winter carries the year in which it began."""
    year = on.year - 1 if on.month < 3 else on.year
    return f"{SEASONS[on.month % 12 // 3]} {year}"


def _drafts(note: FamilyReport) -> Any:
    return FamilyReport.objects.filter(pk=note.pk, status=FamilyReport.Status.DRAFT)
