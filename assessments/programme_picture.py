"""The benchmarks of one measure or shape as a small picture: zones that step from one age band to the next."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assessments.analysis.records import Band, Programme

WIDTH, HEIGHT = 520, 240
LEFT, RIGHT, TOP, BOTTOM = 44, 76, 16, 30
TICKS = 5


@dataclass(frozen=True, slots=True)
class Step:
    """One band: where building and the aim begin, in the picture's own units. Without a benchmark, only a label."""

    label: str
    x: int
    width: int
    middle: int
    building: int | None = None
    aim: int | None = None
    building_height: int = 0
    aim_top: int = TOP
    aim_height: int = 0


@dataclass(frozen=True, slots=True)
class Line:
    """A level across the picture: a tick, the cap, or what a skill asks."""

    y: int
    words: str


@dataclass(frozen=True, slots=True)
class Picture:
    """Everything that the template draws."""

    steps: tuple[Step, ...]
    ticks: tuple[Line, ...]
    asks: tuple[Line, ...]
    cap: Line | None
    words: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    tick_x: int = LEFT - 8
    words_x: int = WIDTH - RIGHT + 8
    label_y: int = HEIGHT - 8


Zone = tuple[float, float]


def picture(
    zones: Mapping[str, Zone], bands: Sequence[Band], *, cap: float | None, asks: Sequence[tuple[float, str]]
) -> Picture:
    """Zones by band id (building, aim) as steps; `asks` are levels that skills ask for, with the skill's name."""
    values = [one for zone in zones.values() for one in zone] + [level for level, _ in asks]
    low, high = min([0.0, *values]), max([1.0, *values, *([cap] if cap else [])])
    step = _round_step((high - low) / TICKS)
    low = math.floor(low / step) * step
    wide = (WIDTH - LEFT - RIGHT) // max(len(bands), 1)

    def y(value: float) -> int:
        share = (value - low) / (high - low)
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM))

    steps = []
    for number, band in enumerate(bands):
        x = LEFT + number * wide
        label = Step(band.id, x, wide, x + wide // 2)
        if band.id in zones:
            building, aim = (y(one) for one in zones[band.id])
            label = Step(
                band.id,
                x,
                wide,
                x + wide // 2,
                building,
                aim,
                building_height=max(building - aim, 0),
                aim_height=max(aim - TOP, 0),
            )
        steps.append(label)
    count = math.floor((high - low) / step + 1e-9) + 1
    ticks = tuple(Line(y(low + number * step), f"{low + number * step:g}") for number in range(count))
    return Picture(
        steps=tuple(steps),
        ticks=ticks,
        asks=tuple(Line(y(level), words) for level, words in _by_level(asks)),
        cap=Line(y(cap), "cap") if cap else None,
        words=_words(zones, bands),
    )


def picture_of(programme: Programme, item: str) -> Picture:
    """The picture of one measure or shape of a programme, with what its skills ask."""
    spec = programme.item(item)
    rows = {band: (row.building, row.aim) for (one, band), row in programme.benchmarks.items() if one == item}
    return picture(rows, programme.bands, cap=spec.cap, asks=asks_of(programme, item))


def asks_of(programme: Programme, item: str) -> list[tuple[float, str]]:
    """What the skills of a programme ask of one measure or shape."""
    return [
        (requirement.minimum, skill.name)
        for skill in programme.skills.values()
        for requirement in skill.requirements
        if requirement.item == item
    ]


def _by_level(asks: Sequence[tuple[float, str]]) -> list[tuple[float, str]]:
    """One line a level: skills that ask for the same stand together."""
    names: dict[float, list[str]] = {}
    for level, name in asks:
        names.setdefault(level, []).append(name)
    return sorted((level, ", ".join(found)) for level, found in names.items())


def _round_step(rough: float) -> float:
    size = 10.0 ** math.floor(math.log10(rough))
    return next(size * factor for factor in (1, 2, 5, 10) if size * factor >= rough)


def _words(zones: Mapping[str, Zone], bands: Sequence[Band]) -> str:
    said = [
        f"{band.id}: building from {zones[band.id][0]:g}, aim {zones[band.id][1]:g}"
        for band in bands
        if band.id in zones
    ]
    return "; ".join(said) or "No age band has a benchmark."
