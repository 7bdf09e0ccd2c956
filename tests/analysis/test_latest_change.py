"""The newest scored day beside the one before: what is compared with what, and the sentence where nothing is."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest

from assessments.analysis.clocks import clock_bias
from assessments.analysis.records import Benchmark, Change, DayScore, ErrorModel
from assessments.analysis.scoring import day_scores
from assessments.analysis.summaries import group_summary
from assessments.analysis.trend import change_between, latest_change, speaks_for
from assessments.analysis.verdicts import verdicts
from tests.analysis.small_club import MONDAY, child, frame, programme, trial

PLAIN = DayScore(MONDAY, "a", 20.0, False, "scored", 2, 1, 5.0, False, False, 6.5, "6", "")
NOISE = 1.6448536 * math.sqrt(2) * 5
FIRST = "First look: the start of the line, nothing to compare with."
SECOND = "Second time: the one before was a first look, and practice alone lifts those."


def day(week, **changes):
    return replace(PLAIN, on=MONDAY + timedelta(weeks=week), **changes)


def test_a_first_look_and_the_day_after_it_are_compared_with_nothing():
    first, second = day(0, first_look=True), day(4, value=50.0)
    assert latest_change([first], timed=True) == Change("first_look", None, 0.0, pytest.approx(NOISE), FIRST)
    found = latest_change([first, second], timed=True)
    assert found == Change("not_comparable", None, 0.0, pytest.approx(NOISE), SECOND)


def test_a_play_day_is_no_day_to_compare_and_the_newest_two_dates_are():
    days = [day(0, value=40.0), day(4), day(8, value=55.0, familiarisation=True), day(9), day(9, value=50.0)]
    found = latest_change(days, timed=False)
    assert (found.word, found.since, found.difference) == ("up", MONDAY + timedelta(weeks=4), 30.0)
    assert latest_change([day(0, familiarisation=True)], timed=False) is None


def test_only_what_is_timed_by_hand_adds_the_lateness_of_more_clocks():
    alone, many = day(0), day(4, at_once=8)
    late = abs(clock_bias(8) - clock_bias(1))
    assert late > 0
    assert latest_change([alone, many], timed=True).detectable == pytest.approx(NOISE + late)
    assert latest_change([alone, many], timed=False).detectable == pytest.approx(NOISE)


def test_a_difference_just_as_large_as_the_noise_is_about_the_same():
    exact = [replace(PLAIN, sem=0.0), replace(PLAIN, sem=0.0, on=MONDAY + timedelta(weeks=4))]
    assert change_between(*exact, timed=False).word == "about_the_same"


def test_a_benchmark_of_a_harder_variant_gives_an_easier_one_no_zone():
    toes = Benchmark("support", "6", 10, 20, variant="toes")
    edition = programme(benchmarks={("support", "6"): toes})
    names = ("abe", "bo", "cy")
    rows = [
        trial(25, item="support", series=f"v1:{variant}", athlete=name)
        for name, variant in zip(names, ("knees", "toes", "feet_high"), strict=True)
    ]
    children = tuple(child(name) for name in names)
    scores = day_scores(frame(rows), edition, on=MONDAY)
    found = group_summary(verdicts((), scores, programme=edition, children=children, on=MONDAY))
    (support,) = [one for one in found.measures if one.item == "support"]
    assert support.zones == {"": 1, "club_aim": 2}


@pytest.mark.parametrize(
    ("earlier", "later", "difference"),
    [({"value": 20.0}, {"value": 3.0, "at_least": True}, -17.0), ({"at_least": True}, {"value": 50.0}, 30.0)],
)
def test_a_difference_that_cannot_be_judged_stands_beside_the_noise(earlier, later, difference):
    found = change_between(day(0, **earlier), day(4, **later), timed=False)
    assert (found.word, found.since, found.difference) == ("not_comparable", MONDAY, difference)
    assert found.detectable == pytest.approx(NOISE)


@pytest.mark.parametrize("bound", ["", "earlier", "later"])
@pytest.mark.parametrize(("second", "word"), [(2.5, "up"), (1.5, "down")])
def test_a_measure_of_small_figures_changes_by_less_than_one(bound, second, word):
    """Metres with an error of 0.1: half a metre is beyond 1.645 * sqrt(2) * 0.1 = 0.23."""
    first = day(0, value=2.0, sem=0.1, at_least=bound == "earlier")
    found = change_between(first, day(4, value=second, sem=0.1, at_least=bound == "later"), timed=False)
    hidden = (bound, word) in (("earlier", "up"), ("later", "down"))
    assert found.word == ("not_comparable" if hidden else word)


def test_the_noise_beside_a_first_look_is_that_of_the_error_in_force():
    """An error found from 15 children: Student's t of 90 % on 14 degrees of freedom is 1.7613, any table."""
    own = ErrorModel(5, 0, "derived", "", 15)
    for days in ([day(0, first_look=True)], [day(0, first_look=True), day(4)]):
        found = latest_change(days, timed=False, error=own)
        assert found.detectable == pytest.approx(1.7613 * math.sqrt(2) * 5, abs=1e-3)


@pytest.mark.parametrize(("value", "speaks"), [(19.0, False), (20.0, False), (20.5, True)])
def test_only_a_stop_over_the_exact_score_of_its_date_speaks_for_it(value, speaks):
    exact, stop = day(4), day(4, value=value, at_least=True, outcome="chose_to_stop")
    assert speaks_for([day(0, value=50.0), exact, stop]) == (stop if speaks else exact)
