"""Which column of a results sheet holds which measure, side, trial and variant."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from assessments.analysis.records import MeasureSpec, Programme, Side
from athletes.sheet_file import fold

_SIDES: Mapping[str, Side] = {
    "l": "left",
    "lt": "left",
    "left": "left",
    "r": "right",
    "rt": "right",
    "right": "right",
}
_UNIT_WORDS: Mapping[str, frozenset[str]] = {
    "s": frozenset({"s", "sec", "secs", "second", "seconds"}),
    "reps": frozenset({"rep", "reps", "x", "count", "number"}),
    "cm": frozenset({"cm", "centimetres", "centimeters"}),
    "of_5": frozenset({"of5", "5"}),
}
_OTHER_UNITS = frozenset(
    {"m", "mm", "in", "inch", "inches", "ft", "feet", "min", "mins", "minutes", "kg", "lb", "lbs"}
)
_FILLERS = frozenset(
    {"best", "result", "score", "time", "of", "out", "side", "leg", "arm", "foot", "seconds", "the"}
)
_TRIAL_WORDS = frozenset({"trial", "try", "attempt", "go", "no", "nr"})
MAX_TRIAL = 9
LONGEST_HEADER = 14  # words


@dataclass(frozen=True, slots=True)
class ColumnTarget:
    """Where the results of one column go."""

    item: str = ""
    side: Side = ""
    trial: int = 1
    variant: str = ""
    ignored: bool = False


class UnmatchedHeader(ValueError):
    """No place is known for this header; the message says why."""


@dataclass(frozen=True, slots=True)
class _Parts:
    words: tuple[str, ...]
    side: Side = ""
    trial: int = 0
    variant: str = ""
    units: frozenset[str] = frozenset()


class ResultColumns:
    """Matches headers against the measures of one edition, by name, id or alias."""

    def __init__(self, programme: Programme) -> None:
        self._measures = programme.measures
        self._shapes = {fold(name) for shape in programme.shapes.values() for name in (shape.name, shape.id)}
        self._names = _names_of(programme.measures.values())
        self._variants: dict[str, set[str]] = defaultdict(set)
        for spec in programme.measures.values():
            for variant in spec.variants:
                self._variants[fold(variant)].add(variant)
                if words := spec.variant_words.get(variant):
                    self._variants[fold(words)].add(variant)

    def target(self, header: str) -> ColumnTarget:
        """The place that a header names; UnmatchedHeader when it names none or more than one."""
        found: list[tuple[str, _Parts]] = []
        seen: set[_Parts] = set()
        waiting = [_Parts(tuple(fold(header).split()))]
        while waiting and not found:
            for parts in waiting:
                found += [
                    (item, parts)
                    for item in self._names.get(" ".join(parts.words), ())
                    if self._fits(item, parts)
                ]
            seen.update(waiting)
            waiting = [
                shorter for parts in waiting for shorter in self._shorter(parts) if shorter not in seen
            ]
        items = {item for item, _ in found}
        if len(items) > 1:
            names = " or ".join(sorted(self._measures[item].name for item in items))
            raise UnmatchedHeader(f"this can be {names}")
        if not items:
            raise UnmatchedHeader(self._why_not(header))
        return self._checked(*found[0])

    def with_details(self, target: ColumnTarget, *, side: str, trial: str, variant: str) -> ColumnTarget:
        """The place with what the other columns of a long list add to it."""
        spec = self._measures[target.item]
        if side:
            if fold(side) not in _SIDES:
                raise UnmatchedHeader(f"'{side}' is not a side")
            target = replace(target, side=_SIDES[fold(side)])
        if trial:
            if not re.fullmatch(r"[1-9]", trial):
                raise UnmatchedHeader(f"'{trial}' is not a try from 1 to {MAX_TRIAL}")
            target = replace(target, trial=int(trial))
        if variant:
            named = [one for one in self._variants.get(fold(variant), ()) if one in spec.variants]
            if not named:
                raise UnmatchedHeader(f"'{variant}' is not a variant of {spec.name}")
            target = replace(target, variant=named[0])
        check_side(target.side, spec)
        return target

    def _fits(self, item: str, parts: _Parts) -> bool:
        return not parts.variant or parts.variant in self._measures[item].variants

    def _checked(self, item: str, parts: _Parts) -> ColumnTarget:
        spec = self._measures[item]
        if foreign := parts.units & _OTHER_UNITS - _UNIT_WORDS.get(spec.unit, frozenset()):
            raise UnmatchedHeader(
                f"the header says {', '.join(sorted(foreign))}, but {spec.name} is kept in {spec.unit}"
            )
        if parts.side and not spec.sides:
            raise UnmatchedHeader(f"{spec.name} has no left and right")
        return ColumnTarget(item, parts.side, parts.trial or 1, parts.variant)

    def _why_not(self, header: str) -> str:
        if fold(header) in self._shapes:
            return "a shape is judged by its criteria and cannot come from one number"
        return "no measure has this name"

    def _shorter(self, parts: _Parts) -> Iterator[_Parts]:
        """The same header with one side, number, unit, variant or filler taken off either end."""
        if not 2 <= len(parts.words) <= LONGEST_HEADER:
            return
        for word, rest in ((parts.words[-1], parts.words[:-1]), (parts.words[0], parts.words[1:])):
            if word in _SIDES and not parts.side:
                yield replace(parts, words=rest, side=_SIDES[word])
            if (joined := re.fullmatch(r"([lr])([1-9])", word)) and not parts.side and not parts.trial:
                yield replace(parts, words=rest, side=_SIDES[joined[1]], trial=int(joined[2]))
            if re.fullmatch(r"[1-9]", word) and not parts.trial:
                yield replace(parts, words=rest, trial=int(word))
            if word in _OTHER_UNITS or any(word in words for words in _UNIT_WORDS.values()):
                yield replace(parts, words=rest, units=parts.units | {word})
            if word in _FILLERS or (word in _TRIAL_WORDS and parts.trial):
                yield replace(parts, words=rest)
        if not parts.variant:
            yield from self._without_variant(parts)

    def _without_variant(self, parts: _Parts) -> Iterator[_Parts]:
        for phrase, variants in self._variants.items():
            words = tuple(phrase.split())
            size = len(words)
            if size >= len(parts.words):
                continue
            for rest, there in (
                (parts.words[:-size], parts.words[-size:]),
                (parts.words[size:], parts.words[:size]),
            ):
                if there == words:
                    yield from (replace(parts, words=rest, variant=variant) for variant in sorted(variants))


def _names_of(measures: Iterable[MeasureSpec]) -> dict[str, tuple[str, ...]]:
    """Every way to write a measure's name -> its id. Shortened forms count only where nothing is called so in full."""
    full: dict[str, set[str]] = defaultdict(set)
    short: dict[str, set[str]] = defaultdict(set)
    for spec in measures:
        for name in (spec.id, spec.name, *spec.aliases):
            full[fold(name)].add(spec.id)
        for name in (re.sub(r"\(.*?\)", "", spec.name), spec.name.partition(",")[0], spec.id):
            words = fold(name)
            short[words].add(spec.id)
            short[words.removesuffix(" hold")].add(spec.id)
    return {name: tuple(sorted(ids)) for name, ids in (short | full).items() if name}


def parse_mapping(written: str, programme: Programme) -> tuple[str, ColumnTarget]:
    """'Header=measure_id:left:2' or 'Header=ignore' -> the header and where it goes."""
    header, equals, target = written.rpartition("=")
    if not equals or not fold(header) or not target.strip():
        raise ValueError(f"'{written}' is not of the form 'Header=measure_id:left'")
    item, *details = (part.strip() for part in target.split(":"))
    if item == "ignore" and not details:
        return fold(header), ColumnTarget(ignored=True)
    spec = programme.measures.get(item)
    if spec is None:
        raise ValueError(f"'{item}' is not the id of a measure")
    found = ColumnTarget(item)
    for detail in details:
        if detail.casefold() in _SIDES:
            found = replace(found, side=_SIDES[detail.casefold()])
        elif detail.isdecimal() and 1 <= int(detail) <= MAX_TRIAL:
            found = replace(found, trial=int(detail))
        elif detail in spec.variants:
            found = replace(found, variant=detail)
        else:
            raise ValueError(
                f"'{detail}' is neither a side, a trial from 1 to {MAX_TRIAL} nor a variant of {spec.name}"
            )
    check_side(found.side, spec)
    return fold(header), found


def check_side(side: Side, spec: MeasureSpec) -> None:
    """Left and right must be said where they exist, and only there."""
    if spec.sides and not side:
        raise UnmatchedHeader(f"{spec.name} needs left or right")
    if side and not spec.sides:
        raise UnmatchedHeader(f"{spec.name} has no left and right")
