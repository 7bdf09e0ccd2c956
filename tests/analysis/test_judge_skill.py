"""Requirements, prerequisites, age and rest make one state of a skill."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from assessments.analysis import interpret, judge
from assessments.analysis.records import CoachMark, Requirement, RestSpell
from tests.analysis.small_club import BORN, MONDAY, child, frame, programme, shown, skill, trial

HOLLOW = Requirement("hollow_hold", 20)
LANDINGS = Requirement("landings", 3)
GOOD = trial(40)
BOTH_GOOD = (trial(40), trial(5, item="landings"))
CONSISTENT = {"rock": CoachMark("consistent", date(2026, 1, 5))}


def states_of(skills, *rows, week=0.0, **facts):
    edition = programme(*skills)
    on = MONDAY + timedelta(days=round(7 * week))
    read = interpret(frame(rows), programme=edition, born_on={"mia": BORN}, on=on)
    return judge(skills, read, programme=edition, child=child(**facts), on=on)


def state_of(one, *rows, **facts):
    return states_of([one], *rows, **facts)[0]


def test_all_met_is_ready():
    found = state_of(skill("roll", HOLLOW, LANDINGS), *BOTH_GOOD)
    assert (found.word, found.athlete, found.skill) == ("ready", "mia", "roll")
    assert found.deciding == "landings", "the one with least to spare"


def test_strengths_do_not_make_up_for_the_weakest_link():
    found = state_of(skill("roll", HOLLOW, LANDINGS), trial(60), trial(1, item="landings"))
    assert (found.word, found.deciding) == ("not_yet", "landings")
    assert found.reason == "Landings asks for 3 of 5; 1 of 5 on 2 Mar 2026, 3 % sure, 85 % asked for."


def test_one_likely_requirement_is_nearly():
    found = state_of(skill("roll", HOLLOW, LANDINGS), trial(22), trial(5, item="landings"))
    assert (found.word, found.deciding) == ("nearly", "hollow_hold")


@pytest.mark.parametrize("hollow", [40, 22, 5])
def test_one_requirement_not_known_makes_the_skill_not_known(hollow):
    found = state_of(skill("roll", HOLLOW, LANDINGS), trial(hollow))
    assert (found.word, found.deciding) == ("not_known", "landings")
    assert found.reason == "Not enough is known. Landings asks for 3 of 5; not seen yet."
    assert found.joint_bound is None


def test_a_child_without_results_is_not_known():
    assert state_of(skill("roll", HOLLOW)).word == "not_known"


def test_a_skill_that_must_come_first_holds_back():
    later = skill("roll", HOLLOW, after=("rock",))
    held = states_of([skill("rock", LANDINGS, name="Tuck rock"), later], GOOD)[1]
    assert (held.word, held.deciding) == ("not_yet", "rock")
    assert held.reason == "Tuck rock comes first and is not marked consistent."
    assert [one.consistent for one in held.prerequisites] == [False]
    free = state_of(later, GOOD, words=CONSISTENT)
    assert free.word == "ready"
    assert free.prerequisites[0].since == date(2026, 1, 5)


@pytest.mark.parametrize("word", ["learning", ""])
def test_only_consistent_opens_the_next_skill(word):
    later = skill("roll", HOLLOW, after=("rock",))
    held = state_of(later, GOOD, words={"rock": CoachMark(word, MONDAY)})
    assert (held.word, held.prerequisites[0].since) == ("not_yet", None)


def test_the_first_of_several_missing_skills_is_named():
    later = skill("roll", HOLLOW, after=("rock", "hop", "walk"))
    assert state_of(later, GOOD, words=CONSISTENT).deciding == "hop"


def test_a_measured_shortfall_is_named_before_a_missing_skill():
    later = skill("roll", HOLLOW, after=("rock",))
    assert state_of(later, trial(3)).deciding == "hollow_hold"


def test_a_missing_skill_outranks_a_likely_requirement():
    later = skill("roll", HOLLOW, after=("rock",))
    found = state_of(later, trial(22))
    assert (found.word, found.deciding) == ("not_yet", "rock")


def test_high_risk_takes_two_days_a_week_apart():
    risky = skill("bridge", HOLLOW, risk="high")
    once = state_of(risky, GOOD)
    assert (once.word, once.requirements[0].word) == ("nearly", "met")
    assert once.reason.endswith("Met on one day; a second one 7 or more days apart confirms it.")
    assert once.requirements[0].one_more == "A day with 20 s or more, 7 or more days apart, would confirm it."
    soon = trial(40, week=6 / 7)
    assert state_of(risky, GOOD, soon, week=1).word == "nearly"
    assert state_of(risky, GOOD, trial(40, week=1), week=1).word == "ready"


def test_both_days_must_reach_the_line_and_the_lucky_one_does_not_stand_in():
    risky = skill("bridge", HOLLOW, risk="high")
    rows = [trial(45), trial(19, week=3), trial(45, week=5)]
    assert state_of(risky, *rows, week=5).requirements[0].word == "met"
    assert state_of(risky, *rows, week=5).word == "nearly"
    assert state_of(risky, trial(45), trial(20, week=5), week=5).word == "ready"


def test_confirmation_looks_past_a_stop_by_choice():
    risky = skill("bridge", HOLLOW, risk="high")
    stopped = trial(4, week=2, outcome="chose_to_stop")
    assert state_of(risky, GOOD, trial(40, week=1), stopped, week=2).word == "ready"


@pytest.mark.parametrize("risk", ["low", "medium"])
def test_lower_risk_is_confirmed_by_one_day(risk):
    assert state_of(skill("roll", HOLLOW, risk=risk), GOOD).word == "ready"


def test_high_risk_wants_each_side_twice():
    risky = skill("scale", Requirement("one_leg", 8, both_sides=True), risk="high")
    rows = [trial(40, item="one_leg", side=side, week=week) for side in ("left", "right") for week in (0, 1)]
    assert state_of(risky, *rows, week=1).word == "ready"
    assert state_of(risky, *rows[:3], week=1).word == "nearly"


def test_a_younger_child_is_at_most_nearly():
    early = skill("roll", HOLLOW, min_age=7)
    found = state_of(early, GOOD)
    assert (found.word, found.age_note) == ("nearly", "Usually from 7.")
    assert found.reason == "All requirements are met; the skill is usually from 7."
    assert state_of(early, trial(22)).reason.startswith("Hollow hold asks for")
    assert state_of(early, trial(3)).word == "not_yet"
    older = state_of(early, GOOD, born_on=BORN.replace(year=2018))
    assert (older.word, older.age_note) == ("ready", "")


def test_the_birthday_itself_lifts_the_caution():
    early = skill("roll", HOLLOW, min_age=7)
    assert state_of(early, GOOD, born_on=date(2019, 3, 2)).word == "ready"
    assert state_of(early, GOOD, born_on=date(2019, 3, 3)).word == "nearly"


@pytest.mark.parametrize(
    ("areas", "word"),
    [(("knee",), "resting"), (("lower_back",), "resting"), (("hip",), "resting"), (("wrist",), "ready")],
)
def test_a_rest_note_on_what_the_skill_or_its_measures_load_outranks_everything(areas, word):
    jump = skill("jump", HOLLOW, loads=("knee",))
    found = state_of(jump, GOOD, rests=(RestSpell(areas, MONDAY),))
    assert found.word == word
    if word == "resting":
        assert (found.reason, found.deciding) == ("A rest note touches what this loads.", "")


def test_resting_outranks_not_known():
    assert state_of(skill("roll", HOLLOW), rests=(RestSpell(("general",), MONDAY),)).word == "resting"


def test_a_skill_without_loads_rests_only_for_areas_that_block_everything():
    plain = skill("walk", Requirement("reach", 2))
    rows = [trial(30, item="reach")]
    assert state_of(plain, *rows, rests=(RestSpell(("knee",), MONDAY),)).word == "ready"
    assert state_of(plain, *rows, rests=(RestSpell(("head",), MONDAY),)).word == "resting"


def test_advice_alone_decides_nothing():
    soft = skill("scale", Requirement("hollow_hold", 20, soft_under=7))
    found = state_of(soft, trial(60))
    assert (found.word, found.deciding) == ("not_known", "")
    assert found.reason == "Nothing that is measured decides this at this age; the coach's eye does."
    assert found.joint_bound is None


def test_advice_beside_a_requirement_neither_helps_nor_hinders():
    mixed = skill("scale", Requirement("hollow_hold", 20, soft_under=7), LANDINGS)
    assert state_of(mixed, trial(0), trial(5, item="landings")).word == "ready"
    assert state_of(mixed, trial(5, item="landings")).word == "ready"
    assert state_of(mixed, trial(60)).word == "not_known"


def test_a_skill_that_asks_for_nothing_is_left_to_the_coach():
    assert state_of(skill("play"), GOOD).word == "not_known"


def test_the_joint_bound_adds_up_what_each_may_lack():
    found = state_of(skill("roll", HOLLOW, LANDINGS), trial(26), trial(4, item="landings"))
    chances = [one.probability for one in found.requirements]
    assert found.joint_bound == pytest.approx(sum(chances) - 1)
    poor = state_of(skill("roll", HOLLOW, LANDINGS), trial(3), trial(0, item="landings"))
    assert poor.joint_bound == 0


def test_without_a_must_have_nothing_is_said_about_all_at_once():
    shaped = skill("rock", Requirement("tuck", 7, "shape", must_have=("chin",)), HOLLOW)
    lacking = [shown(1), shown(1, week=1), trial(40, week=1)]
    assert state_of(shaped, *lacking, week=1).joint_bound is None
    assert state_of(shaped, shown(), trial(40, week=1), week=1).joint_bound is None  # on one day only
    assert state_of(shaped, shown(), shown(week=1), trial(40, week=1), week=1).joint_bound > 0.5


def test_the_coachs_word_stands_beside_and_changes_no_state():
    marks = {"roll": CoachMark("learning", MONDAY)}
    found = state_of(skill("roll", HOLLOW), trial(3), words=marks)
    assert (found.word, found.coach_word, found.coach_since) == ("not_yet", "learning", MONDAY)


def test_must_haves_hold_a_skill_at_nearly():
    shaped = skill("rock", Requirement("tuck", 7, "shape", must_have=("chin",)))
    assert state_of(shaped, shown()).word == "nearly"
    assert state_of(shaped, shown(), shown(week=1), week=1).word == "ready"


def test_states_come_in_the_order_asked_for():
    skills = [skill("b", HOLLOW), skill("a", LANDINGS)]
    assert [one.skill for one in states_of(skills, GOOD)] == ["b", "a"]
    assert states_of([], GOOD) == ()


def test_a_child_judged_before_birth_is_taken_as_not_yet_one():
    assert (
        state_of(skill("roll", HOLLOW), GOOD, born_on=MONDAY + timedelta(days=1)).age_note
        == "Usually from 4."
    )
