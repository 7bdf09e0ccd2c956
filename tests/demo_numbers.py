"""Every number of the demo club in a form that can be frozen and compared."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from assessments.reports import athlete_report, group_report
from athletes.models import Athlete, Group
from tests.factories import TODAY

FROZEN = Path(__file__).parent / "data" / "demo_numbers.json"
LETTERS = {"ready": "r", "nearly": "n", "not_yet": "y", "not_known": "?", "resting": "z"}


def boards() -> dict[str, dict[str, str]]:
    """Group -> child -> one letter a skill, in the order of the programme."""
    found: dict[str, dict[str, str]] = {}
    for group in Group.objects.all():
        report = group_report(Athlete.objects.filter(group=group), TODAY)
        found[group.name] = {
            child.full_name: "".join(
                LETTERS[report.word(child.code, skill)] for skill in report.programme.skills
            )
            for child in report.children
        }
    return found


def levels() -> dict[str, dict[str, list[Any]]]:
    """Child -> item, series and side -> days scored, newest value, level, its spread, and the word about change."""
    found: dict[str, dict[str, list[Any]]] = {}
    for athlete in Athlete.objects.in_name_order():
        lines = found.setdefault(athlete.full_name, {})
        for one in athlete_report(athlete, TODAY).interpretations:
            lines[" ".join((one.item, one.series, one.side)).strip()] = [
                len(one.days),
                one.latest.value if one.latest else None,
                round(one.level.mean, 3) if one.level else None,
                round(one.level.variance**0.5, 3) if one.level else None,
                one.change.word if one.change else None,
            ]
    return found


def numbers() -> dict[str, Any]:
    """Boards and levels together."""
    return {"boards": boards(), "levels": levels()}


def as_text(data: dict[str, Any]) -> str:
    """One line a series, so that a change can be read."""
    lines = ["{", ' "boards": {']
    groups = list(data["boards"].items())
    for number, (group, children) in enumerate(groups):
        rows = ",\n".join(f"   {json.dumps(name)}: {json.dumps(word)}" for name, word in children.items())
        lines.append(f"  {json.dumps(group)}: {{\n{rows}\n  }}{',' if number < len(groups) - 1 else ''}")
    lines.append(' },\n "levels": {')
    children = list(data["levels"].items())
    for number, (name, series) in enumerate(children):
        rows = ",\n".join(f"   {json.dumps(key)}: {json.dumps(value)}" for key, value in series.items())
        lines.append(f"  {json.dumps(name)}: {{\n{rows}\n  }}{',' if number < len(children) - 1 else ''}")
    return "\n".join([*lines, " }", "}", ""])
