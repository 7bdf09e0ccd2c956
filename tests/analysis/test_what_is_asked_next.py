"""What one more test would do, and the sentences of a state at the edges of each rule.

By hand: one day with an error of 5 s leaves a variance of 25, so the next day counts half, and 85 % sure (z = 1.0364)
of 20 s takes 2 * (20 + 1.0364 * 5 / sqrt(2)) - value = 47.33 - value.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from assessments.analysis.records import Requirement, RestSpell
from tests.analysis.small_club import MONDAY, measure, skill, trial
from tests.analysis.test_judge_requirement import HOLLOW, SIDES, left, state_of
from tests.analysis.test_judge_skill import GOOD
from tests.analysis.test_judge_skill import state_of as skill_of
from tests.analysis.test_next_step import state_of as stepped


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (48, "Next test: any score would keep it met."),
        (47, "Next test: 1 s or more would keep it met."),
        (17, "Next test: 31 s or more would meet it."),
        # 32 s would be more than two standard deviations above the level: 16 + 2 * sqrt(25 + 25) = 30.1
        (16, "One more test will hardly settle it; it takes several."),
    ],
)
def test_the_next_score_at_its_edges(value, words):
    assert state_of(HOLLOW, trial(value), week=0).one_more == words


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (48, "Next test: 60 s or more would meet it."),  # 107.33 - 48, and the hold ends at 60 s
        (47, "One more test will hardly settle it; it takes several."),
    ],
)
def test_a_score_over_the_cap_is_not_asked_for(value, words):
    assert state_of(Requirement("hollow_hold", 50), trial(value), week=0).one_more == words


def test_a_distance_has_no_score_that_is_any():
    """With an error of 2 cm: 2 * (2 + 1.0364 * 2 / sqrt(2)) - 30 = -23.07, so -23 cm."""
    found = state_of(Requirement("reach", 2), trial(30, item="reach"), week=0)
    assert found.one_more == "Next test: -23 cm or more would keep it met."


@pytest.mark.parametrize(
    ("minimum", "words"),
    [(54, "60 s or more would be enough."), (55, "it would take more than one.")],  # + 1.0364 * 5 = 5.2
)
def test_a_first_test_is_asked_up_to_the_cap(minimum, words):
    assert state_of(Requirement("hollow_hold", minimum)).one_more == f"A test would start it: {words}"


def test_a_first_test_is_rounded_up_to_the_step_of_the_measure():
    assert stepped(step=0.5).one_more == "A test would start it: 25.5 s or more would be enough."


@pytest.mark.parametrize(("value", "alone"), [(17, False), (18, True), (22, True), (23, False)])
def test_a_time_of_many_clocks_within_two_seconds_of_the_line_is_taken_once_alone(value, alone):
    words = "Timed with 5 others and close to the line: take it once alone."
    assert (state_of(HOLLOW, trial(value, at_once=6), week=0).one_more == words) is alone


@pytest.mark.parametrize(("value", "words"), [(0, "1 % sure"), (60, "99 % sure")])
def test_nothing_is_said_to_be_certain(value, words):
    found = state_of(HOLLOW, trial(value), week=0)
    assert found.reason == f"Hollow hold asks for 20 s; {value} s on 2 Mar 2026, {words}, 85 % asked for."


# --- why nothing is known --------------------------------------------------------------------------


def test_a_day_on_which_a_rest_ended_is_old_and_not_before_it():
    rest = RestSpell(("lower_back",), MONDAY - timedelta(weeks=1), MONDAY)
    found = state_of(HOLLOW, trial(40), week=17, rests=(rest,))
    assert found.reason == "Hollow hold asks for 20 s; 40 s on 2 Mar 2026 is more than 16 weeks old."


@pytest.mark.parametrize(
    ("week", "why"),
    [
        (16, "counts, but the other side has no score that still does."),
        (17, "is more than 16 weeks old."),
    ],
)
def test_a_side_counts_to_its_last_day(week, why):
    reason = state_of(SIDES, left(30), week=week).reason
    assert reason == f"One leg asks for 8 s; 30 s on 2 Mar 2026, left side {why}"


def test_a_harder_version_under_the_line_is_named_for_what_it_is():
    asked = Requirement("support", 20, variant="knees")
    assert state_of(asked, trial(6, item="support", series="v1:feet_high"), week=0).reason == (
        "Support asks for 20 s; 6 s on 2 Mar 2026 was in a harder version, so it says nothing yet about the one asked for."
    )


# --- a skill ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "age", "reason"),
    [
        (60, 4, "Hollow hold asks for 20 s; 60 s on 2 Mar 2026, 99 % sure, 85 % asked for."),
        (60, 7, "All requirements are met; the skill is usually from 7."),
        (22, 7, "Hollow hold asks for 20 s; 22 s on 2 Mar 2026, 66 % sure, 85 % asked for."),
    ],
)
def test_only_a_met_skill_that_waits_for_age_says_so(value, age, reason):
    assert skill_of(skill("roll", HOLLOW, min_age=age), trial(value)).reason == reason


def test_a_skill_that_comes_first_and_is_not_listed_goes_by_its_id():
    found = skill_of(skill("roll", HOLLOW, after=("rock",)), GOOD)
    assert found.reason == "rock comes first and is not marked consistent."


@pytest.mark.parametrize(("minimum", "least"), [(7, 8), (8, 9)])
def test_a_shape_asks_for_single_points(minimum, least):
    asked = state_of(Requirement("tuck", minimum, "shape")).one_more
    assert asked == f"A test would start it: {least} of 10 or more would be enough."


def test_a_second_day_asks_for_the_line_in_steps_of_the_measure():
    def fine(plain):
        return replace(plain, measures={"hollow_hold": measure(precision=0.5)})

    found = state_of(Requirement("hollow_hold", 20.5), trial(40), risk="high", edition=fine)
    assert found.one_more == "A day with 20.5 s or more, 7 or more days apart, would confirm it."
