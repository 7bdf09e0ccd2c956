"""Entries for tests: what a tablet would send, with every field that a test does not name filled in."""

from __future__ import annotations

import itertools
import uuid
from typing import Any

from assessments.entries import Entry, entry_from_json, entry_to_json
from tests.factories import NOW

_numbers = itertools.count(1)


def body(day, child, /, **fields: Any) -> dict[str, Any]:
    """One entry as JSON: a hollow hold of 20 s unless told otherwise."""
    return {
        "id": str(uuid.uuid4()),
        "tablet": "tablet-a",
        "seq": next(_numbers),
        "schema": 1,
        "day": str(day.code),
        "child": str(child.code),
        "measure": "hollow_hold",
        "variant": "arms_by_side",
        "side": "",
        "trial": 1,
        "value": 20,
        "outcome": "scored",
        "how": "timed",
        "t_wall": NOW.isoformat(),
        **fields,
    }


def entry(day, child, /, **fields: Any) -> Entry:
    """The same, read."""
    found = entry_from_json(body(day, child, **fields))
    assert isinstance(found, Entry), found
    return found


def shape_levels(level: int | None = 2) -> dict[str, int | None]:
    """The five criteria of the hollow at one level."""
    return dict.fromkeys(("low_back", "shoulder_blades", "head", "legs", "breathing"), level)


def changed(original: Entry, **fields: Any) -> Entry:
    """The same id with other content."""
    found = entry_from_json({**entry_to_json(original), **fields})
    assert isinstance(found, Entry), found
    return found


def words(answers) -> list[str]:
    """The answers' words in order."""
    return [answer.word for answer in answers]
