"""The joint model behind every drawing: a young child in straight segments that never change length.

A pose is a list of directions, so two drawings can differ in what the child does and in nothing else.
Directions are degrees in the plane of the picture: 0 points right, 90 up. A direction may carry a second
number, how far the segment leans out of that plane towards the viewer; it is then drawn shorter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Turn = float | tuple[float, float]
Limb = tuple[Turn, ...]
View = Literal["side", "front"]

# Height 84: the head is one sixth of it, legs a little shorter than a grown-up's.
HEAD_RADIUS = 7.0
NECK = 11.0
SPINE = (9.0, 9.0, 9.0)
ARM = (13.0, 12.0, 6.0)
LEG = (19.0, 18.0, 6.0, 3.5)
SHOULDER_HALF = 6.5
HIP_HALF = 4.0
LINE = 4.5


@dataclass(frozen=True, slots=True)
class Point:
    """A joint: right, up, and towards the viewer."""

    x: float
    y: float
    z: float = 0.0

    def step(self, turn: Turn, length: float) -> Point:
        """The point one segment further on."""
        direction, lean = turn if isinstance(turn, tuple) else (turn, 0.0)
        flat = length * math.cos(math.radians(lean))
        angle = math.radians(direction)
        return Point(
            self.x + flat * math.cos(angle),
            self.y + flat * math.sin(angle),
            self.z + length * math.sin(math.radians(lean)),
        )

    def moved(self, x: float, y: float) -> Point:
        """The same joint after the whole body has been moved."""
        return Point(self.x + x, self.y + y, self.z)

    def distance(self, other: Point) -> float:
        """Length between two joints, lean included."""
        return math.dist((self.x, self.y, self.z), (other.x, other.y, other.z))


@dataclass(frozen=True, slots=True)
class Pose:
    """Directions of every segment. Spine from hip to neck; limbs from the trunk outward."""

    spine: tuple[Turn, Turn, Turn]
    head: Turn
    arms: tuple[Limb, ...]
    legs: tuple[Limb, ...]
    face: float | None = None
    view: View = "side"


@dataclass(frozen=True, slots=True)
class Joints:
    """Where the joints are. Chains start at the trunk: spine hip first, arms shoulder first, legs hip first."""

    head: Point
    spine: tuple[Point, ...]
    arms: tuple[tuple[Point, ...], ...]
    legs: tuple[tuple[Point, ...], ...]

    def named(self, name: str) -> Point:
        """A joint by the word used in the drawings; limbs mean the first limb, 'other_' the second."""
        which = -1 if name.startswith("other_") else 0
        name = name.removeprefix("other_")
        arm, leg = self.arms[which], self.legs[which]
        places = {
            "head": self.head, "neck": self.spine[-1], "upper_back": self.spine[2], "low_back": self.spine[1],
            "hip": self.spine[0], "shoulder": arm[0], "elbow": arm[1], "wrist": arm[2], "hand": arm[3],
            "knee": leg[1], "ankle": leg[2], "ball": leg[3], "toe": leg[4],
        }  # fmt: skip
        return places[name]

    def all(self) -> Iterable[Point]:
        """Every joint once or more, for measuring how much room the body needs."""
        yield self.head
        yield from self.spine
        for chain in (*self.arms, *self.legs):
            yield from chain

    def moved(self, x: float, y: float) -> Joints:
        """The same body somewhere else."""
        return Joints(
            head=self.head.moved(x, y),
            spine=tuple(p.moved(x, y) for p in self.spine),
            arms=tuple(tuple(p.moved(x, y) for p in chain) for chain in self.arms),
            legs=tuple(tuple(p.moved(x, y) for p in chain) for chain in self.legs),
        )


def _chain(start: Point, turns: Limb, lengths: tuple[float, ...]) -> tuple[Point, ...]:
    if len(turns) != len(lengths):
        raise ValueError(f"a limb needs {len(lengths)} directions, not {len(turns)}")
    points = [start]
    for turn, length in zip(turns, lengths, strict=True):
        points.append(points[-1].step(turn, length))
    return tuple(points)


def joints(pose: Pose) -> Joints:
    """The joints of a pose, with the middle of the hips at 0, 0."""
    spine = _chain(Point(0, 0), pose.spine, SPINE)
    neck = spine[-1]
    front = pose.view == "front"

    def starts(middle: Point, half: float, count: int) -> list[Point]:
        if not front:
            return [middle] * count
        return [middle.moved(-half, 0), middle.moved(half, 0)][:count]

    arms = zip(starts(neck, SHOULDER_HALF, len(pose.arms)), pose.arms, strict=True)
    legs = zip(starts(spine[0], HIP_HALF, len(pose.legs)), pose.legs, strict=True)
    return Joints(
        head=neck.step(pose.head, NECK),
        spine=spine,
        arms=tuple(_chain(start, limb, ARM) for start, limb in arms),
        legs=tuple(_chain(start, limb, LEG) for start, limb in legs),
    )
