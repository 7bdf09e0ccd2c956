"""A Programme record -> the documents that say the same; reading them again gives the record back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from assessments.analysis.records import (
    Benchmark,
    CriterionSpec,
    ErrorModel,
    MeasureSpec,
    Programme,
    Requirement,
    Rules,
    ShapeSpec,
    SkillSpec,
)
from assessments.programme_file import SCHEMA


def documents_of(programme: Programme) -> dict[str, Any]:
    """The five documents of a programme, in their usual order."""
    above = programme.preamble
    measures = [_measure(spec) for spec in programme.measures.values()]
    shapes = [_shape(spec) for spec in programme.shapes.values()]
    skills = [_skill(spec) for spec in programme.skills.values()]
    rules: dict[str, Any] = {}
    if above.get("rules") or programme.rules != Rules():
        rules = {"rules": {**above.get("rules", {}), **_tidy(asdict(programme.rules))}}
    return {
        "measures": {"schema": f"measures/{SCHEMA}", **above.get("measures", {}), "measures": measures},
        "shapes": {"schema": f"shapes/{SCHEMA}", **above.get("shapes", {}), "shapes": shapes},
        "skills": {"schema": f"skills/{SCHEMA}", **above.get("skills", {}), **rules, "skills": skills},
        "benchmarks": {
            "schema": f"benchmarks/{SCHEMA}",
            **above.get("benchmarks", {}),
            "bands": [band.id for band in programme.bands],
            **_benchmarks(programme),
        },
        "sources": {
            "schema": f"sources/{SCHEMA}",
            **above.get("sources", {}),
            "sources": {
                key: above.get("source_entries", {}).get(key, {"ref": text})
                for key, text in programme.sources.items()
            },
        },
    }


def _tidy(value: Any) -> Any:
    """Whole numbers without a point, lists instead of tuples."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, list | tuple):
        return [_tidy(one) for one in value]
    if isinstance(value, Mapping):
        return {key: _tidy(one) for key, one in value.items()}
    return value


def _filled(entry: Mapping[str, Any]) -> dict[str, Any]:
    """Without what says nothing, so that a file stays short."""
    return {key: _tidy(value) for key, value in entry.items() if value not in ("", (), [], {}, None, False)}


def _later(version: int) -> int | None:
    """A first version goes without saying."""
    return version if version > 1 else None


def _error(error: ErrorModel) -> dict[str, Any]:
    return _filled(asdict(error)) | {"a": _tidy(error.a), "b": _tidy(error.b)}


def _measure(spec: MeasureSpec) -> dict[str, Any]:
    limits = {"warn": _tidy(spec.limits.warn), "refuse": _tidy(spec.limits.refuse)}
    head = {"id": spec.id, "name": spec.name, "aliases": spec.aliases, "version": _later(spec.version)}
    middle = {
        "kind": spec.kind,
        "unit": spec.unit,
        "precision": spec.precision,
        "sides": "left_right" if spec.sides else "none",
        "age_min": spec.age_min,
        **spec.text,
        "stop_rules": spec.stop_rules,
        "variants": spec.variants,
        "variant_words": spec.variant_words,
        "variant_texts": spec.variant_texts,
        "attempts": spec.attempts,
        "combine": spec.combine,
    }
    tail = {
        "equipment": spec.equipment,
        "seconds_per_child": spec.seconds_per_child,
        "loads": spec.loads,
        "optional": spec.optional,
        "error_model": _error(spec.error),
        "published": spec.published,
        "support": spec.support,
        "sources": spec.sources,
    }
    numbers = {"cap": _tidy(spec.cap), "plausible": limits}
    return {**_filled(head), **_filled(middle), **numbers, **_filled(tail), **spec.extra}


def _criterion(spec: CriterionSpec) -> dict[str, Any]:
    return {
        "id": spec.id,
        "must_have": spec.must_have,
        **_filled(
            {
                "name": spec.name,
                "cue": spec.cue,
                "fault": spec.fault,
                "not_yet": spec.not_yet,
                "with_reminder": spec.with_reminder,
                "on_own": spec.on_own,
            }
        ),
        **spec.extra,
    }


def _shape(spec: ShapeSpec) -> dict[str, Any]:
    entry = {
        "id": spec.id,
        "name": spec.name,
        "aliases": spec.aliases,
        "version": _later(spec.version),
        "position": spec.position,
        "viewpoint": spec.viewpoint,
        "age_min": spec.age_min,
        "gate": spec.gate,
        "supervision": spec.supervision,
        "loads": spec.loads,
        "holds": spec.holds,
        "error_model": _error(spec.error),
        "support": spec.support,
        "sources": spec.sources,
        "criteria": [_criterion(one) for one in spec.criteria],
    }
    return {**_filled(entry), **spec.extra}


def _requirement(requirement: Requirement) -> dict[str, Any]:
    shape = requirement.kind == "shape"
    entry = {
        requirement.kind: requirement.item,
        "min": _tidy(requirement.minimum),
        "side": "both" if requirement.both_sides else "",
        "variant": requirement.variant,
        "soft_under": requirement.soft_under,
    }
    must_have = {"must_have": list(requirement.must_have)} if shape or requirement.must_have else {}
    return (
        {key: value for key, value in entry.items() if value not in ("", None)}
        | must_have
        | dict(requirement.extra)
    )


def _skill(spec: SkillSpec) -> dict[str, Any]:
    asked = {
        kind: [_requirement(one) for one in spec.requirements if one.kind == kind]
        for kind in ("measure", "shape")
    }
    return {
        "id": spec.id,
        "name": spec.name,
        "area": spec.area,
        "risk": spec.risk,
        "min_age": spec.min_age,
        "requires": {"skills": list(spec.after), "measures": asked["measure"], "shapes": asked["shape"]},
        **_filled(
            {
                "why": spec.why,
                "safety": spec.safety,
                "loads": spec.loads,
                "support": spec.support if spec.support != "common_practice" else "",
                "sources": spec.sources,
            }
        ),
        **spec.extra,
    }


def _benchmarks(programme: Programme) -> dict[str, dict[str, Any]]:
    sections: dict[str, dict[str, Any]] = {"measures": {}, "shapes": {}}
    leftover: Mapping[str, Any] = programme.preamble.get("benchmark_items", {})
    items = dict.fromkeys([*leftover, *(item for item, _ in programme.benchmarks)])
    for item in items:
        kept = leftover.get(
            item, {"section": "shapes" if item in programme.shapes else "measures", "rest": {}}
        )
        rows = [programme.benchmarks.get((item, band.id)) for band in programme.bands]
        first = next((row for row in rows if row is not None), None)
        zones = {band.id: _zone(row, first) for band, row in zip(programme.bands, rows, strict=True)}
        about = {"support": first.support, "sources": first.sources, "note": first.note} if first else {}
        sections[kept["section"]][item] = {**zones, **_filled(about), **kept["rest"]}
    return sections


def _zone(row: Benchmark | None, first: Benchmark | None) -> dict[str, Any] | None:
    """One band; support, sources and note stand here only where they differ from the item's."""
    if row is None or first is None:
        return None
    own = {
        key: getattr(row, key)
        for key in ("support", "sources", "note")
        if getattr(row, key) != getattr(first, key)
    }
    return {
        "from": _tidy(row.building),
        "aim": _tidy(row.aim),
        **_filled({"variant": row.variant, **own}),
        **row.extra,
    }
