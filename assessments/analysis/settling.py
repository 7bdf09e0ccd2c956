"""What a few minutes of testing would settle in a group: which item, for whom, and how many places."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assessments.analysis.cells import UNKNOWN
from assessments.analysis.records import MeasureSpec, Programme
from assessments.analysis.scoring import Ints
from assessments.analysis.verdicts import NOT_KNOWN, Verdicts

SHAPE_SECONDS = 60  # one look at five criteria


@dataclass(frozen=True, slots=True)
class Settling:
    """One item, the children who want only that, and the places that become known."""

    item: str
    athletes: tuple[str, ...]
    places: int
    minutes: int


def places_settled(verdicts: Verdicts) -> dict[str, Ints]:
    """For each item that a skill asks for, how many skills each child waits for that want this item alone.

    A skill that is not known, of which no coach has said anything; what rests waits for no test, and advice asks for none.
    """
    settled: dict[str, Ints] = {}
    items = np.array([column.requirement.item for column in verdicts.columns], dtype=object)
    for k, (begin, end) in enumerate(verdicts.spans):
        waiting = (verdicts.state[:, k] == NOT_KNOWN) & ~verdicts.decided[:, k]
        unknown = (verdicts.word[:, begin:end] == UNKNOWN) & ~verdicts.advice[:, begin:end] & waiting[:, None]
        names = items[begin:end]
        for name in dict.fromkeys(names.tolist()):
            mine = names == name
            alone = unknown[:, mine].any(axis=1) & ~unknown[:, ~mine].any(axis=1)
            settled[name] = settled.get(name, 0) + alone.astype(np.int64)
    return settled


def settles_for(verdicts: Verdicts, item: str) -> tuple[int, ...]:
    """For each child, how many skills that are not known want this item alone; 0 where it rests."""
    found = places_settled(verdicts).get(item)
    return (0,) * len(verdicts.children) if found is None else tuple(found.tolist())


def best_use(verdicts: Verdicts, *, minutes: int = 15) -> Settling | None:
    """The one item whose test settles most places within the minutes; None when nothing would be settled.

    Children with most places first, as many as the item's seconds per child allow. A count of places, not a
    forecast of what the test will show.
    """
    best: Settling | None = None
    settled = places_settled(verdicts)
    for item in (*verdicts.programme.measures, *verdicts.programme.shapes):
        counts = settled[item].tolist() if item in settled else []
        seconds = seconds_each(verdicts.programme, item)
        room = max(minutes * 60 // seconds, 1)
        order = sorted((n for n, count in enumerate(counts) if count), key=lambda n: (-counts[n], n))[:room]
        places = sum(counts[n] for n in order)
        if order and (best is None or places > best.places):
            names = tuple(verdicts.children[n].athlete for n in sorted(order))
            best = Settling(item, names, places, -(-len(order) * seconds // 60))
    return best


def seconds_each(programme: Programme, item: str) -> int:
    """Seconds of testing for one child."""
    spec = programme.item(item)
    return max(spec.seconds_per_child, 1) if isinstance(spec, MeasureSpec) else SHAPE_SECONDS
