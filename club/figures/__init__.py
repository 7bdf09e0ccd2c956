"""Our own line drawings of shapes, faults, measures and skills, built from one joint model.

`figure("hollow", fault="low_back")` is inline SVG; `FIGURES` lists what is drawn; `symbols([...])` is for script.
"""

from __future__ import annotations

from collections.abc import Iterable

from club.figures import measures, shapes, skills
from club.figures.draw import Figure, svg, symbol

FIGURES: tuple[Figure, ...] = (*shapes.SHAPES, *shapes.FAULTS, *measures.MEASURES, *skills.SKILLS)
_BY_NAME = {each.name: each for each in FIGURES}

#: Shapes that a measure holds: their faults are the measure's faults.
HOLDS = {
    "hollow_hold": "hollow",
    "arch_hold": "arch",
    "front_support_hold": "front_support",
    "straight_hang": "hang",
    "wall_handstand_hold": "handstand_line",
    "wall_handstand": "handstand_line",
    "releve_hold": "releve",
}


def find(name: str, *, variant: str = "", fault: str = "") -> Figure | None:
    """The nearest drawing: the fault, else the variant, else the item itself; None when nothing is drawn."""
    base = HOLDS.get(name, name)
    wanted = [f"{base}-{fault}"] if fault else []
    wanted += [f"{name}-{variant}"] if variant else []
    return next((_BY_NAME[each] for each in (*wanted, name, base) if each in _BY_NAME), None)


def figure(name: str, *, variant: str = "", fault: str = "", css: str = "", decorative: bool = False) -> str:
    """Inline SVG of a drawing; an empty string when nothing is drawn, so a club's own measure needs none."""
    found = find(name, variant=variant, fault=fault)
    return svg(found, css=css, decorative=decorative) if found else ""


def symbols(names: Iterable[str]) -> str:
    """A hidden sprite of drawings for script: `<use href="#figure-hollow">`."""
    drawn = {each.name: each for each in (find(name) for name in names) if each}
    return f'<svg class="figure" width="0" height="0" aria-hidden="true">{"".join(map(symbol, drawn.values()))}</svg>'
