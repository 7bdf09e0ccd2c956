"""What gives an amount: nothing from before a rest ended, nothing older than the limit, nothing that clocks added.

The limits are those of the states (`Rules`), the club's own settings, common practice without a source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest

from assessments.analysis import starting_dose, why_no_dose
from assessments.analysis.records import DayScore, Rules
from tests.analysis.simulated import TODAY, day_score
from tests.analysis.test_doses_said import COUNT, HOLD


def ago(value: float, days: int, **more: object) -> DayScore:
    return day_score(value, TODAY - timedelta(days=days), **more)  # type: ignore[arg-type]


def amount(days: Sequence[DayScore], **given: object) -> int | None:
    found = starting_dose(HOLD, days, on=TODAY, **given)  # type: ignore[arg-type]
    return None if found is None else found.amount


@pytest.mark.parametrize(("days", "expected"), [(0, 24), (56, 24), (112, 24), (113, None), (730, None)])
def test_a_result_lasts_as_long_as_it_does_for_the_states(days: int, expected: int | None) -> None:
    """40 s: 60 % is 24 s, until 16 weeks after the day, counted from the day of reading."""
    assert Rules().expiry_weeks == 16
    assert amount([ago(40, days)]) == expected


@pytest.mark.parametrize(("days", "expected"), [(56, 24), (57, None)])
def test_a_programme_may_ask_for_newer_results(days: int, expected: int | None) -> None:
    assert amount([ago(40, days)], expiry_weeks=8) == expected


def test_of_several_days_only_those_that_last_count() -> None:
    stop = ago(10, 7, at_least=True, outcome="chose_to_stop")
    assert amount([ago(40, 100), stop]) == 24
    assert amount([ago(40, 113), stop]) == 8, "what was held before does not lift the stop any more"


def test_what_was_held_before_a_rest_gives_no_amount() -> None:
    ended = TODAY - timedelta(days=10)
    assert amount([ago(40, 11)], since=ended) is None
    assert amount([ago(40, 10)], since=ended) == 24, "tested on the day on which the rest ended"
    assert amount([ago(40, 11), ago(20, 5)], since=ended) == 12
    assert amount([ago(40, 11)], since=None) == 24


def test_a_day_after_the_reading_is_not_known_yet() -> None:
    assert amount([ago(40, -1)]) is None
    assert amount([ago(40, -1), ago(20, 0)]) == 12
    assert why_no_dose([ago(40, -1)], on=TODAY) == ""


ENDED = date(2026, 5, 22)
SINCE = "Not tested since the rest ended on 22 May 2026: begin with the easiest version and watch."


@pytest.mark.parametrize(
    ("days", "since", "weeks", "words"),
    [
        ([(40, 11)], ENDED, 16, SINCE),
        ([(40, 300)], ENDED, 16, SINCE),
        ([(40, 300), (20, 113)], None, 16, "Not tested for 16 weeks: begin with the easiest version and watch."),
        ([(40, 70)], None, 8, "Not tested for 10 weeks: begin with the easiest version and watch."),
        ([(40, 113)], TODAY - timedelta(days=200), 16, "Not tested for 16 weeks: begin with the easiest version and watch."),
        ([(40, 11), (20, 1)], ENDED, 16, ""),
        ([(40, 112)], None, 16, ""),
        ([], None, 16, ""),
        ([], ENDED, 16, ""),
    ],
)  # fmt: skip
def test_where_only_older_results_are_left_a_sentence_says_so(
    days: list[tuple[float, int]], since: date | None, weeks: int, words: str
) -> None:
    found = [ago(value, before) for value, before in days]
    assert why_no_dose(found, on=TODAY, since=since, expiry_weeks=weeks) == words
    dose = starting_dose(HOLD, found, on=TODAY, since=since, expiry_weeks=weeks)
    assert (dose is not None) == bool(days and not words), "an amount or a sentence, never both"


@pytest.mark.parametrize(
    "old", [ago(40, 200, familiarisation=True), ago(float("nan"), 200)], ids=["play day", "no value"]
)
def test_what_was_never_clean_was_not_tested(old: DayScore) -> None:
    assert why_no_dose([old], on=TODAY) == ""
    assert why_no_dose([old, ago(40, 150)], on=TODAY).startswith("Not tested for 21 weeks")


def test_a_stop_with_several_clocks_counts_without_its_lateness() -> None:
    """22 s less 2 s: 60 % of 20 s. The result is shown as it was written."""
    late = replace(ago(22, 0), late=2.0)
    found = starting_dose(HOLD, [late], on=TODAY)
    assert found is not None
    assert found.amount == 12
    assert found.reason == "Best clean result 22 s on 01 Jun 2026; start at 12 s."
    assert amount([ago(22, 0)]) == 13
    many, alone = replace(ago(40, 0), late=5.0), ago(38, 0, at_least=True)
    assert amount([many]) == 21
    assert amount([many, alone]) == 22, "38 s alone were longer than 40 s less 5"
    assert amount([replace(ago(1, 0), late=2.0)]) is None
    counted = starting_dose(COUNT, [ago(20, 0)], on=TODAY)
    assert counted is not None and counted.amount == 12
