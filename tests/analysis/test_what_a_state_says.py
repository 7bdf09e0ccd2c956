"""What a state carries for the page: figures in words, names, dates, and the newest evidence where none counts."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest

from assessments.analysis.cells import admissible
from assessments.analysis.reasons import figure
from assessments.analysis.records import CoachMark, Requirement, RestSpell
from tests.analysis.small_club import MONDAY, measure, shape, shown, skill, trial
from tests.analysis.test_judge_requirement import HOLLOW, SHAPE, state_of
from tests.analysis.test_judge_skill import GOOD, LANDINGS, states_of
from tests.analysis.test_judge_skill import state_of as skill_of


@pytest.mark.parametrize(
    ("unit", "value", "words"),
    [
        ("s", 26.0, "26 s"),
        ("s", 25.46, "25.5 s"),
        ("cm", -4.0, "-4 cm"),
        ("of_5", 4.0, "4 of 5"),
        ("of_10", 7.0, "7 of 10"),
        ("reps", 12.0, "12"),
        ("count", 3.0, "3"),
        ("", 3.0, "3"),
        ("s", math.nan, "not known"),
        ("s", math.inf, "not known"),
    ],
)
def test_a_figure_is_said_with_its_unit(unit, value, words):
    assert figure(measure(unit=unit), value) == words


def test_a_figure_that_is_a_bound_says_so():
    assert figure(measure(), 60.0, at_least=True) == "at least 60 s"
    assert figure(shape(), 7.0) == "7 of 10"


def test_a_requirement_says_how_long_its_evidence_counts_and_since_when():
    rest = RestSpell(("lower_back",), MONDAY, MONDAY + timedelta(days=6))
    rested = state_of(HOLLOW, trial(40, week=1), rests=(rest,))
    careful = state_of(HOLLOW, trial(40), risk="high", loads=("wrist",))
    assert (rested.requirement, careful.requirement) == (HOLLOW, HOLLOW)
    elsewhere = state_of(HOLLOW, trial(40), rests=(replace(rest, areas=("wrist",)),))
    assert (rested.since, careful.since, elsewhere.since) == (MONDAY + timedelta(days=6), None, None)
    assert (str(rested.expiry_weeks), str(careful.expiry_weeks)) == ("16", "8")


def test_each_skill_carries_its_own_requirements_and_prerequisites():
    later = skill("roll", HOLLOW, after=("rock", "hop"))
    first, second = states_of(
        [skill("rock", LANDINGS), later], GOOD, words={"hop": CoachMark("consistent", MONDAY)}
    )
    assert [one.requirement for one in first.requirements] == [LANDINGS]
    assert [one.requirement for one in second.requirements] == [HOLLOW]
    assert [(one.skill, one.consistent) for one in second.prerequisites] == [("rock", False), ("hop", True)]
    assert (first.prerequisites, first.coach_word, first.age_note) == ((), "", "")


def test_must_haves_that_the_shape_does_not_name_are_called_so():
    odd = Requirement("tuck", 7, "shape", must_have=("gone",))
    assert state_of(odd, shown()).reason.endswith(" Must-haves not yet on their own.")


# --- evidence that does not count is still named ---------------------------------------------------


def test_the_newest_evidence_of_the_same_child_and_item_is_named():
    others = [trial(4, item="landings", week=19), trial(50, athlete="abe", week=19)]
    found = state_of(HOLLOW, trial(26), *others, week=20)
    assert (found.word, found.value) == ("not_known", 26)
    assert found.reason == "Hollow hold asks for 20 s; 26 s on 2 Mar 2026 is more than 16 weeks old."


@pytest.mark.parametrize(("older", "newer"), [("feet_high", "knees"), ("knees", "feet_high")])
def test_of_several_series_that_are_old_the_newest_is_named(older, newer):
    rows = [
        trial(10, item="support", series=f"v1:{older}"),
        trial(40, item="support", series=f"v1:{newer}", week=1),
    ]
    found = state_of(Requirement("support", 20), *rows, week=20)
    assert (found.word, found.value, found.series) == ("not_known", 40, f"v1:{newer}")


# --- exactly on the line --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("series", "variant", "standing"),
    [
        ("v1:toes", "toes", "asked"),
        ("v1:feet_high", "toes", "harder"),
        ("v1:knees", "toes", ""),
        ("v1:odd", "toes", ""),
        ("v2:toes", "toes", ""),
        ("v1:knees", "", "asked"),
    ],
)
def test_what_a_series_says_about_a_requirement(series, variant, standing):
    spec = measure("support", variants=("knees", "toes", "feet_high"))
    assert admissible(spec, Requirement("support", 20, variant=variant), series) == standing
    assert admissible(shape(), SHAPE, series) == ("asked" if series.startswith("v1") else "")


@pytest.mark.parametrize(("value", "word"), [(19, "not_known"), (20, "likely")])
def test_a_harder_version_exactly_on_the_line_reaches_it(value, word):
    asked = Requirement("support", 20, variant="knees")
    assert state_of(asked, trial(value, item="support", series="v1:feet_high"), week=0).word == word


@pytest.mark.parametrize(("value", "days", "word"), [(19, 1, "nearly"), (20, 2, "ready")])
def test_a_stop_exactly_on_the_line_has_reached_it(value, days, word):
    rows = [trial(40), trial(value, week=1, outcome="chose_to_stop")]
    found = skill_of(skill("bridge", HOLLOW, risk="high"), *rows, week=1)
    assert (found.word, found.requirements[0].days) == (word, days)
