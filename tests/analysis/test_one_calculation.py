"""A child alone and a child in a group are judged by one calculation; names and calendars do not matter."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.analysis import interpret, judge
from assessments.analysis.readiness import skill_states, verdicts
from assessments.analysis.records import CoachMark, Requirement, RestSpell
from assessments.analysis.scoring import day_scores
from tests.analysis.small_club import MONDAY, child, frame, programme, shown, skill, trial

NAMES = ("abe", "bo", "cy", "dot")
SKILLS = (
    skill("rock", Requirement("tuck", 6, "shape", must_have=("chin",)), risk="low"),
    skill("roll", Requirement("hollow_hold", 20), Requirement("tuck", 7, "shape"), after=("rock",)),
    skill(
        "scale",
        Requirement("one_leg", 8, both_sides=True, soft_under=6),
        Requirement("landings", 3),
        risk="high",
    ),
    skill("squat", Requirement("support", 15, variant="toes"), min_age=8, risk="high", loads=("wrist",)),
)
EDITION = programme(*SKILLS)
ON = MONDAY + timedelta(weeks=14)


@st.composite
def trials(draw):
    """Any trial that a test day may bring."""
    item = draw(st.sampled_from(["hollow_hold", "landings", "one_leg", "support", "tuck"]))
    week = draw(st.integers(0, 14))
    place = {
        "week": week,
        # Now and then a date has two test days.
        "day": draw(st.sampled_from([f"day {week}"] * 4 + [f"another day {week}"])),
        "athlete": draw(st.sampled_from(NAMES)),
        "familiarisation": False,
        "second": draw(st.integers(0, 9)) == 0,
        "judge": draw(st.sampled_from(["", "coach", "other"])),
        "trial": draw(st.integers(1, 3)),
        "conflict": draw(st.integers(0, 9)) == 0,
    }
    if item == "tuck":
        return shown(draw(st.sampled_from([None, 0, 1, 2])), 2, draw(st.integers(0, 2)), **place)
    outcome = draw(
        st.sampled_from(
            ["scored", "scored", "reached_cap", "chose_to_stop", "could_not_start", "interrupted"]
        )
    )
    sides, variants = (
        ("left", "right") if item == "one_leg" else ("",),
        ("knees", "toes") if item == "support" else ("",),
    )
    side, variant = draw(st.sampled_from(sides)), draw(st.sampled_from(variants))
    most = 5 if item == "landings" else 60
    value = None if outcome == "interrupted" else float(draw(st.integers(0, most)))
    series = f"v1:{variant}" if variant else "v1"
    return trial(
        value, item=item, side=side, series=series, outcome=outcome, at_once=draw(st.integers(1, 8)), **place
    )


many = st.lists(trials(), max_size=40)
rests = st.sampled_from(
    [(), (RestSpell(("wrist",), MONDAY),), (RestSpell(("neck",), MONDAY, MONDAY + timedelta(weeks=5)),)]
)
people = st.tuples(*(rests for _ in NAMES), st.booleans())


def facts_of(drawn):
    *spells, consistent = drawn
    words = {"rock": CoachMark("consistent", MONDAY)} if consistent else {}
    return tuple(child(name, rests=spell, words=words) for name, spell in zip(NAMES, spells, strict=True))


def group(table, children, on=ON, skills=SKILLS, edition=EDITION):
    return verdicts(skills, day_scores(table, edition, on=on), programme=edition, children=children, on=on)


def alone(table, one, on=ON):
    read = interpret(table, programme=EDITION, born_on=dict.fromkeys(NAMES, one.born_on), on=on)
    return judge(SKILLS, read, programme=EDITION, child=one, on=on)


def marked(rows):
    """Conflicts are what stands in one place twice, as the frame would mark them."""
    places = Counter(place_of(row) for row in rows)
    return [row | {"conflict": places[place_of(row)] > 1} for row in rows]


def place_of(row):
    return tuple(row[name] for name in ("athlete", "item", "series", "side", "day", "trial", "second"))


@settings(max_examples=60)
@given(many, people)
def test_a_child_alone_and_in_a_group_have_the_same_states(rows, drawn):
    table, children = frame(rows), facts_of(drawn)
    board = group(table, children)
    for n, one in enumerate(children):
        assert skill_states(board, n) == alone(table, one)


@settings(max_examples=40)
@given(many, people, st.randoms(use_true_random=False))
def test_rows_and_children_may_come_in_any_order(rows, drawn, random):
    rows, children = marked(rows), facts_of(drawn)
    before = {
        one.athlete: states for one, states in zip(children, states_of(frame(rows), children), strict=True)
    }
    mixed, others = random.sample(rows, len(rows)), tuple(random.sample(children, len(children)))
    for one, states in zip(others, states_of(frame(mixed), others), strict=True):
        assert states == before[one.athlete]


def states_of(table, children, **changes):
    board = group(table, children, **changes)
    return [skill_states(board, n) for n in range(len(children))]


def mirrored(name):
    return "".join(chr(219 - ord(letter)) if letter.isalpha() else letter for letter in name)


@settings(max_examples=60)
@given(many, people)
def test_other_names_change_only_the_names(rows, drawn):
    children = facts_of(drawn)
    renamed = dict(zip(NAMES, ("zoe", "yan", "xia", "wes"), strict=True))
    # Backwards, so that two days of one date change places in the alphabet.
    table = frame(row | {"athlete": renamed[row["athlete"]], "day": mirrored(row["day"])} for row in rows)
    others = tuple(replace(one, athlete=renamed[one.athlete]) for one in children)
    for ours, theirs in zip(states_of(frame(rows), children), states_of(table, others), strict=True):
        assert [replace(state, athlete="") for state in ours] == [
            replace(state, athlete="") for state in theirs
        ]


@settings(max_examples=40)
@given(many, people, st.integers(1, 300))
def test_another_calendar_changes_only_the_dates(rows, drawn, days):
    """Everything moved by the same number of days, birth dates by whole years of ages that stay the same."""
    children, move = facts_of(drawn), timedelta(days=days)
    table = frame(row | {"on": row["on"] + pd.Timedelta(days=days)} for row in rows)
    moved = tuple(
        replace(
            one,
            born_on=one.born_on + move,
            rests=tuple(
                replace(
                    spell, began_on=spell.began_on + move, ended_on=spell.ended_on and spell.ended_on + move
                )
                for spell in one.rests
            ),
        )
        for one in children
    )
    here, there = group(frame(rows), children), group(table, moved, on=ON + move)
    assert np.array_equal(here.word, there.word)
    assert here.z == pytest.approx(there.z, nan_ok=True)
    assert np.array_equal(here.deciding, there.deciding)


@settings(max_examples=40)
@given(many, people)
def test_a_child_twice_is_judged_twice_alike(rows, drawn):
    children = facts_of(drawn)
    doubled = [*rows, *(row | {"athlete": f"{row['athlete']} again"} for row in rows)]
    twins = tuple(replace(one, athlete=f"{one.athlete} again") for one in children)
    board = group(frame(doubled), (*children, *twins))
    assert np.array_equal(board.state[:4], board.state[4:])
    assert board.z[:4] == pytest.approx(board.z[4:], nan_ok=True)


@settings(max_examples=60)
@given(many, people, st.integers(0, 60), st.sampled_from(["reached_cap", "chose_to_stop"]))
def test_a_new_bound_never_lowers_a_chance(rows, drawn, value, outcome):
    children = facts_of(drawn)
    clean = [row for row in rows if row["on"] < pd.Timestamp(ON) or row["athlete"] != "abe"]
    bound = trial(float(value), week=14, athlete="abe", outcome=outcome, item="hollow_hold")
    before, after = group(frame(clean), children), group(frame([*clean, bound]), children)
    column = next(q for q, one in enumerate(after.columns) if one.requirement.item == "hollow_hold")
    if before.history[0, column] >= 0:
        assert after.z[0, column] >= before.z[0, column] - 1e-9


@settings(max_examples=40)
@given(many, people)
def test_a_worse_second_trial_changes_no_state(rows, drawn):
    children = facts_of(drawn)
    first = [
        row
        for row in rows
        if row["item"] == "hollow_hold" and row["trial"] == 1 and row["outcome"] == "scored"
    ]
    firsts = {(row["athlete"], row["day"]): row for row in first if not row["second"] and not row["conflict"]}
    others = [row for row in rows if row["item"] != "hollow_hold"]
    worse = [row | {"trial": 2, "value": max(row["value"] - 1, 0.0)} for row in firsts.values()]
    before, after = (group(frame([*others, *firsts.values(), *more]), children) for more in ([], worse))
    assert np.array_equal(before.state, after.state)


def test_children_who_are_not_listed_are_passed_over():
    table = frame([trial(40, athlete="abe"), trial(40, athlete="stranger")])
    one = (child("abe"),)
    assert states_of(table, one) == states_of(frame([trial(40, athlete="abe")]), one)


def test_nobody_and_nothing_have_an_answer():
    assert group(frame([]), ()).state.shape == (0, 4)
    assert group(frame([trial(4)]), ()).state.shape == (0, 4)
    assert (group(frame([]), (child(),)).state == 1).all()
    assert group(frame([trial(4)]), (child(),), skills=()).state.shape == (1, 0)
