"""A planned day's children and stations -> who goes where and when, in minutes from the start."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass

from assessments.analysis import Turn, plan_rotation, stop_for
from assessments.analysis.records import MeasureSpec, ShapeSpec
from assessments.report_records import ChildLine, DaySheet
from athletes.ages import completed_years

FEWEST_MINUTES, MOST_MINUTES, USUAL_MINUTES = 10, 180, 45
OTHERS = "a child of another group"


@dataclass(frozen=True, slots=True)
class Going:
    """One child at one station."""

    name: str  # of the station for a child, of the child for a station
    begins: str  # such as 4:20 from the start
    ends: str
    place: int


@dataclass(frozen=True, slots=True)
class ChildRow:
    """One child's way round."""

    child: ChildLine
    goings: tuple[Going, ...]
    left_out: tuple[tuple[str, str], ...]  # station and reason


@dataclass(frozen=True, slots=True)
class StationRow:
    """One station's children in order."""

    spec: MeasureSpec | ShapeSpec
    goings: tuple[Going, ...]


@dataclass(frozen=True, slots=True)
class DayRotation:
    """The plan of one test day."""

    minutes: int  # there are
    needed: str  # until the last child is done
    children: tuple[ChildRow, ...]
    stations: tuple[StationRow, ...]
    left_out: int


def stations_of(sheet: DaySheet) -> tuple[MeasureSpec | ShapeSpec, ...]:
    """What the day asks, each item once: versions of one item share a station."""
    return tuple(sheet.programme.item(item) for item in dict.fromkeys(one.item for one in sheet.stations))


def rotation_of(
    sheet: DaySheet, *, minutes: int, places: Mapping[str, int], seen: Container[str]
) -> DayRotation:
    """Children who are not away, round the day's stations; several versions of one item share a station.

    One plan for the whole day, whoever looks; children whose code is not in `seen` keep their place unnamed.
    """
    specs = stations_of(sheet)
    here = [one.child for one in sheet.children if one.present is not False]
    turns = [Turn(one.code, completed_years(one.born_on, sheet.on), one.resting) for one in here]
    stops = [stop_for(spec, places=places.get(spec.id, 1)) for spec in specs]
    plan = plan_rotation(turns, stops, minutes=minutes, rest_everything=sheet.programme.areas_blocking_all)
    names = {spec.id: spec.name for spec in specs}
    children = {one.code: one.name if one.code in seen else OTHERS for one in here}
    return DayRotation(
        minutes=minutes,
        needed=_clock(plan.seconds),
        children=tuple(
            ChildRow(
                child,
                tuple(
                    Going(names[visit.item], _clock(visit.begins), _clock(visit.ends), visit.place)
                    for visit in plan.visits
                    if visit.athlete == child.code
                ),
                tuple((names[one.item], one.reason) for one in plan.left_out if one.athlete == child.code),
            )
            for child in here
            if child.code in seen
        ),
        stations=tuple(
            StationRow(
                spec,
                tuple(
                    Going(children[visit.athlete], _clock(visit.begins), _clock(visit.ends), visit.place)
                    for visit in plan.visits
                    if visit.item == spec.id
                ),
            )
            for spec in specs
        ),
        left_out=len(plan.left_out),
    )


def _clock(seconds: int) -> str:
    return f"{seconds // 60}:{seconds % 60:02d}"
