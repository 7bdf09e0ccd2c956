"""One cell -> a value and its outcome, or a plain reason."""

from __future__ import annotations

from datetime import date, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.written_results import BareZero, UnclearResult, read_result
from athletes.sheet_file import Cell, Formula
from tests.assessments.results_programme import SPECS


def read(item, value, zeros=""):
    reading = read_result(Cell("D7", value), SPECS[item], zeros=zeros)
    return reading and (reading.value, reading.outcome)


@pytest.mark.parametrize(
    ("item", "written", "expected"),
    [
        ("hollow_hold", 25, (25, "scored")),
        ("hollow_hold", "25 s", (25, "scored")),
        ("hollow_hold", "25 sec.", (25, "scored")),
        ("hollow_hold", "0:42", (42, "scored")),
        ("hollow_hold", "42,5", (42, "scored")),  # hand-timed seconds are rounded down
        ("hollow_hold", 42.9, (42, "scored")),
        ("hollow_hold", 60, (60, "reached_cap")),
        ("hollow_hold", "60+", (60, "reached_cap")),
        ("hollow_hold", "60+ s", (60, "reached_cap")),
        ("hollow_hold", "75 s+", (60, "reached_cap")),
        ("hollow_hold", ">60", (60, "reached_cap")),
        ("hollow_hold", "at least 1 min", (60, "reached_cap")),
        ("hollow_hold", "40+", (40, "chose_to_stop")),
        ("hollow_hold", "at least 40", (40, "chose_to_stop")),
        ("hollow_hold", "1 min", (60, "reached_cap")),
        ("double_heel_raises", "12 reps", (12, "scored")),
        ("double_heel_raises", "25+", (25, "reached_cap")),
        ("stick_landings", 0, (0, "scored")),
        ("stick_landings", 5, (5, "scored")),  # five of five is the whole of it, not at least five
        ("stick_landings", "4/5", (4, "scored")),
        ("stick_landings", "4 out of 5", (4, "scored")),
        ("standing_long_jump", "80,5", (80.5, "scored")),
        ("standing_long_jump", "1.20 m", (120, "scored")),
        ("pike_reach", 0, (0, "scored")),
        ("pike_reach", "-4 cm", (-4, "scored")),
        ("pike_reach", "−4", (-4, "scored")),
    ],
)
def test_a_written_result_is_read(item, written, expected):
    assert read(item, written) == expected


@pytest.mark.parametrize(
    "written",
    ["tried, could not", "0 could not", "0 - could not", "0 (could not)", "Couldn't", "couldn’t start", "unable", "CNS",
     "0 reps could not", "tried but could not hold it"],
)  # fmt: skip
def test_tried_could_not_is_nought_and_neither_blank_nor_a_number(written):
    assert read("hollow_hold", written) == (0, "could_not_start")


@pytest.mark.parametrize("written", [None, "-", "–", "n/a", "N/A", "—"])
def test_blank_is_not_tried(written):
    assert read("hollow_hold", written) is None


@pytest.mark.parametrize("written", ["absent", "not tried", "Away", "n/t"])
def test_a_word_for_not_tried_is_kept_as_that(written):
    assert read("hollow_hold", written) == (None, "not_attempted")


@pytest.mark.parametrize("written", [0, "0", "0 s", 0.0])
def test_a_bare_zero_is_asked_and_a_choice_settles_it(written):
    with pytest.raises(BareZero):
        read("hollow_hold", written)
    assert read("hollow_hold", written, "could_not") == (0, "could_not_start")
    assert read("hollow_hold", written, "not_tried") is None


@pytest.mark.parametrize(
    ("item", "value", "reason"),
    [
        ("hollow_hold", "good", "'good' is not a number in seconds"),
        ("hollow_hold", "sore wrist", "is not a number"),
        ("hollow_hold", "20 cm", "is not in seconds"),
        ("hollow_hold", "~20", "is not a number"),
        ("hollow_hold", "20?", "is not a number"),
        ("hollow_hold", 301, "it lies between 0 and 300"),
        ("hollow_hold", "301+", "it lies between 0 and 300"),
        ("hollow_hold", -3, "it lies between 0 and 300"),
        ("hollow_hold", time(1, 5), "a time of day"),
        ("hollow_hold", date(2026, 1, 12), "a date"),
        ("hollow_hold", True, "yes or no"),
        ("hollow_hold", float("nan"), "is not a number"),
        ("hollow_hold", Formula("=A1+1"), "a formula stands here"),
        ("double_heel_raises", "7.5", "not a whole number of repetitions"),
        ("stick_landings", 6, "it lies between 0 and 5"),
        ("stick_landings", "4/6", "not out of 5"),
    ],
)
def test_what_is_no_result_is_refused_with_a_reason(item, value, reason):
    with pytest.raises(UnclearResult, match=reason):
        read(item, value)


@pytest.mark.parametrize(
    ("item", "value", "warning"),
    [
        ("standing_long_jump", 12, "12 cm is unusual; look again"),
        ("standing_long_jump", 195, "195 cm is unusual"),
        ("hollow_hold", 75, "75 is past the cap of 60 seconds"),
    ],
)
def test_an_unusual_value_is_kept_with_a_warning(item, value, warning):
    reading = read_result(Cell("D7", value), SPECS[item])
    assert reading is not None
    assert warning in reading.warning


def test_what_was_written_stays_beside_what_was_changed():
    reading = read_result(Cell("D7", "42,5"), SPECS["hollow_hold"])
    assert reading is not None
    assert reading.note == "written 42,5"


@given(st.integers(1, 59))
def test_a_whole_number_below_the_cap_comes_back_however_it_was_typed(value):
    written = (value, float(value), str(value), f"{value}.0", f"{value} s", f" {value} ", f"0:{value:02d}")
    assert {read("hollow_hold", one) for one in written} == {(value, "scored")}


@given(st.integers(1, 300))
def test_at_least_never_claims_more_than_the_cap(value):
    kept, outcome = read("hollow_hold", f"{value}+")
    assert kept == min(value, 60)
    assert outcome == ("reached_cap" if value >= 60 else "chose_to_stop")


@given(st.text(max_size=20))
def test_any_text_is_read_or_refused_with_a_sentence(text):
    try:
        read("hollow_hold", text or None)
    except UnclearResult as error:
        assert str(error)
