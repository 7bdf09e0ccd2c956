"""Headers -> measure, side, trial and variant."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.result_columns import ColumnTarget, ResultColumns, UnmatchedHeader, parse_mapping
from tests.assessments.results_programme import PROGRAMME, SPECS

COLUMNS = ResultColumns(PROGRAMME)


@pytest.mark.parametrize(
    ("header", "item", "side", "trial", "variant"),
    [
        ("Hollow hold", "hollow_hold", "", 1, ""),
        ("hollow_hold", "hollow_hold", "", 1, ""),
        ("HOLLOW", "hollow_hold", "", 1, ""),
        ("Dish", "hollow_hold", "", 1, ""),
        ("Hollow hold (s)", "hollow_hold", "", 1, ""),
        ("Hollow 2", "hollow_hold", "", 2, ""),
        ("Hollow try 2", "hollow_hold", "", 2, ""),
        ("2nd", None, "", 0, ""),
        ("Hollow tucked", "hollow_hold", "", 1, "tucked"),
        ("Hollow hold, one leg long 2 [sec]", "hollow_hold", "", 2, "one_leg_long"),
        ("Best hollow hold", "hollow_hold", "", 1, ""),
        ("One-leg stand L", "single_leg_stance", "left", 1, ""),
        ("L One-leg stand", "single_leg_stance", "left", 1, ""),
        ("One-leg stand (right)", "single_leg_stance", "right", 1, ""),
        ("Right one-leg stand 2", "single_leg_stance", "right", 2, ""),
        ("One-leg stand L2", "single_leg_stance", "left", 2, ""),
        ("Heel raises, one foot - left", "single_heel_raises", "left", 1, ""),
        ("Standing long jump cm", "standing_long_jump", "", 1, ""),
        ("Straight hang", "straight_hang", "", 1, ""),
        ("Bent-arm hang", "bent_arm_hang", "", 1, ""),
        ("Still landings out of five", "stick_landings", "", 1, ""),
    ],
)
def test_a_header_names_its_place(header, item, side, trial, variant):
    if item is None:
        with pytest.raises(UnmatchedHeader):
            COLUMNS.target(header)
    else:
        assert COLUMNS.target(header) == ColumnTarget(item, side, trial, variant)


def test_a_name_in_full_beats_a_shortened_one():
    double = replace(SPECS["double_heel_raises"], aliases=("heel raises",))
    columns = ResultColumns(replace(PROGRAMME, measures={**SPECS, double.id: double}))
    assert columns.target("Heel raises") == ColumnTarget("double_heel_raises")


@given(
    st.sampled_from(sorted(SPECS)),
    st.sampled_from(["", "left", "right", "L", "R"]),
    st.sampled_from(["", "1", "2", "3"]),
    st.booleans(),
    st.booleans(),
)
def test_name_or_id_with_side_before_or_after_and_a_number_is_one_place(item, side, trial, by_id, before):
    spec = SPECS[item]
    if not spec.sides:
        side = ""
    name = spec.id if by_id else spec.name.upper()
    header = " ".join(part for part in ((side, name, trial) if before else (name, side, trial)) if part)
    expected = {"L": "left", "R": "right"}.get(side, side)
    assert COLUMNS.target(header) == ColumnTarget(item, expected, int(trial or 1))


@pytest.mark.parametrize(
    ("header", "reason"),
    [
        ("Splits", "no measure has this name"),
        ("Heel raises", "Heel raises, one foot or Heel raises, two feet"),
        ("Hollow left", "Hollow hold has no left and right"),
        ("Standing long jump (inches)", "the header says inches, but Standing long jump is kept in cm"),
        ("Arch", "judged by its criteria"),
        ("l " * 400, "no measure has this name"),
        ("", "no measure has this name"),
    ],
)
def test_a_header_without_one_place_says_why(header, reason):
    with pytest.raises(UnmatchedHeader, match=reason):
        COLUMNS.target(header)


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("Balance L=single_leg_stance:left", ("balance l", ColumnTarget("single_leg_stance", "left"))),
        ("Balance=single_leg_stance:R:2", ("balance", ColumnTarget("single_leg_stance", "right", 2))),
        ("Core = test=hollow_hold:tucked", ("core test", ColumnTarget("hollow_hold", variant="tucked"))),
        ("Mood=ignore", ("mood", ColumnTarget(ignored=True))),
    ],
)
def test_a_mapping_is_written_in_one_line(written, expected):
    assert parse_mapping(written, PROGRAMME) == expected


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        ("Balance", "not of the form"),
        ("=hollow_hold", "not of the form"),
        ("Balance=splits", "not the id of a measure"),
        ("Balance=single_leg_stance", "needs left or right"),
        ("Core=hollow_hold:left", "has no left and right"),
        ("Core=hollow_hold:upside_down", "neither a side, a trial"),
        ("Core=hollow_hold:12", "neither a side, a trial"),
    ],
)
def test_a_mapping_that_leads_nowhere_says_why(written, reason):
    with pytest.raises(ValueError, match=reason):
        parse_mapping(written, PROGRAMME)
