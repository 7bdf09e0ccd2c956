"""In which order children meet tests and exercises: calm before tiring, wrists never twice in a row."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from assessments.analysis.records import Kind

WRIST = "wrist"
LYING, BALANCE, JUMPING, TRUNK, HANGING, TIRING, UPSIDE_DOWN = range(1, 8)
#: Fresh and calm first (common practice, no source). Ids of the starter programme.
STAGES: dict[str, int] = {
    "hollow": LYING,
    "arch": LYING,
    "tuck": LYING,
    "pike_reach": LYING,
    "straight_stand": BALANCE,
    "releve": BALANCE,
    "single_leg_stance": BALANCE,
    "releve_hold": BALANCE,
    "landing": JUMPING,
    "standing_long_jump": JUMPING,
    "stick_landings": JUMPING,
    "squat_jumps": JUMPING,
    "front_support": TRUNK,
    "hang": HANGING,
    "straight_hang": HANGING,
    "bent_arm_hang": HANGING,
    "bar_support_hold": HANGING,
    "hanging_knee_lifts": HANGING,
    "handstand_line": UPSIDE_DOWN,
    "wall_handstand_hold": UPSIDE_DOWN,
}
BY_KIND: dict[Kind, int] = {
    "shape": LYING,
    "distance": JUMPING,
    "score_count": JUMPING,
    "hold": TRUNK,
    "count": TIRING,
}
#: Nothing upside down after these on the same visit.
TIRING_FOR_ARMS = frozenset({"kneeling_push_ups", "full_push_ups", "bent_arm_hang"})

T = TypeVar("T")


def stage_of(item: str, kind: Kind) -> int:
    """Where an item stands in a visit, from lying down (1) to upside down (7)."""
    return STAGES.get(item, BY_KIND[kind])


def apart(
    stages: Sequence[Sequence[T]], is_heavy: Callable[[T], bool], *, needed: Sequence[T]
) -> tuple[tuple[T, ...], tuple[T, ...]]:
    """Order all stages one after the other so that no two heavy ones meet; what cannot be placed is returned too.

    Within a stage the order is free. As many as possible are kept, and of equally many those that come first in
    `needed`: stage by stage the best order that ends light and the best that ends heavy are carried on.
    """
    rank = {id(one): place for place, one in enumerate(needed)}

    def worth(order: tuple[T, ...]) -> tuple[int, list[int]]:
        return len(order), [-place for place in sorted(rank[id(one)] for one in order)]

    best: dict[bool, tuple[T, ...]] = {False: ()}
    for stage in stages:
        heavy = [one for one in stage if is_heavy(one)]
        light = [one for one in stage if not is_heavy(one)]
        following: dict[bool, tuple[T, ...]] = {}
        for after_heavy, order in best.items():
            for ends_heavy, part in _arrangements(heavy, light, after_heavy):
                longer = order + part
                if ends_heavy not in following or worth(longer) > worth(following[ends_heavy]):
                    following[ends_heavy] = longer
        best = following
    fullest = max(best.values(), key=worth)
    placed = {id(one) for one in fullest}
    return fullest, tuple(one for stage in stages for one in stage if id(one) not in placed)


def _arrangements(
    heavy: Sequence[T], light: Sequence[T], after_heavy: bool
) -> Iterator[tuple[bool, tuple[T, ...]]]:
    """The fullest orders of one stage: one that ends light and, when it can be, one that ends heavy."""
    if not light:
        yield after_heavy, ()
        if heavy and not after_heavy:
            yield True, (heavy[0],)
        return
    gaps = range(1 if after_heavy else 0, len(light))
    yield False, _woven(heavy, light, gaps)
    if heavy:
        before = min(len(heavy) - 1, len(gaps))
        yield True, (*_woven(heavy[:before], light, gaps), heavy[before])


def _woven(heavy: Sequence[T], light: Sequence[T], gaps: range) -> tuple[T, ...]:
    """One heavy before each light one of `gaps`, while there are any."""
    waiting, order = list(heavy), []
    for place, one in enumerate(light):
        if place in gaps and waiting:
            order.append(waiting.pop(0))
        order.append(one)
    return tuple(order)
