"""The starter programme as a coach would check it. Facts of the trade: common practice, no source."""

from __future__ import annotations

import re

import pytest

from assessments.programme_file import read, starter
from tests.assessments.programme_documents import starter_documents

YOUNG = ("4", "5", "6", "7")
MAIN_HOLDS = ("hollow_hold", "arch_hold", "front_support_hold", "straight_hang")
EASY_COUNTS = ("double_heel_raises", "hip_side_lifts", "hip_back_lifts", "squat_jumps")
KIND_WORDS = re.compile(r"\b(fail|weak|poor|below average|talent|potential)", re.I)


def zones(item, bands=YOUNG):
    return [row for band in bands if (row := starter().benchmarks.get((item, band))) is not None]


def test_it_hangs_together_without_anything_left_to_look_at():
    assert read(starter_documents()).problems == ()


@pytest.mark.parametrize("item", MAIN_HOLDS)
def test_holds_of_ten_to_thirty_seconds_for_beginners_of_four_to_seven(item):
    """Common practice, no source."""
    aims = [row.aim for row in zones(item)]
    assert len(aims) == 4
    assert all(10 <= aim <= 30 for aim in aims)


@pytest.mark.parametrize("item", EASY_COUNTS)
def test_sets_of_ten_to_twenty_easy_repetitions_are_within_reach_from_five_to_seven(item):
    """Common practice, no source: the aim lies in the set, and the cap lets a whole set be counted."""
    assert all(10 <= row.aim <= 20 for row in zones(item, ("5", "6", "7")))
    assert starter().measures[item].cap >= 20


def test_push_ups_from_about_five():
    """Common practice, no source."""
    assert starter().measures["full_push_ups"].age_min == 5
    assert ("full_push_ups", "4") not in starter().benchmarks
    assert ("full_push_ups", "5") in starter().benchmarks


@pytest.mark.parametrize("item", sorted([*starter().measures, *starter().shapes]))
def test_aims_grow_with_age_and_stay_below_the_cap(item):
    spec = starter().item(item)
    rows = zones(item, [band.id for band in starter().bands])
    assert rows, "every item has benchmarks"
    assert [row.aim for row in rows] == sorted(row.aim for row in rows)
    assert [row.building for row in rows] == sorted(row.building for row in rows)
    assert all(row.building < row.aim for row in rows)
    if spec.cap is not None:
        assert all(row.aim < spec.cap for row in rows), "an aim at the cap could never be seen to be passed"


@pytest.mark.parametrize("item", sorted(starter().measures))
def test_every_protocol_is_complete(item):
    spec = starter().measures[item]
    for key in ("set_up", "start", "form_standard", "say", "show", "cue"):
        assert spec.text.get(key), key
    assert len(spec.text["say"].splitlines()) == 2, "a script of two lines"
    assert len(spec.text["cue"]) <= 40, "one short cue"
    assert spec.stop_rules
    assert set(spec.variant_words) == set(spec.variant_texts) == set(spec.variants)
    assert ("side_rule" in spec.text) is spec.sides
    assert len(spec.aliases) >= 2


@pytest.mark.parametrize("shape", sorted(starter().shapes))
def test_every_shape_has_five_criteria_with_cue_fault_and_must_haves(shape):
    spec = starter().shapes[shape]
    assert len(spec.criteria) == 5
    assert any(one.must_have for one in spec.criteria)
    for one in spec.criteria:
        assert one.cue.endswith(".") and len(one.cue) <= 40
        assert one.fault and len(one.fault) <= 30
    must_haves = [one.must_have for one in spec.criteria]
    assert must_haves == sorted(must_haves, reverse=True), "must-haves are judged first"


def test_what_broke_first_is_offered_for_the_holds_that_have_a_shape():
    held = {measure for shape in starter().shapes.values() for measure in shape.holds}
    assert held == {
        "hollow_hold", "arch_hold", "front_support_hold", "straight_hang", "releve_hold", "wall_handstand_hold",
    }  # fmt: skip


def test_the_versions_that_a_club_asks_for_are_there():
    measures = starter().measures
    assert measures["hollow_hold"].variants == (
        "tucked", "one_leg_long", "arms_by_side", "block_between_feet", "full_arms_overhead", "block_between_hands",
    )  # fmt: skip
    assert set(measures["double_heel_raises"].variants) == {"feet_apart", "feet_together", "turned_out"}
    assert {"block_between_feet", "one_foot_lifted"} <= set(measures["front_support_hold"].variants)
    assert {"block_between_feet", "block_between_hands"} <= set(measures["arch_hold"].variants)
    assert all(measures[item].sides for item in ("hip_side_lifts", "hip_back_lifts", "single_heel_raises"))


def test_the_wall_handstand_asks_for_the_long_hollow_on_flat_hands():
    asked = {one.item: one.variant for one in starter().skills["wall_handstand"].requirements}
    assert (asked["hollow_hold"], asked["front_support_hold"]) == ("arms_by_side", "flat_hands")


def test_an_easier_version_has_no_zone_where_the_benchmark_speaks_of_a_harder_one():
    zone = starter().benchmark
    assert zone("hollow_hold", "4", "tucked") is not None
    assert zone("hollow_hold", "7", "tucked") is None
    assert zone("hollow_hold", "7", "arms_by_side") is not None
    assert zone("hollow_hold", "7", "block_between_hands") is not None


def test_the_words_are_kind():
    texts = str(starter_documents())
    assert KIND_WORDS.findall(texts) == []


def test_every_number_says_what_stands_behind_it():
    for spec in starter().items():
        assert spec.support and spec.error.support
        assert spec.support not in ("published", "partly") or spec.sources
    for row in starter().benchmarks.values():
        assert row.support not in ("published", "partly") or row.sources
