"""Joints to SVG: one line for the body, one for the arms, a filled head, a floor line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal
from xml.sax.saxutils import escape, quoteattr

from club.figures.body import HEAD_RADIUS, LINE, Joints, Point, Pose, joints

CANVAS = {"low": (132.0, 68.0), "tall": (120.0, 132.0)}
FLOOR_FROM_FOOT = 11.0
NOSE = 2.0
RING = 10.0


@dataclass(frozen=True, slots=True)
class Thing:
    """Something that is not the child: wall, bar, block, bench, mat, arrow. Numbers are canvas units from the floor up."""

    kind: Literal["wall", "bar", "bar_flat", "handle", "block", "arrow", "both_ways", "wedge", "tick"]
    at: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """One drawing: a pose, where it stands, what stands near it, and the words for those who cannot see it."""

    name: str
    title: str
    description: str
    pose: Pose
    canvas: Literal["low", "tall"] = "tall"
    clear: float = 0.0
    place: tuple[str, float, float] | None = None
    shift: float = 0.0
    things: tuple[Thing, ...] = ()
    ring: tuple[str, ...] = ()
    held: tuple[str, ...] = ()
    floor: bool = True

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the drawing."""
        return CANVAS[self.canvas]

    def body(self) -> Joints:
        """Joints on the canvas, with y counted up from the floor."""
        body = joints(self.pose)
        if self.place:
            name, x, y = self.place
            joint = body.named(name)
            return body.moved(x - joint.x, y - joint.y)
        points = list(body.all())
        left = min(p.x for p in points)
        right = max(p.x for p in points)
        lowest = min([p.y - LINE / 2 for p in points] + [body.head.y - HEAD_RADIUS])
        return body.moved(self.size[0] / 2 - (left + right) / 2 + self.shift, self.clear - lowest)


def _n(value: float) -> str:
    return (
        f"{value:.1f}".removesuffix(".0").replace("-0", "0")
        if abs(value) < 0.05
        else f"{value:.1f}".removesuffix(".0")
    )


class _Pen:
    """Turns canvas units counted up from the floor into SVG numbers counted down from the top."""

    def __init__(self, height: float) -> None:
        self.floor = height - FLOOR_FROM_FOOT

    def xy(self, x: float, y: float) -> str:
        return f"{_n(x)} {_n(self.floor - y)}"

    def line(self, points: Sequence[Point], rounding: Sequence[float]) -> str:
        """A path through the joints whose corners are rounded by the given length on each side."""
        parts = [f"M{self.xy(points[0].x, points[0].y)}"]
        for i in range(1, len(points) - 1):
            before, here, after = points[i - 1], points[i], points[i + 1]
            a = _towards(here, before, rounding[i])
            b = _towards(here, after, rounding[i])
            if rounding[i]:
                parts.append(f"L{self.xy(*a)}Q{self.xy(here.x, here.y)} {self.xy(*b)}")
            else:
                parts.append(f"L{self.xy(here.x, here.y)}")
        parts.append(f"L{self.xy(points[-1].x, points[-1].y)}")
        return "".join(parts)


def _towards(here: Point, there: Point, length: float) -> tuple[float, float]:
    span = math.hypot(there.x - here.x, there.y - here.y)
    share = min(0.5, length / span) if span else 0.0
    return here.x + (there.x - here.x) * share, here.y + (there.y - here.y) * share


def _side(pen: _Pen, body: Joints) -> list[str]:
    back = (body.head, *reversed(body.spine))
    bend = [0.0, 4.0, 4.5, 4.5, 4.5, 2.0, 1.5, 1.0, 0.0]
    lines = [f'<path d="{pen.line((*back, *body.legs[0][1:]), bend)}"/>']
    lines += [f'<path d="{pen.line(leg, [0, 2.0, 1.5, 1.0, 0])}"/>' for leg in body.legs[1:]]
    lines += [f'<path d="{pen.line(arm, [0, 1.5, 1.5, 0])}"/>' for arm in body.arms]
    return lines


def _front(pen: _Pen, body: Joints) -> list[str]:
    lines = [f'<path d="{pen.line((body.head, *reversed(body.spine)), [0, 3, 4.5, 4.5, 0])}"/>']
    for pair, bends in ((body.legs, [0, 1, 1.5, 2, 3]), (body.arms, [0, 1.5, 1.5, 3])):
        whole = (*reversed(pair[0]), *pair[1])
        lines.append(f'<path d="{pen.line(whole, bends + bends[::-1])}"/>')
    return lines


def _thing(pen: _Pen, thing: Thing) -> str:
    at = thing.at
    if thing.kind in ("arrow", "both_ways"):
        return _arrow(pen, *at, both=thing.kind == "both_ways")
    if thing.kind == "wall":
        path = f"M{pen.xy(at[0], 0)}L{pen.xy(at[0], at[1])}"
    elif thing.kind in (
        "bar",
        "bar_flat",
    ):  # side views tilt the bar, so that it reads as a bar and not as a dot
        x, y = at
        tilt = 3 if thing.kind == "bar" else 0
        posts = (
            f"M{pen.xy(x - 28, 0)}V{_n(pen.floor - y - tilt)}M{pen.xy(x + 28, 0)}V{_n(pen.floor - y + tilt)}"
        )
        bar = f"M{pen.xy(x - 28, y + tilt)}L{pen.xy(x + 28, y - tilt)}"
        return f'<path class="post" d="{posts}"/><path class="thing" d="{bar}"/>'
    elif thing.kind == "handle":
        x, y = at
        path = f"M{pen.xy(x - 7, 0)}V{_n(pen.floor - y)}H{_n(x + 7)}V{_n(pen.floor)}"
    elif thing.kind == "tick":
        path = f"M{pen.xy(at[0], 0)}V{_n(pen.floor - at[1])}"
    elif thing.kind == "wedge":
        left, right, height = at
        path = f"M{pen.xy(left, 0)}L{pen.xy(left, height)}L{pen.xy(right, 0)}Z"
    else:
        left, width, height = at
        path = f"M{pen.xy(left, 0)}L{pen.xy(left, height)}L{pen.xy(left + width, height)}L{pen.xy(left + width, 0)}"
    return f'<path class="thing" d="{path}"/>'


def _arrow(pen: _Pen, x1: float, y1: float, x2: float, y2: float, bow: float = 0.0, *, both: bool) -> str:
    length = math.hypot(x2 - x1, y2 - y1)
    across = ((y1 - y2) / length, (x2 - x1) / length)
    middle = ((x1 + x2) / 2 + across[0] * bow, (y1 + y2) / 2 + across[1] * bow)
    path = f"M{pen.xy(x1, y1)}Q{pen.xy(*middle)} {pen.xy(x2, y2)}"
    tips = [(x2, y2)] + ([(x1, y1)] if both else [])
    for x, y in tips:
        back = math.atan2(middle[1] - y, middle[0] - x)
        a, b = ((x + 6 * math.cos(back + s), y + 6 * math.sin(back + s)) for s in (0.6, -0.6))
        path += f"M{pen.xy(*a)}L{pen.xy(x, y)}L{pen.xy(*b)}"
    return f'<path class="arrow" d="{path}"/>'


def _head(pen: _Pen, body: Joints, face: float | None) -> str:
    x, y = body.head.x, body.head.y
    head = f'<circle class="head" cx="{_n(x)}" cy="{_n(pen.floor - y)}" r="{_n(HEAD_RADIUS)}"/>'
    if face is None:
        return head
    nose = body.head.step(face, HEAD_RADIUS - 0.5)
    return f'{head}<circle class="head" cx="{_n(nose.x)}" cy="{_n(pen.floor - nose.y)}" r="{NOSE}"/>'


def strokes(figure: Figure) -> str:
    """The inside of the drawing, without the svg element around it."""
    pen = _Pen(figure.size[1])
    body = figure.body()
    parts = [_thing(pen, thing) for thing in figure.things]
    if figure.floor:
        parts.insert(0, f'<path class="floor" d="M{pen.xy(6, 0)}H{_n(figure.size[0] - 6)}"/>')
    parts += _front(pen, body) if figure.pose.view == "front" else _side(pen, body)
    parts.append(_head(pen, body, figure.pose.face))
    for name in figure.held:
        joint = body.named(name)
        x, y = _n(joint.x - 5), _n(pen.floor - joint.y - 5)
        parts.append(f'<rect class="held" x="{x}" y="{y}" width="10" height="10" rx="2"/>')
    for name in figure.ring:
        joint = body.named(name)
        parts.append(
            f'<circle class="fault" cx="{_n(joint.x)}" cy="{_n(pen.floor - joint.y)}" r="{_n(RING)}"/>'
        )
    return "".join(parts)


def box(figure: Figure) -> str:
    """The viewBox of the drawing."""
    width, height = figure.size
    return f"0 0 {_n(width)} {_n(height)}"


def svg(figure: Figure, *, label: str = "", css: str = "", decorative: bool = False) -> str:
    """The whole drawing as inline SVG, with its name for a screen reader unless words stand beside it."""
    name = 'aria-hidden="true"' if decorative else f'role="img" aria-label={quoteattr(label or figure.title)}'
    classes = f"figure {css}".strip()
    return f'<svg class={quoteattr(classes)} viewBox="{box(figure)}" {name}>{strokes(figure)}</svg>'


def symbol(figure: Figure) -> str:
    """The drawing as a symbol, to be used by script with <use href="#figure-name">."""
    return (
        f'<symbol id="figure-{figure.name}" viewBox="{box(figure)}"><title>{escape(figure.title)}</title>'
        f"{strokes(figure)}</symbol>"
    )
