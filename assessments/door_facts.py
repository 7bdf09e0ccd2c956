"""What the club knows about a batch of entries: asked once, in a fixed number of queries, as plain values."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from assessments.analysis.records import Programme
from assessments.entries import Entry
from assessments.entry_rules import WITHOUT_VALUE, Spec, unusual_about, why_impossible
from assessments.models import (
    AssessmentDay,
    Attendance,
    ProgrammeEdition,
    Protocol,
    Station,
    StationPass,
)
from assessments.programme import NoProgramme, current_programme, programme_of
from athletes.models import AREA_WORDS, AREAS_BLOCKING_ALL, Athlete, RestNote
from club.access import Role, Viewer
from club.models import User

UNKNOWN_DAY = "This test day is not known here."
UNKNOWN_CHILD = "This child is not known here."


@dataclass(frozen=True, slots=True)
class KnownDay:
    """A test day as the door sees it."""

    pk: int
    held_on: date
    status: str
    imported: bool
    programme: Programme | None

    def spec(self, item: str) -> Spec | None:
        """The measure or shape as the day's edition states it."""
        if self.programme is None:
            return None
        return self.programme.measures.get(item) or self.programme.shapes.get(item)

    @property
    def areas_blocking_all(self) -> frozenset[str]:
        """A rest in one of these stops everything."""
        return frozenset(self.programme.areas_blocking_all if self.programme else AREAS_BLOCKING_ALL)


@dataclass(frozen=True, slots=True)
class Seen:
    """One entry with the rows it belongs to; `refusal` says why it cannot be taken."""

    entry: Entry
    seen_at: datetime
    refusal: str = ""
    day: KnownDay | None = None
    athlete_id: int | None = None
    measure_id: int = 0
    protocol_id: int = 0
    judge_id: int | None = None
    pass_id: int | None = None
    spec: Spec | None = None
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Rest:
    areas: frozenset[str]
    opened_on: date
    opened_at: datetime
    ended_on: date | None


@dataclass(frozen=True, slots=True)
class _There:
    present: bool | None
    sore: str
    stopped_at: datetime | None


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything the door asks the database about one batch."""

    viewer: Viewer
    now: datetime
    offset: timedelta
    days: Mapping[uuid.UUID, KnownDay]
    day_groups: Mapping[int, frozenset[int]]
    children: Mapping[uuid.UUID, tuple[int, int | None]]
    protocols: Mapping[tuple[str, int], tuple[int, int]]
    judges: Mapping[uuid.UUID, int]
    passes: Mapping[uuid.UUID, tuple[int, int, datetime, datetime | None]]
    stations: frozenset[tuple[int, int, str]]
    rests: Mapping[int, Sequence[_Rest]]
    there: Mapping[tuple[int, int], _There]

    def look_at(self, entry: Entry) -> Seen:
        """Find what the entry belongs to, and whether it can be taken."""
        seen_at = min(entry.t_wall + self.offset, self.now)
        day = self.days.get(entry.day)
        if day is None:
            return Seen(entry, seen_at, UNKNOWN_DAY)
        child = self.children.get(entry.child)
        if child is None:
            return Seen(entry, seen_at, UNKNOWN_CHILD, day=day)
        athlete_id = child[0]
        spec = day.spec(entry.measure)
        protocol = self.protocols.get((entry.measure, spec.version)) if spec else None
        if spec is None or protocol is None:
            return Seen(entry, seen_at, "This measure is not known here.", day=day, athlete_id=athlete_id)
        refusal = self._too_early(day) or why_impossible(entry, spec)
        if not refusal and entry.outcome not in WITHOUT_VALUE:
            refusal = self._resting(seen_at, day, athlete_id, spec)
        pass_id, pass_flags = self._pass(entry, day)
        return Seen(
            entry,
            seen_at,
            refusal,
            day=day,
            athlete_id=athlete_id,
            measure_id=protocol[1],
            protocol_id=protocol[0],
            judge_id=self.judges.get(entry.judge) if entry.judge else None,
            pass_id=pass_id,
            spec=spec,
            flags=self._flags(entry, day, child, protocol[1]) + unusual_about(entry, spec) + pass_flags,
        )

    def _too_early(self, day: KnownDay) -> str:
        return "This test day has not come yet." if day.held_on > self.viewer.today else ""

    def _resting(self, seen_at: datetime, day: KnownDay, athlete_id: int, spec: Spec) -> str:
        """A rest that began before the day counts for the whole day, one that began on it from its moment on,
        so that what was seen before a child stopped is not lost when it arrives later."""
        there = self.there.get((day.pk, athlete_id))
        if there is not None and there.stopped_at is not None and seen_at > there.stopped_at:
            return "Testing had stopped for this child on this day."
        blocking_all = day.areas_blocking_all
        for rest in self.rests.get(athlete_id, ()):
            touched = rest.areas & blocking_all or rest.areas.intersection(spec.loads)
            began = rest.opened_on < day.held_on or (
                rest.opened_on == day.held_on and rest.opened_at < seen_at
            )
            lasts = rest.ended_on is None or rest.ended_on > day.held_on
            if touched and began and lasts:
                words = ", ".join(AREA_WORDS.get(area, area).lower() for area in sorted(touched))
                return f"This child rests: {words}."
        return ""

    def _pass(self, entry: Entry, day: KnownDay) -> tuple[int | None, tuple[str, ...]]:
        own = self.viewer.station.pass_id if self.viewer.station is not None else None
        if entry.station_pass is None:
            return own, ()
        found = self.passes.get(entry.station_pass)
        if found is None or found[1] != day.pk:
            return own, ("pass_unknown",)
        if found[3] is not None:
            return found[0], ("pass_ended",)
        return found[0], ("pass_expired",) if found[2] <= self.now else ()

    def _flags(
        self, entry: Entry, day: KnownDay, child: tuple[int, int | None], measure_id: int
    ) -> tuple[str, ...]:
        there = self.there.get((day.pk, child[0]))
        said = {
            "newer_schema": entry.schema > 1,
            "judge_unknown": entry.judge is not None and entry.judge not in self.judges,
            "day_not_open": day.status == AssessmentDay.Status.PLANNED,
            "not_in_day_groups": child[1] not in self.day_groups.get(day.pk, frozenset()) and there is None,
            "not_planned": not day.imported and (day.pk, measure_id, entry.variant) not in self.stations,
            "away": there is not None and there.present is False,
            "sore_not_asked": not day.imported
            and entry.outcome not in WITHOUT_VALUE
            and (there is None or there.sore == Attendance.Answer.NOT_ASKED),
        }
        return tuple(flag for flag, holds in said.items() if holds)


def facts_for(entries: Sequence[Entry], viewer: Viewer, *, now: datetime, offset: timedelta) -> Facts:
    """Ask the database once for the whole batch."""
    days = _days({entry.day for entry in entries}, viewer)
    day_ids = [day.pk for day in days.values()]
    codes = {entry.child for entry in entries}
    children = {
        code: (pk, group)
        for code, pk, group in Athlete.objects.visible_to(viewer)
        .filter(code__in=codes)
        .values_list("code", "pk", "group_id")
    }
    return Facts(
        viewer=viewer,
        now=now,
        offset=offset,
        days=days,
        day_groups=_day_groups(day_ids),
        children=children,
        protocols={
            (slug, version): (pk, measure)
            for slug, version, pk, measure in Protocol.objects.filter(
                measure__slug__in={entry.measure for entry in entries}
            ).values_list("measure__slug", "version", "pk", "measure_id")
        },
        judges=_judges({entry.judge for entry in entries if entry.judge}),
        passes=_passes({entry.station_pass for entry in entries if entry.station_pass}),
        stations=frozenset(
            Station.objects.filter(day__in=day_ids).values_list("day_id", "measure_id", "variant")
        ),
        rests=_rests([pk for pk, _ in children.values()]),
        there=_there(entries, days, children, offset=offset),
    )


def _there(
    entries: Sequence[Entry],
    days: Mapping[uuid.UUID, KnownDay],
    children: Mapping[uuid.UUID, tuple[int, int | None]],
    *,
    offset: timedelta,
) -> dict[tuple[int, int], _There]:
    """Who is there and who stopped; a stop inside the batch counts as one that came before."""
    rows = Attendance.objects.filter(
        day__in=[day.pk for day in days.values()], athlete__in=[pk for pk, _ in children.values()]
    )
    found = {
        (day, athlete): _There(present, sore, stopped_at)
        for day, athlete, present, sore, stopped_at in rows.values_list(
            "day_id", "athlete_id", "present", "sore", "stopped_at"
        )
    }
    for entry in entries:
        if entry.outcome == "stopped_for_pain" and entry.day in days and entry.child in children:
            place = (days[entry.day].pk, children[entry.child][0])
            before = found.get(place, _There(True, Attendance.Answer.NOT_ASKED, None))
            moment = entry.t_wall + offset
            stopped_at = min(moment, before.stopped_at) if before.stopped_at else moment
            found[place] = _There(before.present, before.sore, stopped_at)
    return found


def _days(codes: set[uuid.UUID], viewer: Viewer) -> dict[uuid.UUID, KnownDay]:
    # An edition's document is large and read once a process: it stays in the database here.
    rows = AssessmentDay.objects.visible_to(viewer).filter(code__in=codes).select_related("edition")
    return {
        day.code: KnownDay(day.pk, day.held_on, day.status, day.imported, _programme(day.edition))
        for day in rows.defer("edition__document")
    }


def _programme(edition: ProgrammeEdition | None) -> Programme | None:
    try:
        return current_programme() if edition is None else programme_of(edition)
    except NoProgramme:
        return None


def _day_groups(day_ids: Iterable[int]) -> dict[int, frozenset[int]]:
    found: dict[int, set[int]] = {}
    through = AssessmentDay.groups.through
    for day, group in through.objects.filter(assessmentday__in=day_ids).values_list(
        "assessmentday_id", "group_id"
    ):
        found.setdefault(day, set()).add(group)
    return {day: frozenset(groups) for day, groups in found.items()}


def _judges(codes: set[uuid.UUID]) -> dict[uuid.UUID, int]:
    if not codes:
        return {}
    staff = User.objects.filter(code__in=codes, role__in=(Role.COACH, Role.DIRECTOR))
    return dict(staff.values_list("code", "pk"))


def _passes(codes: set[uuid.UUID]) -> dict[uuid.UUID, tuple[int, int, datetime, datetime | None]]:
    if not codes:
        return {}
    rows = StationPass.objects.filter(code__in=codes)
    return {
        code: (pk, day, expires_at, ended_at)
        for code, pk, day, expires_at, ended_at in rows.values_list(
            "code", "pk", "day_id", "expires_at", "ended_at"
        )
    }


def _rests(athlete_ids: Iterable[int]) -> dict[int, list[_Rest]]:
    """Health data: read here whoever is looking, because a rest outranks every right to enter a score."""
    found: dict[int, list[_Rest]] = {}
    for athlete, areas, opened_on, opened_at, ended_on in RestNote.objects.filter(
        athlete__in=athlete_ids
    ).values_list("athlete_id", "areas", "opened_on", "opened_at", "ended_on"):
        found.setdefault(athlete, []).append(_Rest(frozenset(areas), opened_on, opened_at, ended_on))
    return found
