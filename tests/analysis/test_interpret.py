"""Interpretations: one a child, item, series and side, with age, band and zone as on each day."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

from assessments.analysis import interpret, level_on
from assessments.analysis.interpret import benchmark_steps, scores_of
from assessments.analysis.records import Benchmark
from assessments.analysis.scoring import Scores, day_scores
from tests.analysis.small_club import BORN, MONDAY, frame, programme, shown, trial

ON = MONDAY + timedelta(weeks=20)


def read(*rows, born=BORN, on=ON):
    return interpret(frame(rows), programme=programme(), born_on={"mia": born, "abe": BORN}, on=on)


def test_series_and_sides_are_never_joined():
    rows = [
        trial(10), trial(11, series="v2"), trial(12, series="v1:tucked"), trial(13, athlete="abe"),
        trial(5, item="one_leg", side="left"), trial(6, item="one_leg", side="right"), trial(20, week=2),
    ]  # fmt: skip
    found = {
        (one.athlete, one.item, one.series, one.side): [day.value for day in one.days] for one in read(*rows)
    }
    assert found == {
        ("abe", "hollow_hold", "v1", ""): [13],
        ("mia", "hollow_hold", "v1", ""): [10, 20],
        ("mia", "hollow_hold", "v1:tucked", ""): [12],
        ("mia", "hollow_hold", "v2", ""): [11],
        ("mia", "one_leg", "v1", "left"): [5],
        ("mia", "one_leg", "v1", "right"): [6],
    }
    assert [one.variant for one in read(*rows) if one.series == "v1:tucked"] == ["tucked"]


def test_a_birthday_never_labels_an_old_point_anew():
    born = date(2019, 3, 9)
    (found,) = read(trial(16), trial(16, week=1), born=born)
    assert [(day.band, day.zone) for day in found.days] == [("6", "building"), ("7", "building")]
    assert [round(day.age, 2) for day in found.days] == [6.98, 7.0]
    (found,) = read(trial(12), trial(12, week=1), born=born)
    assert [day.zone for day in found.days] == ["building", "starting_out"]


@pytest.mark.parametrize(
    ("value", "zone"), [(9, "starting_out"), (10, "building"), (19, "building"), (20, "club_aim")]
)
def test_zones_begin_at_their_figures(value, zone):
    assert read(trial(value))[0].days[0].zone == zone


def test_outside_every_band_there_is_no_zone():
    (found,) = read(trial(16), born=date(2022, 1, 1))
    assert (found.days[0].band, found.days[0].zone) == ("", "")
    assert found.days[0].age == pytest.approx(4.16, abs=0.01)


def test_an_item_without_benchmarks_has_no_zone():
    assert read(trial(3, item="landings"))[0].days[0].zone == ""


def test_a_day_before_birth_has_no_age():
    (found,) = read(trial(16), born=MONDAY + timedelta(days=1))
    assert math.isnan(found.days[0].age)
    assert (found.days[0].band, found.days[0].zone) == ("", "")


def test_a_child_without_a_birth_date_is_refused():
    with pytest.raises(ValueError, match="no birth date for child zoe"):
        read(trial(10, athlete="zoe"))


def test_the_level_is_that_of_the_filter_predicted_to_the_reading():
    (found,) = read(trial(25), trial(26, week=1))
    assert (found.level.mean, found.level.variance) == pytest.approx(
        (level_on([0, 1], [25, 26], 5, 20).mean, level_on([0, 1], [25, 26], 5, 20).variance)
    )
    assert found.latest == found.days[-1]


def test_play_days_are_kept_and_marked_but_make_no_level():
    (found,) = read(trial(25, familiarisation=True))
    assert [day.familiarisation for day in found.days] == [True]
    assert (found.level, found.latest, found.change) == (None, None, None)
    (found,) = read(trial(25, familiarisation=True), trial(10, week=1))
    assert found.level.mean == 10


def test_the_reading_of_an_earlier_day_knows_nothing_later():
    rows = [trial(25), trial(26, week=2), trial(60, week=4)]
    early = MONDAY + timedelta(weeks=3)
    assert read(*rows, on=early) == read(*rows[:2], on=early)


def test_shapes_carry_levels_second_looks_and_what_broke():
    (found,) = read(shown(1), shown(2, second=True, judge="other"))
    assert found.days[0].levels["chin"] == 1
    assert found.days[0].second_levels["chin"] == 2
    (hold,) = read(trial(10, form_break="low back"))
    assert (hold.days[0].form_break, hold.days[0].levels) == ("low back", None)


def test_missing_words_are_read_as_nothing_said():
    (found,) = read(trial(10, form_break=None))
    assert found.days[0].form_break == ""


def test_no_rows_no_interpretations():
    assert read() == ()


def test_the_columns_come_back_from_the_records():
    rows = [
        shown(), shown(1, week=2, second=False), shown(2, second=True, judge="other"),
        trial(60, outcome="reached_cap", at_once=4), trial(5, week=1, familiarisation=True), trial(8, athlete="abe"),
        trial(5, item="one_leg", side="right"), trial(4, item="one_leg", side="left", form_break="hop"),
    ]  # fmt: skip
    edition = programme()
    first = day_scores(frame(rows), edition, on=ON)
    again = scores_of(
        interpret(frame(rows), programme=edition, born_on={"mia": BORN, "abe": BORN}, on=ON), edition
    )
    for name in Scores.__slots__:
        ours, theirs = getattr(first, name), getattr(again, name)
        same = ours == theirs if isinstance(ours, (tuple, dict)) else ours.tolist() == theirs.tolist()
        assert same, name
    assert len(scores_of((), edition)) == 0


def test_benchmarks_step_at_the_childs_birthdays():
    steps = benchmark_steps(programme(), "hollow_hold", date(2020, 2, 29))
    assert [(step.begins_on, step.ends_on, step.benchmark.building) for step in steps] == [
        (date(2026, 3, 1), date(2027, 3, 1), 10),
        (date(2027, 3, 1), date(2028, 2, 29), 15),
    ]
    assert benchmark_steps(programme(), "landings", BORN) == ()


@pytest.mark.parametrize(
    ("variant", "has"), [("toes", True), ("feet_high", True), ("", True), ("knees", False), ("odd", False)]
)
def test_a_benchmark_of_one_variant_speaks_for_it_and_for_harder_ones(variant, has):
    row = Benchmark("support", "6", 5, 10, variant="toes")
    edition = programme(benchmarks={("support", "6"): row})
    assert edition.benchmark("support", "6", variant) == (row if has else None)
    assert edition.benchmark("support", "7", variant) is None


def test_a_benchmark_of_a_variant_or_a_measure_that_is_gone_speaks_for_none():
    gone = Benchmark("support", "6", 5, 10, variant="gone")
    assert programme(benchmarks={("support", "6"): gone}).benchmark("support", "6", "toes") is None
    assert (
        programme(measures={}, benchmarks={("support", "6"): gone}).benchmark("support", "6", "toes") is None
    )


def test_the_noise_of_a_level_is_read_at_the_mean_of_its_own_days():
    """The reach of a child who stands at 40 is uncertain by a tenth, 4; of one who stands at 90 by 9."""
    rows = [
        trial(30, item="reach"), trial(50, item="reach", week=4), trial(90, item="reach", athlete="abe"),
    ]  # fmt: skip
    abe, mia = read(*rows)
    assert abe.level == level_on([0], [90], 9, 20)
    assert mia.level == level_on([0, 4], [30, 50], 4, 20)


@pytest.mark.parametrize(
    ("item", "late"), [("hollow_hold", 2.15 - 0.27), ("support", 2.15 - 0.27), ("landings", 0)]
)
def test_only_a_hold_that_more_clocks_watched_is_late(item, late):
    (found,) = read(*(trial(4, item=item, week=week, at_once=8 if week == 8 else 1) for week in (0, 4, 8)))
    noise = 1.6448536 * math.hypot(found.days[1].sem, found.days[2].sem)
    assert found.change.detectable == pytest.approx(noise + late)
