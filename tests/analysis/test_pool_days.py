"""Which days and which children a forecast leans on."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

from assessments.analysis import counting_from, near_in_age
from assessments.analysis.pool import age_of, stopped, usable_days
from assessments.analysis.records import Interpretation, Outcome

from .simulated import TODAY, day_score, history

DAY = timedelta(days=1)


@pytest.mark.parametrize(
    ("outcome", "kept"),
    [
        ("scored", True),
        ("reached_cap", True),
        ("chose_to_stop", True),
        ("could_not_start", True),
        ("not_attempted", False),
        ("stopped_for_pain", False),
        ("interrupted", False),
        ("withdrawn", False),
    ],
)
def test_what_was_seen_of_the_test_decides_whether_a_day_counts(outcome: Outcome, kept: bool) -> None:
    day = day_score(10, TODAY, outcome=outcome)
    assert usable_days([day], TODAY) == ((day,) if kept else ())


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_day_without_a_number_does_not_count(value: float) -> None:
    assert usable_days([day_score(value, TODAY)], TODAY) == ()


@pytest.mark.parametrize("odd", ["first_look", "familiarisation"])
def test_a_look_that_is_no_test_does_not_count(odd: str) -> None:
    assert usable_days([day_score(10, TODAY, **{odd: True})], TODAY) == ()


def test_days_count_up_to_the_date_itself_and_oldest_first() -> None:
    first, second, third, fourth = (day_score(10 + n, TODAY + n * DAY) for n in range(4))
    assert usable_days([third, fourth, first, second], TODAY + 2 * DAY) == (first, second, third)
    twin = day_score(99, TODAY)
    assert usable_days([twin, second, first], TODAY + DAY) == (twin, first, second), "one date: as they came"


def test_a_rest_lets_days_from_its_last_date_on_count() -> None:
    own = history("mia", [day_score(10 + n, TODAY + n * DAY) for n in range(3)])
    assert counting_from(own, TODAY + DAY).days == own.days[1:]
    assert counting_from(own, TODAY + DAY).athlete == "mia"


@pytest.mark.parametrize(
    ("outcome", "at_least", "chose"),
    [
        ("scored", False, False),
        ("reached_cap", True, False),
        ("chose_to_stop", True, True),
    ],
)
def test_only_an_open_end_under_the_cap_leaves_open_what_would_have_come(
    outcome: Outcome, at_least: bool, chose: bool
) -> None:
    assert stopped(day_score(10, TODAY, outcome=outcome, at_least=at_least)) is chose


# --- about the same age --------------------------------------------------------------------------------


def aged(name: str, age: float, on: date = TODAY) -> Interpretation:
    return history(name, [day_score(10, on, age=age)])


def test_an_age_goes_on_from_the_newest_day() -> None:
    days = [day_score(10, TODAY - 500 * DAY, age=5.0), day_score(10, TODAY - 100 * DAY, age=6.5)]
    assert age_of(days, TODAY) == pytest.approx(6.5 + 100 / 365.25)
    assert age_of(days, TODAY - 100 * DAY) == 6.5


@pytest.mark.parametrize(
    ("of_one_year", "of_two", "of_three", "years"),
    [(12, 5, 5, 1), (11, 1, 5, 2), (11, 0, 5, 3), (4, 8, 9, 2), (4, 7, 9, 3), (2, 3, 4, 3), (0, 0, 0, 3)],
)
def test_ages_widen_by_whole_years_until_twelve_children_are_near(
    of_one_year: int, of_two: int, of_three: int, years: int
) -> None:
    """Each group lies exactly on the edge of its year: the edge itself is near."""
    groups = [
        [aged(f"{apart}-{n}", 7 + apart * (-1) ** n) for n in range(count)]
        for apart, count in ((1, of_one_year), (2, of_two), (3, of_three), (3.01, 9))
    ]
    found = near_in_age([one for group in groups for one in group], 7, TODAY)
    assert found == tuple(one for group in groups[:years] for one in group)


def test_ages_are_those_of_the_date_and_of_days_that_count() -> None:
    long_ago = aged("grown", 5.9, TODAY - 60 * 7 * DAY)  # 7.05 by now
    too_long_ago = aged("left", 5.9, TODAY - (60 * 7 + 1) * DAY)
    later = history("later", [day_score(10, TODAY + DAY, age=7.0)])
    only_looks = history("look", [day_score(10, TODAY, age=7.0, first_look=True)])
    twelve = [aged(f"c{n}", 7.0) for n in range(12)]
    assert near_in_age([long_ago, too_long_ago, later, only_looks, *twelve], 7.0, TODAY) == (
        long_ago,
        *twelve,
    )
    assert near_in_age([aged("one", 5.9), *twelve], 7.0, TODAY) == tuple(twelve)
