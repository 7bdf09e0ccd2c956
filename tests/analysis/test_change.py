"""Up and down only beyond noise, only between comparable days, and never a fall from a bound."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.analysis import detectable_change, interpret
from assessments.analysis.records import DayScore, ErrorModel
from assessments.analysis.trend import change_between, latest_change
from tests.analysis.small_club import BORN, MONDAY, frame, measure, programme, shown, trial

PLAIN = DayScore(MONDAY, "a", 20.0, False, "scored", 2, 1, 5.0, False, False, 6.5, "6", "")
DETECTABLE = 1.6448536 * math.sqrt(2) * 5


def change(earlier, later, **marks):
    first = replace(PLAIN, value=earlier, at_least=marks.get("first_bound", False))
    second = replace(
        PLAIN, value=later, at_least=marks.get("second_bound", False), on=MONDAY + timedelta(weeks=4)
    )
    return change_between(first, second, timed=False)


@pytest.mark.parametrize(
    ("later", "word"),
    [(20 + DETECTABLE + 0.01, "up"), (20 + DETECTABLE - 0.01, "about_the_same"), (20, "about_the_same"),
     (20 - DETECTABLE + 0.01, "about_the_same"), (20 - DETECTABLE - 0.01, "down")],
)  # fmt: skip
def test_up_and_down_are_said_beyond_the_detectable_change(later, word):
    found = change(20, later)
    assert (found.word, found.since) == (word, MONDAY)
    assert found.detectable == pytest.approx(DETECTABLE)
    assert found.difference == pytest.approx(later - 20)


@given(st.floats(0, 60), st.floats(0, 60))
def test_a_change_read_backwards_is_its_opposite(first, second):
    opposite = {"up": "down", "down": "up", "about_the_same": "about_the_same"}
    assert change(second, first).word == opposite[change(first, second).word]


@given(st.floats(0, 60), st.floats(0, 60), st.booleans())
def test_a_bound_is_never_a_fall(first, second, first_bound):
    assert change(first, second, first_bound=first_bound, second_bound=True).word != "down"


@given(st.floats(0, 60), st.floats(0, 60), st.booleans())
def test_after_a_bound_no_rise_is_claimed(first, second, second_bound):
    assert change(first, second, first_bound=True, second_bound=second_bound).word != "up"


def test_bounds_that_hide_a_difference_say_why():
    assert change(60, 20, second_bound=True).reason == "The later value is 'at least', so it is no fall."
    hidden = change(20, 60, first_bound=True)
    assert (hidden.word, hidden.reason) == (
        "not_comparable", "The earlier value was 'at least': it may have been higher.",
    )  # fmt: skip


def test_a_fall_from_a_bound_and_a_rise_to_a_bound_are_real():
    assert change(60, 20, first_bound=True).word == "down"
    assert change(20, 60, second_bound=True).word == "up"


def test_twice_at_the_cap_is_about_the_same():
    assert change(60, 60, first_bound=True, second_bound=True).word == "about_the_same"


def test_different_clocks_widen_what_must_be_exceeded():
    many = replace(PLAIN, at_once=8)
    alike = change_between(many, many, timed=True)
    unlike = change_between(PLAIN, many, timed=True)
    assert alike.detectable == pytest.approx(DETECTABLE)
    assert unlike.detectable == pytest.approx(DETECTABLE + 2.15 - 0.27)
    assert change_between(PLAIN, many, timed=False).detectable == pytest.approx(DETECTABLE)
    assert change_between(PLAIN, replace(PLAIN, at_once=10), timed=True).detectable > unlike.detectable


def changes(*rows):
    read = interpret(
        frame(rows), programme=programme(), born_on={"mia": BORN}, on=MONDAY + timedelta(weeks=20)
    )
    return {one.series: one.change for one in read}


def test_the_first_look_is_compared_with_nothing():
    found = changes(trial(3))["v1"]
    assert (found.word, found.since) == ("first_look", None)


def test_the_second_day_is_not_compared_with_a_first_look():
    found = changes(trial(3), trial(40, week=4))["v1"]
    assert (found.word, found.since) == ("not_comparable", None)
    assert "first look" in found.reason


def test_the_third_day_is_compared_with_the_second():
    found = changes(trial(3), trial(40, week=4), trial(60, week=8))["v1"]
    assert (found.word, found.since) == ("up", MONDAY + timedelta(weeks=4))


def test_play_days_are_never_compared():
    played = trial(1, week=6, familiarisation=True)
    rows = [trial(3), trial(20, week=4), played, trial(40, week=8)]
    assert changes(*rows)["v1"].since == MONDAY + timedelta(weeks=4)
    assert changes(trial(5, familiarisation=True))["v1"] is None


def test_variants_are_never_compared():
    found = changes(trial(3), trial(20, week=4), trial(50, week=8, series="v1:tucked"), trial(21, week=8))
    assert found["v1"].word == "about_the_same"
    assert found["v1:tucked"].word == "first_look"


def test_nothing_scored_has_no_change():
    assert latest_change((), timed=True) is None


@pytest.mark.parametrize("names", [("a", "b"), ("b", "a")])
@pytest.mark.parametrize("bound", [False, True])
def test_two_days_on_one_date_have_no_order_of_their_own(names, bound):
    """The names of days are chance; of one date the exact days come first, then from below upwards."""
    low = trial(8, week=8, day=names[0])
    high = trial(40, week=8, day=names[1], outcome="chose_to_stop" if bound else "scored")
    read = interpret(
        frame([trial(20), trial(22, week=4), high, low]), programme=programme(), born_on={"mia": BORN},
        on=MONDAY + timedelta(weeks=20),
    )[0]  # fmt: skip
    assert [day.value for day in read.days] == [20, 22, 8, 40]
    assert (read.latest.value, read.change.word, read.change.since) == (40, "up", MONDAY + timedelta(weeks=4))


@pytest.mark.parametrize("names", [("a", "b"), ("b", "a")])
def test_everything_on_the_first_date_is_a_first_look(names):
    twice = [trial(8, day=names[0]), trial(40, day=names[1])]
    assert changes(*twice)["v1"].word == "first_look"
    second = changes(*twice, trial(41, week=4))["v1"]
    assert (second.word, "first look" in second.reason) == ("not_comparable", True)
    third = changes(*twice, trial(41, week=4), trial(8, week=8))["v1"]
    assert (third.word, third.since) == ("down", MONDAY + timedelta(weeks=4))


@pytest.mark.parametrize("names", [("a", "b"), ("b", "a")])
def test_a_second_look_stays_with_its_day_on_a_date_with_two(names):
    rows = [
        shown(2, day=names[0]),
        shown(1, day=names[1]),
        shown(1, 1, day=names[0], second=True, judge="other"),
    ]
    (read,) = interpret(frame(rows), programme=programme(), born_on={"mia": BORN}, on=MONDAY)
    assert [(day.value, day.second_levels is not None) for day in read.days] == [(9, False), (10, True)]


def test_an_error_found_from_few_children_takes_a_larger_change():
    """Student's t on 14 degrees of freedom is 1.761 at 90 %, beside 1.645 (any table of t)."""
    later = replace(PLAIN, value=PLAIN.value + 12, on=MONDAY + timedelta(weeks=4))
    starter, own = ErrorModel(5, 0), ErrorModel(5, 0, "derived", "", 15)
    known = change_between(PLAIN, later, timed=False, error=starter)
    found = change_between(PLAIN, later, timed=False, error=own)
    assert known == change_between(PLAIN, later, timed=False)
    assert (known.word, found.word) == ("up", "about_the_same")
    assert found.detectable == pytest.approx(1.7613 * math.sqrt(2) * 5, abs=1e-3)
    assert found.detectable == pytest.approx(detectable_change(5, df=14))
    assert latest_change([PLAIN, later], timed=False, error=own) == found


def test_an_own_error_reaches_the_change_of_a_line():
    rows = [trial(3), trial(20, week=4), trial(32, week=8)]
    own = programme()
    own = replace(
        own, measures={"hollow_hold": replace(measure(), error=ErrorModel(5, 0, "derived", "", 15))}
    )
    words = [
        interpret(frame(rows), programme=one, born_on={"mia": BORN}, on=MONDAY + timedelta(weeks=20))[
            0
        ].change.word
        for one in (programme(), own)
    ]
    assert words == ["up", "about_the_same"]
