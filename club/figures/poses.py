"""Small ways to build one pose from another: bend, and stand a support on its hands and feet."""

from __future__ import annotations

import math
from dataclasses import replace

from club.figures.body import ARM, Limb, Pose, Turn, joints


def legs(
    thigh: Turn, shin: Turn | None = None, *, foot: Turn | None = None, toes: Turn | None = None
) -> Limb:
    """One leg: straight and pointed unless told otherwise."""
    shin = thigh if shin is None else shin
    foot = shin if foot is None else foot
    return (thigh, shin, foot, foot if toes is None else toes)


def arms(upper: Turn, fore: Turn | None = None, *, hand: Turn | None = None) -> Limb:
    """One arm: straight unless told otherwise."""
    fore = upper if fore is None else fore
    return (upper, fore, fore if hand is None else hand)


def on_hands_and_feet(
    pose: Pose, *, hand: str = "wrist", foot: str = "ball", knee: float = 0.0, drop: float = 0.0
) -> Pose:
    """The same pose with straight legs (or knees bent by `knee`) swung until the foot is `drop` below the hand."""
    low, high = -89.0, 60.0
    best = pose
    for _ in range(40):
        thigh = (low + high) / 2
        shin = thigh - knee
        best = replace(pose, legs=((thigh, shin, *pose.legs[0][2:]), *pose.legs[1:]))
        body = joints(best)
        if body.named(foot).y > body.named(hand).y - drop:
            high = thigh
        else:
            low = thigh
    return best


def turned(pose: Pose, by: float) -> Pose:
    """The whole body turned in the plane of the picture, anticlockwise."""

    def turn(t: Turn) -> Turn:
        return (t[0] + by, t[1]) if isinstance(t, tuple) else t + by

    return replace(
        pose,
        spine=(turn(pose.spine[0]), turn(pose.spine[1]), turn(pose.spine[2])),
        head=turn(pose.head),
        face=None if pose.face is None else pose.face + by,
        arms=tuple(tuple(turn(t) for t in limb) for limb in pose.arms),
        legs=tuple(tuple(turn(t) for t in limb) for limb in pose.legs),
    )


def reaching(pose: Pose, x: float, y: float, *, elbow: int = 1, limb: int = 0) -> Pose:
    """The same pose with one arm bent so that its hand is at x, y, counted from the hip. `elbow` picks the side."""
    shoulder = joints(pose).arms[limb][0]
    upper, fore = ARM[0], ARM[1] + ARM[2]
    span = min(math.hypot(x - shoulder.x, y - shoulder.y), upper + fore - 0.01)
    towards = math.degrees(math.atan2(y - shoulder.y, x - shoulder.x))
    opening = math.degrees(math.acos((upper**2 + span**2 - fore**2) / (2 * upper * span)))
    first = towards + elbow * opening
    corner = shoulder.step(first, upper)
    second = math.degrees(math.atan2(y - corner.y, x - corner.x))
    bent = tuple(arms(first, second) if i == limb else old for i, old in enumerate(pose.arms))
    return replace(pose, arms=bent)
