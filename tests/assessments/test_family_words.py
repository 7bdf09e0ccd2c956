"""What a family is told: own past only, plain words, nothing that judges, nothing that was not seen."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from assessments.analysis.records import RestSpell, SkillState
from assessments.family_bank import CAN, GROWS, PLAY
from assessments.family_text import HIGHEST_GRADE, never_used, reading_grade, too_long
from assessments.family_words import compose
from assessments.programme_file import starter
from tests.assessments.known_lines import ON, day, line

PROGRAMME = starter()
FIRST, SPRING, OCTOBER, AUTUMN = date(2026, 2, 12), date(2026, 3, 19), date(2026, 10, 3), date(2026, 11, 14)


def shape_line(item, before, *after, first=None):
    """A first look at one shape, one in spring and one or two in autumn; every other criterion stays with a reminder."""
    shape = PROGRAMME.shapes[item]
    plain = {one.id: 1 for one in shape.criteria}
    return line(
        [
            day(FIRST, 5, levels={**plain, **(before if first is None else first)}, first_look=True, sem=1.0),
            day(SPRING, 5, levels={**plain, **before}, sem=1.0),
            *(
                day(on, 6, levels={**plain, **now}, sem=1.0)
                for on, now in zip((OCTOBER, AUTUMN)[-len(after) :], after, strict=True)
            ),
        ],
        item=item,
        series="v1",
    )


def hold_line(*values, item="hollow_hold", first=False):
    days = [date(2026, 3, 19), date(2026, 6, 18), date(2026, 11, 14)]
    return line([day(on, v, first_look=first and n == 0) for n, (on, v) in enumerate(zip(days, values, strict=False))],
                item=item, series="v1")  # fmt: skip


def note(*lines, rests=(), skills=(), name="Noor"):
    return compose(name, programme=PROGRAMME, lines=lines, skills=skills, rests=rests, on=ON)


def told(found):
    return "\n".join([found.title, found.lead, found.grew, found.next_step, found.home, found.resting])


def test_a_criterion_that_is_newly_their_own_comes_first():
    found = note(shape_line("hollow", {"low_back": 1}, {"low_back": 2}, {"low_back": 2}))
    assert found.lead == "In the hollow shape, Noor can now keep a flat back on the mat with no reminder."
    assert found.shape == "hollow"


def test_one_look_alone_is_no_now_and_a_second_coach_makes_it_one():
    """A strength it is all the same: it was seen on the newest day."""
    once = shape_line("hollow", {"low_back": 1}, {"low_back": 2})
    assert note(once).lead == "In the hollow shape, Noor can keep a flat back on the mat with no reminder."
    for other, now in ((2, "can now"), (1, "can keep")):
        days = (*once.days[:-1], replace(once.days[-1], second_levels={"low_back": other}))
        assert now in note(replace(once, days=days, latest=days[-1])).lead


def test_longer_is_said_only_beyond_the_noise_of_the_measure():
    assert "holds the hollow shape for longer than in March" in note(hold_line(10, 14, 30)).lead
    same = note(hold_line(20, 21, 22))
    assert "longer" not in told(same)
    assert same.grew == "Most things are about the same as before. That is normal at this age."


def test_a_first_look_is_never_the_start_of_a_rise():
    assert "longer" not in told(note(hold_line(5, 30, first=True)))
    assert "longer" in told(note(hold_line(5, 5, 30, first=True)))


def test_a_first_look_is_never_the_start_of_what_a_child_can_now():
    """With no reminder since the second look: a strength, not a growth."""
    found = note(shape_line("hollow", {"low_back": 2}, {"low_back": 2}, first={"low_back": 1}))
    assert found.lead == "In the hollow shape, Noor can keep a flat back on the mat with no reminder."
    assert "now" not in told(found)


def test_another_variant_is_never_the_start_of_a_rise():
    tucked = line([day(SPRING, 10)], series="v1:tucked")
    long = line([day(AUTUMN, 40)], series="v1:arms_by_side")
    assert "longer" not in told(note(tucked, long))


def test_a_fall_is_not_told():
    found = told(note(hold_line(40, 38, 8)))
    assert "shorter" not in found and "less" not in found


def test_next_is_the_must_have_that_needs_a_reminder():
    found = note(shape_line("front_support", {}, {"elbows": 2, "legs": 2, "hands": 2}))
    assert found.next_step == "We will practise this in the front support: stay in one long line."


def test_nothing_done_yet_is_building_up_and_never_a_zero():
    low = hold_line(0, 0, item="full_push_ups")
    low = replace(low, latest=replace(low.latest, zone="starting_out"))
    found = told(note(low))
    assert "building up to the first go at push-ups" in found
    assert "0" not in found


def test_resting_is_said_without_what_or_why_and_play_leaves_the_area_alone():
    found = note(
        shape_line("landing", {}, {}), rests=[RestSpell(("ankle", "knee", "heel"), date(2026, 11, 1))]
    )
    assert found.resting == "Noor is resting from some of our tests for now. Please talk to us."
    assert not any(word in told(found) for word in ("ankle", "knee", "heel", "Jump", "tiptoe"))


def test_while_everything_rests_no_play_is_suggested():
    assert note(rests=[RestSpell(("head",), date(2026, 11, 1))]).home == ""


def test_a_rest_that_ended_is_not_told():
    assert note(rests=[RestSpell(("wrist",), date(2026, 9, 1), date(2026, 10, 1))]).resting == ""


def test_only_skills_that_a_coach_called_learning_are_listed():
    skill = next(iter(PROGRAMME.skills.values()))
    ready = SkillState("noor", skill.id, "ready", (), (), "", "", None)
    learning = replace(ready, skill="bunny_hop", coach_word="learning")
    assert note(skills=[ready, learning]).learning == (PROGRAMME.skills["bunny_hop"].name,)


def test_a_new_child_gets_a_kind_true_note():
    found = note()
    assert found.lead and found.next_step and found.home
    assert "can now" not in told(found)


@pytest.mark.parametrize("idea", PLAY, ids=lambda idea: idea.words[:20])
def test_play_at_home_loads_neither_wrists_nor_back_nor_neck(idea):
    assert not {"wrist", "lower_back", "neck", "elbow"} & set(idea.loads)


def test_every_criterion_and_measure_of_the_starter_programme_has_words():
    criteria = {(shape.id, one.id) for shape in PROGRAMME.shapes.values() for one in shape.criteria}
    assert criteria == set(CAN)
    assert set(PROGRAMME.measures) == set(GROWS)
    fitting = {item for idea in PLAY for item in idea.fits}
    assert {*PROGRAMME.shapes, *PROGRAMME.measures} <= fitting


def every_note():
    for (shape, criterion), _ in CAN.items():
        yield note(shape_line(shape, {criterion: 1}, {criterion: 2}))
        yield note(
            shape_line(
                shape, {}, {one.id: 2 for one in PROGRAMME.shapes[shape].criteria if one.id != criterion}
            )
        )
    for item in GROWS:
        yield note(hold_line(4, 8, 40, item=item))
        low = hold_line(0, 0, item=item)
        yield note(replace(low, latest=replace(low.latest, zone="starting_out")))
    yield note()
    yield note(rests=[RestSpell(("wrist",), date(2026, 11, 1))])


@pytest.mark.parametrize("name", ["Noor", "Wilhelmina-Rose"])
def test_every_note_is_plain_short_and_kind(name):
    for found in every_note():
        text = told(found).replace("Noor", name)
        assert reading_grade(text, name=name) <= HIGHEST_GRADE, text
        assert never_used(text) == (), text
        assert too_long(text) == (), text
        assert not any(sign.isdigit() for sign in text), text
