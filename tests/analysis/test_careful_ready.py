"""What must not make a child look readier, or less ready, than it is: clocks, stops, old days, other versions."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from scipy.stats import norm
from scipy.stats import t as student

from assessments.analysis.records import ErrorModel, Requirement
from tests.analysis.small_club import MEASURES, MONDAY, shown, skill, trial
from tests.analysis.test_judge_requirement import HOLLOW, SHAPE, state_of
from tests.analysis.test_judge_skill import state_of as skill_of

EASIER = Requirement("support", 20, variant="knees")


def chance(*rows, requirement=HOLLOW, **more):
    return state_of(requirement, *rows, **more).probability


# --- several clocks -------------------------------------------------------------------------------


@pytest.mark.parametrize("value", [12, 20, 26, 40])
def test_the_same_time_with_more_clocks_never_makes_it_surer(value):
    chances = [chance(trial(value, at_once=clocks), week=0) for clocks in range(1, 12)]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > chances[-1]


def test_lateness_is_taken_off_and_does_not_average_out():
    """By hand: eight clocks stop 1.88 s later than one and add 0.9782 s to the error of 5 s (table of the model)."""
    spread = (25 + 0.98**2 - 0.06**2) ** 0.5
    assert chance(trial(26, at_once=8), week=0) == pytest.approx(norm.cdf((26 - 1.88 - 20) / spread))
    alone = chance(trial(20), trial(20, week=0, day="other"), week=0)
    assert alone == pytest.approx(0.5)
    assert chance(trial(20, at_once=8), trial(20, at_once=8, day="other"), week=0) < 0.32


def test_the_shown_score_stays_as_it_was_timed():
    found = state_of(HOLLOW, trial(26, at_once=8), week=0)
    assert found.value == 26 and "26 s on 2 Mar 2026" in found.reason
    assert "Timed with 7 others: 1.9 s were taken off, because several clocks stop late." in found.reason
    assert "Timed with 1 other: 1.0 s were" in state_of(HOLLOW, trial(26, at_once=2), week=0).reason
    assert "Timed" not in state_of(HOLLOW, trial(26), week=0).reason


def test_a_stop_that_is_over_the_line_only_by_lateness_says_nothing():
    stop = {"outcome": "chose_to_stop", "at_once": 8}
    assert state_of(HOLLOW, trial(21, **stop), week=0).word == "not_known"
    assert state_of(HOLLOW, trial(22, **stop), week=0).word == "likely"


def test_the_cap_is_no_later_with_many_clocks():
    by_clocks = [chance(trial(60, at_once=n, outcome="reached_cap"), week=0, requirement=Requirement("hollow_hold", 58))
                 for n in (1, 8)]  # fmt: skip
    assert by_clocks[0] == pytest.approx(norm.cdf(2 / 5))
    assert by_clocks[1] == by_clocks[0]


# --- the child chose to stop ----------------------------------------------------------------------


@pytest.mark.parametrize(("value", "z"), [(20, 0.0), (22, 0.4), (26, 1.2), (32, 2.4)])
def test_a_stop_counts_with_twice_the_doubt(value, z):
    found = state_of(HOLLOW, trial(value, outcome="chose_to_stop"), week=0)
    assert found.probability == pytest.approx(max(0.5, 1 - 2 * norm.sf(z)))
    assert found.word == ("met" if found.probability >= 0.85 else "likely")
    assert chance(trial(value), week=0) == pytest.approx(norm.cdf(z))


def test_what_a_next_test_must_bring_holds_when_it_comes():
    stop = trial(27, outcome="chose_to_stop")
    asked = state_of(HOLLOW, stop, week=1).one_more
    needed = int(asked.removeprefix("Next test: ").split(" s")[0])
    assert state_of(HOLLOW, stop, trial(needed, week=1), week=1).word == "met"
    assert state_of(HOLLOW, stop, trial(needed - 1, week=1), week=1).word == "likely"


def test_a_stop_never_makes_old_evidence_fresh():
    """60 s forty weeks ago and a stop exactly at the line today: the stop alone, and not the sixty."""
    old = trial(60)
    assert state_of(HOLLOW, old, week=40, risk="high").word == "not_known"
    found = state_of(HOLLOW, old, trial(20, week=40, outcome="chose_to_stop"), week=40, risk="high")
    assert (found.word, found.probability) == ("likely", pytest.approx(0.5))


# --- evidence that had expired --------------------------------------------------------------------


def test_a_day_after_evidence_had_expired_starts_anew():
    """5 s and 6 s long ago do not pull down 27 s of today, nor does 60 s lift 20."""
    low = [trial(5), trial(6, week=3)]
    assert chance(*low, trial(27, week=20), week=20) == pytest.approx(norm.cdf(7 / 5))
    assert chance(*low, trial(27, week=19), week=19) < 0.5  # sixteen weeks: they still count
    assert chance(trial(60), trial(20, week=40), week=40) == pytest.approx(0.5)


def test_waiting_alone_never_lets_an_old_day_drop_out():
    days = [trial(5), trial(27, week=10)]
    chances = [chance(*days, week=week) for week in range(10, 27)]
    assert chances == sorted(chances), "under the line: towards a half and never over it"
    assert chances[-1] < 0.5
    assert chance(*days, week=26.2) is None


def test_what_a_first_test_would_bring_is_true_for_a_line_that_expired():
    old = [trial(5), trial(6, week=3)]
    found = state_of(HOLLOW, *old, week=21)
    assert found.one_more == "A test would start it: 26 s or more would be enough."
    assert state_of(HOLLOW, *old, trial(26, week=21), week=21).word == "met"
    assert state_of(HOLLOW, *old, trial(25, week=21), week=21).word == "likely"


def test_a_day_that_had_expired_confirms_nothing():
    risky = skill("roll", HOLLOW, risk="high")
    fresh = skill_of(risky, trial(40), trial(40, week=14), week=14)
    late = skill_of(risky, trial(40), trial(40, week=18), week=18)
    assert (fresh.word, late.word) == ("ready", "nearly")


@pytest.mark.parametrize(("values", "ready"), [((48, 40), True), ((70, 19), False), ((19, 70), False)])
def test_of_two_tests_on_one_date_both_have_to_reach_the_line(values, ready):
    risky = skill("roll", HOLLOW, risk="high")
    twice = [trial(value, week=2, day=f"day {value}") for value in values]
    assert (skill_of(risky, trial(40), *twice, week=2).word == "ready") is ready
    earlier = [trial(value, day=f"day {value}") for value in values]
    assert (skill_of(risky, *earlier, trial(40, week=2), week=2).word == "ready") is ready


# --- another version ------------------------------------------------------------------------------


def support(value, variant, **more):
    return trial(value, item="support", series=f"v1:{variant}", **more)


def test_a_harder_version_under_the_line_says_nothing_about_the_one_asked_for():
    found = state_of(EASIER, support(6, "feet_high"))
    assert found.word == "not_known"
    assert "was in a harder version, so it says nothing yet about the one asked for" in found.reason
    assert state_of(EASIER, support(6, "knees")).word == "not_yet"


def test_a_harder_version_over_the_line_proves_the_easier_one():
    assert state_of(EASIER, support(40, "feet_high")).word == "met"


def test_moving_on_to_a_harder_version_takes_nothing_back():
    easy, hard = support(40, "knees"), support(6, "feet_high", week=2)
    assert state_of(EASIER, easy, week=2).word == state_of(EASIER, easy, hard, week=2).word == "met"
    assert state_of(EASIER, easy, replace_week(hard, 20), week=20).word == "not_known"


def replace_week(row, week):
    on = MONDAY + timedelta(weeks=week)
    return row | {"on": type(row["on"])(on), "day": f"day {week}"}


# --- must-haves -----------------------------------------------------------------------------------


def test_two_coaches_are_two_known_people():
    first, second = shown(judge="ana"), shown(second=True, judge="ben")
    assert state_of(SHAPE, first, second, week=0).word == "met"
    for pair in (
        (shown(judge=""), second),
        (first, shown(second=True, judge="")),
        (shown(judge=""), shown(second=True, judge="")),
        (first, shown(second=True, judge="ben", conflict=True)),
    ):
        assert state_of(SHAPE, *pair, week=0).word == "likely"


def test_every_second_coach_of_the_day_has_to_see_it_in_any_order():
    yes, no = shown(second=True, judge="ben"), shown(1, second=True, judge="cleo")
    for looks in ((yes, no), (no, yes)):
        assert state_of(SHAPE, shown(judge="ana"), *looks, week=0).word == "likely"


def test_a_newer_look_that_saw_the_must_have_fail_counts_though_something_else_was_not_seen():
    days = [shown(), shown(week=1)]
    assert state_of(SHAPE, *days, week=3).word == "met"
    partly = shown(0, week=3, rest=None)
    found = state_of(SHAPE, *days, partly, week=3)
    assert found.word == "not_yet" and "Chin, Round not yet on their own" in found.reason
    assert state_of(SHAPE, *days, shown(2, week=3, rest=None), week=3).word == "met"
    assert state_of(SHAPE, *days, shown(None, week=3, rest=None), week=3).word == "met"
    assert state_of(SHAPE, *days, shown(0, week=1, rest=None, trial=2), week=3).word == "met", (
        "a better try that day"
    )


# --- an error that the club found itself ----------------------------------------------------------


def own_error(df):
    return lambda plain: replace(
        plain, measures={"hollow_hold": replace(MEASURES[0], error=ErrorModel(5, 0, children=df and df + 1))}
    )


@pytest.mark.parametrize("value", [4, 13, 20, 23, 27, 60])
@pytest.mark.parametrize("df", [3, 14, 200])
def test_an_own_error_of_few_children_makes_it_less_sure(value, df):
    """The chance is that of Student's t (scipy), so that the promise holds for the noise as it is known."""
    found = chance(trial(value), week=0, edition=own_error(df))
    assert found == pytest.approx(student.cdf((value - 20) / 5, df), abs=1e-9)


def test_more_is_asked_for_where_the_noise_is_less_known():
    needed = {df: state_of(HOLLOW, week=0, edition=own_error(df)).one_more for df in (None, 14, 3)}
    assert needed[None] == "A test would start it: 26 s or more would be enough."
    for df in (14, 3):
        least = int(needed[df].split(": ")[1].split(" s")[0])
        assert least == -(-(20 + 5 * student.ppf(0.85, df)) // 1)
        assert state_of(HOLLOW, trial(least), week=0, edition=own_error(df)).word == "met"
        assert state_of(HOLLOW, trial(least - 1), week=0, edition=own_error(df)).word == "likely"
