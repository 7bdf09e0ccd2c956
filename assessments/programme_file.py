"""Documents of a programme <-> the Programme record that the calculation reads. Nothing in a file is lost."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, get_args

from assessments.analysis.records import (
    Band,
    Benchmark,
    Combine,
    CriterionSpec,
    ErrorModel,
    Kind,
    Limits,
    MeasureSpec,
    Programme,
    Requirement,
    Risk,
    Rules,
    ShapeSpec,
    SkillSpec,
    Support,
)
from assessments.programme_checks import check
from assessments.programme_entry import Entry, Problem
from assessments.programme_yaml import FILES, Documents, documents_from_texts, texts_from_folder

SCHEMA = 1
STARTER = Path(__file__).parent / "programme_data"
KINDS: tuple[Kind, ...] = tuple(kind for kind in get_args(Kind) if kind != "shape")
COMBINES: tuple[Combine, ...] = get_args(Combine)
RISKS: tuple[Risk, ...] = get_args(Risk)
SUPPORTS: tuple[Support, ...] = get_args(Support)
VIEWPOINTS = ("side", "front", "back")
Spec = TypeVar("Spec", MeasureSpec, ShapeSpec, SkillSpec)


@dataclass(frozen=True, slots=True)
class Reading:
    """What the documents say as far as they can be read, and everything that is wrong with them."""

    partial: Programme
    problems: tuple[Problem, ...]

    @property
    def refusals(self) -> tuple[Problem, ...]:
        """The problems that keep this from being published."""
        return tuple(problem for problem in self.problems if problem.refuses)

    @property
    def programme(self) -> Programme | None:
        """The whole programme when nothing refuses it."""
        return None if self.refusals else self.partial


def read(documents: Documents, *, edition: int = 0) -> Reading:
    """The documents of one edition -> its Programme and the problems, each with file, item and reason."""
    problems: list[Problem] = []
    tops = {file: _top(documents, file, problems) for file in FILES}
    measures = _by_id(tops["measures"], _measure)
    shapes = _by_id(tops["shapes"], _shape)
    skills = _by_id(tops["skills"], _skill)
    sources, entries = _sources(tops["sources"])
    bands = tuple(_bands(tops["benchmarks"]))
    benchmarks, leftover = _benchmarks(tops["benchmarks"], bands)
    rules = _rules(tops["skills"])
    defaults = Entry(_mapping(documents, "measures", "defaults"), file="measures", item="", problems=problems)
    programme = Programme(
        edition=edition,
        measures=measures,
        shapes=shapes,
        skills=skills,
        benchmarks=benchmarks,
        bands=bands,
        rules=rules,
        sources=sources,
        body_areas=defaults.words("body_areas"),
        areas_blocking_all=defaults.words("body_areas_blocking_everything"),
        preamble={
            **{file: top.rest() for file, top in tops.items()},
            "rules": _mapping(documents, "skills", "rules"),
            "benchmark_items": leftover,
            "source_entries": entries,
        },
    )
    # A file that could not be read at all would make every reference to it a problem of its own.
    if all(file in documents for file in FILES):
        problems += check(programme)
    return Reading(programme, tuple(dict.fromkeys(problems)))


def read_folder(folder: Path, *, edition: int = 0) -> tuple[dict[str, Any], Reading]:
    """A folder with the five files -> its documents and their reading."""
    documents, unreadable = documents_from_texts(texts_from_folder(folder))
    reading = read(documents, edition=edition)
    known = {problem.file for problem in unreadable}
    others = tuple(one for one in reading.problems if one.file not in known or one.item)
    return documents, Reading(reading.partial, unreadable + others)


@cache
def starter() -> Programme:
    """The programme that a new club begins with, as edition 1."""
    reading = read(starter_documents(), edition=1)
    if reading.programme is None:
        raise ValueError("; ".join(str(problem) for problem in reading.refusals))
    return reading.programme


@cache
def starter_documents() -> dict[str, Any]:
    """The starter programme's documents. Read once: copy them before changing them."""
    documents, problems = documents_from_texts(texts_from_folder(STARTER))
    if problems:
        raise ValueError("; ".join(str(problem) for problem in problems))
    return documents


def _top(documents: Documents, file: str, problems: list[Problem]) -> Entry:
    top = Entry(documents.get(file), file=file, item="", problems=problems)
    if file not in documents:
        top.problem("this file is missing")
        return top
    name, _, version = top.text("schema", needed=True).partition("/")
    if name and name != file:
        top.problem(f"says that it holds {name}")
    elif version.isdecimal() and len(version) < 10 and int(version) > SCHEMA:
        top.problem(
            f"was written by a newer version of this program (schema {version}; this one reads {SCHEMA})"
        )
    elif name and version != str(SCHEMA):
        top.problem(f"schema should be {file}/{SCHEMA}")
    return top


def _by_id(top: Entry, build: Callable[[Entry, str], Spec]) -> dict[str, Spec]:
    """The entries of the list named as the file, by id."""
    found: dict[str, Spec] = {}
    for entry in top.children(top.file):
        item = entry.text("id", needed=True)
        if not item:
            continue
        entry.item, entry.where = item, ""
        if item in found:
            entry.problem("this id stands here twice")
            continue
        found[item] = build(entry, item)
    return found


def _support(entry: Entry, *, default: Support = "common_practice") -> Support:
    # 'evidence' is the older name of the same thing.
    older = entry.choice("evidence", SUPPORTS, default=default)
    return entry.choice("support", SUPPORTS, default=older)


def _error(entry: Entry) -> ErrorModel:
    if "error_model" not in entry:
        entry.problem("error_model is missing")
    inner = entry.child("error_model")
    return ErrorModel(
        a=inner.number("a", default=0),
        b=inner.number("b", default=0),
        support=_support(inner, default="placeholder"),
        note=inner.text("note"),
        children=inner.maybe_whole("children"),
    )


def _measure(entry: Entry, item: str) -> MeasureSpec:
    limits = entry.child("plausible")
    published = entry.words("published")
    cited = tuple(dict.fromkeys(re.findall(r"^(\w+):", "\n".join(published), re.MULTILINE)))
    found = MeasureSpec(
        id=item,
        name=entry.text("name", needed=True),
        kind=entry.choice("kind", KINDS),
        unit=entry.text("unit", needed=True),
        sides=entry.choice("sides", ("none", "left_right"), default="none") == "left_right",
        age_min=entry.whole("age_min"),
        attempts=entry.whole("attempts"),
        combine=entry.choice("combine", COMBINES),
        cap=entry.maybe_number("cap"),
        limits=Limits(warn=limits.pair("warn"), refuse=limits.pair("refuse")),
        error=_error(entry),
        loads=entry.words("loads"),
        version=entry.whole("version", default=1),
        variants=entry.words("variants"),
        seconds_per_child=entry.whole("seconds_per_child", default=60),
        precision=entry.number("precision", default=1),
        aliases=entry.words("aliases"),
        stop_rules=entry.words("stop_rules"),
        equipment=entry.words("equipment"),
        variant_words=entry.texts("variant_words"),
        variant_texts=entry.texts("variant_texts"),
        published=published,
        optional=entry.flag("optional"),
        support=_support(entry),
        sources=entry.words("sources") or cited,
    )
    found = replace(found, text=entry.rest_texts())
    return replace(found, extra=entry.rest())


def _criterion(entry: Entry) -> CriterionSpec:
    return CriterionSpec(
        id=entry.text("id", needed=True),
        name=entry.text("name", needed=True),
        must_have=entry.flag("must_have"),
        not_yet=entry.text("not_yet", needed=True),
        with_reminder=entry.text("with_reminder", needed=True),
        on_own=entry.text("on_own", needed=True),
        cue=entry.text("cue"),
        fault=entry.text("fault"),
        extra=entry.rest(),
    )


def _shape(entry: Entry, item: str) -> ShapeSpec:
    return ShapeSpec(
        id=item,
        name=entry.text("name", needed=True),
        position=entry.text("position", needed=True),
        viewpoint=entry.choice("viewpoint", VIEWPOINTS),
        age_min=entry.whole("age_min"),
        criteria=tuple(_criterion(one) for one in entry.children("criteria")),
        loads=entry.words("loads"),
        version=entry.whole("version", default=1),
        error=_error(entry) if "error_model" in entry else ErrorModel(1.0, 0.0),
        aliases=entry.words("aliases"),
        gate=entry.text("gate"),
        supervision=entry.text("supervision"),
        holds=entry.words("holds"),
        support=_support(entry),
        sources=entry.words("sources"),
        extra=entry.rest(),
    )


def _requirement(entry: Entry, kind: str) -> Requirement:
    return Requirement(
        item=entry.text(kind, needed=True),
        minimum=entry.number("min"),
        kind="shape" if kind == "shape" else "measure",
        both_sides=entry.choice("side", ("", "both"), default="") == "both",
        must_have=entry.words("must_have"),
        soft_under=entry.maybe_whole("soft_under"),
        variant=entry.text("variant"),
        extra=entry.rest(),
    )


def _skill(entry: Entry, item: str) -> SkillSpec:
    asks = entry.child("requires")
    measures = tuple(_requirement(one, "measure") for one in asks.children("measures"))
    shapes = tuple(_requirement(one, "shape") for one in asks.children("shapes"))
    return SkillSpec(
        id=item,
        name=entry.text("name", needed=True),
        area=entry.text("area", needed=True),
        risk=entry.choice("risk", RISKS),
        min_age=entry.whole("min_age"),
        after=asks.words("skills"),
        requirements=measures + shapes,
        why=entry.text("why"),
        safety=entry.text("safety"),
        loads=entry.words("loads"),
        support=_support(entry),
        sources=entry.words("sources"),
        extra=entry.rest(),
    )


def _rules(top: Entry) -> Rules:
    usual = Rules()
    inner = top.child("rules")
    sure = inner.child("confidence")
    return Rules(
        confidence={risk: sure.number(risk, default=usual.confidence[risk]) for risk in RISKS},
        drift_weeks=inner.number("drift_weeks", default=usual.drift_weeks),
        expiry_weeks=inner.whole("expiry_weeks", default=usual.expiry_weeks),
        expiry_weeks_careful=inner.whole("expiry_weeks_careful", default=usual.expiry_weeks_careful),
        confirm_days=inner.whole("confirm_days", default=usual.confirm_days),
    )


def _bands(top: Entry) -> Iterator[Band]:
    for name in top.words("bands"):
        written = re.fullmatch(r"(\d{1,2})(?:-(\d{1,2}))?", name)
        if written is None:
            top.problem(f"band '{name}' should be an age or two, such as 7 or 8-9")
            continue
        low = int(written[1])
        yield Band(id=name, low=low, high=int(written[2] or low) + 1)


def _benchmarks(
    top: Entry, bands: tuple[Band, ...]
) -> tuple[dict[tuple[str, str], Benchmark], dict[str, object]]:
    found: dict[tuple[str, str], Benchmark] = {}
    leftover: dict[str, object] = {}
    for section in ("measures", "shapes"):
        group = top.child(section)
        for item in group.names():
            entry = group.child(item)
            entry.item, entry.where = item, ""
            support, sources, note = _support(entry), entry.words("sources"), entry.text("note")
            for band in bands:
                if band.id not in entry:
                    entry.raw(band.id)
                    continue
                zone = entry.child(band.id)
                found[item, band.id] = Benchmark(
                    item=item,
                    band=band.id,
                    building=zone.number("from"),
                    aim=zone.number("aim"),
                    support=_support(zone, default=support),
                    sources=zone.words("sources") or sources,
                    note=zone.text("note") or note,
                    variant=zone.text("variant"),
                    extra=zone.rest(),
                )
            rest = entry.rest()
            for key in rest:
                if re.fullmatch(r"\d+(-\d+)?", key):
                    entry.problem(f"band '{key}' is not one of the bands of this file")
            leftover[item] = {"section": section, "rest": rest}
    return found, leftover


def _sources(top: Entry) -> tuple[dict[str, str], dict[str, object]]:
    group = top.child("sources")
    found: dict[str, str] = {}
    entries: dict[str, object] = {}
    for key in group.names():
        entry = group.child(key)
        entry.item, entry.where = key, ""
        reference, doi = entry.text("ref", needed=True), entry.text("doi")
        found[key] = f"{reference}. doi:{doi}" if doi else reference
        entries[key] = group.raw(key)
    return found, entries


def _mapping(documents: Mapping[str, Any], file: str, key: str) -> Mapping[str, object]:
    """The set of names below a key at the top of a file; empty where there is none."""
    top = documents.get(file)
    found = top.get(key) if isinstance(top, Mapping) else None
    return found if isinstance(found, Mapping) else {}
