"""Starting doses and blocks: the club's common practice, less where a child does less, nothing that rests.

Facts of the trade, common practice without a source: holds of 10 to 30 s, 10 to 20 repetitions for beginners of 4 to 7,
a block of 10 to 15 minutes and up to 30 when it is new.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.analysis import instead_of, plan_block, starting_dose
from assessments.analysis.records import DayScore, ErrorModel, Limits, MeasureSpec, Outcome
from assessments.analysis.training import Dose
from assessments.programme_file import starter

from .simulated import TODAY, day_score

MEASURES = starter().measures
HOLD = MeasureSpec(
    "hollow_hold", "Hollow hold", "hold", "s", False, 4, 2, "best", 60, Limits((0, 60), (0, 180)), ErrorModel(2, 0.2),
    loads=("neck", "lower_back"), stop_rules=("lower back lifts", "head drops", "heels touch"),
)  # fmt: skip
COUNT = replace(HOLD, id="kneeling_push_ups", kind="count", unit="reps", loads=("wrist", "elbow"))


def dose(value: float, spec: MeasureSpec = HOLD, **more: object) -> Dose | None:
    return starting_dose(spec, [day_score(value, TODAY, **more)], on=TODAY)


@pytest.mark.parametrize(
    ("best", "seconds"),
    [(60, 30), (50, 30), (40, 24), (20, 12), (16, 10), (13, 10), (12, 9), (10, 8), (5, 4), (2, 1)],
)
def test_a_hold_starts_at_a_share_of_the_best_clean_hold(best: float, seconds: int) -> None:
    found = dose(best)
    assert found is not None
    assert (found.amount, found.unit, found.support) == (seconds, "s", "common_practice")
    assert found.below_usual is (seconds < 10)


@pytest.mark.parametrize(("best", "reps"), [(40, 20), (30, 18), (20, 12), (15, 10), (10, 8), (6, 4), (3, 2)])
def test_beginners_do_10_to_20_repetitions_and_fewer_where_they_do_fewer(best: float, reps: int) -> None:
    for age in (4.0, 7.99):
        found = dose(best, COUNT, age=age)
        assert found is not None
        assert (found.amount, found.unit, found.below_usual) == (reps, "reps", reps < 10)


@pytest.mark.parametrize(("best", "reps"), [(40, 15), (20, 12), (10, 8), (12, 8), (6, 4)])
def test_from_eight_years_the_range_is_8_to_15(best: float, reps: int) -> None:
    found = dose(best, COUNT, age=8.0)
    assert found is not None
    assert (found.amount, found.below_usual) == (reps, reps < 8)


@given(st.floats(0, 300))
def test_a_dose_is_never_over_four_fifths_of_the_best_nor_over_the_range(best: float) -> None:
    found = dose(best)
    if found is not None:
        assert 1 <= found.amount <= min(30, 0.8 * best + 1e-6)


@given(st.floats(2, 100), st.floats(0, 50))
def test_a_better_hold_never_gives_a_smaller_dose(best: float, more: float) -> None:
    less, greater = dose(best), dose(best + more)
    assert less is not None and greater is not None
    assert greater.amount >= less.amount


@pytest.mark.parametrize(
    "days",
    [
        [],
        [day_score(0, TODAY, outcome="could_not_start")],
        [day_score(20, TODAY, familiarisation=True)],
        [day_score(float("nan"), TODAY)],
    ],
)
def test_without_a_clean_result_there_is_no_dose(days: list[object]) -> None:
    assert starting_dose(HOLD, days, on=TODAY) is None


@pytest.mark.parametrize("kind", ["distance", "score_count", "shape"])
def test_jumps_and_landings_are_not_dosed(kind: str) -> None:
    assert dose(20, replace(HOLD, kind=kind)) is None


def test_the_newest_result_decides() -> None:
    older = day_score(50, TODAY - timedelta(weeks=9))
    for days in ([older, day_score(20, TODAY)], [day_score(20, TODAY), older]):
        found = starting_dose(HOLD, days, on=TODAY)
        assert found is not None
        assert found.amount == 12


def stopped(value: float, *, weeks: int = 0) -> DayScore:
    return day_score(value, TODAY - timedelta(weeks=weeks), at_least=True, outcome="chose_to_stop")


def held(value: float, *, weeks: int = 0) -> DayScore:
    return day_score(value, TODAY - timedelta(weeks=weeks))


@pytest.mark.parametrize(
    ("days", "value"),
    [
        ([held(25, weeks=4), stopped(3)], 25),  # a stop after 3 s does not undo what was held last month
        ([held(25, weeks=4), stopped(28)], 28),
        ([stopped(30, weeks=4), stopped(3)], 30),
        ([held(50, weeks=9), held(20, weeks=4), stopped(3)], 20),  # the newest exact result, not the best
        ([stopped(50, weeks=9), held(20, weeks=4), stopped(3)], 20),
        ([held(25, weeks=16), stopped(10)], 25),
        ([held(25, weeks=17), stopped(10)], 10),  # too long ago
        ([stopped(25, weeks=4), held(10)], 10),
        ([held(10), stopped(12)], 12),  # two days on one date
        ([held(10), held(12)], 12),
    ],
)
def test_a_stop_never_lowers_a_dose(days: list[DayScore], value: float) -> None:
    for order in (days, days[::-1]):
        found, alone = starting_dose(HOLD, order, on=TODAY), dose(value)
        assert found is not None and alone is not None
        assert found.amount == alone.amount
        assert f"{value:g} s" in found.reason


@pytest.mark.parametrize(
    ("outcome", "words"), [("scored", "result 20 s on 01 Jun 2026"), ("reached_cap", "at least 20 s")]
)
def test_a_dose_says_what_it_rests_on(outcome: Outcome, words: str) -> None:
    found = dose(20, outcome=outcome, at_least=outcome != "scored")
    assert found is not None
    assert words in found.reason


def test_what_broke_first_is_watched_first() -> None:
    found = starting_dose(HOLD, [replace(day_score(20, TODAY), form_break="ribs open")], on=TODAY)
    assert found is not None
    assert found.watch == ("ribs open", "lower back lifts", "head drops")
    plain = dose(20)
    assert plain is not None
    assert plain.watch == ("lower back lifts", "head drops")


@pytest.mark.parametrize(("asked", "sets"), [(0, 1), (1, 1), (3, 3), (9, 3)])
def test_one_to_three_sets(asked: int, sets: int) -> None:
    found = starting_dose(HOLD, [day_score(20, TODAY)], on=TODAY, sets=asked)
    assert found is not None
    assert found.sets == sets


def test_time_counts_sides_sets_rests_and_changing_over() -> None:
    found = dose(20)
    both = dose(20, replace(HOLD, sides=True))
    count = dose(20, COUNT)
    assert found is not None and both is not None and count is not None
    assert (found.amount, found.rest_seconds, found.seconds(1), found.seconds(2)) == (12, 30, 42, 84)
    assert both.seconds(2) == 30 + 2 * 24 + 30
    assert count.seconds(1) == 30 + 12 * 3
    long = dose(50)
    assert long is not None
    assert long.rest_seconds == 60


# --- instead --------------------------------------------------------------------------------------


def test_nothing_rests_nothing_is_replaced() -> None:
    assert instead_of(MEASURES["front_support_hold"], MEASURES, [], age=6) is None
    assert instead_of(MEASURES["front_support_hold"], MEASURES, ["ankle"], age=6) is None


def test_sore_wrists_do_the_same_work_off_the_hands() -> None:
    found = instead_of(MEASURES["front_support_hold"], MEASURES, ["wrist"], age=6)
    assert found is not None
    assert set(found.exercises) == {"hollow_hold", "forearm_plank_hold"}
    assert found.areas == ("wrist",)


def test_where_all_of_one_purpose_rests_a_neighbouring_purpose_is_trained() -> None:
    found = instead_of(MEASURES["kneeling_push_ups"], MEASURES, ["wrist"], age=6)
    assert found is not None
    assert found.exercises == ("hollow_hold", "forearm_plank_hold")
    assert "front of the trunk" in found.reason


@pytest.mark.parametrize("item", sorted(MEASURES))
@pytest.mark.parametrize("area", sorted({area for spec in MEASURES.values() for area in spec.loads}))
def test_nothing_that_rests_or_is_not_given_yet_is_ever_offered(item: str, area: str) -> None:
    found = instead_of(MEASURES[item], MEASURES, [area], age=4)
    for other in found.exercises if found else ():
        spec = MEASURES[other]
        assert area not in spec.loads
        assert spec.age_min <= 4
        assert not spec.text.get("gate")
        assert other != item


@pytest.mark.parametrize("area", ["head", "hip", "general"])
def test_an_area_that_rests_everything_leaves_nothing(area: str) -> None:
    found = instead_of(MEASURES["double_heel_raises"], MEASURES, [area], age=6)
    assert found is not None
    assert (found.exercises, found.areas) == ((), (area,))


def test_an_exercise_nobody_knows_is_left_out() -> None:
    found = instead_of(replace(HOLD, id="new"), MEASURES, ["neck"], age=6)
    assert found is not None
    assert (found.exercises, found.reason) == ((), "Resting: neck. Leave it out today.")


# --- block ----------------------------------------------------------------------------------------


def doses(*items: str, value: float = 20, sets: int = 3) -> list[Dose]:
    found = [starting_dose(MEASURES[item], [day_score(value, TODAY)], on=TODAY, sets=sets) for item in items]
    return [one for one in found if one is not None]


ALL = (
    "front_support_hold", "kneeling_push_ups", "hollow_hold", "arch_hold", "double_heel_raises",
    "straight_hang", "bar_support_hold", "side_support_hold", "single_leg_stance", "squat_jumps",
)  # fmt: skip


@pytest.mark.parametrize(
    ("minutes", "new"), [(10, False), (12, False), (15, False), (30, True), (3, False), (1, False)]
)
def test_a_block_fits_its_minutes(minutes: int, new: bool) -> None:
    found = plan_block(doses(*ALL), MEASURES, minutes=minutes, new=new)
    assert found.seconds == sum(step.seconds for step in found.steps) <= 60 * minutes
    assert {step.dose.item for step in found.steps} | set(found.left_out) == set(ALL)


@pytest.mark.parametrize(
    ("minutes", "new", "room", "notes"),
    [
        (10, False, 10, 0),
        (15, False, 15, 0),
        (16, False, 15, 1),
        (30, True, 30, 0),
        (31, True, 30, 1),
        (9, False, 9, 1),
    ],
)
def test_a_block_takes_10_to_15_minutes_and_up_to_30_when_new(
    minutes: int, new: bool, room: int, notes: int
) -> None:
    found = plan_block(doses("hollow_hold"), MEASURES, minutes=minutes, new=new)
    assert (found.minutes, len(found.notes)) == (room, notes)
    assert found.support == "common_practice"


@pytest.mark.parametrize("minutes", [5, 10, 15, 30])
def test_wrists_are_never_loaded_twice_in_a_row(minutes: int) -> None:
    found = plan_block(doses(*ALL), MEASURES, minutes=minutes, new=True)
    wrist = ["wrist" in step.dose.loads for step in found.steps]
    assert not any(one and two for one, two in pairwise(wrist))


def test_wrist_work_alone_is_shortened_and_said() -> None:
    found = plan_block(doses("front_support_hold", "kneeling_push_ups"), MEASURES, minutes=15)
    assert [step.dose.item for step in found.steps] == ["front_support_hold"]
    assert found.left_out == ("kneeling_push_ups",)
    assert "wrists" in found.notes[0]


def test_one_set_of_everything_comes_before_a_second_set() -> None:
    short = doses("hollow_hold", "arch_hold", "side_support_hold")
    one_each = sum(dose.seconds(1) for dose in short)
    found = plan_block(short, MEASURES, minutes=one_each // 60 + 1)
    assert {step.dose.item for step in found.steps} == {dose.item for dose in short}


def test_the_most_needed_gets_the_second_set_first() -> None:
    wanted = doses(
        "arch_hold", "hollow_hold", "forearm_plank_hold", sets=2
    )  # 42 s for one set of each, 42 s for a second
    found = plan_block(wanted, MEASURES, minutes=3)
    assert {step.dose.item: step.sets for step in found.steps} == {
        "arch_hold": 2,
        "hollow_hold": 1,
        "forearm_plank_hold": 1,
    }


def test_calm_work_comes_before_tiring_work() -> None:
    found = plan_block(
        doses("double_heel_raises", "straight_hang", "hollow_hold", "single_leg_stance"), MEASURES, minutes=15
    )
    assert [step.dose.item for step in found.steps] == [
        "single_leg_stance", "hollow_hold", "straight_hang", "double_heel_raises",
    ]  # fmt: skip


def test_a_block_of_nothing_is_empty() -> None:
    found = plan_block([], MEASURES, minutes=10)
    assert (found.steps, found.left_out, found.seconds) == ((), (), 0)


@pytest.mark.parametrize("minutes", [0, -5])
def test_a_block_without_time_is_refused(minutes: int) -> None:
    with pytest.raises(ValueError):
        plan_block([], MEASURES, minutes=minutes)


def test_two_doses_of_one_exercise_are_refused() -> None:
    with pytest.raises(ValueError):
        plan_block(doses("hollow_hold", "hollow_hold"), MEASURES, minutes=10)
