"""What waits for a coach or a director today: days, words about skills, stale evidence, rests, entries to settle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from assessments.models import AssessmentDay, RefusedEntry
from assessments.report_records import ChildLine, GroupReport
from assessments.reports import group_report
from athletes.models import Athlete, Group, RestNote
from club.access import Can, Viewer

AHEAD_DAYS = 14
STALE_WEEKS = 12
SHOWN = 8


@dataclass(frozen=True, slots=True)
class Waiting:
    """One skill that looks ready and has no word of a coach yet."""

    child: ChildLine
    skill: str
    skill_name: str


@dataclass(frozen=True, slots=True)
class GroupLine:
    """One group in a line."""

    group: Group
    children: int
    ready: int
    stale: int
    last_on: date | None


@dataclass(frozen=True, slots=True)
class Today:
    """The start page of the staff."""

    open_days: tuple[AssessmentDay, ...]
    coming_days: tuple[AssessmentDay, ...]
    waiting: tuple[Waiting, ...]
    waiting_count: int
    stale: tuple[tuple[ChildLine, date | None], ...]
    stale_count: int
    groups: tuple[GroupLine, ...]
    resting: tuple[RestNote, ...]
    came_back: frozenset[int]  # rest notes whose area rested already in the 90 days before
    to_settle: int


def today_for(viewer: Viewer) -> Today:
    """Everything inside the viewer's circle, children in name order; queries do not grow with them."""
    days = list(
        AssessmentDay.objects.visible_to(viewer)
        .exclude(status=AssessmentDay.Status.CLOSED)
        .filter(held_on__lte=viewer.today + timedelta(days=AHEAD_DAYS))
        .order_by("held_on", "pk")
    )
    athletes = list(
        Athlete.objects.visible_to(viewer)
        .training(viewer.today)
        .filter(group__is_active=True)
        .in_name_order()
    )
    report = group_report(athletes, viewer.today)
    waiting = _waiting(report)
    seen = {line.code: report.last_on(line.code) for line in report.children}
    limit = viewer.today - timedelta(weeks=STALE_WEEKS)
    stale = [(line, on) for line in report.children if (on := seen[line.code]) is None or on < limit]
    resting = RestNote.objects.visible_to(viewer).open().select_related("athlete")
    return Today(
        open_days=tuple(day for day in days if day.status == AssessmentDay.Status.OPEN),
        coming_days=tuple(day for day in days if day.status == AssessmentDay.Status.PLANNED),
        waiting=tuple(waiting[:SHOWN]),
        waiting_count=len(waiting),
        stale=tuple(stale[:SHOWN]),
        stale_count=len(stale),
        groups=_groups(
            viewer, athletes, waiting=waiting, stale=frozenset(line.code for line, _ in stale), seen=seen
        ),
        resting=tuple(resting),
        came_back=resting.returning(),
        to_settle=RefusedEntry.objects.visible_to(viewer).waiting().count()
        if viewer.can(Can.SETTLE_RESULTS)
        else 0,
    )


def _waiting(report: GroupReport) -> list[Waiting]:
    skills = report.programme.skills.values()
    return [
        Waiting(child, skill.id, skill.name)
        for child in report.children
        for skill in skills
        if report.word(child.code, skill.id) == "ready"
        and not report.coach_word(child.code, skill.id)
        and not report.put_off(child.code, skill.id)
    ]


def _groups(
    viewer: Viewer,
    athletes: Sequence[Athlete],
    *,
    waiting: Sequence[Waiting],
    stale: frozenset[str],
    seen: dict[str, date | None],
) -> tuple[GroupLine, ...]:
    members: dict[int, list[str]] = {}
    for athlete in athletes:
        if athlete.group_id is not None:
            members.setdefault(athlete.group_id, []).append(str(athlete.code))
    ready = {one.child.code for one in waiting}
    return tuple(
        GroupLine(
            group=group,
            children=len(codes := members.get(group.pk, [])),
            ready=sum(code in ready for code in codes),
            stale=sum(code in stale for code in codes),
            last_on=max((on for code in codes if (on := seen[code]) is not None), default=None),
        )
        for group in Group.objects.visible_to(viewer).active()
    )
