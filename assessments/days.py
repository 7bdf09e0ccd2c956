"""A test day as its people see it: planned, opened, watched, closed. What is in and what is not, by number."""

from __future__ import annotations

import secrets
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db import transaction
from django.db.models import Count, Q
from django.utils import timezone

from assessments.analysis.ordering import WRIST, apart, stage_of
from assessments.analysis.records import MeasureSpec, Programme, ShapeSpec
from assessments.attendance import roll_of
from assessments.floor_sheet import programme_for
from assessments.models import (
    AssessmentDay,
    Attendance,
    Measure,
    ProgrammeEdition,
    RefusedEntry,
    Result,
    Station,
    StationPass,
)
from assessments.models.results import EVIDENCE
from assessments.reconciling import TabletLine, tablet_lines
from club import audit
from club.access import Viewer

SHAPE_SECONDS = 60
Spec = MeasureSpec | ShapeSpec


@dataclass(frozen=True, slots=True)
class StationLine:
    """One station and how far it is."""

    station: Station
    name: str
    variant_words: str
    seconds: int
    loads: tuple[str, ...]
    done: int
    expected: int

    @property
    def share(self) -> int:
        """Done of expected in whole hundredths, for a bar."""
        return min(100, round(100 * self.done / self.expected)) if self.expected else 0


@dataclass(frozen=True, slots=True)
class DaySheet:
    """What the page of a day shows."""

    day: AssessmentDay
    roll: list[Attendance]
    stations: list[StationLine]
    tablets: list[TabletLine]
    entries: int
    late: int
    contested: int
    refused: int

    @property
    def present(self) -> int:
        """Children who are there."""
        return sum(row.present is True for row in self.roll)

    @property
    def away(self) -> int:
        """Children who are not."""
        return sum(row.present is False for row in self.roll)

    @property
    def not_asked(self) -> int:
        """Children, not away, whom nobody asked whether something is sore."""
        return sum(row.present is not False and row.sore == Attendance.Answer.NOT_ASKED for row in self.roll)

    @property
    def stopped(self) -> list[Attendance]:
        """Children whose testing ended today."""
        return [row for row in self.roll if row.stopped_at is not None]

    @property
    def open_ends(self) -> list[str]:
        """Why the day is not green yet, in words; empty when everything is in."""
        found = [_behind(line) for line in self.tablets if not line.equal]
        if self.contested:
            found.append("Some results stand twice in one place. Say which one counts.")
        if self.refused:
            found.append("Some entries could not be taken. Settle them.")
        return found


def _behind(line: TabletLine) -> str:
    if line.made is None:
        return f"{line.label} has not said yet how many entries it holds. Open the floor on it once."
    if line.waiting:
        return f"{line.label} still holds {line.waiting} that the club has not got. Bring it into the wifi."
    if line.gaps:
        return f"{line.label}: number {', '.join(map(str, line.gaps[:5]))} never came."
    if not line.complete or line.seen_at is None:
        return f"{line.label} made {line.made}, and {line.stored + line.refused} are here."
    heard = timezone.localtime(line.seen_at)
    return f"{line.label} was last heard at {heard:%H:%M}. Open the floor on it."


def day_sheet(day: AssessmentDay, viewer: Viewer) -> DaySheet:
    """Everything about one day, in a fixed number of queries."""
    roll = roll_of(day, viewer)
    results = Result.objects.for_day(day)
    counts = results.aggregate(entries=Count("pk"), late=Count("pk", filter=Q(late=True)))
    return DaySheet(
        day=day,
        roll=roll,
        stations=_station_lines(day, roll),
        tablets=tablet_lines(day),
        entries=counts["entries"],
        late=counts["late"],
        contested=results.contested().count(),
        refused=RefusedEntry.objects.waiting().filter(day=day).count(),
    )


def _station_lines(day: AssessmentDay, roll: Sequence[Attendance]) -> list[StationLine]:
    programme = programme_for(day)
    seen = Result.objects.for_day(day).current().filter(outcome__in=EVIDENCE).order_by()
    done = Counter(
        {
            (measure, variant): children
            for measure, variant, children in seen.values_list("measure_id", "variant").annotate(
                children=Count("athlete", distinct=True)
            )
        }
    )
    expected = sum(row.present is not False and row.stopped_at is None for row in roll)
    lines = []
    for station in day.stations.select_related("measure").order_by("order", "pk"):
        spec = spec_of(programme, station.measure.slug)
        count = done[(station.measure_id, station.variant)]
        words = variant_words(spec, station.variant)
        lines.append(
            StationLine(
                station,
                spec.name if spec else station.measure.name,
                words,
                seconds_of(spec),
                tuple(spec.loads) if spec else (),
                count,
                max(expected, count),
            )
        )
    return lines


def spec_of(programme: Programme | None, item: str) -> Spec | None:
    """The measure or shape as the edition states it."""
    if programme is None:
        return None
    return programme.measures.get(item) or programme.shapes.get(item)


def variant_words(spec: Spec | None, variant: str) -> str:
    """The version of a measure in words."""
    known = spec.variant_words if isinstance(spec, MeasureSpec) else {}
    return known.get(variant, variant.replace("_", " "))


def units_of(day: AssessmentDay) -> dict[str, str]:
    """The unit of each measure and shape, by id, in the day's edition."""
    programme = programme_for(day)
    if programme is None:
        return {}
    measures = {spec.id: spec.unit for spec in programme.measures.values()}
    return measures | {spec.id: spec.unit for spec in programme.shapes.values()}


def seconds_of(spec: Spec | None) -> int:
    """About how long one child takes."""
    return spec.seconds_per_child if isinstance(spec, MeasureSpec) else SHAPE_SECONDS


def in_good_order(specs: Sequence[Spec]) -> list[Spec]:
    """Fresh and calm first, tiring last, and no two that load the wrists in a row where that can be helped."""
    stages: list[list[Spec]] = [[] for _ in range(8)]
    for spec in specs:
        stages[stage_of(spec.id, spec.kind)].append(spec)
    placed, left = apart(stages, lambda spec: WRIST in spec.loads, needed=specs)
    return [*placed, *left]


@transaction.atomic
def set_stations(day: AssessmentDay, wanted: Sequence[tuple[str, str]]) -> None:
    """The stations of a day by item and version, in order. A station that stays keeps its code."""
    known = {(row.measure.slug, row.variant): row for row in day.stations.select_related("measure")}
    measures = {row.slug: row for row in Measure.objects.filter(slug__in={item for item, _ in wanted})}
    for order, place in enumerate(wanted, start=1):
        row = known.pop(place, None) or Station(day=day, measure=measures[place[0]], variant=place[1])
        row.order = order
        row.save()
    Station.objects.filter(pk__in=[row.pk for row in known.values()]).delete()


def open_day(day: AssessmentDay, viewer: Viewer) -> None:
    """The day takes results; from now on it speaks of the edition that counts today."""
    current = ProgrammeEdition.objects.current()
    planned = AssessmentDay.objects.filter(pk=day.pk, status=AssessmentDay.Status.PLANNED)
    planned.update(status=AssessmentDay.Status.OPEN, opened_at=timezone.now(), edition=current)
    audit.note(viewer, "opened a test day", day, two_adults=day.open_space)


def close_day(day: AssessmentDay, viewer: Viewer, *, words: str) -> None:
    """No more results are expected. What still comes is taken and marked late, so passes run on."""
    AssessmentDay.objects.filter(pk=day.pk).update(
        status=AssessmentDay.Status.CLOSED, closed_at=timezone.now(), closing_words=words[:200]
    )
    audit.note(viewer, "closed a test day", day, everything_in=not words)


def reopen_day(day: AssessmentDay, viewer: Viewer) -> None:
    """Take results again, not marked late."""
    closed = AssessmentDay.objects.filter(pk=day.pk, status=AssessmentDay.Status.CLOSED)
    closed.update(status=AssessmentDay.Status.OPEN, closed_at=None, closing_words="")
    audit.note(viewer, "reopened a test day", day)


def make_pass(day: AssessmentDay, viewer: Viewer, *, label: str) -> tuple[StationPass, str]:
    """A pass for one tablet and its token, which is shown once and never kept."""
    token = secrets.token_urlsafe(24)
    made = StationPass.objects.create(
        day=day,
        label=label,
        digest=StationPass.digest_of(token),
        created_by=viewer.member,
        expires_at=_end_of(max(day.held_on, viewer.today)),
    )
    audit.note(viewer, "made a station pass", made)
    return made, token


def end_pass(station_pass: StationPass, viewer: Viewer) -> None:
    """The pass ends now; what its tablet still holds is sent by somebody who signs in."""
    StationPass.objects.filter(pk=station_pass.pk, ended_at=None).update(ended_at=timezone.now())
    audit.note(viewer, "ended a station pass", station_pass)


def _end_of(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day + timedelta(days=1), time.min))
