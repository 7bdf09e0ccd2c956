"""Every number of the demo club in a form that can be frozen and compared."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from pathlib import Path
from typing import Any

from assessments.analysis.summaries import spread
from assessments.analysis.symmetry import symmetry
from assessments.blocks import child_block
from assessments.coach_agreement import agreement
from assessments.numbers import Evidence, club_evidence, error_lines, forecast_for
from assessments.outcomes import outcomes
from assessments.own_norms import norm_lines, reference_lines
from assessments.report_records import AthleteReport
from assessments.reports import athlete_report, group_report
from athletes.models import Athlete, Group
from tests.factories import TODAY

FROZEN = Path(__file__).parent / "data" / "demo_numbers.json"
LETTERS = {"ready": "r", "nearly": "n", "not_yet": "y", "not_known": "?", "resting": "z"}
BLOCK_MINUTES = 30
#: Sentences are no numbers.
WORDED = {"reason", "note", "caution"}
#: Section -> what it speaks of -> its numbers.
Section = dict[str, dict[str, Any]]


def plain(value: Any) -> Any:
    """What JSON can hold: records as lists of their fields, dates written out, floats to four places, NaN as None."""
    if is_dataclass(value):
        return [plain(getattr(value, one.name)) for one in fields(value) if one.name not in WORDED]
    if isinstance(value, float):
        return round(value, 4) if math.isfinite(value) else None if math.isnan(value) else str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    return [plain(one) for one in value] if isinstance(value, (list, tuple)) else value


def boards() -> Section:
    """Group -> child -> one letter a skill, in the order of the programme."""
    found: Section = {}
    for group in Group.objects.all():
        report = group_report(Athlete.objects.filter(group=group), TODAY)
        found[group.name] = {
            child.full_name: "".join(
                LETTERS[report.word(child.code, skill)] for skill in report.programme.skills
            )
            for child in report.children
        }
    return found


def spreads() -> Section:
    """Group -> measure -> children, 'at least', quartiles."""
    found: Section = {}
    for group in Group.objects.all():
        report = group_report(Athlete.objects.filter(group=group), TODAY)
        found[group.name] = {item: spread(report.verdicts, item) for item in report.programme.measures}
    return found


def levels(report: AthleteReport) -> dict[str, Any]:
    """Item, series and side -> days scored, newest value, level, its spread, and the word about change."""
    return {
        " ".join((one.item, one.series, one.side)).strip(): [
            len(one.days),
            one.latest.value if one.latest else None,
            round(one.level.mean, 3) if one.level else None,
            round(one.level.variance**0.5, 3) if one.level else None,
            one.change.word if one.change else None,
        ]
        for one in report.interpretations
    }


def chances(report: AthleteReport) -> dict[str, Any]:
    """Skill -> chance that all hold, and the chance of each requirement."""
    return {
        state.skill: [state.joint_bound, [one.probability for one in state.requirements]]
        for state in report.skills
    }


def doses(report: AthleteReport) -> dict[str, Any]:
    """Exercise of a block for one child -> amount, sets, seconds."""
    block = child_block(report, minutes=BLOCK_MINUTES)
    return {
        step.spec.id: [*(own.amount for own in step.children.values()), step.sets, step.seconds]
        for step in block.steps
    }


def sides(report: AthleteReport) -> dict[str, Any]:
    """Item and series -> left, right and how they differ, newest days."""
    both: dict[str, dict[str, Any]] = {}
    for one in report.interpretations:
        if one.side and one.latest:
            both.setdefault(f"{one.item} {one.series}", {})[one.side] = one.latest
    return {
        name: symmetry(
            day["left"].value, day["right"].value, sem_left=day["left"].sem, sem_right=day["right"].sem
        )
        for name, day in both.items()
        if len(day) == 2
    }


def forecasts(report: AthleteReport, evidence: Evidence) -> dict[str, Any]:
    """Skill and what it asks -> word, likely, earliest and latest day, children behind it."""
    found = {}
    for state in report.skills:
        for one in state.requirements:
            if one.word in ("met", "advice"):
                continue
            got = forecast_for(report, one, evidence=evidence, resting=state.word == "resting")
            if got is not None:
                said = got.found
                dates = [said.likely_on, said.earliest_on, said.latest_on]
                found[f"{state.skill} {one.requirement.item}"] = [said.word, *dates, said.children]
    return found


def club(evidence: Evidence) -> dict[str, Section]:
    """What stands behind the numbers: own error, agreement, outcomes, norms, published values."""
    judged, later = agreement(TODAY), outcomes(TODAY)
    published = {one.table.id: one for one in reference_lines(evidence)}
    return {
        "errors": {"club": {one.spec.id: one.found for one in error_lines(evidence)}},
        "agreement": {
            "shapes": {one.spec.id: one.found for one in judged.shapes},
            "coaches": {
                one.name: [one.bias and [one.bias.children, one.bias.mean]] for one in judged.coaches
            },
        },
        "outcomes": {
            "rules": {one.word: one for one in later.rules},
            "shown": {one.word: one for one in later.shown},
        },
        "norms": {
            item: {band.band: band for band in norm_lines(evidence, item).norms.bands}
            for item in evidence.programme.measures
        },
        "published": {name: {band.band: band for band in one.bands} for name, one in published.items()},
    }


def numbers() -> dict[str, Section]:
    """Section -> group, child, item or state -> its numbers. Forecasts of one child in each group."""
    evidence = club_evidence(TODAY)
    found: dict[str, Section] = {"boards": boards(), "levels": {}, "chances": {}, "doses": {}, "sides": {}}
    found["forecasts"] = {}
    groups: set[int | None] = set()
    for athlete in Athlete.objects.in_name_order():
        report, name = athlete_report(athlete, TODAY), athlete.full_name
        for section, read in (("levels", levels), ("chances", chances), ("doses", doses), ("sides", sides)):
            found[section][name] = read(report)
        if athlete.group_id not in groups:
            groups.add(athlete.group_id)
            found["forecasts"][name] = forecasts(report, evidence)
    return plain(found | {"spread": spreads()} | club(evidence))


def as_text(data: dict[str, Section]) -> str:
    """One line an entry, so that a change can be read."""
    sections = []
    for section, members in data.items():
        blocks = [
            f"  {json.dumps(name)}: {{\n"
            + ",\n".join(f"   {json.dumps(key)}: {json.dumps(value)}" for key, value in entries.items())
            + "\n  }"
            for name, entries in members.items()
        ]
        sections.append(f" {json.dumps(section)}: {{\n" + ",\n".join(blocks) + "\n }")
    return "{\n" + ",\n".join(sections) + "\n}\n"
