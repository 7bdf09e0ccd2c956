"""The skill graph and its drawing against networkx (Hagberg, Schult and Swart 2008), an independent graph library."""

from __future__ import annotations

import re
from itertools import pairwise

import networkx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.analysis.records import SkillSpec
from assessments.programme_checks import ancestors_of, cycle_in
from assessments.programme_file import starter
from assessments.skill_map import BOX_HEIGHT, BOX_WIDTH, skill_map

AREAS = ("floor", "bars", "beam", "vault")


def graph_of(skills):
    graph = networkx.DiGraph()
    graph.add_nodes_from(skills)
    graph.add_edges_from(
        (before, skill.id) for skill in skills.values() for before in skill.after if before in skills
    )
    return graph


def skill(number, after):
    return SkillSpec(
        id=f"s{number}", name=f"Skill {number} of many", area=AREAS[number % 4], risk="low", min_age=4,
        after=tuple(f"s{one}" for one in sorted(after)), requirements=(),
    )  # fmt: skip


@st.composite
def graphs(draw, rings: bool):
    """Up to fourteen skills with any lines, or with lines that only lead forward."""
    count = draw(st.integers(1, 14))
    found = {}
    for number in range(count):
        others = range(count) if rings else range(number)
        after = draw(st.sets(st.sampled_from(others), max_size=4)) if len(others) else set()
        found[f"s{number}"] = skill(number, after)
    return found


def test_the_starter_graph_is_acyclic_and_has_the_lines_that_were_drawn():
    graph = graph_of(starter().skills)
    assert networkx.is_directed_acyclic_graph(graph)
    assert (graph.number_of_nodes(), graph.number_of_edges()) == (26, 31)
    areas = [skill.area for skill in starter().skills.values()]
    assert {area: areas.count(area) for area in AREAS} == {"floor": 13, "bars": 6, "beam": 5, "vault": 2}


def test_no_line_of_the_starter_repeats_a_longer_way():
    graph = graph_of(starter().skills)
    assert set(networkx.transitive_reduction(graph).edges) == set(graph.edges)


@settings(max_examples=150, deadline=None)
@given(skills=graphs(rings=True))
def test_rings_are_found_where_networkx_finds_them(skills):
    graph = graph_of(skills)
    ring = cycle_in(skills)
    assert bool(ring) != networkx.is_directed_acyclic_graph(graph)
    assert all(graph.has_edge(one, other) for one, other in pairwise(ring))
    assert not ring or ring[0] == ring[-1]


@settings(max_examples=100, deadline=None)
@given(skills=graphs(rings=True))
def test_ancestors_are_those_of_networkx(skills):
    graph = graph_of(skills)
    for one in skills:
        expected = set(networkx.ancestors(graph, one))
        assert ancestors_of(one, skills) - {one} == expected


def points_of(path):
    """Points along a path of M, C and H commands, by the formula of the cubic Bezier curve."""
    x = y = 0.0
    for command, written in re.findall(r"([MCH])([-\d. ]+)", path):
        numbers = [float(one) for one in written.split()]
        if command == "M":
            x, y = numbers
        elif command == "H":
            yield from ((x + (numbers[0] - x) * step / 8, y) for step in range(9))
            x = numbers[0]
        else:
            x1, y1, x2, y2, x3, y3 = numbers
            for t in (step / 8 for step in range(9)):
                parts = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
                yield (
                    sum(part * at for part, at in zip(parts, (x, x1, x2, x3), strict=True)),
                    sum(part * at for part, at in zip(parts, (y, y1, y2, y3), strict=True)),
                )
            x, y = x3, y3


def check_drawing(skills):
    drawn = skill_map(skills)
    assert {node.id for node in drawn.nodes} == set(skills)
    boxes = [(node.x, node.y) for node in drawn.nodes]
    for place, (x, y) in enumerate(boxes):
        assert 0 <= x <= drawn.width - BOX_WIDTH
        assert 0 <= y <= drawn.height - BOX_HEIGHT
        for other_x, other_y in boxes[:place]:
            assert abs(x - other_x) >= BOX_WIDTH or abs(y - other_y) >= BOX_HEIGHT, "two boxes overlap"
    for edge in drawn.edges:
        if not edge.ring:
            for x, y in points_of(edge.path):
                assert not any(
                    left < x < left + BOX_WIDTH and top < y < top + BOX_HEIGHT for left, top in boxes
                )
    lanes = {lane.area: lane for lane in drawn.lanes}
    for node in drawn.nodes:
        lane = lanes[node.area]
        assert lane.y <= node.y and node.y + node.height <= lane.y + lane.height
    return drawn


@settings(max_examples=100, deadline=None)
@given(skills=graphs(rings=False))
def test_layers_are_the_longest_ways_of_networkx(skills):
    drawn = check_drawing(skills)
    expected = {
        one: place
        for place, layer in enumerate(networkx.topological_generations(graph_of(skills)))
        for one in layer
    }
    assert {node.id: node.layer for node in drawn.nodes} == expected
    assert {(edge.before, edge.after) for edge in drawn.edges} == set(graph_of(skills).edges)
    assert not any(edge.ring for edge in drawn.edges)


@settings(max_examples=100, deadline=None)
@given(skills=graphs(rings=True))
def test_a_draft_with_rings_is_drawn_all_the_same(skills):
    drawn = check_drawing(skills)
    graph = graph_of(skills)
    graph.remove_edges_from(list(networkx.selfloop_edges(graph)))
    assert {(edge.before, edge.after) for edge in drawn.edges} == set(graph.edges)
    graph.remove_edges_from([(edge.before, edge.after) for edge in drawn.edges if edge.ring])
    assert networkx.is_directed_acyclic_graph(graph)


@pytest.mark.parametrize("skills", [{}, {"s0": skill(0, [])}], ids=["none", "one"])
def test_small_maps_are_drawn(skills):
    assert len(check_drawing(skills).nodes) == len(skills)


def test_the_starter_map_fits_the_width_of_a_page():
    drawn = check_drawing(starter().skills)
    assert drawn.width <= 1180
    assert [lane.area for lane in drawn.lanes] == list(AREAS)
