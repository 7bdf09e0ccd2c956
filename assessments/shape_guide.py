"""The shape guide: each shape of an edition with its criteria, its faults and what hangs on it, ready to be drawn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from assessments.analysis.records import Benchmark, CriterionSpec, MeasureSpec, Programme, ShapeSpec
from club import figures

VIEWS = {
    "side": "from the side",
    "front": "from the front",
    "front_and_side": "from the front, then the side",
}
SUPERVISED = {"one_to_one": "One coach for one child, within reach the whole time."}


@dataclass(frozen=True, slots=True)
class CriterionLine:
    """One criterion: its three levels, its cue, and the fault as it is drawn."""

    spec: CriterionSpec
    is_drawn: bool  # whether there is a drawing of what is lost


@dataclass(frozen=True, slots=True)
class ShapeLines:
    """One shape as the guide and the wall show it."""

    spec: ShapeSpec
    view: str
    criteria: tuple[CriterionLine, ...]  # must-haves first, as they are judged
    also_seen: tuple[tuple[str, str], ...]  # drawings of other faults: name for drawing, words
    held_by: tuple[MeasureSpec, ...]
    asked_by: tuple[tuple[str, float], ...]  # skill and the total it asks
    benchmarks: tuple[tuple[str, Benchmark | None], ...]  # by band, None where it is not offered
    supervision: str


@dataclass(frozen=True, slots=True)
class Guide:
    """All shapes of an edition and the rules by which they are judged."""

    shapes: tuple[ShapeLines, ...]
    levels: tuple[tuple[str, str], ...]
    judging: tuple[str, ...]
    unseen: str

    def shape(self, shape: str) -> ShapeLines:
        """One shape; KeyError when the edition does not hold it."""
        return {one.spec.id: one for one in self.shapes}[shape]


def guide(programme: Programme) -> Guide:
    """The guide of one edition."""
    above = programme.preamble.get("shapes", {})
    judging, unseen = _mapping(above.get("judging")), _mapping(above.get("not_observed"))
    levels = above.get("levels")
    return Guide(
        shapes=tuple(_shape(programme, spec) for spec in programme.shapes.values()),
        levels=tuple(
            (str(level.get("label", "")), str(level.get("meaning", "")))
            for level in (levels if isinstance(levels, list) else [])
            if isinstance(level, Mapping)
        ),
        judging=tuple(str(judging[key]) for key in ("view", "cues", "combine", "order") if key in judging),
        unseen=str(unseen.get("rule", "")),
    )


def _mapping(found: object) -> Mapping[str, object]:
    return found if isinstance(found, Mapping) else {}


def _shape(programme: Programme, spec: ShapeSpec) -> ShapeLines:
    ordered = sorted(spec.criteria, key=lambda one: not one.must_have)
    drawn = {one.name for one in figures.FIGURES}
    named = {f"{spec.id}-{one.id}" for one in spec.criteria}
    return ShapeLines(
        spec=spec,
        view=VIEWS.get(spec.viewpoint, spec.viewpoint.replace("_", " ")),
        criteria=tuple(CriterionLine(one, f"{spec.id}-{one.id}" in drawn) for one in ordered),
        also_seen=tuple(
            (one.name.removeprefix(f"{spec.id}-"), one.title.rpartition(": ")[2].capitalize())
            for one in figures.FIGURES
            if one.ring and one.name.startswith(f"{spec.id}-") and one.name not in named
        ),
        held_by=tuple(programme.measures[item] for item in spec.holds if item in programme.measures),
        asked_by=tuple(
            (skill.name, asked.minimum)
            for skill in programme.skills.values()
            for asked in skill.requirements
            if asked.item == spec.id
        ),
        benchmarks=tuple((band.id, programme.benchmarks.get((spec.id, band.id))) for band in programme.bands),
        supervision=SUPERVISED.get(spec.supervision, ""),
    )
