"""Bring a club's list of children in: look first, then add and update. Nothing is ever deleted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django.db import transaction

from athletes.known_children import KnownChild
from athletes.models import Athlete, Group, Guardian
from athletes.person_names import PersonName
from athletes.roster_file import Answer, ChildPlan, Contact, Question, RosterFile, RosterRow, match_children
from athletes.sheet_file import Problem, fold
from club import audit
from club.access import Role, Viewer
from club.models import User


@dataclass(frozen=True, slots=True)
class ChildChange:
    """What will happen to one child, in words, and what to write."""

    code: str  # "" for a new child
    name: PersonName
    born_on: date
    lines: tuple[str, ...]
    group: str = ""  # "" leaves the group as it is
    joined_on: date | None = None
    contacts: tuple[Contact, ...] = ()
    words: tuple[str, ...] = ()

    @property
    def is_new(self) -> bool:
        """True for a child whom the club does not have yet."""
        return not self.code


@dataclass(frozen=True, slots=True)
class RosterPreview:
    """What applying would do."""

    added: tuple[ChildChange, ...]
    updated: tuple[ChildChange, ...]
    unchanged: int
    new_groups: tuple[str, ...]
    questions: tuple[Question, ...]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]
    asks_order: bool = False

    @property
    def is_clear(self) -> bool:
        """Nothing waits for a person."""
        return not self.problems and not self.questions

    @property
    def waiting(self) -> int:
        """Lines that are left out until somebody settles them."""
        lines = {(problem.sheet, problem.line) for problem in self.problems}
        return len(lines | {(question.row.sheet, question.row.line) for question in self.questions})


@dataclass(slots=True)
class _Findings:
    """Collected while the children are compared."""

    problems: list[Problem]
    notes: list[str]
    groups: dict[str, str]  # folded name -> name, those of the club and those that the file adds
    new_groups: list[str]

    def group(self, written: str) -> str:
        """The group's name as the club writes it; a new one is taken as written."""
        if fold(written) not in self.groups:
            self.groups[fold(written)] = written
            self.new_groups.append(written)
        return self.groups[fold(written)]


def known_children() -> list[KnownChild]:
    """Every child of the club, those who left included."""
    rows = Athlete.objects.order_by("pk").values_list(
        "code", "first_name", "last_name", "born_on", "group__name"
    )
    return [
        KnownChild(str(code), PersonName(first, last), born_on, group or "")
        for code, first, last, born_on, group in rows
    ]


def preview(file: RosterFile, answers: Mapping[str, Answer] | None = None) -> RosterPreview:
    """What a list would add and change. Writes nothing."""
    plans, questions = match_children(file.rows, known_children(), answers or {})
    names = Group.objects.values_list("name", flat=True)
    findings = _Findings(list(file.problems), list(file.notes), {fold(name): name for name in names}, [])
    here = {
        str(athlete.code): athlete
        for athlete in Athlete.objects.filter(code__in=[plan.code for plan in plans if plan.code])
        .select_related("group")
        .prefetch_related("guardians")
    }
    changes = [change for plan in plans if (change := _change(plan, here.get(plan.code), findings))]
    return RosterPreview(
        added=tuple(change for change in changes if change.is_new),
        updated=tuple(change for change in changes if not change.is_new and change.words),
        unchanged=sum(1 for change in changes if not change.is_new and not change.words),
        new_groups=tuple(findings.new_groups),
        questions=questions,
        problems=tuple(findings.problems),
        notes=tuple(findings.notes),
        asks_order=file.asks_order,
    )


def _change(plan: ChildPlan, athlete: Athlete | None, findings: _Findings) -> ChildChange | None:
    lines = tuple(row.where for row in plan.rows)
    groups = {fold(row.group): row for row in plan.rows if row.group}
    if len(groups) > 1:
        findings.problems.append(_two_groups(plan, list(groups.values())))
        return None
    if len(lines) > 1:
        findings.notes.append(f"{' and '.join(lines)} are one child, {plan.name}, and are taken together.")
    group = findings.group(next(iter(groups.values())).group) if groups else ""
    contacts = {contact.email: contact for row in reversed(plan.rows) for contact in row.contacts}
    joined_on = next((row.joined_on for row in plan.rows if row.joined_on), None)
    change = ChildChange(
        plan.code,
        plan.name,
        plan.born_on,
        lines,
        group,
        joined_on,
        tuple(contacts[e] for e in sorted(contacts)),
    )
    return _difference(change, athlete, findings) if athlete else change


def _two_groups(plan: ChildPlan, rows: list[RosterRow]) -> Problem:
    written = " and ".join(f"{row.group} ({row.where})" for row in rows)
    last = rows[-1]
    return Problem(last.where, f"{plan.name} is in {written}; a child has one group.", last.line, last.sheet)


def _difference(change: ChildChange, athlete: Athlete, findings: _Findings) -> ChildChange:
    """Only what differs from the child who is here."""
    words: list[str] = []
    group, joined_on = change.group, change.joined_on
    old_group = athlete.group.name if athlete.group else ""
    if athlete.left_on:
        findings.notes.append(
            f"{change.name} is marked as left on {athlete.left_on.isoformat()} and stays so."
        )
    if change.born_on != athlete.born_on:
        words.append(f"date of birth {athlete.born_on.isoformat()} → {change.born_on.isoformat()}")
    if group and group != old_group:
        words.append(f"group {old_group or 'none'} → {group}")
    if joined_on in (None, athlete.joined_on) or (
        athlete.left_on and joined_on and joined_on > athlete.left_on
    ):
        joined_on = None
    else:
        words.append(f"joined {athlete.joined_on.isoformat()} → {joined_on}")
    held = {grant.email.casefold(): grant for grant in athlete.guardians.all()}
    contacts = tuple(contact for contact in change.contacts if contact.email not in held)
    words += [f"guardian {contact.email} added" for contact in contacts]
    findings.notes += [
        f"{contact.email} was withdrawn for {change.name} and stays so."
        for contact in change.contacts
        if contact.email in held and held[contact.email].revoked_at
    ]
    return ChildChange(
        change.code, change.name, change.born_on, change.lines, group, joined_on, contacts, tuple(words)
    )


@transaction.atomic
def apply(preview: RosterPreview, viewer: Viewer) -> int:
    """Write what the preview showed, lines without a question only. Returns how many children changed."""
    wanted = {change.group for change in (*preview.added, *preview.updated) if change.group}
    for name in preview.new_groups:
        if name in wanted:
            Group.objects.get_or_create(name=name)
    groups = {group.name: group for group in Group.objects.filter(name__in=wanted)}
    for change in preview.added:
        athlete = Athlete.objects.create(
            first_name=change.name.first,
            last_name=change.name.last,
            born_on=change.born_on,
            group=groups.get(change.group),
            joined_on=change.joined_on or viewer.today,
        )
        _grant(athlete, change, viewer)
    for change in preview.updated:
        athlete = Athlete.objects.get(code=change.code)
        athlete.born_on = change.born_on
        athlete.group = groups.get(change.group, athlete.group)
        athlete.joined_on = change.joined_on or athlete.joined_on
        athlete.save(update_fields=["born_on", "group", "joined_on"])
        audit.note(viewer, "changed a child from a list", athlete)
        _grant(athlete, change, viewer)
    changed = len(preview.added) + len(preview.updated)
    if changed:
        audit.note(viewer, "brought in a list", added=len(preview.added), updated=len(preview.updated))
    return changed


def _grant(athlete: Athlete, change: ChildChange, viewer: Viewer) -> None:
    for contact in change.contacts:
        member = User.objects.filter(email=contact.email, role=Role.GUARDIAN, is_active=True).first()
        Guardian.objects.get_or_create(
            athlete=athlete,
            email=contact.email,
            defaults={"name": contact.name[:120], "member": member, "granted_by": viewer.member},
        )
