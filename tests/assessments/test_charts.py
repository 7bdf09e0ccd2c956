"""The progress chart: what is joined, where the zones step, how each kind of result is marked."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import plotly.graph_objects as go
import pytest

from assessments.analysis.interpret import benchmark_steps
from assessments.charts import Ask, progress_chart
from assessments.programme_file import starter
from assessments.sparks import spark
from tests.assessments.known_lines import BORN, ON, day, hollow_line, line

PROGRAMME = starter()
HOLLOW = PROGRAMME.measures["hollow_hold"]


def drawn(lines, *, spec=HOLLOW, asks=(), on=ON):
    steps = benchmark_steps(PROGRAMME, spec.id, BORN)
    figure = progress_chart(lines, spec=spec, steps=steps, born_on=BORN, on=on, asks=asks)
    go.Figure(figure)  # plotly itself refuses an unknown key or a wrong value
    return json.loads(json.dumps(figure))


def words(figure):
    return [note["text"] for note in figure["layout"]["annotations"]]


def zones(figure, colour):
    return [
        (shape["x0"], shape["x1"], shape["y0"], shape["y1"])
        for shape in figure["layout"]["shapes"]
        if shape.get("fillcolor") == colour
    ]


def test_every_scored_day_is_drawn_at_its_own_date_and_value():
    figure = drawn([hollow_line()])
    points = [pair for trace in figure["data"] for pair in zip(trace["x"], trace["y"], strict=True)]
    assert points == [(one.on.isoformat(), one.value) for one in hollow_line().days]


def test_the_first_look_is_hollow_named_and_not_joined():
    figure = drawn([hollow_line()])
    first, later = figure["data"]
    assert first["x"] == ["2025-09-18"] and first["mode"] == "markers"
    assert first["marker"]["color"] == ["var(--card)"]
    assert later["mode"] == "lines+markers" and set(later["marker"]["color"]) == {"var(--ink)"}
    assert "first look" in words(figure)


def test_zones_step_on_the_birthday_that_changes_the_band():
    figure = drawn([hollow_line()])
    building = zones(figure, "var(--zone-build)")
    assert [(low, high) for _, _, low, high in building] == [(10, 20), (15, 25)]
    assert building[0][1] == building[1][0] == "2026-05-20"
    assert [low for _, _, low, _ in zones(figure, "var(--zone-aim)")] == [20, 25]
    assert "turned 7" in words(figure)


def test_zones_are_named_at_the_edge_and_never_in_a_legend():
    figure = drawn([hollow_line()])
    assert {"club aim", "building", "starting out"} <= set(words(figure))
    assert figure["layout"]["showlegend"] is False


def test_an_age_without_a_benchmark_has_no_zone():
    handstand = PROGRAMME.measures["wall_handstand_hold"]
    young = line([day(date(2024, 11, 20), 3)], item=handstand.id, series="v1")
    figure = drawn([young], spec=handstand, on=date(2024, 11, 25))
    assert not zones(figure, "var(--zone-build)")
    assert "building" not in words(figure)


def test_a_capped_result_is_an_open_arrow_with_no_bar_above():
    capped = line(
        [day(date(2026, 10, 1), 30), day(date(2026, 11, 1), 60, at_least=True, outcome="reached_cap")]
    )
    trace = drawn([capped])["data"][0]
    assert trace["marker"]["symbol"] == ["circle", "triangle-up"]
    assert trace["marker"]["color"] == ["var(--ink)", "var(--card)"]
    assert trace["error_y"]["array"] == [6.0, 0.0]
    assert "at least 60 s" in words(drawn([capped]))


def test_error_bars_reach_one_error_each_way_and_never_under_zero():
    trace = drawn([line([day(date(2026, 10, 1), 1), day(date(2026, 11, 1), 20)])])["data"][0]
    assert trace["error_y"]["array"] == [2.0, 4.0]
    assert trace["error_y"]["arrayminus"] == [1.0, 4.0]


def test_another_variant_or_protocol_starts_a_line_of_its_own_and_says_its_name():
    tucked = line([day(date(2026, 1, 10), 20), day(date(2026, 3, 10), 24)], series="v1:tucked")
    long = line([day(date(2026, 6, 10), 9), day(date(2026, 9, 10), 12)])
    figure = drawn([tucked, long])
    assert [trace["y"] for trace in figure["data"]] == [[20, 24], [9, 12]]
    assert {"tucked", "arms by the sides"} <= set(words(figure))


def test_sides_differ_by_mark_dash_and_word():
    stand = PROGRAMME.measures["single_leg_stance"]
    left = line(
        [day(date(2026, 9, 1), 8), day(date(2026, 11, 1), 9)], item=stand.id, series="v1", side="left"
    )
    right = line(
        [day(date(2026, 9, 1), 5), day(date(2026, 11, 1), 5)], item=stand.id, series="v1", side="right"
    )
    figure = drawn([left, right], spec=stand)
    assert [trace["marker"]["symbol"][0] for trace in figure["data"]] == ["circle", "square"]
    assert figure["data"][0]["line"]["dash"] != figure["data"][1]["line"]["dash"]
    assert {"left 9 s", "right 5 s"} <= set(words(figure))


def test_what_a_skill_asks_is_a_dashed_line_with_words_on_it():
    figure = drawn([hollow_line()], asks=[Ask(15.0, "15 s asked by Handstand facing the wall")])
    asked = [shape for shape in figure["layout"]["shapes"] if shape["line"].get("color") == "var(--mat)"]
    assert [(shape["y0"], shape["y1"]) for shape in asked] == [(15.0, 15.0)]
    assert "15 s asked by Handstand facing the wall" in words(figure)


@pytest.mark.parametrize(("values", "side"), [((14, 16, 30, 40), "right"), ((30, 40, 16, 14), "left")])
def test_what_a_skill_asks_stands_where_the_dots_are_not(values, side):
    dates = (date(2025, 9, 18), date(2025, 11, 20), date(2026, 9, 17), date(2026, 11, 19))
    rising = line([day(on, value) for on, value in zip(dates, values, strict=True)])
    (note,) = [
        note
        for note in drawn([rising], asks=[Ask(15.0, "asked")])["layout"]["annotations"]
        if note["text"] == "asked"
    ]
    assert note["xanchor"] == side


def test_play_days_are_not_progress():
    play = line([day(date(2026, 8, 1), 50, familiarisation=True), day(date(2026, 9, 1), 12)])
    figure = drawn([play])
    assert [trace["y"] for trace in figure["data"]] == [[12]]


def test_a_shape_is_drawn_on_its_whole_scale():
    hollow = PROGRAMME.shapes["hollow"]
    shape = line([day(date(2026, 10, 1), 6), day(date(2026, 11, 1), 8)], item="hollow", series="v1")
    low, high = drawn([shape], spec=hollow)["layout"]["yaxis"]["range"]
    assert low == 0 and 10 <= high <= 11
    assert "8 of 10" in words(drawn([shape], spec=hollow))


def test_a_reach_below_zero_keeps_its_room():
    reach = PROGRAMME.measures["pike_reach"]
    figure = drawn([line([day(date(2026, 11, 1), -12)], item=reach.id, series="v1")], spec=reach)
    low, high = figure["layout"]["yaxis"]["range"]
    assert low < -14 and high > 2


def test_an_empty_item_is_still_a_valid_chart():
    figure = drawn([])
    assert figure["data"] == []
    assert figure["layout"]["xaxis"]["range"][0] < figure["layout"]["xaxis"]["range"][1]


@pytest.mark.parametrize("item", [*PROGRAMME.measures, *PROGRAMME.shapes])
def test_every_item_of_the_starter_programme_can_be_drawn(item):
    spec = PROGRAMME.item(item)
    drawn([line([day(date(2026, 10, 1), 4), day(date(2026, 11, 1), 5)], item=item, series="v1")], spec=spec)


def test_colours_are_tokens_of_the_style_sheet():
    css = Path("club/static/club/groundwork.css").read_text()
    text = json.dumps(drawn([hollow_line()], asks=[Ask(15.0, "asked")]))
    used = {part.split(")")[0] for part in text.split("var(")[1:]}
    assert used and all(f"{name}:" in css for name in used)
    assert "#" not in text


def test_no_month_is_written_twice_on_a_short_axis():
    figure = drawn([line([day(date(2026, 11, 10), 12, first_look=True)])])
    assert figure["layout"]["xaxis"]["dtick"] == "M1"
    assert drawn([hollow_line()])["layout"]["xaxis"]["dtick"] == "M3"


def test_a_small_line_joins_no_first_look_and_marks_the_newest():
    small = spark([hollow_line()], width=120, height=32)
    assert len(small.paths) == 1 and small.paths[0].count("L") == 6
    assert [dot.kind for dot in small.dots] == ["open", "dot"]
    assert all(0 <= dot.x <= 120 and 0 <= dot.y <= 32 for dot in small.dots)
    assert small.dots[0].y > small.dots[1].y  # a rise goes up


def test_a_small_line_of_two_series_is_two_paths():
    tucked = line([day(date(2026, 1, 10), 20), day(date(2026, 3, 10), 24)], series="v1:tucked")
    capped = line([day(date(2026, 6, 10), 9), day(date(2026, 9, 10), 60, at_least=True)])
    small = spark([tucked, capped])
    assert len(small.paths) == 2
    assert [dot.kind for dot in small.dots] == ["dot", "at_least"]


def test_a_small_line_of_nothing_is_empty():
    assert spark([]).paths == () and spark([]).dots == ()
