"""Blind second looks: agreement with its uncertainty, and no alarm from a handful of children."""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest

from assessments.analysis import calibrate, calibration_states, coach_bias, shape_agreement
from assessments.analysis.agreement import SecondLook
from assessments.analysis.reliability import typical_error

ON = date(2026, 3, 2)
NAMES = ("a", "b", "c", "d", "e")


def look(
    child: int, first: tuple[int | None, ...], second: tuple[int | None, ...], **more: str
) -> SecondLook:
    judges = {"judge": "ana", "second_judge": "ben", "item": "hollow", **more}
    return SecondLook(
        f"child-{child}",
        judges["item"],
        ON,
        judges["judge"],
        judges["second_judge"],
        dict(zip(NAMES, first, strict=True)),
        dict(zip(NAMES, second, strict=True)),
    )


def apart(child: int, points: int, **more: str) -> SecondLook:
    """A second look that gives `points` more (or fewer, below 0) than the first."""
    base = [1] * 5
    second = [1 + (1 if points > 0 else -1) * (place < abs(points)) for place in range(5)]
    return look(child, tuple(base), tuple(second), **more)


def test_same_levels_are_full_agreement() -> None:
    looks = [look(n, (n % 3, 1, 2, 0, 1), (n % 3, 1, 2, 0, 1)) for n in range(12)]
    found = shape_agreement(looks, "hollow")
    first = found.criteria[0]
    assert (first.criterion, first.looks, first.same, first.kappa) == ("a", 12, 12, pytest.approx(1))
    assert first.same_interval is not None
    assert first.same_interval[0] > 0.7
    assert math.isnan(found.criteria[1].kappa)  # one level only: undefined, not perfect
    assert found.sem is not None
    assert (found.sem.value, found.alarm) == (0, "")


def test_totals_give_the_noise_of_one_coach() -> None:
    random = np.random.default_rng(3)
    looks = [look(n, tuple(random.integers(0, 3, 5)), tuple(random.integers(0, 3, 5))) for n in range(14)]
    totals = np.array([one.totals for one in looks])
    found = shape_agreement(looks, "hollow")
    assert found.sem is not None
    assert found.sem.value == pytest.approx(typical_error(totals[:, 0], totals[:, 1]))
    assert found.icc is not None and found.icc_interval is not None
    assert found.icc_interval[0] <= found.icc <= found.icc_interval[1]


def test_other_shapes_do_not_count() -> None:
    looks = [apart(1, 5, item="arch"), apart(2, 0), apart(3, 0)]
    found = shape_agreement(looks, "hollow")
    assert found.looks == 2
    assert found.sem is not None
    assert found.sem.value == 0


def test_a_criterion_not_seen_leaves_the_total_out_and_the_others_in() -> None:
    looks = [look(1, (1, 1, 1, 1, None), (1, 1, 1, 1, 2)), apart(2, 0), apart(3, 0)]
    found = shape_agreement(looks, "hollow")
    assert [one.looks for one in found.criteria] == [3, 3, 3, 3, 2]
    assert "2 second looks" in found.reason


def test_a_criterion_nobody_saw_twice_says_nothing() -> None:
    found = shape_agreement([look(1, (1, 1, 1, 1, None), (1, 1, 1, 1, 2))], "hollow").criteria[4]
    assert (found.looks, found.same_interval) == (0, None)
    assert math.isnan(found.kappa)


@pytest.mark.parametrize("count", [0, 1])
def test_too_few_looks_say_nothing(count: int) -> None:
    found = shape_agreement([apart(n, 3) for n in range(count)], "hollow")
    assert (found.sem, found.icc, found.alarm) == (None, None, "")
    assert "too few" in found.reason


def wild(children: int) -> list[SecondLook]:
    return [apart(n, 5 if n % 2 else -5) for n in range(children)]


@pytest.mark.parametrize(("children", "alarm"), [(5, "watch"), (9, "watch"), (10, "alarm"), (30, "alarm")])
def test_no_alarm_on_the_noise_from_five_children(children: int, alarm: str) -> None:
    found = shape_agreement(wild(children), "hollow")
    assert found.sem is not None
    assert found.sem.value > 1.0
    assert found.alarm == alarm


def test_noise_just_above_the_limit_is_watched_and_no_alarm() -> None:
    looks = [apart(n, 2 if n % 2 else -1) for n in range(12)]
    found = shape_agreement(looks, "hollow")
    assert found.sem is not None
    assert found.sem.value > 1.0 > found.sem.low
    assert found.alarm == "watch"


def test_bias_is_signed_and_mirrored() -> None:
    found = {one.coach: one for one in coach_bias([apart(n, 1 + n % 2) for n in range(12)])}
    assert found["ben"].mean == pytest.approx(1.5)
    assert found["ana"].mean == pytest.approx(-1.5)
    assert found["ben"].interval is not None and found["ana"].interval is not None
    assert found["ben"].interval == pytest.approx((-found["ana"].interval[1], -found["ana"].interval[0]))
    assert "higher" in found["ben"].reason and "lower" in found["ana"].reason


@pytest.mark.parametrize(("children", "alarm"), [(5, "watch"), (9, "watch"), (10, "alarm")])
def test_no_alarm_on_a_bias_from_five_children(children: int, alarm: str) -> None:
    found = coach_bias([apart(n, 1 + n % 2) for n in range(children)])
    assert {one.alarm for one in found} == {alarm}


def test_small_bias_raises_nothing() -> None:
    found = coach_bias([apart(n, n % 2) for n in range(20)])
    assert {one.alarm for one in found} == {""}


def test_bias_that_may_be_chance_is_watched() -> None:
    found = coach_bias([apart(n, 5 if n < 4 else 0 if n % 2 else -1) for n in range(12)])
    assert found[1].mean > 0.7
    assert found[1].alarm == "watch"


def test_one_look_says_nothing_about_a_habit() -> None:
    found = coach_bias([apart(1, 5)])
    assert [(one.looks, one.interval, one.alarm) for one in found] == [(1, None, ""), (1, None, "")]


def test_a_child_seen_in_many_shapes_counts_once() -> None:
    looks = [apart(1, 5, item=item) for item in ("hollow", "arch", "tuck")] + [apart(2, 0)]
    found = coach_bias(looks)
    assert [(one.coach, one.looks, one.mean) for one in found] == [("ana", 2, -2.5), ("ben", 2, 2.5)]


@pytest.mark.parametrize("judges", [("ana", "ana"), ("", "ben"), ("ana", "")])
def test_a_look_by_the_same_or_an_unknown_coach_is_no_bias(judges: tuple[str, str]) -> None:
    assert coach_bias([apart(1, 3, judge=judges[0], second_judge=judges[1])]) == ()


def test_coaches_stand_by_name_and_never_by_size() -> None:
    looks = [apart(n, 4, judge="zoe", second_judge="ben") for n in range(3)] + [apart(n, 0) for n in range(3)]
    assert [one.coach for one in coach_bias(looks)] == ["ana", "ben", "zoe"]


AGREED = [2, 3, 4, 5, 6, 7, 8, 9, 5, 6]


def test_close_scores_of_ten_examples_count_for_a_year() -> None:
    found = calibrate([2, 4, 4, 5, 6, 7, 8, 8, 5, 6], AGREED, ON)
    assert (found.passed, found.until, found.same, found.bias) == (True, date(2027, 3, 2), 8, 0)


@pytest.mark.parametrize(
    ("own", "why"),
    [
        ([score + 1 for score in AGREED], "too generous"),
        ([score - 1 for score in AGREED], "too strict"),
        ([score + (3 if n % 2 else -3) for n, score in enumerate(AGREED)], "too uneven"),
    ],
)
def test_scores_too_far_off_do_not_count(own: list[int], why: str) -> None:
    found = calibrate(own, AGREED, ON)
    assert (found.passed, found.until) == (False, None), why


def test_nine_examples_are_too_few() -> None:
    found = calibrate(AGREED[:9], AGREED[:9], ON)
    assert (found.passed, found.until, found.reason) == (False, None, "9 of 10 examples scored.")


def test_an_example_without_an_agreed_total_is_refused() -> None:
    with pytest.raises(ValueError):
        calibrate([1], [], ON)


@pytest.mark.parametrize(
    ("on", "until"), [(date(2024, 2, 29), date(2025, 2, 28)), (date(2026, 12, 31), date(2027, 12, 31))]
)
def test_twelve_months_on_end_on_a_day_that_exists(on: date, until: date) -> None:
    assert calibrate(AGREED, AGREED, on).until == until


def test_who_needs_calibration_and_until_when() -> None:
    dates = {
        "zoe": None,
        "ana": ON,
        "ben": ON - timedelta(days=1),
        "cas": ON + timedelta(days=30),
        "dan": ON + timedelta(days=31),
    }
    found = calibration_states(dates, ON)
    assert [(one.coach, one.word) for one in found] == [
        ("ana", "soon"),
        ("ben", "due"),
        ("cas", "soon"),
        ("dan", "calibrated"),
        ("zoe", "never"),
    ]
    assert [one.until for one in found] == [dates[one.coach] for one in found]
