"""A rotation: calm before tiring, wrists apart, few tests a visit, nobody in two places."""

from __future__ import annotations

from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.analysis import plan_rotation, stop_for
from assessments.analysis.ordering import TIRING_FOR_ARMS, UPSIDE_DOWN, apart, stage_of
from assessments.analysis.rotation import WALK_SECONDS, Rotation, Stop, Turn
from assessments.programme_file import starter

PROGRAMME = starter()
STOPS = [stop_for(spec) for spec in PROGRAMME.items()]
BY_ITEM = {stop.item: stop for stop in STOPS}


def by_child(found: Rotation) -> dict[str, list[Stop]]:
    orders: dict[str, list[Stop]] = {}
    for visit in found.visits:
        orders.setdefault(visit.athlete, []).append(BY_ITEM[visit.item])
    return orders


TURNS = st.lists(
    st.builds(
        Turn,
        athlete=st.uuids().map(str),
        age=st.integers(3, 10),
        resting=st.lists(st.sampled_from(["wrist", "ankle", "neck", "hip"]), max_size=2).map(tuple),
        wants=st.lists(st.sampled_from([stop.item for stop in STOPS]), max_size=9).map(tuple),
    ),
    max_size=10,
    unique_by=lambda turn: turn.athlete,
)


@settings(max_examples=60, deadline=None)
@given(TURNS, st.integers(0, 60))
def test_every_plan_keeps_the_rules(turns: list[Turn], minutes: int) -> None:
    found = plan_rotation(turns, STOPS, minutes=minutes)
    assert found.seconds <= 60 * minutes
    ages = {turn.athlete: turn for turn in turns}
    for athlete, order in by_child(found).items():
        turn = ages[athlete]
        stages = [stop.stage for stop in order]
        assert stages == sorted(stages)
        wrist = ["wrist" in stop.loads for stop in order]
        assert not any(one and two for one, two in pairwise(wrist))
        assert not any(set(stop.loads) & set(turn.resting) or turn.age < stop.age_min for stop in order)
        assert "hip" not in turn.resting
        assert len(order) <= {3: 5, 4: 5, 5: 6, 6: 8, 7: 8}.get(turn.age, 10)
        assert sum(stop.seconds for stop in order) <= 60 * {3: 15, 4: 15, 5: 15, 6: 20, 7: 20}.get(
            turn.age, 25
        )
        if any(stop.stage == UPSIDE_DOWN for stop in order):
            assert not any(stop.item in TIRING_FOR_ARMS for stop in order)
    for first in found.visits:
        assert first.ends - first.begins == BY_ITEM[first.item].seconds
        for second in found.visits:
            if first is not second and first.begins <= second.begins < first.ends:
                assert first.athlete != second.athlete
                assert (first.item, first.place) != (second.item, second.place)


@settings(max_examples=40, deadline=None)
@given(TURNS)
def test_every_test_is_planned_or_left_out_with_a_reason(turns: list[Turn]) -> None:
    found = plan_rotation(turns, STOPS, minutes=30)
    for turn in turns:
        planned = [visit.item for visit in found.visits if visit.athlete == turn.athlete]
        without = [left.item for left in found.left_out if left.athlete == turn.athlete]
        assert sorted([*planned, *without]) == sorted(dict.fromkeys(turn.wants) or BY_ITEM)
    assert all(left.reason for left in found.left_out)


def reasons(turn: Turn, stops: list[Stop], minutes: int = 60) -> dict[str, str]:
    return {left.item: left.reason for left in plan_rotation([turn], stops, minutes=minutes).left_out}


HANG = Stop("straight_hang", 5, 60, ("shoulder",))
SUPPORT = Stop("bar_support_hold", 5, 60, ("wrist",))
PUSH = Stop("kneeling_push_ups", 6, 60, ("wrist",))
WALL = Stop("wall_handstand_hold", 7, 60, ("wrist",), age_min=6)


@pytest.mark.parametrize(
    ("turn", "stops", "expected"),
    [
        (Turn("c", 7, resting=("wrist",)), [HANG, SUPPORT], {"bar_support_hold": "resting: wrist"}),
        (Turn("c", 7, resting=("head",)), [HANG], {"straight_hang": "resting"}),
        (Turn("c", 5), [WALL], {"wall_handstand_hold": "usually from 6"}),
        (Turn("c", 7), [PUSH, WALL], {"wall_handstand_hold": "not after tiring arm work: another day"}),
        (Turn("c", 7), [WALL, PUSH], {"kneeling_push_ups": "not before going upside down: another day"}),
        (
            Turn("c", 7),
            [SUPPORT, PUSH],
            {"kneeling_push_ups": "two wrist tests would follow each other: another day"},
        ),
        (Turn("c", 7), [HANG, SUPPORT], {}),
    ],
)
def test_why_a_test_is_left_out(turn: Turn, stops: list[Stop], expected: dict[str, str]) -> None:
    assert reasons(turn, stops) == expected


@pytest.mark.parametrize(
    ("age", "most"), [(3, 5), (4, 5), (5, 6), (6, 8), (7, 8), (8, 10), (9, 10), (10, 10)]
)
def test_tests_a_visit_by_age(age: int, most: int) -> None:
    stops = [Stop(f"s{n}", 1, 10) for n in range(12)]
    found = plan_rotation([Turn("c", age)], stops, minutes=60)
    assert [visit.item for visit in found.visits] == [f"s{n}" for n in range(most)]
    assert {left.reason for left in found.left_out} == {f"enough for one visit: {most} tests"}


@pytest.mark.parametrize(("age", "minutes"), [(4, 15), (5, 15), (6, 20), (7, 20), (9, 25)])
def test_minutes_a_visit_by_age(age: int, minutes: int) -> None:
    found = plan_rotation([Turn("c", age)], [Stop(f"s{n}", 1, 240) for n in range(5)], minutes=90)
    planned = len(found.visits)
    assert planned == min(minutes // 4, 5)
    assert [left.reason for left in found.left_out] == [f"enough for one visit: {minutes} minutes"] * (
        5 - planned
    )


def test_most_needed_tests_are_kept() -> None:
    stops = [Stop(f"s{n}", 1, 10) for n in range(8)]
    wants = ("s7", "s6", "s5", "s4", "s3", "s2", "nowhere")
    found = plan_rotation([Turn("c", 4, wants=wants)], stops, minutes=60)
    assert {visit.item for visit in found.visits} == {"s7", "s6", "s5", "s4", "s3"}


def test_children_share_a_station_one_after_the_other() -> None:
    found = plan_rotation([Turn("a", 6), Turn("b", 6)], [HANG], minutes=10)
    assert [(visit.athlete, visit.begins, visit.ends) for visit in found.visits] == [
        ("a", 0, 60),
        ("b", 60, 120),
    ]
    assert found.seconds == 120


def test_a_station_with_two_places_takes_two_at_once() -> None:
    wide = Stop("straight_hang", 5, 60, ("shoulder",), places=2)
    found = plan_rotation([Turn("a", 6), Turn("b", 6), Turn("c", 6)], [wide], minutes=10)
    assert [(visit.athlete, visit.place, visit.begins) for visit in found.visits] == [
        ("a", 1, 0),
        ("b", 2, 0),
        ("c", 1, 60),
    ]


def test_walking_to_the_next_station_takes_time() -> None:
    found = plan_rotation([Turn("a", 6)], [Stop("x", 1, 60), Stop("y", 2, 60)], minutes=10)
    assert [visit.begins for visit in found.visits] == [0, 60 + WALK_SECONDS]


def test_stations_work_at_the_same_time() -> None:
    stops = [Stop(f"s{n}", n, 60) for n in range(1, 5)]
    found = plan_rotation([Turn(f"c{n}", 6) for n in range(8)], stops, minutes=60)
    assert len(found.visits) == 32
    assert found.seconds <= 60 * 8 + 3 * (60 + WALK_SECONDS)  # the first station's queue, then three more


def test_a_day_that_is_too_short_leaves_whole_ends_out() -> None:
    found = plan_rotation([Turn("a", 6)], [Stop("x", 1, 60), Stop("y", 2, 60), Stop("z", 3, 60)], minutes=2)
    assert [visit.item for visit in found.visits] == ["x"]
    assert [(left.item, left.reason) for left in found.left_out] == [
        ("y", "no time left today"),
        ("z", "no time left today"),
    ]


def test_an_empty_day_is_an_empty_plan() -> None:
    for found in (plan_rotation([], STOPS, minutes=30), plan_rotation([Turn("a", 6)], [], minutes=30)):
        assert (found.visits, found.left_out, found.seconds) == ((), (), 0)


@pytest.mark.parametrize(
    ("turns", "stops", "minutes"),
    [
        ([], [], -1),
        ([Turn("a", 6), Turn("a", 7)], [], 10),
        ([], [HANG, HANG], 10),
        ([], [Stop("x", 1, 0)], 10),
        ([], [Stop("x", 1, 10, places=0)], 10),
    ],
)
def test_plans_that_cannot_be_are_refused(turns: list[Turn], stops: list[Stop], minutes: int) -> None:
    with pytest.raises(ValueError):
        plan_rotation(turns, stops, minutes=minutes)


def test_every_item_of_the_starter_programme_has_its_stage() -> None:
    expected = {
        "hollow": 1, "arch": 1, "tuck": 1, "single_leg_stance": 2, "standing_long_jump": 3, "landing": 3, "hollow_hold": 4,
        "front_support_hold": 4, "straight_hang": 5, "full_push_ups": 6, "single_heel_raises": 6, "wall_handstand_hold": 7,
        "handstand_line": 7,
    }  # fmt: skip
    assert {item: BY_ITEM[item].stage for item in expected} == expected
    assert stage_of("something new", "count") == 6


def test_a_shape_takes_three_quarters_of_a_minute() -> None:
    assert stop_for(PROGRAMME.shapes["hollow"], places=3) == Stop(
        "hollow", 1, 45, ("neck", "lower_back"), 4, 3
    )
    assert (
        stop_for(PROGRAMME.measures["hollow_hold"]).seconds
        == PROGRAMME.measures["hollow_hold"].seconds_per_child
    )


# --- keeping heavy ones apart ---------------------------------------------------------------------

STAGES = st.lists(st.lists(st.booleans(), max_size=4), max_size=3)


def most_by_trying(stages: list[list[bool]]) -> int:
    """The most that any order keeps with no two heavy neighbours, by trying all of them."""
    best = {None: 0}
    for stage in stages:
        following: dict[bool | None, int] = {}
        for last, kept in best.items():
            for size in range(len(stage) + 1):
                for order in set(permutations(stage, size)):
                    line = [last, *order]
                    if any(one and two for one, two in pairwise(line)):
                        continue
                    following[line[-1]] = max(following.get(line[-1], 0), kept + size)
        best = following
    return max(best.values())


@settings(deadline=None)
@given(STAGES)
def test_as_many_as_possible_are_kept_apart(stages: list[list[bool]]) -> None:
    named = [
        [(heavy, f"{row}-{place}") for place, heavy in enumerate(stage)] for row, stage in enumerate(stages)
    ]
    flat = [one for stage in named for one in stage]
    order, unplaced = apart(named, lambda one: one[0], needed=flat)
    assert not any(one[0] and two[0] for one, two in pairwise(order))
    assert [int(one[1][0]) for one in order] == sorted(int(one[1][0]) for one in order)
    assert sorted([*order, *unplaced]) == sorted(flat)
    assert len(order) == most_by_trying(stages)


@pytest.mark.parametrize("needed", [("bar", "push"), ("push", "bar")])
def test_of_equally_many_the_most_needed_is_kept(needed: tuple[str, str]) -> None:
    items = {"bar": ["bar"], "push": ["push"]}
    order, unplaced = apart(
        [items["bar"], items["push"]], lambda one: True, needed=[items[name][0] for name in needed]
    )
    assert (order, unplaced) == ((needed[0],), (needed[1],))
