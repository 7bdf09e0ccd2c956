"""The level of a series as known on a day: the error that goes in, what has expired, and what clocks add."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest

from assessments.analysis import interpret
from assessments.analysis.interpret import current_levels, error_models
from assessments.analysis.records import Benchmark, ErrorModel
from assessments.analysis.scoring import day_scores
from assessments.analysis.trend import histories
from tests.analysis.small_club import BORN, MEASURES, MONDAY, frame, measure, programme, shape, shown, trial


def level_of(*rows, week=0, **changes):
    on = MONDAY + timedelta(weeks=week)
    (found,) = interpret(frame(rows), programme=programme(**changes), born_on={"mia": BORN}, on=on)
    return found.level.mean, found.level.variance


def test_one_day_is_its_value_and_the_error_of_the_measure():
    assert level_of(trial(26)) == pytest.approx((26, 25))
    small = {"hollow_hold": measure(error=ErrorModel(0.2, 0.0))}
    assert level_of(trial(26), measures=small) == pytest.approx((26, 0.04))
    # An error that grows: a tenth of 26 s.
    grows = {"hollow_hold": measure(error=ErrorModel(0.2, 0.1))}
    assert level_of(trial(26), measures=grows) == pytest.approx((26, 2.6**2))


def test_the_level_of_a_shape_has_the_error_of_a_shape():
    error = shape().error.sem(10)
    assert error > 0
    assert level_of(shown()) == pytest.approx((10, error**2))


def test_a_day_after_the_others_had_expired_starts_anew():
    assert level_of(trial(5), trial(27, week=17), week=17) == pytest.approx((27, 25))
    assert level_of(trial(5), trial(27, week=16), week=16)[0] < 26.9  # sixteen weeks: it still counts


def test_several_clocks_make_it_later_and_less_sure():
    """By the table of the model: eight clocks stop 1.88 s later than one and scatter 0.98 s, one alone 0.06 s."""
    assert level_of(trial(26, at_once=8)) == pytest.approx((26 - 1.88, 25 + 0.98**2 - 0.06**2))


def test_nobody_has_no_levels_and_an_item_outside_the_edition_no_error():
    edition = programme()
    none = day_scores(frame([]), edition, on=MONDAY)
    assert len(current_levels(none, histories(none), programme=edition, on=MONDAY).mean) == 0
    scores = day_scores(frame([trial(26), shown(), trial(30, item="reach")]), edition, on=MONDAY)
    smaller = programme(measures={one.id: one for one in MEASURES if one.id != "hollow_hold"})
    a, b = error_models(scores, smaller)
    models = dict(zip(scores.items, zip(a.tolist(), b.tolist(), strict=True), strict=True))
    assert models == {"hollow_hold": (0, 0), "reach": (2, 0.1), "tuck": (shape().error.a, shape().error.b)}


def series_of(*rows, **changes):
    return interpret(frame(rows), programme=programme(**changes), born_on={"mia": BORN}, on=MONDAY)[0]


def test_a_day_carries_what_clocks_and_levels_there_were():
    (held,) = series_of(trial(26, at_once=8)).days
    assert (held.at_once, held.late) == (8, pytest.approx(1.88))
    assert held.clock_variance == pytest.approx(0.98**2 - 0.06**2)
    assert (held.levels, held.form_break, held.second_levels) == (None, "", None)
    (blank,) = series_of(trial(26, levels=math.nan, form_break=math.nan)).days
    assert (blank.levels, blank.form_break) == (None, "")
    (seen,) = series_of(shown(1)).days
    assert (seen.late, seen.clock_variance, seen.levels["chin"]) == (0, 0, 1)


@pytest.mark.parametrize(
    ("variant", "zone"), [("knees", ""), ("toes", "building"), ("feet_high", "building")]
)
def test_a_zone_is_for_the_version_of_the_benchmark_or_a_harder_one(variant, zone):
    mark = Benchmark("support", "6", 10, 20, variant="toes")
    row = trial(15, item="support", series=f"v1:{variant}")
    assert series_of(row, benchmarks={("support", "6"): mark}).days[0].zone == zone


def test_a_look_without_a_total_stays_with_its_series():
    looked = series_of(shown(), shown(0, week=0, rest=None, trial=2, day="later"))
    assert [look.levels["chin"] for look in looked.partial_looks] == [0]
    assert series_of(trial(26)).partial_looks == ()
