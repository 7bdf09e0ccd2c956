"""A programme as its pages say it: names instead of ids, one line for each thing. Pure: records in, words out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assessments.analysis.reasons import figure
from assessments.analysis.records import (
    Benchmark,
    MeasureSpec,
    Programme,
    Requirement,
    ShapeSpec,
    SkillSpec,
    Support,
)

COMBINED = {"best": "best of {}", "mean": "mean of {}", "sum": "one round", "first": "one try"}
RISK_WORDS = {"low": "low risk", "medium": "medium risk", "high": "high risk"}


@dataclass(frozen=True, slots=True)
class SkillLine:
    """A skill in a list: names instead of ids."""

    skill: SkillSpec
    after: tuple[str, ...]
    asks: tuple[str, ...]
    sure: float


@dataclass(frozen=True, slots=True)
class ZoneRow:
    """The benchmarks of one measure or shape, a cell for each age band."""

    id: str
    name: str
    cells: tuple[tuple[str, str], ...]  # the zone, and the version that it speaks of
    support: Support
    sources: tuple[str, ...]
    note: str


def rule_words(spec: MeasureSpec | ShapeSpec) -> str:
    """How tries become a result, and where it stops: 'best of 2, cap 60 s'."""
    if isinstance(spec, ShapeSpec):
        return f"{len(spec.criteria)} criteria, seen from the {spec.viewpoint}"
    rule = COMBINED[spec.combine].format(spec.attempts)
    cap = f", cap {figure(spec, spec.cap)}" if spec.cap is not None else ""
    sides = ", left and right" if spec.sides else ""
    return f"{rule}{cap}{sides}"


def ladder_words(spec: MeasureSpec | ShapeSpec) -> tuple[tuple[str, str], ...]:
    """The versions of a measure, easiest first: short name and what the child does."""
    if isinstance(spec, ShapeSpec):
        return ()
    return tuple((spec.variant_words.get(one, one), spec.variant_texts.get(one, "")) for one in spec.variants)


def asked_words(requirement: Requirement, programme: Programme) -> str:
    """A requirement in words: 'Hollow hold, 15 s (arms by the sides)'."""
    item = requirement.item
    if item not in programme.measures and item not in programme.shapes:
        return f"{item}, {requirement.minimum:g}"
    spec = programme.item(item)
    notes = []
    if isinstance(spec, MeasureSpec) and requirement.variant:
        notes.append(spec.variant_words.get(requirement.variant, requirement.variant).lower())
    if requirement.both_sides:
        notes.append("both sides")
    if isinstance(spec, ShapeSpec) and requirement.must_have:
        names = {criterion.id: criterion.name.lower() for criterion in spec.criteria}
        notes.append("must: " + ", ".join(names.get(one, one) for one in requirement.must_have))
    if requirement.soft_under is not None:
        notes.append(f"advice only under {requirement.soft_under}")
    inside = f" ({'; '.join(notes)})" if notes else ""
    return f"{spec.name}, {figure(spec, requirement.minimum)}{inside}"


def skill_lines(programme: Programme) -> dict[str, tuple[SkillLine, ...]]:
    """Skills by apparatus, in the order of the edition."""
    found: dict[str, tuple[SkillLine, ...]] = {}
    for skill in programme.skills.values():
        line = SkillLine(
            skill=skill,
            after=tuple(names_of(skill.after, programme)),
            asks=tuple(asked_words(one, programme) for one in skill.requirements),
            sure=programme.rules.confidence.get(skill.risk, 0.0),
        )
        found[skill.area] = (*found.get(skill.area, ()), line)
    return found


def names_of(skills: Iterable[str], programme: Programme) -> Iterator[str]:
    """Names of skills; the id where there is none."""
    for one in skills:
        yield programme.skills[one].name if one in programme.skills else one


def zone_rows(programme: Programme) -> tuple[ZoneRow, ...]:
    """The whole table of benchmarks, measures first."""
    rows = []
    for spec in programme.items():
        found = [programme.benchmarks.get((spec.id, band.id)) for band in programme.bands]
        first = next((one for one in found if one is not None), None)
        rows.append(
            ZoneRow(
                id=spec.id,
                name=spec.name,
                cells=tuple(zone_words(one, spec) for one in found),
                support=first.support if first else "common_practice",
                sources=first.sources if first else (),
                note=first.note if first else "",
            )
        )
    return tuple(rows)


def zone_words(row: Benchmark | None, spec: MeasureSpec | ShapeSpec) -> tuple[str, str]:
    """'10 to 20' and the version that it speaks of; nothing where the band is not offered."""
    if row is None:
        return "", ""
    words = spec.variant_words if isinstance(spec, MeasureSpec) else {}
    return f"{row.building:g} to {row.aim:g}", words.get(row.variant, row.variant).lower()
