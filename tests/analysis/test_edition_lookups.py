"""What an edition answers when it is asked: the benchmark of a variant, what is counted whole, a place in a table."""

from __future__ import annotations

import math

import pytest

from assessments.analysis.centiles import LmsTable, PercentileBand, PercentileTable, Placement
from assessments.analysis.conformity import counts_whole
from assessments.analysis.records import Benchmark
from tests.analysis.small_club import measure, programme, shape

LADDER = ("knees", "toes", "feet_high")
PLAIN, TOES = Benchmark("support", "6", 10, 20), Benchmark("support", "6", 10, 20, variant="toes")


def edition(found, **changes):
    support = measure("support", variants=LADDER)
    return programme(**{"measures": {"support": support}, "benchmarks": {("support", "6"): found}, **changes})


@pytest.mark.parametrize("variant", ["", *LADDER, "unheard_of"])
def test_a_benchmark_of_no_variant_speaks_of_all(variant):
    assert edition(PLAIN).benchmark("support", "6", variant) == PLAIN


@pytest.mark.parametrize(
    ("variant", "found"),
    [("", TOES), ("knees", None), ("toes", TOES), ("feet_high", TOES), ("unheard_of", None)],
)
def test_a_benchmark_of_a_variant_speaks_of_it_and_of_harder_ones(variant, found):
    assert edition(TOES).benchmark("support", "6", variant) == found


def test_a_benchmark_of_a_variant_that_the_item_lacks_speaks_of_none():
    without = edition(TOES, measures={"support": measure("support", variants=("knees",))})
    assert without.benchmark("support", "6", "knees") is None
    assert edition(TOES, measures={}).benchmark("support", "6", "toes") is None


def test_another_band_or_item_has_no_benchmark():
    assert edition(TOES).benchmark("support", "7", "toes") is None
    assert edition(TOES).benchmark("hold", "6") is None


@pytest.mark.parametrize(
    ("kind", "whole"), [("hold", False), ("distance", False), ("count", True), ("score_count", True)]
)
def test_counts_and_shapes_come_in_whole_steps(kind, whole):
    assert counts_whole(measure(kind=kind)) is whole
    assert counts_whole(shape()) is True


BANDS = PercentileTable(
    (10.0, 50.0, 90.0), (PercentileBand(4, 5, (2, 6, 10)), PercentileBand(6, 7, (4, 8, 12)))
)


@pytest.mark.parametrize(
    ("value", "at_least", "place"),
    [
        (6, False, Placement("at", 50.0, None, "About percentile 50 of this table.")),
        (8, False, Placement("at", 70.0, None, "About percentile 70 of this table.")),
        (6, True, Placement("at_least", 50.0, None, "At least percentile 50 of this table.")),
        (2, False, Placement("at", 10.0, None, "About percentile 10 of this table.")),
        (10, False, Placement("at", 90.0, None, "About percentile 90 of this table.")),
        (1, False, Placement("below", 10.0, None, "Below percentile 10, the lowest in this table.")),
        (1, True, Placement("at_least", None, None, "At least this value, which this table cannot place.")),
        (11, False, Placement("above", 90.0, None, "Above percentile 90, the highest in this table.")),
        (11, True, Placement("above", 90.0, None, "Above percentile 90, the highest in this table.")),
        (math.nan, False, Placement("off_the_scale", None, None, "A blank has no place in a table.")),
    ],
)
def test_a_value_has_its_place_among_percentiles_in_words(value, at_least, place):
    assert BANDS.place(value, 4.5, at_least=at_least) == place


def test_outside_its_ages_a_table_places_nobody():
    words = "The table covers 4 years to the day before 8, not {}."
    for age in (3.99, 8.0):
        assert BANDS.place(6, age) == Placement("outside_ages", None, None, words.format(f"{age:.2f}"))


def test_a_value_has_its_centile_in_words():
    table = LmsTable((4.0, 6.0), (1.0, 1.0), (10.0, 12.0), (0.1, 0.1))
    assert table.place(11, 5.0) == Placement("at", 50.0, 0.0, "Centile 50 of this table at 5.0 years.")
    assert table.place(11, 5.0, at_least=True) == Placement(
        "at_least", 50.0, 0.0, "At least centile 50 of this table at 5.0 years."
    )
    assert table.place(0, 5.0).where == "off_the_scale"
    assert table.place(11, 6.1).where == "outside_ages"
