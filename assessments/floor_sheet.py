"""Everything a tablet may know of one test day, as plain JSON: first name, initial, group and birth month, and
which body areas rest. No birth date, no family name, no word of a rest note."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import Q

from assessments.analysis.records import MeasureSpec, Programme, ShapeSpec
from assessments.attendance import roll_of
from assessments.models import AssessmentDay, Attendance, Result
from assessments.programme import NoProgramme, current_programme, programme_of
from athletes.models import AREA_WORDS, AREAS_BLOCKING_ALL, Coaching, RestNote
from club.access import Role, Viewer
from club.models import User

_MONTHS = ("", "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
STANDING_FIELDS = (
    "code", "athlete__code", "measure__slug", "variant", "side", "trial", "value", "levels", "outcome", "second",
)  # fmt: skip


def floor_sheet(day: AssessmentDay, viewer: Viewer) -> dict[str, Any]:
    """The day for a tablet. Asked again whenever the tablet has contact."""
    programme = programme_for(day)
    roll = roll_of(day, viewer)
    resting = _resting(day, [row.athlete_id for row in roll])
    return {
        "day": _day(day),
        "children": [
            _child(row, number, resting.get(row.athlete_id, [])) for number, row in enumerate(roll, start=1)
        ],
        "stations": list(_stations(day, programme)),
        "judges": [{"code": str(code), "name": name} for code, name in judges_of(day)],
        "areas": [{"id": area, "words": words} for area, words in AREA_WORDS.items()],
        "blocking": sorted(programme.areas_blocking_all if programme else AREAS_BLOCKING_ALL),
        "standing": _standing(day, [row.athlete_id for row in roll]),
    }


def programme_for(day: AssessmentDay) -> Programme | None:
    """The edition that the day was planned with; the current one when none was named."""
    try:
        return current_programme() if day.edition is None else programme_of(day.edition)
    except NoProgramme:
        return None


def judges_of(day: AssessmentDay) -> list[tuple[Any, str]]:
    """Who may judge: the day's coaches and its lead; without any, whoever coaches its groups."""
    coaching = Coaching.objects.filter(group__in=day.groups.all()).on(day.held_on)
    named = User.objects.filter(Q(days=day) | Q(led_days=day))
    people = named if named.exists() else User.objects.filter(pk__in=coaching.values("coach"))
    staff = people.filter(is_active=True, role__in=(Role.COACH, Role.DIRECTOR))
    return list(staff.distinct().order_by("name").values_list("code", "name"))


def _day(day: AssessmentDay) -> dict[str, Any]:
    return {
        "code": str(day.code),
        "title": str(day),
        "held_on": day.held_on.isoformat(),
        "status": day.status,
        "play": day.familiarisation,
        "groups": list(day.groups.order_by("name").values_list("name", flat=True)),
    }


def _child(row: Attendance, number: int, resting: list[str]) -> dict[str, Any]:
    child = row.athlete
    return {
        "code": str(child.code),
        "first_name": child.first_name,
        "initial": child.last_name[:1],
        "group": child.group.name if child.group else "",
        "birth_month": _MONTHS[child.born_on.month],
        "present": row.present,
        "sore": row.sore,
        "stopped": row.stopped_at is not None,
        "resting": resting,
        "order": number,
    }


def _resting(day: AssessmentDay, athlete_ids: Iterable[int]) -> dict[int, list[str]]:
    found: dict[int, set[str]] = {}
    notes = RestNote.objects.in_force(day.held_on).filter(athlete__in=list(athlete_ids))
    for athlete, areas in notes.values_list("athlete_id", "areas"):
        found.setdefault(athlete, set()).update(areas)
    return {athlete: sorted(areas) for athlete, areas in found.items()}


def _stations(day: AssessmentDay, programme: Programme | None) -> Iterable[dict[str, Any]]:
    if programme is None:
        return
    for station in day.stations.select_related("measure").order_by("order", "pk"):
        item = station.measure.slug
        if item in programme.measures:
            said = _measure(programme.measures[item], station.variant, programme)
        elif item in programme.shapes:
            said = _shape(programme.shapes[item])
        else:
            continue
        yield {"code": str(station.code), "variant": station.variant, **said}


def _measure(spec: MeasureSpec, variant: str, programme: Programme) -> dict[str, Any]:
    held = [shape for shape in programme.shapes.values() if spec.id in shape.holds]
    return {
        "measure": spec.id,
        "name": spec.name,
        "kind": spec.kind,
        "unit": spec.unit,
        "variant_name": spec.variant_words.get(variant, variant.replace("_", " ")),
        "sides": spec.sides,
        "attempts": spec.attempts,
        "combine": spec.combine,
        "cap": spec.cap,
        "warn": list(spec.limits.warn),
        "refuse": list(spec.limits.refuse),
        "precision": spec.precision,
        "age_min": spec.age_min,
        "loads": list(spec.loads),
        "seconds_per_child": spec.seconds_per_child,
        "version": spec.version,
        "text": dict(spec.text),
        "variant_text": spec.variant_texts.get(variant, ""),
        "stop_rules": list(spec.stop_rules),
        "breaks": [
            {"id": criterion.id, "words": criterion.fault or criterion.name}
            for shape in held
            for criterion in shape.criteria
        ],
        "criteria": [],
    }


def _shape(spec: ShapeSpec) -> dict[str, Any]:
    return {
        "measure": spec.id,
        "name": spec.name,
        "kind": "shape",
        "unit": spec.unit,
        "variant_name": "",
        "sides": False,
        "attempts": 2,
        "combine": spec.combine,
        "cap": spec.cap,
        "warn": [],
        "refuse": [],
        "precision": 1,
        "age_min": spec.age_min,
        "loads": list(spec.loads),
        "seconds_per_child": 60,
        "version": spec.version,
        "text": {"position": spec.position, "viewpoint": spec.viewpoint, "gate": spec.gate},
        "variant_text": "",
        "stop_rules": [],
        "breaks": [],
        "criteria": [
            {
                "id": criterion.id,
                "name": criterion.name,
                "must_have": criterion.must_have,
                "levels": [criterion.not_yet, criterion.with_reminder, criterion.on_own],
                "cue": criterion.cue,
                "fault": criterion.fault,
            }
            for criterion in spec.criteria
        ],
    }


def _standing(day: AssessmentDay, athlete_ids: Iterable[int]) -> list[dict[str, Any]]:
    """What stands already, so that a second tablet does not ask for it again."""
    rows = Result.objects.for_day(day).filter(athlete__in=list(athlete_ids)).current()
    names = ("id", "child", "measure", "variant", "side", "trial", "value", "levels", "outcome", "second")
    found = []
    for row in rows.order_by("pk").values_list(*STANDING_FIELDS):
        said = dict(zip(names, row, strict=True))
        found.append({**said, "id": str(said["id"]), "child": str(said["child"])})
    return found
