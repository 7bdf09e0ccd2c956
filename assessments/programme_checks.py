"""Whether a programme hangs together: every reason why it may not be published, in words a coach can act on."""

from __future__ import annotations

import graphlib
import re
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise

from assessments.analysis import acceptance_limit
from assessments.analysis.records import (
    Band,
    Benchmark,
    ErrorModel,
    MeasureSpec,
    Programme,
    Requirement,
    ShapeSpec,
    SkillSpec,
)
from assessments.programme_entry import Problem
from athletes.sheet_file import fold

LONGEST_ID = 60
LONGEST_NAME = 80
LONGEST_AREA = 20
YOUNGEST, OLDEST = 2, 18
CONFIDENCE_RANGE = (0.60, 0.99)


def check(programme: Programme) -> list[Problem]:
    """Everything that is wrong between the parts of a programme."""
    return [
        *_identities(programme),
        *_measures(programme),
        *_shapes(programme),
        *_benchmarks(programme),
        *_rules(programme),
        *_skills(programme),
        *_weaker_than_ancestors(programme),
    ]


# --- names -----------------------------------------------------------------------------------------


def _identities(programme: Programme) -> Iterator[Problem]:
    for file, specs in (
        ("measures", programme.measures),
        ("shapes", programme.shapes),
        ("skills", programme.skills),
    ):
        for item, spec in specs.items():
            if len(spec.name) > LONGEST_NAME:
                yield Problem(file, item, f"the name is longer than {LONGEST_NAME} letters")
            if not re.fullmatch(r"[a-z][a-z0-9_]*", item) or len(item) > LONGEST_ID:
                yield Problem(
                    file, item, "an id is small letters, digits and _, begins with a letter, at most 60 long"
                )
    for item in programme.measures.keys() & programme.shapes.keys():
        yield Problem("shapes", item, "a measure has the same id")
    yield from _names("measures", programme.measures.values())
    yield from _names("shapes", programme.shapes.values())


def _names(file: str, specs: Iterable[MeasureSpec | ShapeSpec]) -> Iterator[Problem]:
    """A spreadsheet is matched by name, id and alias, so no two items may share one."""
    owner: dict[str, str] = {}
    for spec in specs:
        for name in dict.fromkeys(fold(one) for one in (spec.id, spec.name, *spec.aliases)):
            if name in owner:
                yield Problem(file, spec.id, f"'{name}' is also a name of {owner[name]}")
            owner[name] = spec.id


def _common(programme: Programme, file: str, spec: MeasureSpec | ShapeSpec | SkillSpec) -> Iterator[Problem]:
    """What measures, shapes and skills share: body areas and sources."""
    for area in spec.loads:
        if area not in programme.body_areas:
            yield Problem(file, spec.id, f"loads names '{area}', which is not a body area")
    yield from _cited(programme, file, spec.id, sources=spec.sources, support=spec.support)


def _cited(
    programme: Programme, file: str, item: str, *, sources: tuple[str, ...], support: str
) -> Iterator[Problem]:
    for source in sources:
        if source not in programme.sources:
            yield Problem(file, item, f"'{source}' is not one of the sources")
    if support in ("published", "partly") and not sources:
        yield Problem(file, item, f"support is '{support}', but no source is named")


# --- measures and shapes ---------------------------------------------------------------------------


def _measures(programme: Programme) -> Iterator[Problem]:
    for spec in programme.measures.values():
        yield from _common(programme, "measures", spec)
        yield from _error(spec.error, "measures", spec.id)
        for reason in _wrong_numbers(spec):
            yield Problem("measures", spec.id, reason)
        for text in ("set_up", "start", "form_standard"):
            if not spec.text.get(text):
                yield Problem("measures", spec.id, f"{text} is missing")
        for variant in dict.fromkeys(spec.variants):
            if not re.fullmatch(r"[a-z][a-z0-9_]*", variant) or len(variant) > 40:
                yield Problem("measures", spec.id, f"version '{variant}' needs an id like 'arms_by_side'")
            if spec.variants.count(variant) > 1:
                yield Problem("measures", spec.id, f"version '{variant}' stands here twice")
        for variant in (spec.variant_words.keys() | spec.variant_texts.keys()) - set(spec.variants):
            yield Problem("measures", spec.id, f"words for version '{variant}', which is not in the list")
        if missing := [text for text in ("say", "show", "cue") if not spec.text.get(text)]:
            reason = f"not written yet: {', '.join(missing)}"
            yield Problem("measures", spec.id, reason, refuses=False)


def _wrong_numbers(spec: MeasureSpec) -> Iterator[str]:
    limits = spec.limits
    if spec.attempts < 1:
        yield "at least one try is needed"
    if spec.combine == "first" and spec.attempts > 1:
        yield "the first try counts, but more than one is asked for"
    if spec.seconds_per_child < 1:
        yield "seconds per child should be at least 1"
    if not YOUNGEST <= spec.age_min <= OLDEST:
        yield f"the youngest age, {spec.age_min}, is not between {YOUNGEST} and {OLDEST}"
    if spec.version < 1:
        yield "version should be 1 or more"
    if limits.warn[0] < limits.refuse[0] or limits.warn[1] > limits.refuse[1]:
        yield "the limits that ask lie outside the limits that refuse"
    if spec.cap is None and spec.kind != "distance":
        yield "a hold or a count needs a cap"
    if spec.cap is not None and not 0 < spec.cap <= limits.refuse[1]:
        yield f"the cap, {spec.cap:g}, should lie above 0 and within the limits, {limits.refuse[1]:g}"


def _error(error: ErrorModel, file: str, item: str) -> Iterator[Problem]:
    if error.a <= 0 or error.b < 0:
        yield Problem(file, item, "error_model: a should be above 0 and b not below 0")


def _shapes(programme: Programme) -> Iterator[Problem]:
    for spec in programme.shapes.values():
        yield from _common(programme, "shapes", spec)
        yield from _error(spec.error, "shapes", spec.id)
        if not spec.criteria:
            yield Problem("shapes", spec.id, "at least one criterion is needed")
        ids = [criterion.id for criterion in spec.criteria]
        for criterion in dict.fromkeys(ids):
            if ids.count(criterion) > 1:
                yield Problem("shapes", spec.id, f"criterion '{criterion}' stands here twice")
        if not YOUNGEST <= spec.age_min <= OLDEST:
            yield Problem("shapes", spec.id, f"the youngest age, {spec.age_min}, is out of range")
        if spec.version < 1:
            yield Problem("shapes", spec.id, "version should be 1 or more")
        for measure in spec.holds:
            if measure not in programme.measures:
                yield Problem("shapes", spec.id, f"holds names '{measure}', which is not a measure")
        if len(spec.criteria) not in (0, 5):
            reason = f"has {len(spec.criteria)} criteria, so its total is out of {spec.top}, not 10"
            yield Problem("shapes", spec.id, reason, refuses=False)
        if bare := [one.id for one in spec.criteria if not one.cue or not one.fault]:
            reason = f"no cue or no words for what broke first: {', '.join(bare)}"
            yield Problem("shapes", spec.id, reason, refuses=False)


# --- benchmarks and rules --------------------------------------------------------------------------


def _benchmarks(programme: Programme) -> Iterator[Problem]:
    yield from _bands(programme.bands)
    bands = {band.id: band for band in programme.bands}
    for (item, band_id), row in programme.benchmarks.items():
        place = f"{item}, {band_id}"
        if item not in programme.measures and item not in programme.shapes:
            yield Problem("benchmarks", item, "no measure or shape has this id")
            continue
        spec = programme.item(item)
        top = spec.top if isinstance(spec, ShapeSpec) else spec.cap
        if row.building >= row.aim:
            yield Problem(
                "benchmarks", place, f"building, {row.building:g}, should lie below the aim, {row.aim:g}"
            )
        if top is not None and row.aim > top:
            yield Problem("benchmarks", place, f"the aim, {row.aim:g}, is above the cap, {top:g}")
        if bands[band_id].high <= spec.age_min:
            yield Problem("benchmarks", place, f"{spec.name} is not offered before {spec.age_min}")
        if row.variant and row.variant not in _variants(spec):
            yield Problem("benchmarks", place, f"'{row.variant}' is not a version of {spec.name}")
        yield from _cited(programme, "benchmarks", place, sources=row.sources, support=row.support)
    for spec in programme.items():
        rows = [programme.benchmarks.get((spec.id, band.id)) for band in programme.bands]
        offered = [row for row in rows if row is not None]
        yield from _falling(spec.id, offered)
        if not offered:
            yield Problem("benchmarks", spec.id, "has no benchmark in any age band", refuses=False)


def _bands(bands: tuple[Band, ...]) -> Iterator[Problem]:
    if not bands:
        yield Problem("benchmarks", "", "no age bands")
    for band in bands:
        if band.low >= band.high:
            yield Problem("benchmarks", f"band {band.id}", "ends before it begins")
    for before, after in pairwise(bands):
        if after.low < before.high:
            reason = f"overlaps with band {before.id}, or the bands are not in order of age"
            yield Problem("benchmarks", f"band {after.id}", reason)
        elif after.low > before.high:
            reason = f"leaves a gap after band {before.id}"
            yield Problem("benchmarks", f"band {after.id}", reason, refuses=False)


def _falling(item: str, rows: list[Benchmark]) -> Iterator[Problem]:
    """An older band that asks less of the same version deserves a look."""
    for before, after in pairwise(rows):
        if before.variant == after.variant and (after.aim < before.aim or after.building < before.building):
            reason = f"asks less than the younger band {before.band}"
            yield Problem("benchmarks", f"{item}, {after.band}", reason, refuses=False)


def _rules(programme: Programme) -> Iterator[Problem]:
    rules = programme.rules
    low, high = CONFIDENCE_RANGE
    for risk, confidence in rules.confidence.items():
        if not low <= confidence <= high:
            reason = f"confidence for {risk} risk, {confidence:g}, is not between {low:g} and {high:g}"
            yield Problem("skills", "rules", reason)
    if rules.drift_weeks <= 0:
        yield Problem("skills", "rules", "drift_weeks should be above 0")
    if min(rules.expiry_weeks, rules.expiry_weeks_careful) < 1:
        yield Problem("skills", "rules", "evidence should last at least one week")
    if rules.confirm_days < 1:
        yield Problem("skills", "rules", "confirm_days should be at least 1")


# --- skills ----------------------------------------------------------------------------------------


def _skills(programme: Programme) -> Iterator[Problem]:
    for skill in programme.skills.values():
        yield from _common(programme, "skills", skill)
        for before in skill.after:
            if before not in programme.skills:
                yield Problem("skills", skill.id, f"comes after '{before}', which is not a skill")
        if len(skill.area) > LONGEST_AREA:
            yield Problem("skills", skill.id, f"the area is longer than {LONGEST_AREA} letters")
        if not YOUNGEST <= skill.min_age <= OLDEST:
            yield Problem("skills", skill.id, f"the caution age, {skill.min_age}, is out of range")
        asked = [requirement.item for requirement in skill.requirements]
        for item in dict.fromkeys(asked):
            if asked.count(item) > 1:
                yield Problem("skills", skill.id, f"asks for {item} twice")
        for requirement in skill.requirements:
            for reason, refuses in _wrong_with(requirement, skill, programme):
                yield Problem("skills", skill.id, reason, refuses)
    cycle = cycle_in(programme.skills)
    if cycle:
        names = " → ".join(programme.skills[one].name for one in cycle)
        yield Problem("skills", cycle[0], f"comes after itself: {names}")


def cycle_in(skills: Mapping[str, SkillSpec]) -> tuple[str, ...]:
    """Skills that come after each other in a ring, the first one named again at the end; empty when none do."""
    after = {one: [other for other in skill.after if other in skills] for one, skill in skills.items()}
    try:
        graphlib.TopologicalSorter(after).prepare()
    except graphlib.CycleError as error:
        return tuple(error.args[1])
    return ()


def _wrong_with(
    requirement: Requirement, skill: SkillSpec, programme: Programme
) -> Iterator[tuple[str, bool]]:
    specs: Mapping[str, MeasureSpec | ShapeSpec]
    specs = programme.shapes if requirement.kind == "shape" else programme.measures
    spec = specs.get(requirement.item)
    if spec is None:
        yield f"asks for {requirement.kind} '{requirement.item}', which does not exist", True
        return
    if requirement.both_sides and not spec.sides:
        yield f"asks for both sides of {spec.name}, which has no left and right", True
    if spec.sides and not requirement.both_sides:
        yield f"asks for {spec.name} without saying that both sides count", False
    if requirement.variant and requirement.variant not in _variants(spec):
        yield f"asks for version '{requirement.variant}' of {spec.name}, which does not exist", True
    known = {criterion.id for criterion in spec.criteria} if isinstance(spec, ShapeSpec) else set()
    for criterion in requirement.must_have:
        if criterion not in known:
            yield f"asks for criterion '{criterion}' of {spec.name}, which does not exist", True
    yield from _out_of_reach(requirement, skill, programme, spec=spec)


def _out_of_reach(
    requirement: Requirement, skill: SkillSpec, programme: Programme, *, spec: MeasureSpec | ShapeSpec
) -> Iterator[tuple[str, bool]]:
    """The cap or the age makes it impossible, or the club aim does not go that far."""
    top = spec.top if isinstance(spec, ShapeSpec) else spec.cap
    minimum = requirement.minimum
    asked = f"asks for {minimum:g} of {spec.name}"
    confidence = programme.rules.confidence.get(skill.risk, 0.5)
    if minimum <= 0 and spec.kind != "distance":
        yield f"{asked}, which asks for nothing", True
    elif top is not None and minimum > top:
        yield f"{asked}, which is above its cap of {top:g}", True
    elif top is not None and spec.error.a > 0 and 0.5 < confidence < 1:
        whole = spec.kind not in ("hold", "distance")
        needed = acceptance_limit(minimum, spec.error.sem(minimum), confidence, whole=whole, df=spec.error.df)
        if needed > top:
            yield (
                f"{asked}: to be {confidence:.0%} sure a child would have to reach {needed:.1f}, "
                f"more than the cap of {top:g}",
                True,
            )
    offered_from = max(skill.min_age, requirement.soft_under or 0)
    if spec.age_min > offered_from:
        yield f"{asked} from {skill.min_age}, but it is not offered before {spec.age_min}", True
        return
    band = next((one for one in programme.bands if one.low <= offered_from < one.high), None)
    rows = [row for (item, _), row in programme.benchmarks.items() if item == spec.id]
    if band is None or not rows:
        return
    row = programme.benchmarks.get((spec.id, band.id))
    if row is None:
        yield f"{asked} from {skill.min_age}, but the benchmarks do not offer it in band {band.id}", True
    elif minimum > row.aim:
        yield f"{asked}, more than the club aim of {row.aim:g} in band {band.id}", False


def _variants(spec: MeasureSpec | ShapeSpec) -> tuple[str, ...]:
    return spec.variants if isinstance(spec, MeasureSpec) else ()


def _weaker_than_ancestors(programme: Programme) -> Iterator[Problem]:
    skills = programme.skills
    if cycle_in(skills):
        return
    for skill in skills.values():
        mine = {requirement.item: requirement for requirement in skill.requirements}
        for ancestor in sorted(ancestors_of(skill.id, skills)):
            for theirs in skills[ancestor].requirements:
                if theirs.item in mine:
                    for reason, refuses in _weaker(mine[theirs.item], theirs, programme):
                        place = f"than {skills[ancestor].name}, which comes before it"
                        yield Problem("skills", skill.id, f"{reason} {place}", refuses)


def ancestors_of(skill: str, skills: Mapping[str, SkillSpec]) -> frozenset[str]:
    """Every skill that comes before this one."""
    found: set[str] = set()
    waiting = [skill]
    while waiting:
        for before in skills[waiting.pop()].after:
            if before in skills and before not in found:
                found.add(before)
                waiting.append(before)
    return frozenset(found)


def _weaker(mine: Requirement, theirs: Requirement, programme: Programme) -> Iterator[tuple[str, bool]]:
    if mine.item not in programme.measures and mine.item not in programme.shapes:
        return
    spec = programme.item(mine.item)
    ladder = ("", *_variants(spec))
    if mine.variant not in ladder or theirs.variant not in ladder:
        return
    step, asked = ladder.index(mine.variant), ladder.index(theirs.variant)
    if step < asked:
        yield f"asks for an easier version of {spec.name}", True
    elif step == asked and mine.minimum < theirs.minimum:
        yield f"asks for less {spec.name} ({mine.minimum:g}, not {theirs.minimum:g})", True
    if theirs.both_sides and not mine.both_sides:
        yield f"asks for {spec.name} on one side only, less", True
    if missing := sorted(set(theirs.must_have) - set(mine.must_have)):
        yield f"asks for fewer must-haves of {spec.name} ({', '.join(missing)})", False
