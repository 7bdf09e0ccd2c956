"""Doses, replacements and blocks: the sentences that a coach reads, the edges, and a plan worked out by hand.

The club's own settings, common practice without a source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import pytest

from assessments.analysis import instead_of, plan_block, starting_dose
from assessments.analysis.records import DayScore, ErrorModel, Limits, MeasureSpec
from assessments.analysis.training import BlockPlan, Dose, Instead, Step, why_no_dose

from .simulated import TODAY, day_score

HOLD = MeasureSpec(
    "hollow_hold", "Hollow hold", "hold", "s", False, 4, 2, "best", 60, Limits((0, 60), (0, 180)), ErrorModel(2, 0.2),
    loads=("neck", "lower_back"), stop_rules=("lower back lifts", "head drops", "heels touch"),
)  # fmt: skip
COUNT = replace(HOLD, id="kneeling_push_ups", kind="count", unit="reps", loads=("wrist", "elbow"), sides=True)


@pytest.mark.parametrize(
    ("spec", "day", "sets", "expected"),
    [
        (
            HOLD,
            day_score(40, TODAY),
            2,
            Dose(
                "hollow_hold", "s", 24, 2, 48, 1, HOLD.loads, ("lower back lifts", "head drops"),
                "Best clean result 40 s on 01 Jun 2026; start at 24 s.", False,
            ),
        ),
        (
            HOLD,
            day_score(5.5, TODAY, at_least=True, outcome="chose_to_stop"),
            3,
            Dose(
                "hollow_hold", "s", 4, 3, 30, 1, HOLD.loads, ("lower back lifts", "head drops"),
                "Best clean result at least 5.5 s on 01 Jun 2026; start at 4 s. "
                "Less than the usual 10: clean and short, or an easier version.", True,
            ),
        ),
        (
            COUNT,
            replace(day_score(8, TODAY, age=8.0), form_break="hips sag"),
            1,
            Dose(
                "kneeling_push_ups", "reps", 6, 1, 45, 2, ("wrist", "elbow"), ("hips sag", "lower back lifts", "head drops"),
                "Best clean result 8 reps on 01 Jun 2026; start at 6 reps. "
                "Less than the usual 8: clean and short, or an easier version.", True,
            ),
        ),
    ],
)  # fmt: skip
def test_a_dose_in_full(spec: MeasureSpec, day: DayScore, sets: int, expected: Dose) -> None:
    """40 s: 60 %. 5.5 s: four fifths. 8 repetitions: four fifths is 6.4."""
    assert starting_dose(spec, [day], on=TODAY, sets=sets) == expected


def test_two_sets_unless_asked_otherwise() -> None:
    found = starting_dose(HOLD, [day_score(40, TODAY)], on=TODAY)
    assert found is not None and found.sets == 2


@pytest.mark.parametrize(
    ("best", "amount"), [(1.25, 1), (1.24, None), (0, None), (16.67, 10), (12.5, 10), (12.4, 9)]
)
def test_the_smallest_dose_is_one_second(best: float, amount: int | None) -> None:
    found = starting_dose(HOLD, [day_score(best, TODAY)], on=TODAY)
    assert (None if found is None else found.amount) == amount


# --- instead -----------------------------------------------------------------------------------------------


def exercise(name: str, *loads: str, age_min: int = 4, gate: str = "") -> MeasureSpec:
    return replace(HOLD, id=name, loads=loads, age_min=age_min, text={"gate": gate} if gate else {})


PUSH = exercise("kneeling_push_ups", "wrist")


def given(*others: MeasureSpec, resting: Sequence[str] = ("wrist",), age: int = 6) -> Instead | None:
    return instead_of(PUSH, {one.id: one for one in (PUSH, *others)}, resting, age=age)


def test_what_is_done_instead_in_full() -> None:
    bar = exercise("bar_support_hold", "elbow")
    words = "Resting: wrist. Work on the pushing like this."
    assert given(bar) == Instead("kneeling_push_ups", ("wrist",), ("bar_support_hold",), words)
    hollow = exercise("hollow_hold", "neck")
    words = "Resting: wrist. Work on the front of the trunk like this."
    assert given(hollow) == Instead("kneeling_push_ups", ("wrist",), ("hollow_hold",), words)
    assert given(hollow, bar) == given(bar), "the same purpose comes first"
    words = "Resting: wrist. Leave it out today."
    assert given() == Instead("kneeling_push_ups", ("wrist",), (), words)
    both = exercise("full_push_ups", "elbow", "wrist")
    found = instead_of(both, {both.id: both}, ["wrist", "neck", "elbow"], age=6)
    assert found == Instead(
        "full_push_ups", ("elbow", "wrist"), (), "Resting: elbow, wrist. Leave it out today."
    )


@pytest.mark.parametrize("area", ["head", "hip", "general"])
def test_a_rest_of_everything_in_full(area: str) -> None:
    words = "Resting: no exercises until the rest note is ended."
    bar = exercise("bar_support_hold", "elbow")
    assert given(bar, resting=[area]) == Instead("kneeling_push_ups", (area,), (), words)
    found = given(bar, resting=["wrist", area])
    assert found is not None and set(found.areas) == {"wrist", area} and found.reason == words


@pytest.mark.parametrize(
    ("other", "offered"),
    [
        (exercise("bar_support_hold", age_min=6), True),
        (exercise("bar_support_hold", age_min=7), False),
        (exercise("bar_support_hold", gate="only with a coach at the bar"), False),
        (exercise("bar_support_hold", "elbow", "wrist"), False),
    ],
    ids=["on the birthday", "a year too young", "gate", "loads it too"],
)
def test_only_what_this_child_is_given_is_offered(other: MeasureSpec, offered: bool) -> None:
    found = given(other)
    assert found is not None
    assert found.exercises == (("bar_support_hold",) if offered else ())


# --- block -------------------------------------------------------------------------------------------------


def dose(item: str, amount: int, *, sets: int = 3, rest: int = 30) -> Dose:
    return Dose(item, "s", amount, sets, rest, 1, (), (), "", False)


def plan(doses: Sequence[Dose], minutes: int, *, new: bool = False) -> BlockPlan:
    kinds = {one.item: replace(HOLD, id=one.item) for one in doses}
    return plan_block(doses, kinds, minutes=minutes, new=new)


SHORT = "A block usually takes 10 to 15 minutes."


@pytest.mark.parametrize(
    ("minutes", "new", "taken", "notes"),
    [
        (9, False, 9, (SHORT,)),
        (10, False, 10, ()),
        (15, False, 15, ()),
        (16, False, 15, ("Shortened to 15 minutes, the most for a known block.",)),
        (30, True, 30, ()),
        (40, True, 30, ("Shortened to 30 minutes, the most for a new block.",)),
        (1, True, 1, (SHORT,)),
    ],
)
def test_a_block_says_when_its_time_is_unusual(
    minutes: int, new: bool, taken: int, notes: tuple[str, ...]
) -> None:
    found = plan([], minutes, new=new)
    assert found == BlockPlan((), (), 0, taken, notes)


def test_a_block_is_filled_to_the_last_second() -> None:
    """One set is 30 + 30 s, each further one 30 + 30 s more: in two minutes two sets of one or one of both."""
    one, two = dose("hollow_hold", 30), dose("arch_hold", 30)
    assert plan([one], 2).steps == (Step(one, 2, 120),)
    assert plan([one], 3).steps == (Step(one, 3, 180),)
    assert plan([one], 9).steps == (Step(one, 3, 180),)
    assert plan([one, two], 2).seconds == 120
    assert [step.sets for step in plan([one, two], 2).steps] == [1, 1]
    assert [step.sets for step in plan([dose("hollow_hold", 31), two], 2).steps] == [1]
    assert plan([dose("hollow_hold", 31), two], 2).left_out == ("arch_hold",)


def test_what_does_not_fit_makes_room_for_what_does() -> None:
    long, short = dose("hollow_hold", 91), dose("arch_hold", 30)
    found = plan([long, short], 2)
    assert (found.left_out, found.steps) == (("hollow_hold",), (Step(short, 2, 120),))


def test_no_exercise_gets_more_sets_than_its_dose_asks() -> None:
    one, two = dose("hollow_hold", 10, sets=1), dose("arch_hold", 10, sets=2)
    assert {step.dose.item: step.sets for step in plan([one, two], 15).steps} == {
        "hollow_hold": 1,
        "arch_hold": 2,
    }


def test_refusals_name_what_is_wrong() -> None:
    one = dose("hollow_hold", 10)
    assert plan([one], 1).steps == (Step(one, 1, 40),)
    with pytest.raises(ValueError, match=r"^A block needs at least one minute\.$"):
        plan([one], 0)
    with pytest.raises(ValueError, match=r"^Each exercise has one dose\.$"):
        plan([one, one], 10)


def test_wrists_apart_say_so() -> None:
    loaded = [
        replace(dose(name, 10), loads=("wrist",)) for name in ("front_support_hold", "bar_support_hold")
    ]
    found = plan(loaded, 12)
    assert found.notes == ("Left out so that wrists are not loaded twice in a row.",)
    assert len(found.steps) == 1 and len(found.left_out) == 1


def test_results_of_sixteen_weeks_count_together_and_older_ones_do_not() -> None:
    def best(weeks: int, days: int = 0) -> int:
        stop = day_score(10, TODAY, at_least=True, outcome="chose_to_stop")
        found = starting_dose(
            HOLD, [day_score(40, TODAY - timedelta(weeks=weeks, days=days)), stop], on=TODAY
        )
        assert found is not None
        return found.amount

    assert (best(16), best(16, 1)) == (24, 8)


def test_the_first_set_takes_its_own_time_and_no_rest() -> None:
    one = dose("hollow_hold", 30, rest=60)
    assert plan([one], 1).steps == (Step(one, 1, 60),)
    assert plan([one], 2).steps == (Step(one, 1, 60),)
    assert str(plan([one], 2).minutes) == "2"


def test_a_block_has_at_most_three_sets_of_anything() -> None:
    one = dose("hollow_hold", 10, sets=4)
    assert plan([one], 15).steps == (Step(one, 3, 120),)


def test_two_resting_areas_are_both_named() -> None:
    both, hollow = exercise("full_push_ups", "wrist", "elbow"), exercise("hollow_hold", "neck")
    found = instead_of(both, {both.id: both, hollow.id: hollow}, ["wrist", "elbow"], age=6)
    words = "Resting: elbow, wrist. Work on the front of the trunk like this."
    assert found == Instead("full_push_ups", ("elbow", "wrist"), ("hollow_hold",), words)


@pytest.mark.parametrize(
    ("before", "begins"), [(0, "Not tested for 20 weeks"), (1, "Not tested since the rest ended on ")]
)
def test_a_result_of_the_day_on_which_a_rest_ended_is_only_too_old(before: int, begins: str) -> None:
    ended = TODAY - timedelta(weeks=20)
    found = why_no_dose([day_score(20, ended - timedelta(days=before))], on=TODAY, since=ended)
    assert found.startswith(begins) and found.endswith(": begin with the easiest version and watch.")
