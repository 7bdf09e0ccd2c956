"""Where each skill stands on the map: layers from left to right, a lane for each apparatus, lines that go round boxes.

A layered drawing in four steps: rings are opened, each skill goes one layer right of what it comes after, long
lines get a place in every layer that they cross, and the places of a lane are sorted by the middle of their
neighbours (barycentre sweeps, after Sugiyama, Tagawa and Toda 1981).
"""

from __future__ import annotations

import textwrap
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from assessments.analysis.records import SkillSpec
from assessments.programme_checks import cycle_in

BOX_WIDTH, BOX_HEIGHT, BOX_GAP = 176, 84, 18
LINE_GAP = 18  # room for a line that passes
LAYER_GAP = 64
LANE_HEAD, LANE_GAP, MARGIN = 34, 14, 16
NAME_LETTERS, NAME_LINES = 17, 3  # the block stands beside the first line
SMALL_LETTERS = 30
COUNT_ROOM, COUNT_DIGIT = 24, 8  # a small block, and each digit after it
SWEEPS = 8
USUAL_AREAS = ("floor", "bars", "beam", "vault")


@dataclass(frozen=True, slots=True)
class Mark:
    """What is said on a box: a state glyph's word, or nothing; a short text; or how many stand where."""

    word: str = ""
    text: str = ""
    url: str = ""
    counts: tuple[tuple[str, int], ...] = ()  # how many stand in which state; drawn instead of the text


@dataclass(frozen=True, slots=True)
class TextLine:
    """Words at a place inside a box."""

    x: int
    y: int
    words: str
    small: bool = False


@dataclass(frozen=True, slots=True)
class Node:
    """A skill's box."""

    id: str
    name: str
    area: str
    layer: int
    x: int
    y: int
    lines: tuple[str, ...]
    after: tuple[str, ...]
    leads_to: tuple[str, ...]
    mark: Mark = Mark()
    width: int = BOX_WIDTH
    height: int = BOX_HEIGHT

    @property
    def placed_lines(self) -> tuple[TextLine, ...]:
        """The name's lines and the short text below them, inside the box."""
        named = [TextLine(10, 23 + 17 * row, words) for row, words in enumerate(self.lines)]
        text = "" if self.mark.counts else self.mark.text
        said = textwrap.shorten(text, SMALL_LETTERS, placeholder=" …")
        return (*named, TextLine(10, BOX_HEIGHT - 8, said, small=True)) if said else tuple(named)

    @property
    def placed_counts(self) -> tuple[tuple[int, str, int], ...]:
        """Where each count stands: its x, the state's word, how many."""
        found, x = [], 10
        for word, count in self.mark.counts:
            found.append((x, word, count))
            x += COUNT_ROOM + COUNT_DIGIT * len(str(count))
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Edge:
    """A line from a skill to one that comes after it; `ring` when it closes a ring of skills."""

    before: str
    after: str
    path: str
    ring: bool = False


@dataclass(frozen=True, slots=True)
class Lane:
    """The band of one apparatus."""

    area: str
    y: int
    height: int


@dataclass(frozen=True, slots=True)
class SkillMap:
    """The whole drawing, in its own units."""

    nodes: tuple[Node, ...]  # lane by lane, layer by layer: the order of the list and of the keyboard
    edges: tuple[Edge, ...]
    lanes: tuple[Lane, ...]
    width: int
    height: int

    @property
    def lane_width(self) -> int:
        """How wide the band of an apparatus is drawn."""
        return self.width - MARGIN


@dataclass(slots=True)
class _Place:
    """A box, or the point where a long line passes a layer."""

    key: str
    lane: str
    layer: int
    box: bool
    before: list[str] = field(default_factory=list)
    after: list[str] = field(default_factory=list)
    row: float = 0
    y: int = 0


def skill_map(skills: Mapping[str, SkillSpec], marks: Mapping[str, Mark] | None = None) -> SkillMap:
    """The drawing of a skill graph, even of an unfinished one: unknown skills are left out, rings are opened."""
    kept, rings = _without_rings(skills)
    layers = _layers(skills, kept)
    lanes = _lane_names(skills)
    places, chains = _places(skills, kept, layers)
    columns = _sorted_columns(places, lanes)
    drawn_lanes, height = _heights(columns, lanes)
    count = max(layers.values(), default=-1) + 1
    width = 2 * MARGIN + max(count * BOX_WIDTH + (count - 1) * LAYER_GAP, BOX_WIDTH)
    nodes = _nodes(skills, places, lanes, marks or {})
    boxes = {node.id: node for node in nodes}
    edges = [
        Edge(*pair, _path(boxes[pair[0]], chain, boxes[pair[1]], places)) for pair, chain in chains.items()
    ]
    edges += [Edge(*pair, _path(boxes[pair[0]], [], boxes[pair[1]], places), ring=True) for pair in rings]
    return SkillMap(nodes, tuple(edges), drawn_lanes, width, height)


def marked(drawing: SkillMap, marks: Mapping[str, Mark]) -> SkillMap:
    """The same drawing with other words on the boxes."""
    return replace(
        drawing, nodes=tuple(replace(node, mark=marks.get(node.id, Mark())) for node in drawing.nodes)
    )


def _without_rings(
    skills: Mapping[str, SkillSpec],
) -> tuple[dict[str, list[str]], list[tuple[str, str]]]:
    """What each known skill comes after, and the links taken out because they close a ring."""
    kept = {
        key: [one for one in dict.fromkeys(skill.after) if one in skills and one != key]
        for key, skill in skills.items()
    }
    rings = [(key, key) for key, skill in skills.items() if key in skill.after]
    while ring := cycle_in({key: replace(skills[key], after=tuple(after)) for key, after in kept.items()}):
        # In the ring each skill comes before the next one.
        before, after = next((one, other) for one, other in pairwise(ring) if one in kept[other])
        kept[after].remove(before)
        rings.append((before, after))
    return kept, [pair for pair in rings if pair[0] != pair[1]]


def _layers(skills: Mapping[str, SkillSpec], after: Mapping[str, Sequence[str]]) -> dict[str, int]:
    """The longest way to a skill, counted in steps."""
    found: dict[str, int] = {}

    def layer(key: str) -> int:
        if key not in found:
            found[key] = 1 + max((layer(one) for one in after[key]), default=-1)
        return found[key]

    for key in skills:
        layer(key)
    return found


def _lane_names(skills: Mapping[str, SkillSpec]) -> tuple[str, ...]:
    used = dict.fromkeys(skill.area for skill in skills.values())
    return (
        *(area for area in USUAL_AREAS if area in used),
        *(area for area in used if area not in USUAL_AREAS),
    )


def _places(
    skills: Mapping[str, SkillSpec], after: Mapping[str, Sequence[str]], layers: Mapping[str, int]
) -> tuple[dict[str, _Place], dict[tuple[str, str], list[str]]]:
    """A place for each box and for each layer that a line passes."""
    places = {key: _Place(key, skill.area, layers[key], box=True) for key, skill in skills.items()}
    chains: dict[tuple[str, str], list[str]] = {}
    for key, befores in after.items():
        for before in befores:
            chain = []
            for layer in range(layers[before] + 1, layers[key]):
                passing = f"{before}>{key}@{layer}"
                # A line stays in the lane that it comes from and changes lane in its last step.
                places[passing] = _Place(passing, skills[before].area, layer, box=False)
                chain.append(passing)
            chains[before, key] = chain
            for one, other in zip([before, *chain], [*chain, key], strict=True):
                places[one].after.append(other)
                places[other].before.append(one)
    return places, chains


def _sorted_columns(
    places: Mapping[str, _Place], lanes: Sequence[str]
) -> dict[tuple[str, int], list[_Place]]:
    """The places of each lane and layer from top to bottom."""
    columns: dict[tuple[str, int], list[_Place]] = defaultdict(list)
    for place in places.values():
        columns[place.lane, place.layer].append(place)
    rank = {lane: 1000.0 * number for number, lane in enumerate(lanes)}

    def settle() -> None:
        for (lane, _), column in columns.items():
            for row, place in enumerate(column):
                place.row = rank[lane] + row - (len(column) - 1) / 2

    settle()
    last = max((layer for _, layer in columns), default=0)
    for sweep in range(SWEEPS):
        forward = sweep % 2 == 0
        for layer in range(last + 1) if forward else range(last, -1, -1):
            for lane in lanes:
                column = columns.get((lane, layer), [])
                wished = {one.key: _wish(one, places, forward=forward) for one in column}
                column.sort(key=lambda one: wished[one.key])
            settle()
    return columns


def _wish(place: _Place, places: Mapping[str, _Place], *, forward: bool) -> float:
    neighbours = place.before if forward else place.after
    rows = [places[key].row for key in neighbours] or [place.row]
    return sum(rows) / len(rows)


def _heights(
    columns: Mapping[tuple[str, int], list[_Place]], lanes: Sequence[str]
) -> tuple[tuple[Lane, ...], int]:
    """Give every place its height on the drawing; the lanes and the whole height."""
    drawn: list[Lane] = []
    top = MARGIN
    for lane in lanes:
        mine = {layer: column for (name, layer), column in columns.items() if name == lane}
        needed = {layer: sum(_room(place) for place in column) - BOX_GAP for layer, column in mine.items()}
        inner = max(needed.values(), default=0)
        for layer, column in mine.items():
            y = top + LANE_HEAD + (inner - needed[layer]) // 2
            for place in column:
                place.y = y + (BOX_HEIGHT // 2 if place.box else (LINE_GAP - BOX_GAP) // 2)
                y += _room(place)
        height = LANE_HEAD + inner + BOX_GAP
        drawn.append(Lane(lane, top, height))
        top += height + LANE_GAP
    return tuple(drawn), top - LANE_GAP + MARGIN if drawn else 2 * MARGIN


def _room(place: _Place) -> int:
    return BOX_HEIGHT + BOX_GAP if place.box else LINE_GAP


def _left(layer: int) -> int:
    return MARGIN + layer * (BOX_WIDTH + LAYER_GAP)


def _nodes(
    skills: Mapping[str, SkillSpec],
    places: Mapping[str, _Place],
    lanes: Sequence[str],
    marks: Mapping[str, Mark],
) -> tuple[Node, ...]:
    leads: dict[str, list[str]] = defaultdict(list)
    for key, skill in skills.items():
        for before in skill.after:
            leads[before].append(key)
    order = sorted(skills, key=lambda key: (lanes.index(skills[key].area), places[key].layer, places[key].y))
    return tuple(
        Node(
            id=key,
            name=skills[key].name,
            area=skills[key].area,
            layer=places[key].layer,
            x=_left(places[key].layer),
            y=places[key].y - BOX_HEIGHT // 2,
            lines=_wrapped(skills[key].name),
            after=skills[key].after,
            leads_to=tuple(leads[key]),
            mark=marks.get(key, Mark()),
        )
        for key in order
    )


def _wrapped(name: str) -> tuple[str, ...]:
    lines = textwrap.wrap(name, NAME_LETTERS, max_lines=NAME_LINES, placeholder=" …", break_on_hyphens=False)
    return tuple(lines)


def _path(start: Node, chain: Sequence[str], end: Node, places: Mapping[str, _Place]) -> str:
    """A smooth line from the right edge of one box to the left edge of another, past the layers between."""
    x, y = start.x + start.width, start.y + start.height // 2
    words = [f"M{x} {y}"]
    stops: list[tuple[int, int, int]] = [
        (_left(places[key].layer), places[key].y, _left(places[key].layer) + BOX_WIDTH) for key in chain
    ]
    for left, level, right in [*stops, (end.x, end.y + end.height // 2, end.x)]:
        bend = (left - x) // 2
        words.append(f"C{x + bend} {y} {left - bend} {level} {left} {level}")
        if right != left:
            words.append(f"H{right}")
        x, y = right, level
    return "".join(words)
