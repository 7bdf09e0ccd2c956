"""Seconds a result by the keystroke-level model: what a practised hand needs on a sheet, and on the floor's own screen.

Count rule: from the end of the child's effort to ready for the next; what passes during the effort is free. Read each
figure as give or take 30 %: of 54 published extensions of the model half were never checked (Al-Megren et al. 2018).

Operators, in seconds:
- `M`, a mental act, 1.35: Card, Moran & Newell 1980, doi 10.1145/358886.358895 (from memory).
- a touch, log2(A / W + 1) / 6.95 with A the way from the touch before and W the smaller side of the target, both in the
  same unit: throughput of touch by MacKenzie 2015. On the sheet: a cell of 7 mm 0.55, a stopwatch's button 0.26.
- a character, 0.33: 36.2 words a minute on a touch keyboard, Palin et al. 2019.
- to look away and back, 0.36: Holleis et al. 2007 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

M = 1.35
THROUGHPUT = 6.95
CHARACTER = 0.33
LOOK = 0.36
CELL, BUTTON = 0.55, 0.26
#: A tablet beside a stopwatch, names in rows. In words what each second is for:
#: - a hold: stop the watch, look over, keep the time in mind, find the row, tap the cell, two digits and Enter, set the
#:   watch back, look up; in a group the time also has to be matched to its child, and the watch is set back once for all;
#: - a count: look over, keep the number in mind, find the row, tap the cell, two digits and Enter;
#: - a shape card: look over, find the row, tap the first cell, five digits, each with Enter.
SHEET_SECONDS = {
    "hold, one child": BUTTON + LOOK + M + M + CELL + 3 * CHARACTER + BUTTON + LOOK,
    "hold, group": BUTTON + LOOK + M + M + M + CELL + 3 * CHARACTER + BUTTON / 8 + LOOK,
    "count": LOOK + M + M + CELL + 3 * CHARACTER,
    "shape card": LOOK + M + CELL + 10 * CHARACTER,
}


@dataclass(frozen=True, slots=True)
class Touch:
    """One touch: its middle and the smaller side of what it hit, in CSS pixels."""

    x: float
    y: float
    size: float


def pointing(touches: Sequence[Touch]) -> float:
    """Seconds for the touches one after another; before the first the hand rests half a screen (400 px) away."""
    total, before = 0.0, None
    for touch in touches:
        way = 400.0 if before is None else math.hypot(touch.x - before.x, touch.y - before.y)
        total += math.log2(way / touch.size + 1) / THROUGHPUT
        before = touch
    return total
