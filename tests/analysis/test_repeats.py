"""The club's own repeat tests give its own noise, with the interval that says how well it is known."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from assessments.analysis import estimate_error, repeat_pair
from assessments.analysis.records import DayScore, ErrorModel
from assessments.analysis.reliability import sem_interval, typical_error
from assessments.analysis.repeats import ROUNDING, ErrorEstimate, RepeatPair

from .simulated import TODAY, day_score

FLAT = ErrorModel(3.0, 0.0)
GROWING = ErrorModel(2.0, 0.2)


def days(*steps: int, values: tuple[float, ...] = (10, 12, 14, 16)) -> list[DayScore]:
    return [
        day_score(value, TODAY + timedelta(days=step)) for step, value in zip(steps, values, strict=False)
    ]


def pair(child: int, first: float, second: float) -> RepeatPair:
    return RepeatPair(f"c{child}", first, second, TODAY, TODAY + timedelta(days=7))


def drawn(children: int, *, scale: float, seed: int = 1, shift: float = 0.0) -> list[RepeatPair]:
    random = np.random.default_rng(seed)
    found = []
    for child in range(children):
        level = random.uniform(5, 40)
        noise = scale * GROWING.sem(level)
        found.append(pair(child, level + random.normal(0, noise), level + shift + random.normal(0, noise)))
    return found


@pytest.mark.parametrize(
    ("steps", "expected"), [((0, 14), (10, 12)), ((0, 1), (10, 12)), ((0, 30, 37), (12, 14))]
)
def test_earliest_two_days_within_a_fortnight_make_a_pair(
    steps: tuple[int, ...], expected: tuple[float, float]
) -> None:
    found = repeat_pair("c", days(*steps))
    assert found is not None
    assert (found.first, found.second) == expected


@pytest.mark.parametrize("steps", [(), (0,), (0, 15), (0, 0)])
def test_no_pair_without_two_near_days(steps: tuple[int, ...]) -> None:
    assert repeat_pair("c", days(*steps)) is None


@pytest.mark.parametrize(
    "odd",
    [
        {"at_least": True, "outcome": "reached_cap"},
        {"outcome": "could_not_start"},
        {"familiarisation": True},
        {"first_look": True},
    ],
)
def test_days_that_are_not_the_same_measurement_make_no_pair(odd: dict[str, object]) -> None:
    plain = day_score(10, TODAY)
    assert repeat_pair("c", [plain, day_score(12, TODAY + timedelta(days=7))]) is not None
    assert repeat_pair("c", [plain, day_score(12, TODAY + timedelta(days=7), **odd)]) is None


def test_a_blank_makes_no_pair() -> None:
    assert repeat_pair("c", [day_score(10, TODAY), day_score(math.nan, TODAY + timedelta(days=7))]) is None


def test_pairs_do_not_depend_on_the_order_of_days() -> None:
    assert repeat_pair("c", days(0, 30, 37)[::-1]) == repeat_pair("c", days(0, 30, 37))


def test_flat_error_is_the_typical_error() -> None:
    found = estimate_error([pair(n, 10 + n, 10 + n + (-1) ** n * n) for n in range(16)], FLAT)
    first = [10 + n for n in range(16)]
    second = [10 + n + (-1) ** n * n for n in range(16)]
    assert found.sem_at is not None
    assert found.sem_at[1] == pytest.approx(typical_error(first, second))
    assert found.model is not None
    assert found.model.a == pytest.approx(typical_error(first, second))
    assert found.shift == pytest.approx(np.mean(np.subtract(second, first)))


@pytest.mark.parametrize("scale", [0.5, 1.0, 2.0])
def test_the_true_noise_is_found(scale: float) -> None:
    found = estimate_error(drawn(400, scale=scale), GROWING)
    assert found.scale == pytest.approx(scale, rel=0.12)
    assert found.model is not None
    assert (found.model.a / 2.0, found.model.b / 0.2) == pytest.approx((found.scale, found.scale))
    assert found.model.support == "derived"


def test_the_interval_holds_the_truth_nine_times_in_ten() -> None:
    held = 0
    for seed in range(300):
        found = estimate_error(drawn(15, scale=1.0, seed=seed), GROWING)
        assert found.scale_interval is not None
        held += found.scale_interval[0] <= 1.0 <= found.scale_interval[1]
    assert (
        abs(held / 300 - 0.90) < 3 * math.sqrt(0.9 * 0.1 / 300) + 0.01
    )  # SEM at the seen mean costs a little


def test_learning_is_reported_and_does_not_count_as_noise() -> None:
    still, learning = (
        estimate_error(drawn(60, scale=1.0), GROWING),
        estimate_error(drawn(60, scale=1.0, shift=5.0), GROWING),
    )
    assert learning.shift is not None and still.shift is not None
    assert learning.shift - still.shift == pytest.approx(5.0, abs=0.6)
    assert learning.shift_interval is not None
    assert learning.shift_interval[0] > 0
    assert learning.scale == pytest.approx(still.scale or 0, rel=0.15)


@pytest.mark.parametrize(("children", "enough"), [(14, False), (15, True)])
def test_fifteen_children_are_needed_to_take_it_over(children: int, enough: bool) -> None:
    found = estimate_error(drawn(children, scale=1.0), GROWING)
    assert (found.enough, found.model is not None) == (enough, enough)
    assert found.scale is not None  # shown beside the starter either way
    assert str(children) in found.reason


@pytest.mark.parametrize("children", [0, 1])
def test_nothing_is_said_from_fewer_than_two(children: int) -> None:
    found = estimate_error(drawn(children, scale=1.0), GROWING)
    assert (found.children, found.scale, found.model, found.sem_at) == (children, None, None, None)


def test_a_child_counts_once() -> None:
    one = drawn(20, scale=1.0)
    again = [RepeatPair(each.athlete, 0, 99, date(2026, 7, 1), date(2026, 7, 3)) for each in one]
    assert estimate_error([*again, *one], GROWING) == estimate_error(one, GROWING)


def test_all_equal_pairs_show_no_noise_and_leave_the_doubt_of_rounding() -> None:
    found = estimate_error([pair(n, 10, 10) for n in range(15)], FLAT)
    assert (found.scale, found.shift) == (0, 0)
    assert found.scale_interval is not None and found.shift_interval is not None and found.model is not None
    assert found.scale_interval[0] == 0 < ROUNDING / 3.0 < found.scale_interval[1] < 1
    assert found.shift_interval[0] < 0 < found.shift_interval[1]
    assert found.model.a == ROUNDING


# --- several children timed at once -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("timed", "clocks", "added"),
    [
        (True, (1, 1), 0.0),
        (True, (8, 8), 2 * (0.98**2 - 0.06**2)),
        (True, (1, 8), 0.98**2 - 0.06**2 + (2.15 - 0.27) ** 2),
        (False, (8, 8), 0.0),
    ],
)
def test_a_pair_knows_what_several_clocks_add(timed: bool, clocks: tuple[int, int], added: float) -> None:
    """Spread and lateness of stops by the clock model in scoring; counts and shapes have no clock."""
    both = [replace(day, at_once=count) for day, count in zip(days(0, 7), clocks, strict=True)]
    found = repeat_pair("c", both, timed=timed)
    assert found is not None
    assert found.clock_variance == pytest.approx(added)


def clocked(children: int, *, seed: int = 1, own: float = 1.0) -> list[RepeatPair]:
    """Pairs with 1 s of noise of the test each day and 1 s more that eight clocks add."""
    random = np.random.default_rng(seed)
    noise = random.normal(0, own, (children, 2)) + random.normal(0, 1.0, (children, 2))
    return [
        replace(pair(n, 20 + one, 20 + two), clock_variance=2.0)
        for n, (one, two) in enumerate(noise.tolist())
    ]


def test_the_noise_of_several_clocks_is_not_counted_as_the_tests_own() -> None:
    pairs, starter = clocked(600), ErrorModel(1.0, 0.0)
    assert estimate_error(pairs, starter).scale == pytest.approx(1.0, rel=0.08)
    blind = estimate_error([replace(one, clock_variance=0.0) for one in pairs], starter)
    assert blind.scale == pytest.approx(math.sqrt(2), rel=0.08)


def test_the_interval_beside_several_clocks_holds_the_truth_nine_times_in_ten() -> None:
    held = 0
    for seed in range(300):
        found = estimate_error(clocked(15, seed=seed), ErrorModel(1.0, 0.0))
        assert found.scale_interval is not None
        held += found.scale_interval[0] <= 1.0 <= found.scale_interval[1]
    assert abs(held / 300 - 0.90) < 3 * math.sqrt(0.9 * 0.1 / 300)


def test_clocks_that_explain_everything_leave_an_error_of_rounding_at_least() -> None:
    found = estimate_error(clocked(40, seed=3, own=0.0), ErrorModel(1.0, 0.0))
    quieter = [replace(one, clock_variance=6.0) for one in clocked(40, seed=3, own=0.0)]
    none = estimate_error(quieter, ErrorModel(1.0, 0.0))
    assert found.scale is not None and found.scale < 0.6
    assert none.scale == 0 and none.model is not None
    assert none.model.a == ROUNDING


def test_without_several_clocks_it_is_the_variance_of_the_differences() -> None:
    """The closed form and the chi-square interval of a variance."""
    pairs = drawn(20, scale=1.3)
    found = estimate_error(pairs, GROWING)
    unit = np.array([2 * GROWING.sem((one.first + one.second) / 2) ** 2 for one in pairs])
    difference = np.array([one.second - one.first for one in pairs])
    shift = (difference / unit).sum() / (1 / unit).sum()
    scale = math.sqrt((((difference - shift) ** 2) / unit).sum() / 19)
    spread = sem_interval(scale, 19, confidence=0.90)
    assert (found.scale, found.shift) == pytest.approx((scale, shift))
    assert found.scale_interval == pytest.approx((spread.low, spread.high))


@pytest.mark.parametrize(("first", "starter"), [(math.nan, FLAT), (10.0, ErrorModel(0, 0))])
def test_what_cannot_be_is_refused(first: float, starter: ErrorModel) -> None:
    with pytest.raises(ValueError):
        estimate_error([pair(1, first, 10), pair(2, 10, 10)], starter)


def test_the_club_s_error_is_read_at_the_mean_of_its_pairs() -> None:
    found = estimate_error([pair(1, 8, 12), pair(2, 20, 24), pair(3, 30, 38)], GROWING)
    assert found.sem_at is not None and found.scale is not None and found.scale_interval is not None
    value, sem, low, high = found.sem_at
    assert value == 22  # (10 + 22 + 34) / 3
    assert (sem, low) == (pytest.approx(found.scale * 4.4), pytest.approx(found.scale_interval[0] * 4.4))
    assert high == pytest.approx(found.scale_interval[1] * 4.4)


def test_one_pair_tells_nothing_and_leaves_the_starter() -> None:
    found = estimate_error([pair(1, 8, 12)], GROWING)
    assert (found.children, found.enough, found.starter, found.scale, found.sem_at) == (
        1, False, GROWING, None, None,
    )  # fmt: skip


def test_a_shift_has_the_interval_of_a_mean_of_differences() -> None:
    """Equal errors: the shift is the plain mean of 4, 4 and 10, its standard error sqrt(2) * SEM / sqrt(3)."""
    found = estimate_error([pair(1, 8, 12), pair(2, 20, 24), pair(3, 30, 40)], FLAT, confidence=0.90)
    assert found.shift == pytest.approx(6) and found.scale is not None and found.shift_interval is not None
    reach = (
        2.9200 * math.sqrt(2) * found.scale * 3 / math.sqrt(3)
    )  # t of 90 % with 2 degrees of freedom, any table
    assert found.shift_interval == (pytest.approx(6 - reach, abs=0.001), pytest.approx(6 + reach, abs=0.001))


def test_a_club_s_error_says_where_it_comes_from() -> None:
    found = estimate_error(drawn(16, scale=1.0), GROWING)
    assert found.model is not None
    assert found.model.note == "From repeat tests of 16 children of this club."
    assert found.reason == "16 children measured twice within 14 days."
    few = estimate_error(drawn(3, scale=1.0), GROWING, needed=9, days_apart=10)
    assert few.reason == "3 of 9 children measured twice within 10 days: too few to take over."
    assert (few.needed, few.days_apart, few.children, few.model) == (9, 10, 3, None)


def test_one_child_leaves_all_else_open() -> None:
    found = estimate_error([pair(1, 8, 12)], GROWING, needed=9, days_apart=10)
    words = "1 of 9 children measured twice within 10 days."
    assert found == ErrorEstimate(1, 9, 10, False, GROWING, None, None, None, None, None, None, words)


@pytest.mark.parametrize("place", ["first", "second"])
def test_what_is_no_number_is_named(place: str) -> None:
    odd = replace(pair(1, 8, 12), **{place: math.inf})
    with pytest.raises(ValueError, match=r"^Repeat tests need finite values and a starter error above 0\.$"):
        estimate_error([odd, pair(2, 10, 10)], FLAT)


def confirmations(children: int, seed: int) -> list[RepeatPair]:
    """True levels N(20, 6), error 5; asked again is only who had 26.4 s or more (20 s at 90 %, one day)."""
    random, found = np.random.default_rng(seed), []
    while len(found) < children:
        level = random.normal(20, 6)
        first, second = level + random.normal(0, 5, 2)
        if first >= 26.4:
            found.append(pair(len(found), first, second))
    return found


def test_retests_after_a_good_day_look_like_confirmations_and_are_not_offered() -> None:
    """Regression to the mean: the second day is lower and the noise looks smaller, because the first was a lucky pick."""
    found = [estimate_error(confirmations(20, seed), ErrorModel(5.0, 0.0)) for seed in range(300)]
    assert np.mean([one.scale for one in found if one.scale is not None]) == pytest.approx(0.9, abs=0.02)
    assert np.mean([one.shift for one in found if one.shift is not None]) == pytest.approx(-4.5, abs=0.3)
    assert sum(one.confirming for one in found) > 200
    for one in found:
        assert one.enough and (one.model is None) is one.confirming
        assert ("these look like confirmations asked for after a good day" in one.reason) is one.confirming


@pytest.mark.parametrize(("shift", "confirming"), [(-9.0, True), (0.0, False), (9.0, False)])
def test_only_a_fall_beyond_its_range_looks_like_confirmations(shift: float, confirming: bool) -> None:
    found = estimate_error(drawn(20, scale=1.0, shift=shift), GROWING)
    assert (found.confirming, found.model is None) == (confirming, confirming)
    few = estimate_error(drawn(10, scale=1.0, shift=shift), GROWING)
    assert few.model is None and few.reason.startswith("10 of 15 children")


def test_nothing_to_compare_looks_like_nothing() -> None:
    assert not estimate_error([], GROWING).confirming
