"""What waits for a person on a test day, in the words that the page shows."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from assessments.models import AssessmentDay, RefusedEntry, Result
from assessments.models.results import PLACE
from athletes.models import Athlete
from club.access import Viewer

_PLACE_KEYS = ("day_id", "athlete_id", "measure_id", "variant", "side", "trial", "second")


@dataclass(frozen=True, slots=True)
class RefusedLine:
    """One refused entry: whose, as far as the viewer may know, what it said and why it was refused."""

    refused: RefusedEntry
    child: str
    words: str


def contested_places(day: AssessmentDay, viewer: Viewer) -> list[list[Result]]:
    """The entries of each place in which more than one stands, of the children that the viewer sees."""
    rows = Result.objects.for_day(day).visible_to(viewer).contested()
    rows = rows.select_related("athlete", "measure", "judge")
    ordered = rows.order_by(*PLACE, "received_at", "pk")
    return [list(found) for _, found in groupby(ordered, key=_place)]


def _place(row: Result) -> tuple[Any, ...]:
    return tuple(getattr(row, name) for name in _PLACE_KEYS)


def refused_lines(day: AssessmentDay, viewer: Viewer) -> list[RefusedLine]:
    """Refused entries of a day that nobody has settled."""
    waiting = list(RefusedEntry.objects.visible_to(viewer).waiting().filter(day=day))
    return _lines(waiting, viewer)


def homeless_lines(viewer: Viewer) -> list[RefusedLine]:
    """Refused entries that name no day the club knows; for the director alone."""
    if not viewer.is_director:
        return []
    return _lines(list(RefusedEntry.objects.waiting().filter(day=None)[:50]), viewer)


def _lines(waiting: Iterable[RefusedEntry], viewer: Viewer) -> list[RefusedLine]:
    rows = list(waiting)
    names = _names({row.body.get("child") for row in rows}, viewer)
    return [RefusedLine(row, names.get(str(row.body.get("child")), ""), _said(row.body)) for row in rows]


def _names(codes: set[object], viewer: Viewer) -> dict[str, str]:
    known = {code for code in map(_code, codes) if code is not None}
    children = Athlete.objects.visible_to(viewer).filter(code__in=known)
    return {str(child.code): child.short_name for child in children}


def _code(value: object) -> uuid.UUID | None:
    try:
        return uuid.UUID(str(value))
    except ValueError:
        return None


def _said(body: dict[str, Any]) -> str:
    """What the entry said, for a person to recognise."""
    parts = [str(body.get("measure") or "no measure").replace("_", " ")]
    parts += [str(body[name]) for name in ("side",) if body.get(name)]
    if body.get("trial"):
        parts.append(f"try {body['trial']}")
    if body.get("value") is not None:
        parts.append(f"value {body['value']}")
    if isinstance(body.get("levels"), dict):
        parts.append(", ".join(f"{name.replace('_', ' ')} {level}" for name, level in body["levels"].items()))
    parts.append(str(body.get("outcome") or "no outcome").replace("_", " "))
    return " · ".join(parts)
