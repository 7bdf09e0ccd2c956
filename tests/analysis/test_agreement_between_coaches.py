"""Blind second looks: agreement with its uncertainty, and no alarm from a handful of children."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from assessments.analysis import coach_bias, shape_agreement
from assessments.analysis.agreement import ROUNDING, SecondLook
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
    assert (first.criterion, first.children, first.same, first.kappa) == ("a", 12, 12, pytest.approx(1))
    assert first.same_interval is not None
    assert first.same_interval[0] > 0.7
    kappa = found.criteria[1].kappa
    assert kappa is not None
    assert math.isnan(kappa)  # one level only: undefined, not perfect
    assert found.criteria[1].kappa_interval is None
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
    assert found.limits is not None
    second_less_first = totals[:, 1] - totals[:, 0]
    assert found.limits.bias == pytest.approx(second_less_first.mean())
    assert found.limits.high == pytest.approx(second_less_first.mean() + 1.96 * second_less_first.std(ddof=1))


def test_full_agreement_of_a_few_is_no_certainty() -> None:
    """Whole points hide up to half a point, and a kappa of ten equal pairs is not known to be 1."""
    levels = [(n % 3, 1, 2, 0, n % 2) for n in range(10)]
    found = shape_agreement([look(n, one, one) for n, one in enumerate(levels)], "hollow")
    assert found.sem is not None and found.icc_interval is not None
    assert (found.sem.value, found.sem.low) == (0, 0)
    assert found.sem.high > ROUNDING
    assert found.icc == 1
    assert found.icc_interval[0] < 1 == found.icc_interval[1]
    kappa = found.criteria[0]
    assert kappa.kappa == pytest.approx(1)
    assert kappa.kappa_interval is not None
    assert kappa.kappa_interval[0] < 0.75
    assert kappa.kappa_interval[1] == pytest.approx(1)


def test_beyond_plain_counts_it_takes_ten_children() -> None:
    looks = [look(n, (n % 3, 1, 2, 0, 1), (n % 3, 1, 2, 1, 1)) for n in range(10)]
    nine, ten = shape_agreement(looks[:9], "hollow"), shape_agreement(looks, "hollow")
    assert (nine.icc, nine.icc_interval, nine.limits) == (None, None, None)
    assert [(one.kappa, one.kappa_interval) for one in nine.criteria] == [(None, None)] * 5
    assert nine.criteria[0].same == 9
    assert ten.icc is not None and ten.limits is not None and ten.criteria[0].kappa is not None


def later(looks: list[SecondLook], weeks: int) -> list[SecondLook]:
    return [replace(one, on=one.on + timedelta(weeks=weeks)) for one in looks]


def test_five_children_on_two_days_are_five_children() -> None:
    noisy = shape_agreement([*wild(5), *later(wild(5), 8)], "hollow")
    assert (noisy.children, noisy.complete, noisy.alarm) == (5, 5, "watch")
    generous = [apart(n, 1 + n % 2) for n in range(5)]
    assert [(one.children, one.alarm) for one in coach_bias([*generous, *later(generous, 8)])] == [
        (5, "watch"),
        (5, "watch"),
    ]


def test_the_newest_look_at_a_child_counts_and_for_totals_the_newest_complete_one() -> None:
    old, newer = apart(1, 0), later([apart(1, 3)], 2)[0]
    blank = later([look(1, (1, 1, 1, 1, None), (1, 1, 1, 0, 1))], 4)[0]
    others = [apart(n, 0) for n in (2, 3)]
    found = shape_agreement([newer, old, blank, *others], "hollow")
    same = shape_agreement([newer, *others], "hollow")
    assert found.sem == same.sem and same.sem is not None and same.sem.value > 0
    assert [(one.same, one.children) for one in found.criteria] == [(3, 3), (3, 3), (3, 3), (2, 3), (2, 2)]


def test_other_shapes_do_not_count() -> None:
    looks = [apart(1, 5, item="arch"), apart(2, 0), apart(3, 0)]
    found = shape_agreement(looks, "hollow")
    assert found.children == 2
    assert found.sem is not None
    assert found.sem.value == 0


def test_a_criterion_not_seen_leaves_the_total_out_and_the_others_in() -> None:
    looks = [look(1, (1, 1, 1, 1, None), (1, 1, 1, 1, 2)), apart(2, 0), apart(3, 0)]
    found = shape_agreement(looks, "hollow")
    assert [one.children for one in found.criteria] == [3, 3, 3, 3, 2]
    assert "2 children seen twice" in found.reason


def test_a_criterion_nobody_saw_twice_says_nothing() -> None:
    found = shape_agreement([look(1, (1, 1, 1, 1, None), (1, 1, 1, 1, 2))], "hollow").criteria[4]
    assert (found.children, found.same_interval, found.kappa) == (0, None, None)


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


def test_equal_differences_leave_the_doubt_of_rounding() -> None:
    """Every child one point apart: SD 0, but two whole totals hide 1 / sqrt(6); t = 1.833 on 9 degrees."""
    found = coach_bias([apart(n, 1) for n in range(10)])[1]
    assert found.interval is not None
    assert found.interval == pytest.approx((0.7634, 1.2366), abs=1e-4)


def test_small_bias_raises_nothing() -> None:
    found = coach_bias([apart(n, n % 2) for n in range(20)])
    assert {one.alarm for one in found} == {""}


def test_bias_that_may_be_chance_is_watched() -> None:
    found = coach_bias([apart(n, 5 if n < 4 else 0 if n % 2 else -1) for n in range(12)])
    assert found[1].mean > 0.7
    assert found[1].alarm == "watch"


def test_one_look_says_nothing_about_a_habit() -> None:
    found = coach_bias([apart(1, 5)])
    assert [(one.children, one.interval, one.alarm) for one in found] == [(1, None, ""), (1, None, "")]


def test_a_child_seen_in_many_shapes_counts_once() -> None:
    looks = [apart(1, 5, item=item) for item in ("hollow", "arch", "tuck")] + [apart(2, 0)]
    found = coach_bias(looks)
    assert [(one.coach, one.children, one.mean) for one in found] == [("ana", 2, -2.5), ("ben", 2, 2.5)]


@pytest.mark.parametrize("judges", [("ana", "ana"), ("", "ben"), ("ana", "")])
def test_a_look_by_the_same_or_an_unknown_coach_is_no_bias(judges: tuple[str, str]) -> None:
    assert coach_bias([apart(1, 3, judge=judges[0], second_judge=judges[1])]) == ()


def test_coaches_stand_by_name_and_never_by_size() -> None:
    looks = [apart(n, 4, judge="zoe", second_judge="ben") for n in range(3)] + [apart(n, 0) for n in range(3)]
    assert [one.coach for one in coach_bias(looks)] == ["ana", "ben", "zoe"]
