"""A board of many children: everyone keeps their own sides, series and days, however many there are."""

from __future__ import annotations

from datetime import timedelta

import pytest
from scipy.stats import norm

from assessments.analysis.reasons import skill_state
from assessments.analysis.records import ErrorModel, Requirement
from tests.analysis.small_club import MEASURES, MONDAY, child, frame, measure, programme, shown, skill, trial
from tests.analysis.test_judge_requirement import HOLLOW
from tests.analysis.test_judge_skill import state_of
from tests.analysis.test_one_calculation import group

#: More than a sort of the machine leaves in order by chance.
NAMES = [f"child {n:02d}" for n in range(40)]
SUPPORT = Requirement("support", 20)


def said(rows, names=NAMES, *, one):
    board = group(frame(rows), [child(name) for name in names], skills=[one])
    return [skill_state(board, n, 0) for n in range(len(names))]


def test_both_sides_of_every_child_are_one_pair():
    rows = [
        trial(value, week=13, item="one_leg", side=side, athlete=name)
        for side, value in (("left", 30), ("right", 9))
        for name in NAMES
    ]
    rows += [trial(30, week=13, athlete=name) for name in NAMES]
    found = said(rows, one=skill("scale", Requirement("one_leg", 8, both_sides=True)))
    assert {(one.word, one.requirements[0].side, one.requirements[0].value) for one in found} == {
        ("nearly", "right", 9.0)
    }


def test_of_series_that_are_equally_sure_everyone_shows_the_same():
    rows = [
        trial(7 * n % 40, week=13, item="support", series=f"v1:{variant}", athlete=name)
        for variant in ("knees", "toes", "feet_high")
        for n, name in enumerate(NAMES)
    ]
    found = said(rows, one=skill("squat", SUPPORT))
    assert {one.requirements[0].series for one in found} == {"v1:toes"}, "the last by name"


@pytest.mark.parametrize("names", [("abe", "bo", "cy"), ("cy", "bo", "abe")])
@pytest.mark.parametrize("variants", [("toes", "knees"), ("knees", "toes")])
def test_a_child_between_two_others_has_nothing_of_theirs(names, variants):
    rows = [
        trial(40, week=13, item="support", series=f"v1:{variant}", athlete=name)
        for name, variant in zip(("abe", "cy"), variants, strict=True)
    ]
    words = {one.athlete: one.word for one in said(rows, names, one=skill("squat", SUPPORT))}
    assert words == {"abe": "ready", "bo": "not_known", "cy": "ready"}


def test_a_requirement_that_nobody_was_seen_on_joins_no_others():
    rows = [trial(value, week=13, athlete=name) for name, value in (("abe", 40), ("cy", 5))]
    three = skill("roll", HOLLOW, Requirement("landings", 3), Requirement("hollow_hold", 2))
    words = [[one.word for one in each.requirements] for each in said(rows, ["abe", "cy"], one=three)]
    assert words == [["met", "not_known", "met"], ["not_yet", "not_known", "likely"]]


def test_children_who_are_not_listed_are_passed_over():
    rows = [trial(5, week=13, athlete="abe"), trial(40, week=13, athlete="cy")]
    (found,) = said(rows, ["cy"], one=skill("roll", HOLLOW))
    assert (found.athlete, found.word, found.requirements[0].value) == ("cy", "ready", 40.0)


def test_a_day_that_one_child_missed_the_line_unsettles_nobody_else():
    rows = [trial(40, week=week, athlete=name) for name in ("abe", "cy") for week in (12, 13)]
    rows[0]["value"] = 19.0
    words = [one.word for one in said(rows, ["abe", "cy"], one=skill("bridge", HOLLOW, risk="high"))]
    assert words == ["nearly", "ready"]


def test_two_versions_asked_for_are_two_questions():
    asked = [Requirement("support", 20, variant=variant) for variant in ("knees", "toes", "feet_high")]
    for order in (asked, asked[::-1]):
        found = state_of(skill("squat", *order), trial(40, item="support", series="v1:toes"))
        words = {one.requirement.variant: one.word for one in found.requirements}
        assert words == {"knees": "met", "toes": "met", "feet_high": "not_known"}


@pytest.mark.parametrize(("days", "word"), [(6, "nearly"), (7, "ready"), (112, "ready"), (113, "nearly")])
def test_a_first_day_confirms_from_a_week_on_until_it_has_expired(days, word):
    risky = skill("bridge", HOLLOW, risk="high")
    assert state_of(risky, trial(40), trial(40, week=days / 7), week=days / 7).word == word


def test_children_seen_on_different_numbers_of_days_are_judged_together():
    rows = [shown(athlete="abe", week=13), *(shown(athlete="cy", week=week) for week in (11, 12, 13))]
    shaped = skill("rock", Requirement("tuck", 7, "shape", must_have=("chin",)))
    assert [one.word for one in said(rows, ["abe", "cy"], one=shaped)] == ["nearly", "ready"]


# --- sides ------------------------------------------------------------------------------------------


def side(which, value, week=0):
    return trial(value, item="one_leg", side=which, week=week)


def test_the_stronger_side_has_to_be_confirmed_too():
    risky = skill("scale", Requirement("one_leg", 8, both_sides=True), risk="high")
    weaker = [side("right", 30), side("right", 30, week=1)]
    assert state_of(risky, *weaker, side("left", 60, week=1), week=1).word == "nearly"
    assert state_of(risky, *weaker, side("left", 60), side("left", 60, week=1), week=1).word == "ready"


@pytest.mark.parametrize(("old", "fresh"), [("left", "right"), ("right", "left")])
def test_where_either_side_will_do_an_old_one_does_not_matter(old, fresh):
    either = skill("scale", Requirement("one_leg", 8))
    assert state_of(either, side(old, 30), side(fresh, 30, week=17), week=17).word == "ready"


def test_a_measure_without_sides_has_one_that_stands_for_both():
    both = skill("roll", Requirement("hollow_hold", 20, both_sides=True))
    assert state_of(both, trial(40)).word == "ready"


@pytest.mark.parametrize(("risk", "confidence"), [("low", 0.75), ("medium", 0.85), ("high", 0.9)])
def test_a_score_exactly_on_the_limit_of_the_guard_band_is_enough(risk, confidence):
    """Line and guard band as in ILAC-G8:09/2019, with z from scipy."""
    one = skill("roll", HOLLOW, risk=risk)
    limit = 20 + 5 * float(norm.ppf(confidence))
    assert state_of(one, trial(limit)).requirements[0].word == "met"
    assert state_of(one, trial(limit - 1e-6)).requirements[0].word == "likely"


# --- a measure with next to no error ----------------------------------------------------------------


def exactly(*rows, week=0, **changes):
    """A hold that is measured without error, and landings as ever."""
    one = skill("roll", HOLLOW, Requirement("landings", 3), **changes)
    sharp = {item.id: item for item in MEASURES} | {"hollow_hold": measure(error=ErrorModel(0, 0))}
    edition = programme(one, measures=sharp)
    on = MONDAY + timedelta(weeks=week)
    return skill_state(group(frame(rows), [child()], on=on, skills=[one], edition=edition), 0, 0)


def test_a_great_shortfall_is_not_weaker_than_what_nobody_has_seen():
    found = exactly(trial(3))
    assert (found.word, found.deciding) == ("not_known", "landings")


def test_a_great_margin_on_one_day_does_not_stand_in_for_the_second():
    landings = [trial(5, item="landings"), trial(5, item="landings", week=1)]
    found = exactly(trial(40, week=1), *landings, week=1, risk="high")
    assert (found.word, found.deciding) == ("nearly", "hollow_hold")
    assert exactly(trial(40), trial(40, week=1), *landings, week=1, risk="high").word == "ready"
