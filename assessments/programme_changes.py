"""Two editions side by side: what differs, in words, and which protocols need a new version."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from functools import partial
from typing import Any

from assessments.analysis.records import (
    Benchmark,
    CriterionSpec,
    MeasureSpec,
    Programme,
    ShapeSpec,
    SkillSpec,
)
from assessments.programme_words import asked_words, names_of

Item = MeasureSpec | ShapeSpec

#: Texts of a protocol that say what a value means. Wording of the script, the cue or the gate does not.
_DEFINING_TEXTS = ("set_up", "start", "form_standard")
_DEFINING_FIELDS = ("kind", "unit", "sides", "precision", "attempts", "combine", "cap", "stop_rules")
_DEFINING_SHAPE_FIELDS = ("position", "viewpoint")
_DEFINING_JUDGING = ("window_s", "attempts", "combine")
_FIELD_WORDS = {
    "age_min": "youngest age",
    "aliases": "other names",
    "combine": "rule",
    "attempts": "tries",
    "error": "error of the measure",
    "form_standard": "form",
    "limits": "limits for typing errors",
    "loads": "body areas loaded",
    "min_age": "caution age",
    "seconds_per_child": "seconds a child",
    "set_up": "set-up",
    "stop_rules": "stop rules",
    "variant_texts": "what the versions are",
    "variant_words": "names of the versions",
    "variants": "versions",
    "why": "reason",
}


@dataclass(frozen=True, slots=True)
class Change:
    """One difference between two editions."""

    part: str  # measures, shapes, skills, benchmarks, rules, sources
    item: str
    name: str
    words: str
    new_version: bool = False  # results before and after do not share a line


def compare(old: Programme, new: Programme) -> tuple[Change, ...]:
    """Everything that differs, part by part, in words."""
    return (
        *_items("measures", old.measures, new.measures, _differences),
        *_items("shapes", old.shapes, new.shapes, _differences),
        *_versions(old, new),
        *_items("skills", old.skills, new.skills, partial(_skill_differences, old, new)),
        *_benchmarks(old, new),
        *_rules(old, new),
        *_sources(old, new),
        *_above(old, new),
    )


def needs_new_version(old: Item, new: Item, *, before: Programme, after: Programme) -> bool:
    """Whether a result under the new protocol means something else than under the old one.

    Adding, removing or reordering versions of a hold leaves the other versions' series as they were; a changed
    description of a version that stays, or a first ladder where there was none, does not.
    """
    return _meaning(old, before) != _meaning(new, after) or _ladder_differs(old, new)


def versions(new: Programme, old: Programme | None, *, highest: Mapping[str, int]) -> dict[str, int]:
    """The protocol version of every item: the old one, or one more than any version that its id ever had."""
    found: dict[str, int] = {}
    for spec in new.items():
        before = _find(old, spec.id) if old is not None else None
        if before is not None and old is not None and not _moved(before, spec, old, new):
            found[spec.id] = before.version
        else:
            found[spec.id] = highest.get(spec.id, 0) + 1
    return found


def _find(programme: Programme, item: str) -> Item | None:
    return programme.measures.get(item) or programme.shapes.get(item)


def _moved(old: Item, new: Item, before: Programme, after: Programme) -> bool:
    return type(old) is not type(new) or needs_new_version(old, new, before=before, after=after)


def _meaning(spec: Item, programme: Programme) -> tuple[Any, ...]:
    if isinstance(spec, MeasureSpec):
        rule = _above_list(programme, "measures", "defaults").get("form_break_rule")
        own = [spec.text.get(key, "") for key in _DEFINING_TEXTS]
        return (*own, *(getattr(spec, key) for key in _DEFINING_FIELDS), rule)
    judging = _above_list(programme, "shapes", "judging")
    criteria = [(one.id, one.not_yet, one.with_reminder, one.on_own) for one in spec.criteria]
    own = [getattr(spec, key) for key in _DEFINING_SHAPE_FIELDS]
    return (*own, *sorted(criteria), *(judging.get(key) for key in _DEFINING_JUDGING))


def _ladder_differs(old: Item, new: Item) -> bool:
    if not (isinstance(old, MeasureSpec) and isinstance(new, MeasureSpec)):
        return False
    if bool(old.variants) != bool(new.variants):
        return True
    kept = set(old.variants) & set(new.variants)
    return any(old.variant_texts.get(one, "") != new.variant_texts.get(one, "") for one in kept)


def _above_list(programme: Programme, file: str, key: str) -> Mapping[str, Any]:
    found = programme.preamble.get(file, {}).get(key)
    return found if isinstance(found, Mapping) else {}


# --- words -----------------------------------------------------------------------------------------


def _items(
    part: str,
    old: Mapping[str, Item] | Mapping[str, SkillSpec],
    new: Mapping[str, Item] | Mapping[str, SkillSpec],
    tell: Callable[[Any, Any], Iterator[str]],
) -> Iterator[Change]:
    gone = {spec.name: item for item, spec in old.items() if item not in new}
    for item, spec in new.items():
        if item in old:
            for words in tell(old[item], spec):
                yield Change(part, item, spec.name, words)
        elif spec.name in gone:
            words = f"added under a new id; what was recorded for {gone[spec.name]} does not count for it"
            yield Change(part, item, spec.name, words)
        else:
            yield Change(part, item, spec.name, "added")
    for item, spec in old.items():
        if item not in new:
            yield Change(part, item, spec.name, "removed; what was recorded stays")
    order = [item for item in new if item in old]
    if order != [item for item in old if item in new]:
        yield Change(part, "", "", "listed in another order")


def _versions(old: Programme, new: Programme) -> Iterator[Change]:
    for spec in new.items():
        before = _find(old, spec.id)
        if before is not None and _moved(before, spec, old, new):
            part = "measures" if isinstance(spec, MeasureSpec) else "shapes"
            words = "a new protocol version: earlier results keep theirs, and the chart starts a new line"
            yield Change(part, spec.id, spec.name, words, new_version=True)


def _differences(old: Any, new: Any) -> Iterator[str]:
    for one in fields(old):
        before, after = getattr(old, one.name), getattr(new, one.name)
        if before == after or one.name == "version":
            continue
        if one.name in ("text", "extra"):
            for key in dict.fromkeys((*before, *after)):
                if before.get(key) != after.get(key):
                    yield _changed(key, before.get(key), after.get(key))
        elif one.name == "criteria":
            yield from _criteria(before, after)
        elif one.name not in ("requirements", "after"):
            yield _changed(one.name, before, after)


def _changed(key: str, before: object, after: object) -> str:
    return f"{_FIELD_WORDS.get(key, key.replace('_', ' '))}: {_said(before)} → {_said(after)}"


def _said(value: object) -> str:
    match value:
        case None | "" | () | []:
            return "nothing"
        case bool():
            return "yes" if value else "no"
        case float():
            return f"{value:g}"
        case tuple() | list():
            return ", ".join(_said(one) for one in value)
        case Mapping():
            return "; ".join(f"{key}: {_said(one)}" for key, one in value.items()) or "nothing"
        case str() | int():
            return str(value)
    record: Any = value
    return ", ".join(f"{one.name} {_said(getattr(record, one.name))}" for one in fields(record))


def _criteria(old: tuple[CriterionSpec, ...], new: tuple[CriterionSpec, ...]) -> Iterator[str]:
    before, after = {one.id: one for one in old}, {one.id: one for one in new}
    for key, criterion in after.items():
        if key not in before:
            yield f"criterion added: {criterion.name}"
            continue
        for words in _differences(before[key], criterion):
            yield f"criterion '{criterion.name}', {words}"
    yield from (f"criterion removed: {one.name}" for key, one in before.items() if key not in after)
    if [key for key in before if key in after] != [key for key in after if key in before]:
        yield "criteria in another order"


def _skill_differences(before: Programme, after: Programme, old: SkillSpec, new: SkillSpec) -> Iterator[str]:
    yield from _differences(old, new)
    joined, parted = [one for one in new.after if one not in old.after], set(old.after) - set(new.after)
    yield from (f"now comes after {name}" for name in names_of(joined, after))
    yield from (f"no longer comes after {name}" for name in names_of(sorted(parted), before))
    was, asks = ({one.item: one for one in skill.requirements} for skill in (old, new))
    for item, requirement in asks.items():
        words = asked_words(requirement, after)
        if item not in was:
            yield f"now asks for {words}"
        elif was[item] != requirement:
            yield f"asks for {words}; before, for {asked_words(was[item], before)}"
    yield from (
        f"no longer asks for {asked_words(one, before)}" for item, one in was.items() if item not in asks
    )


def _benchmarks(old: Programme, new: Programme) -> Iterator[Change]:
    if old.bands != new.bands:
        bands = [", ".join(band.id for band in one.bands) or "none" for one in (old, new)]
        yield Change("benchmarks", "", "Age bands", f"{bands[0]} → {bands[1]}")
    for item, band in dict.fromkeys((*old.benchmarks, *new.benchmarks)):
        before, after = old.benchmarks.get((item, band)), new.benchmarks.get((item, band))
        if before == after:
            continue
        spec = _find(new, item) or _find(old, item)
        was, becomes = (_zone(row, spec) for row in (before, after))
        words = f"{band}: {was} → {becomes}"
        if was == becomes:
            words = f"{band}: support, source or note"
        yield Change("benchmarks", item, spec.name if spec else item, words)


def _zone(row: Benchmark | None, spec: Item | None) -> str:
    if row is None:
        return "not offered"
    words = spec.variant_words if isinstance(spec, MeasureSpec) else {}
    version = f", {words.get(row.variant, row.variant).lower()}" if row.variant else ""
    return f"building from {row.building:g}, aim {row.aim:g}{version}"


def _rules(old: Programme, new: Programme) -> Iterator[Change]:
    for words in _differences(old.rules, new.rules):
        yield Change("rules", "", "How sure, and for how long", words)


def _sources(old: Programme, new: Programme) -> Iterator[Change]:
    for key in dict.fromkeys((*old.sources, *new.sources)):
        before, after = old.sources.get(key), new.sources.get(key)
        if before != after:
            yield Change("sources", key, key, f"{_said(before)} → {_said(after)}")


def _above(old: Programme, new: Programme) -> Iterator[Change]:
    """What stands above the lists: the rules of testing and judging, the body areas."""
    for file in ("measures", "shapes", "skills", "benchmarks", "sources"):
        before, after = old.preamble.get(file, {}), new.preamble.get(file, {})
        for key in dict.fromkeys((*before, *after)):
            if before.get(key) != after.get(key):
                yield Change(file, "", key.replace("_", " "), "changed")
