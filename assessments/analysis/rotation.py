"""Children, stations, minutes -> who goes where and when on a test day.

Everything about order and amounts is common practice without a source: calm before tiring, wrists never
twice in a row, a few tests a visit, and short visits for the youngest. What does not fit is listed with its
reason instead of being squeezed in.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from assessments.analysis.ordering import TIRING_FOR_ARMS, UPSIDE_DOWN, WRIST, apart, stage_of
from assessments.analysis.records import MeasureSpec, ShapeSpec

#: Completed years -> most tests on one visit. Below and above the ends the nearest age counts.
MOST_BY_AGE = {4: 5, 5: 6, 6: 8, 7: 8, 8: 10, 9: 10}
#: Completed years -> most minutes of one child on one visit.
MINUTES_BY_AGE = {4: 15, 5: 15, 6: 20, 7: 20, 8: 25, 9: 25}
WALK_SECONDS = 20
SHAPE_SECONDS = 45
REST_EVERYTHING = ("head", "hip", "general")


@dataclass(frozen=True, slots=True)
class Stop:
    """One station: one item and how long a child takes there."""

    item: str
    stage: int
    seconds: int
    loads: tuple[str, ...] = ()
    age_min: int = 0
    places: int = 1  # children at the station at the same time


@dataclass(frozen=True, slots=True)
class Turn:
    """A child who is here today."""

    athlete: str
    age: int  # completed years
    resting: tuple[str, ...] = ()  # body areas
    wants: tuple[str, ...] = ()  # items most needed first; empty = every station


@dataclass(frozen=True, slots=True)
class Visit:
    """A child at a station, in seconds from the start."""

    athlete: str
    item: str
    place: int  # which of the station's places, from 1
    begins: int
    ends: int


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A test that a child does not get on this visit, and why."""

    athlete: str
    item: str
    reason: str


@dataclass(frozen=True, slots=True)
class Rotation:
    """The plan of a test day."""

    visits: tuple[Visit, ...]  # by time
    left_out: tuple[LeftOut, ...]
    seconds: int  # until the last child is done


def stop_for(spec: MeasureSpec | ShapeSpec, *, places: int = 1) -> Stop:
    """A station for one measure or shape of the programme."""
    seconds = spec.seconds_per_child if isinstance(spec, MeasureSpec) else SHAPE_SECONDS
    return Stop(spec.id, stage_of(spec.id, spec.kind), seconds, spec.loads, spec.age_min, places)


def plan_rotation(
    turns: Sequence[Turn],
    stops: Sequence[Stop],
    *,
    minutes: int,
    most_by_age: Mapping[int, int] = MOST_BY_AGE,
    minutes_by_age: Mapping[int, int] = MINUTES_BY_AGE,
    rest_everything: Collection[str] = REST_EVERYTHING,
) -> Rotation:
    """A test-day rotation. Each child's tests are chosen and ordered first, then children share the stations.

    Order: stages from lying down to upside down, wrist-loading tests apart, nothing upside down after tiring
    arm work. Sharing: whoever can start earliest goes next, in the order of the list given; a child keeps own
    order, so stations fill one after the other. Not an optimum; a plan that a coach can read. Empty lists give
    an empty plan.
    """
    if minutes < 0 or len({turn.athlete for turn in turns}) < len(turns):
        raise ValueError("A rotation needs minutes of at least 0 and each child once.")
    if len({stop.item for stop in stops}) < len(stops) or any(
        stop.seconds <= 0 or stop.places < 1 for stop in stops
    ):
        raise ValueError("Each item has one station with a time above 0 and at least one place.")
    orders: dict[str, list[Stop]] = {}
    left_out: list[LeftOut] = []
    for turn in turns:
        order, without = _tests_of(turn, stops, _by_age(most_by_age, turn.age), rest_everything)
        orders[turn.athlete] = order
        left_out += without
    most = {turn.athlete: 60 * _by_age(minutes_by_age, turn.age) for turn in turns}
    visits, late = _share(orders, stops, 60 * minutes, most)
    visits.sort(key=lambda visit: (visit.begins, visit.ends, visit.item, visit.place))
    return Rotation(tuple(visits), (*left_out, *late), max((visit.ends for visit in visits), default=0))


def _by_age(table: Mapping[int, int], age: int) -> int:
    return table[min(max(age, min(table)), max(table))]


def _tests_of(
    turn: Turn, stops: Sequence[Stop], most: int, rest_everything: Collection[str]
) -> tuple[list[Stop], list[LeftOut]]:
    """The tests of one child in order, and what is left out for the child's own sake."""
    without: list[LeftOut] = []

    def leave(stop: Stop, reason: str) -> None:
        without.append(LeftOut(turn.athlete, stop.item, reason))

    wanted = _wanted(turn, stops)
    fit: list[Stop] = []
    for stop in wanted:
        if set(turn.resting) & set(rest_everything):
            leave(stop, "resting")
        elif set(turn.resting) & set(stop.loads):
            leave(stop, f"resting: {', '.join(sorted(set(turn.resting) & set(stop.loads)))}")
        elif turn.age < stop.age_min:
            leave(stop, f"usually from {stop.age_min}")
        elif stop.stage == UPSIDE_DOWN and any(other.item in TIRING_FOR_ARMS for other in fit):
            leave(stop, "not after tiring arm work: another day")
        elif stop.item in TIRING_FOR_ARMS and any(other.stage == UPSIDE_DOWN for other in fit):
            leave(stop, "not before going upside down: another day")
        elif len(fit) >= most:
            leave(stop, f"enough for one visit: {most} tests")
        else:
            fit.append(stop)
    stages = [[stop for stop in fit if stop.stage == stage] for stage in sorted({stop.stage for stop in fit})]
    order, unplaced = apart(stages, lambda stop: WRIST in stop.loads, needed=fit)
    for stop in unplaced:
        leave(stop, "two wrist tests would follow each other: another day")
    return list(order), without


def _wanted(turn: Turn, stops: Sequence[Stop]) -> list[Stop]:
    if not turn.wants:
        return list(stops)
    by_item = {stop.item: stop for stop in stops}
    return [by_item[item] for item in dict.fromkeys(turn.wants) if item in by_item]


def _share(
    orders: Mapping[str, list[Stop]], stops: Sequence[Stop], seconds: int, most: Mapping[str, int]
) -> tuple[list[Visit], list[LeftOut]]:
    """Let the child go next who can start earliest; stop a child at the end of the day or of own minutes."""
    free = {stop.item: [0] * stop.places for stop in stops}
    ready = dict.fromkeys(orders, 0)
    spent = dict.fromkeys(orders, 0)
    following = {athlete: list(order) for athlete, order in orders.items()}
    visits: list[Visit] = []
    late: list[LeftOut] = []
    while any(following.values()):
        athlete = min(
            (athlete for athlete, order in following.items() if order),
            key=lambda athlete: max(ready[athlete], min(free[following[athlete][0].item])),
        )
        stop = following[athlete].pop(0)
        place = free[stop.item].index(min(free[stop.item]))
        begins = max(ready[athlete], free[stop.item][place])
        ends = begins + stop.seconds
        reason = ""
        if ends > seconds:
            reason = "no time left today"
        elif spent[athlete] + stop.seconds > most[athlete]:
            reason = f"enough for one visit: {most[athlete] // 60} minutes"
        if reason:
            # Everything after it goes too: leaving out one from the middle could bring two wrist tests together.
            late += [LeftOut(athlete, left.item, reason) for left in (stop, *following[athlete])]
            following[athlete] = []
            continue
        visits.append(Visit(athlete, stop.item, place + 1, begins, ends))
        free[stop.item][place] = ends
        ready[athlete] = ends + WALK_SECONDS
        spent[athlete] += stop.seconds
    return visits, late
