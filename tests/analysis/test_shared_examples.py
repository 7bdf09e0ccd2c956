"""Ten shared examples: a coach beside the agreed totals, all coaches beside one another, and until when it stands."""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest

from assessments.analysis import calibrate, calibration_states, krippendorff_alpha, shared_scores
from assessments.analysis.concordance import alpha_interval
from assessments.analysis.examples import SharedScores

ON = date(2026, 3, 2)
AGREED = [3, 3, 4, 5, 6, 7, 7, 6, 5, 6]


def test_close_scores_of_ten_examples_count_for_a_year() -> None:
    found = calibrate([3, 3, 4, 5, 6, 7, 6, 6, 7, 5], AGREED, ON)
    assert (found.passed, found.until) == (True, date(2027, 3, 2))
    assert (found.same, found.near, found.bias) == (7, 9, 0)
    # Differences -1, 2, -1 and seven of 0: SD sqrt(6/9); t = 1.833 on 9 degrees of freedom.
    assert found.bias_interval == pytest.approx((-0.4733, 0.4733), abs=1e-4)
    assert found.sem == pytest.approx(math.sqrt(6 / 9))


def test_agreed_totals_are_the_standard_so_all_of_the_spread_is_the_coachs() -> None:
    """Two coaches share the spread of their differences (SD / sqrt 2); here one side is without error by agreement."""
    found = calibrate([6, 4, 7, 4, 6, 3, 6, 4, 6, 4], [5] * 10, ON)
    # Differences 1, -1, 2, -1, 1, -2, 1, -1, 1, -1: sum 0, squares 16.
    assert found.sem == pytest.approx(math.sqrt(16 / 9))
    assert (found.bias, found.passed, found.until) == (0, False, None)
    assert found.reason == "Mean difference +0.0 and spread 1.3 points of 10 on 10 examples."


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
    assert (found.same, found.near, found.bias_interval) == (9, 9, None)


def test_no_examples_are_too_few() -> None:
    assert calibrate([], [], ON).reason == "0 of 10 examples scored."


def test_equal_scores_leave_the_doubt_of_rounding() -> None:
    found = calibrate(AGREED, AGREED, ON)
    assert found.bias_interval is not None
    assert found.bias_interval[0] < 0 < found.bias_interval[1]


def test_limits_are_shares_of_the_highest_total() -> None:
    """0.7 of 10 is 0.56 of 8: six of ten examples a point higher pass on the longer scale only."""
    own = [score + (n < 6) for n, score in enumerate(AGREED)]
    assert calibrate(own, AGREED, ON).passed
    assert not calibrate(own, AGREED, ON, top=8).passed


@pytest.mark.parametrize("own", [[1], [11, *AGREED[1:]], [-1, *AGREED[1:]]])
def test_scores_that_cannot_be_are_refused(own: list[int]) -> None:
    with pytest.raises(ValueError):
        calibrate(own, AGREED, ON)


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


# --- all coaches on the same examples -----------------------------------------------------------------


def test_alpha_of_all_coaches_carries_its_interval() -> None:
    scores = {"ana": AGREED, "ben": [3, 4, 4, 5, 7, 7, 6, 6, 5, 6], "cas": [2, 3, 4, 6, 6, 8, 7, 6, 5, 5]}
    found = shared_scores(scores)
    assert (found.coaches, found.examples, found.reason) == (3, 10, "")
    assert found.alpha == pytest.approx(krippendorff_alpha(list(scores.values()), "interval"))
    assert found.alpha is not None and found.interval is not None
    assert found.interval[0] < found.alpha < found.interval[1] < 1


def test_full_agreement_of_all_coaches_is_no_certainty() -> None:
    found = shared_scores({"ana": AGREED, "ben": AGREED})
    assert found.alpha == 1
    assert found.interval is not None
    assert found.interval[0] < 1 == found.interval[1]


@pytest.mark.parametrize(
    ("scores", "why"),
    [
        ({}, "2 coaches"),
        ({"ana": AGREED}, "2 coaches"),
        ({"ana": AGREED[:9], "ben": AGREED[:9]}, "9 of 10 examples"),
    ],
)
def test_too_few_coaches_or_examples_say_nothing(scores: dict[str, list[int]], why: str) -> None:
    found = shared_scores(scores)
    assert (found.alpha, found.interval) == (None, None)
    assert why in found.reason


def test_examples_that_do_not_differ_say_nothing() -> None:
    found = shared_scores({"ana": [6] * 10, "ben": [6] * 10})
    assert found.alpha is not None
    assert math.isnan(found.alpha)
    assert (found.interval, found.reason) == (None, "Every total is the same: the examples do not differ.")


def test_coaches_who_scored_other_numbers_of_examples_are_refused() -> None:
    with pytest.raises(ValueError):
        shared_scores({"ana": AGREED, "ben": AGREED[:9]})


@pytest.mark.parametrize(("coaches", "habit"), [(2, 0.0), (5, 0.5)])
def test_the_interval_of_alpha_holds_what_many_examples_would_say(coaches: int, habit: float) -> None:
    """Ten examples of 2000: the promise is 95 of 100; habits that a coach keeps make it wider, never narrower."""
    random = np.random.default_rng(4)
    held = 0
    for _ in range(300):
        true, own = random.normal(5, 2, 2000), random.normal(0, habit, coaches)
        ratings = np.clip(np.round(true + own[:, None] + random.normal(0, 0.7, (coaches, 2000))), 0, 10)
        low, high = alpha_interval(ratings[:, :10], step=1.0)
        held += low <= krippendorff_alpha(ratings, "interval") <= high
    assert held / 300 > 0.95 - 3 * math.sqrt(0.95 * 0.05 / 300)


# --- what a coach reads ---------------------------------------------------------------------------------

LONG = [5] * 20


def higher(points: int) -> list[int]:
    """Twenty examples, each scored 5 by agreement, of which this many are a point higher."""
    return [5 + (n < points) for n in range(20)]


@pytest.mark.parametrize(
    ("top", "points", "passed"), [(10, 14, True), (10, 15, False), (5, 7, True), (5, 8, False)]
)
def test_a_mean_difference_on_the_limit_still_counts(top: int, points: int, passed: bool) -> None:
    """0.7 of 10, so 14 points on twenty examples; of 5 the limit is 0.35, so 7."""
    agreed = [score - 5 + top // 2 for score in LONG]
    own = [score - 5 + top // 2 for score in higher(points)]
    found = calibrate(own, agreed, ON, top=top)
    assert (found.passed, found.until is not None) == (passed, passed)
    assert (found.bias_limit, found.sem_limit) == (pytest.approx(0.07 * top), pytest.approx(0.1 * top))
    assert found.bias == pytest.approx(points / 20)


@pytest.mark.parametrize(("apart", "passed"), [(18, True), (20, False)])
def test_a_spread_within_one_point_of_ten_counts(apart: int, passed: bool) -> None:
    """Differences of -/+ 1 on 18 or on all of 20 examples: SD = sqrt(18 / 19) = 0.973 and sqrt(20 / 19) = 1.026."""
    found = calibrate([5 + (-1) ** n * (n < apart) for n in range(20)], LONG, ON)
    assert found.sem == pytest.approx(math.sqrt(apart / 19))
    assert (found.bias, found.passed) == (0, passed)


def test_a_result_says_how_far_off_and_on_how_many() -> None:
    found = calibrate(higher(6), LONG, ON)
    assert found.reason == "Mean difference +0.3 and spread 0.5 points of 10 on 20 examples."
    assert (found.examples, found.needed, found.same, found.near) == (20, 10, 14, 20)
    strict = calibrate([score - 1 for score in AGREED], AGREED, ON, top=8)
    assert strict.reason == "Mean difference -1.0 and spread 0.0 points of 8 on 10 examples."


def test_too_few_examples_say_how_many_and_what_was_the_same() -> None:
    found = calibrate([6, 5, 9], [5, 5, 5], ON, top=10)
    assert (found.examples, found.needed, found.same, found.near) == (3, 10, 1, 2)
    assert math.isnan(found.bias) and math.isnan(found.sem)
    assert (found.bias_limit, found.sem_limit) == (pytest.approx(0.7), 1.0)
    assert (found.passed, found.until, found.reason) == (False, None, "3 of 10 examples scored.")


def test_refusals_name_what_is_wrong() -> None:
    with pytest.raises(ValueError, match=r"^Every example needs an agreed total\.$"):
        calibrate([1], AGREED, ON)
    with pytest.raises(ValueError, match=r"^A total lies between 0 and 8\.$"):
        calibrate([9, *AGREED[1:]], AGREED, ON, top=8)
    with pytest.raises(ValueError, match=r"^A total lies between 0 and 6\.$"):
        calibrate([6] * 10, AGREED, ON, top=6)
    with pytest.raises(ValueError, match=r"^Every coach scores every example\.$"):
        shared_scores({"ana": AGREED, "ben": AGREED[:9]})


@pytest.mark.parametrize(
    ("totals", "coaches", "examples", "reason"),
    [
        ({}, 0, 0, "It takes 2 coaches to compare."),
        ({"ana": AGREED}, 1, 10, "It takes 2 coaches to compare."),
        ({"ana": AGREED[:9], "ben": AGREED[:9]}, 2, 9, "9 of 10 examples scored: too few."),
        ({"ana": [], "ben": []}, 2, 0, "0 of 10 examples scored: too few."),
    ],
)
def test_what_cannot_be_compared_is_counted_and_said(
    totals: dict[str, list[int]], coaches: int, examples: int, reason: str
) -> None:
    assert shared_scores(totals) == SharedScores(coaches, examples, None, None, reason)


def test_examples_that_do_not_differ_are_counted() -> None:
    found = shared_scores({"ana": [6] * 11, "ben": [6] * 11, "cas": [6] * 11})
    assert (found.coaches, found.examples) == (3, 11)


@pytest.mark.parametrize(
    ("on", "until"),
    [
        (date(2026, 1, 31), date(2027, 1, 31)),
        (date(2026, 11, 30), date(2027, 11, 30)),
        (date(2023, 2, 28), date(2024, 2, 28)),
    ],
)
def test_a_year_on_is_the_same_day(on: date, until: date) -> None:
    assert calibrate(AGREED, AGREED, on).until == until


@pytest.mark.parametrize(("points", "passed"), [(5, True), (6, False)])
def test_a_spread_on_the_limit_still_counts(points: int, passed: bool) -> None:
    """Eleven examples, five a point over and five under, one alike: the squares of 10 over 10 are a spread of 1."""
    gaps = [1] * 5 + [-1] * 5 + [0 if points == 5 else 1]
    found = calibrate([5 + gap for gap in gaps], [5] * 11, ON)
    assert found.sem == pytest.approx(1 if passed else math.sqrt((11 - 1 / 11) / 10))
    assert found.passed is passed


def test_the_interval_of_full_agreement_is_that_of_rounding_to_whole_points() -> None:
    assert shared_scores({"ana": AGREED, "ben": AGREED}).interval == alpha_interval(
        [AGREED, AGREED], step=1.0
    )
