"""What the door says of one entry, by its measure or shape alone: the sentence of a refusal, the flags of what is odd."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from assessments.analysis.records import Limits
from assessments.entries import Entry
from assessments.entry_rules import unusual_about, value_to_keep, why_impossible
from tests.analysis.small_club import measure, shape

HOLD = measure(limits=Limits(warn=(5, 50), refuse=(1, 90)), variants=("tucked", "long"))
COUNT = measure("push_ups", kind="count", cap=None)
LANDINGS = measure("landings", kind="score_count", cap=5.0)
STAND = measure("one_leg", sides=True)
SHAPE = shape()
LEVELS = {"chin": 2, "round": 1, "heels": 2, "hands": None, "still": 0}

NO_VALUE = "Nothing is scored here, so no value can be kept."


def entry(**fields: Any) -> Entry:
    code = uuid.UUID(int=1)
    plain = Entry(
        id=code, tablet="tablet-a", seq=1, day=code, child=code, measure="hollow_hold", outcome="scored", how="timed",
        t_wall=datetime(2026, 11, 25, tzinfo=UTC), variant="tucked", value=20.0,
    )  # fmt: skip
    return replace(plain, **fields)


def bare(**fields: Any) -> Entry:
    return entry(**{"variant": "", **fields})


def judged(**fields: Any) -> Entry:
    return bare(**{"value": None, "levels": LEVELS, **fields})


@pytest.mark.parametrize(
    ("one", "spec"),
    [
        (entry(value=1.0), HOLD),
        (entry(value=60.0), HOLD),
        (entry(value=60.0, outcome="reached_cap"), HOLD),
        (entry(value=20.0, outcome="chose_to_stop", variant="long"), HOLD),
        (entry(value=0.0, outcome="could_not_start"), HOLD),
        (entry(value=None, outcome="could_not_start"), HOLD),
        (entry(value=None, outcome="not_attempted"), HOLD),
        (entry(value=None, outcome="stopped_for_pain"), HOLD),
        (entry(value=None, outcome="interrupted"), HOLD),
        (entry(value=None, outcome="stopped_for_pain", side="left", variant="no"), HOLD),
        (entry(value=20.0, outcome="withdrawn", replaces=uuid.UUID(int=2), side="left", variant="no"), HOLD),
        (bare(), HOLD),
        (bare(value=7.0), COUNT),
        (bare(value=600.0), replace(COUNT, kind="hold")),
        (bare(value=4.0), LANDINGS),
        (bare(side="left"), STAND),
        (judged(), SHAPE),
        (judged(value=5.0), SHAPE),
        (judged(levels=None, outcome="not_attempted"), SHAPE),
        (judged(levels=None, outcome="could_not_start"), SHAPE),
        (judged(levels={}, outcome="could_not_start"), SHAPE),
        (judged(side="right"), replace(SHAPE, sides=True)),
    ],
)
def test_nothing_is_said_of_what_can_be_seen(one, spec):
    assert why_impossible(one, spec) == ""


@pytest.mark.parametrize(
    ("one", "spec", "why"),
    [
        (entry(outcome="withdrawn"), HOLD, "An undo has to say which entry it takes back."),
        (entry(side="left"), HOLD, "Hollow hold has no left and right."),
        (bare(), STAND, "One leg needs a side: left or right."),
        (entry(variant="upside_down"), HOLD, "Hollow hold has no version called upside_down."),
        (judged(variant="tucked"), SHAPE, "Tuck has no version called tucked."),
        (entry(outcome="not_attempted"), HOLD, NO_VALUE),
        (entry(outcome="stopped_for_pain"), HOLD, NO_VALUE),
        (entry(outcome="interrupted"), HOLD, NO_VALUE),
        (judged(outcome="not_attempted"), SHAPE, NO_VALUE),
        (entry(levels=LEVELS), HOLD, "Hollow hold is measured, not judged by levels."),
        (entry(value=1.0, outcome="could_not_start"), HOLD, "A child who could not start has no value."),
        (entry(value=None), HOLD, "Hollow hold needs a value."),
        (entry(value=0.5), HOLD, "0.5 is not possible for Hollow hold: it lies between 1 and 90."),
        (entry(value=91.0), HOLD, "91 is not possible for Hollow hold: it lies between 1 and 90."),
        (bare(value=7.5), COUNT, "Push ups is counted in whole numbers, not 7.5."),
        (bare(value=2.5), LANDINGS, "Landings is counted in whole numbers, not 2.5."),
        (bare(value=7.0, outcome="reached_cap"), COUNT, "Push ups has no cap to reach."),
        (entry(value=61.5), HOLD, "61.5 is above the cap of 60: keep 60 and mark it 'reached cap'."),
        (entry(value=59.0, outcome="reached_cap"), HOLD, "Reached cap means 60, not 59."),
        (judged(outcome="reached_cap"), SHAPE, "Tuck is judged, so it has no cap to reach."),
        (judged(outcome="could_not_start"), SHAPE, "A child who could not start has no levels."),
        (judged(levels=None), SHAPE, "Tuck needs a level for each criterion."),
        (judged(levels={}), SHAPE, "Tuck needs a level for each criterion."),
        (judged(levels={**LEVELS, "zeal": 1, "charm": 1}), SHAPE, "Tuck has no criterion called charm."),
        (judged(value=6.0), SHAPE, "The levels add up to 5, not 6."),
    ],
)
def test_one_plain_sentence_says_why_it_cannot_have_been_seen(one, spec, why):
    assert why_impossible(one, spec) == why


@pytest.mark.parametrize(
    ("one", "spec", "flags"),
    [
        (entry(value=5.0), HOLD, ()),
        (entry(value=50.0), HOLD, ()),
        (entry(value=4.5), HOLD, ("unusual_value",)),
        (entry(value=51.0), HOLD, ("unusual_value",)),
        (entry(value=51.0, outcome="chose_to_stop"), HOLD, ("unusual_value",)),
        (entry(value=60.0, outcome="reached_cap"), HOLD, ("unusual_value",)),
        (entry(value=0.0, outcome="could_not_start"), HOLD, ()),
        (entry(value=None, outcome="not_attempted"), HOLD, ()),
        (entry(value=None), HOLD, ()),
        (bare(), HOLD, ("variant_not_said",)),
        (bare(value=None, outcome="withdrawn"), HOLD, ()),
        (bare(), COUNT, ()),
        (entry(trial=2), HOLD, ()),
        (entry(trial=3), HOLD, ("extra_trial",)),
        (entry(trial=3, value=None, outcome="not_attempted"), HOLD, ()),
        (bare(trial=3, value=4.0), HOLD, ("unusual_value", "variant_not_said", "extra_trial")),
        (judged(trial=9), SHAPE, ()),
    ],
)
def test_what_is_odd_is_flagged_on_both_sides_of_the_line(one, spec, flags):
    assert unusual_about(one, spec) == flags


@pytest.mark.parametrize(
    ("one", "spec", "kept"),
    [
        (entry(value=20.0), HOLD, 20.0),
        (entry(value=None, outcome="could_not_start"), HOLD, 0.0),
        (entry(value=None, outcome="interrupted"), HOLD, None),
        (judged(value=5.0), SHAPE, None),
    ],
)
def test_the_kept_value_is_the_measured_one_zero_for_no_start_none_for_a_shape(one, spec, kept):
    assert value_to_keep(one, spec) == kept
