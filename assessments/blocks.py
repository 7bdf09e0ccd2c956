"""A foundation block for one child or a group: where to start with each exercise, and what to do where an area rests.

Amounts come from the latest clean results; all of it is common practice and a coach who sees the children decides.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from assessments.analysis import (
    PURPOSE,
    BlockPlan,
    Dose,
    Instead,
    instead_of,
    interpretations,
    plan_block,
    starting_dose,
)
from assessments.analysis.records import Interpretation, MeasureSpec, Programme
from assessments.report_records import AthleteReport, ChildLine, GroupReport
from athletes.models import AREA_WORDS

MOST_EXERCISES = 6
MOST_OF_ONE_PURPOSE = 2
USUAL_MINUTES = 15  # a longer block is one that is still new
NEAREST = ("nearly", "not_yet", "not_known")


@dataclass(frozen=True, slots=True)
class ChildDose:
    """One exercise of one child: an amount, or what to do in its place."""

    dose: Dose | None
    instead: Instead | None
    variant: str  # the version that the result was measured in, in words
    instead_names: tuple[str, ...] = ()

    @property
    def amount(self) -> str:
        """Such as '12 s' or '8 times'."""
        if self.dose is None:
            return ""
        return f"{self.dose.amount} s" if self.dose.unit == "s" else f"{self.dose.amount} times"


@dataclass(frozen=True, slots=True)
class BlockStep:
    """One exercise of the block, in the order in which it is done."""

    spec: MeasureSpec
    sets: int
    rest_seconds: int
    seconds: int
    watch: tuple[str, ...]  # what broke first, then when to stop
    cue: str
    children: Mapping[str, ChildDose]  # by code


@dataclass(frozen=True, slots=True)
class RestingLine:
    """A needed exercise that rests for everybody in the block, and what is done in its place."""

    name: str
    areas: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Block:
    """A block that fits the time there is."""

    on: date
    minutes: int
    seconds: int
    steps: tuple[BlockStep, ...]
    children: tuple[ChildLine, ...]
    left_out: tuple[str, ...]
    resting: tuple[RestingLine, ...]
    notes: tuple[str, ...]

    @property
    def minutes_needed(self) -> int:
        """Whole minutes, rounded up."""
        return -(-self.seconds // 60)


def child_block(report: AthleteReport, *, minutes: int) -> Block:
    """A block for one child, what decides for the nearest skills first."""
    need = _needed_by_child(report)
    return _block(
        report.programme, (report.child,), report.interpretations, on=report.on, minutes=minutes, need=need
    )


def group_block(report: GroupReport, *, minutes: int) -> Block:
    """One block for a group, what decides most often first; each child has an amount of their own."""
    born = {line.code: line.born_on for line in report.children}
    found = interpretations(report.verdicts.scores, programme=report.programme, born_on=born, on=report.on)
    need: Counter[str] = Counter()
    for skill in report.summary.skills:
        for item in _trained_by(report.programme, skill.deciding):
            need[item] += skill.deciding_count
    order = [item for item, count in need.most_common() if count]
    return _block(report.programme, report.children, found, on=report.on, minutes=minutes, need=order)


def _needed_by_child(report: AthleteReport) -> list[str]:
    """What decides for the skills that are nearest, then what else they ask and is not met."""
    open_ = [state for state in report.skills if not state.coach_word and state.word in NEAREST]
    open_.sort(key=lambda state: NEAREST.index(state.word))
    deciding = [state.deciding for state in open_]
    asked = [
        one.requirement.item
        for state in open_
        for one in state.requirements
        if one.word in ("likely", "not_yet")
    ]
    # What rests comes last: it is not done, but what to do in its place is said.
    rests = [
        one.requirement.item
        for state in report.skills
        if state.word == "resting"
        for one in state.requirements
        if one.word == "resting"
    ]
    named = (item for name in (*deciding, *asked, *rests) for item in _trained_by(report.programme, name))
    return list(dict.fromkeys(named))


def _trained_by(programme: Programme, name: str) -> tuple[str, ...]:
    """The exercises behind what decides: a measure is itself, a shape is trained by what holds it."""
    if name in programme.measures:
        return (name,)
    shape = programme.shapes.get(name)
    return tuple(item for item in shape.holds if item in programme.measures) if shape else ()


def _block(
    programme: Programme,
    children: tuple[ChildLine, ...],
    found: Sequence[Interpretation],
    *,
    on: date,
    minutes: int,
    need: Sequence[str],
) -> Block:
    every = _doses(programme, children, found)
    # A measure in which nobody has a dose is no exercise here.
    doses = {item: own for item, own in every.items() if any(one.dose for one in own.values())}
    # What needs one coach for one child is no exercise for a block.
    given = [item for item in doses if not programme.measures[item].text.get("gate")]
    order = sorted(given, key=lambda item: need.index(item) if item in need else len(need))
    chosen = _balanced(order)
    plan = plan_block(
        [_widest(doses[item]) for item in chosen],
        programme.measures,
        minutes=minutes,
        new=minutes > USUAL_MINUTES,
    )
    broke = _broke_first(programme, found)
    return Block(
        on=on,
        minutes=plan.minutes,
        seconds=plan.seconds,
        steps=_steps(programme, plan, doses=doses, broke=broke),
        children=children,
        left_out=tuple(programme.measures[item].name for item in plan.left_out),
        resting=tuple(
            _resting_line(programme.measures[item].name, one.instead, one.instead_names)
            for item in need
            if item not in doses
            for one in list(every[item].values())[:1]
            if one.instead is not None
        ),
        notes=plan.notes,
    )


def _resting_line(name: str, found: Instead, names: Sequence[str]) -> RestingLine:
    areas = tuple(AREA_WORDS.get(area, area).lower() for area in found.areas)
    return RestingLine(
        name, areas, f"instead {' or '.join(names).lower()}." if names else "leave it out today."
    )


def _balanced(order: Iterable[str]) -> list[str]:
    """The most needed exercises, at most two for one purpose, so that the whole body has its turn."""
    seen: Counter[str] = Counter()
    chosen: list[str] = []
    for item in order:
        purpose = PURPOSE.get(item, item)
        if seen[purpose] < MOST_OF_ONE_PURPOSE and len(chosen) < MOST_EXERCISES:
            seen[purpose] += 1
            chosen.append(item)
    return chosen


def _doses(
    programme: Programme, children: Sequence[ChildLine], found: Sequence[Interpretation]
) -> dict[str, dict[str, ChildDose]]:
    """What each child does in each measure, by measure and child."""
    by_child: dict[tuple[str, str], list[Interpretation]] = {}
    for one in found:
        by_child.setdefault((one.item, one.athlete), []).append(one)
    return {
        item: {
            child.code: _child_dose(programme, spec, child, by_child.get((item, child.code), ()))
            for child in children
        }
        for item, spec in programme.measures.items()
    }


def _child_dose(
    programme: Programme, spec: MeasureSpec, child: ChildLine, lines: Sequence[Interpretation]
) -> ChildDose:
    resting = instead_of(
        spec,
        programme.measures,
        child.resting,
        age=int(child.age),
        rest_everything=programme.areas_blocking_all,
    )
    if resting is not None:
        names = tuple(programme.measures[item].name for item in resting.exercises)
        return ChildDose(None, resting, "", names)
    scored = [line for line in lines if line.latest is not None]
    if not scored:
        return ChildDose(None, None, "")
    # The newest version; of two sides the lower one decides.
    line = min(scored, key=lambda one: (-_on(one).toordinal(), one.latest.value if one.latest else 0.0))
    variant = spec.variant_words.get(line.variant, line.variant.replace("_", " "))
    return ChildDose(starting_dose(spec, line.days), None, variant)


def _on(line: Interpretation) -> date:
    return line.latest.on if line.latest else date.min


def _widest(own: Mapping[str, ChildDose]) -> Dose:
    """The dose that takes longest: a group is done when its last child is."""
    doses = [one.dose for one in own.values() if one.dose is not None]
    longest = max(doses, key=lambda dose: dose.amount)
    return replace(longest, rest_seconds=max(dose.rest_seconds for dose in doses))


def _steps(
    programme: Programme,
    plan: BlockPlan,
    *,
    doses: Mapping[str, Mapping[str, ChildDose]],
    broke: Mapping[str, str],
) -> tuple[BlockStep, ...]:
    steps = []
    for step in plan.steps:
        spec = programme.measures[step.dose.item]
        first = (f"Watch for: {broke[spec.id].lower()}.",) if spec.id in broke else ()
        stops = tuple(f"Stop when {rule}." for rule in spec.stop_rules[:2])
        steps.append(
            BlockStep(
                spec=spec,
                sets=step.sets,
                rest_seconds=step.dose.rest_seconds,
                seconds=step.seconds,
                watch=(*first, *stops),
                cue=spec.text.get("cue", ""),
                children=doses[spec.id],
            )
        )
    return tuple(steps)


def _broke_first(programme: Programme, found: Sequence[Interpretation]) -> dict[str, str]:
    """What broke first most often, in words, by measure."""
    said: dict[str, Counter[str]] = {}
    for one in found:
        said.setdefault(one.item, Counter()).update(day.form_break for day in one.days if day.form_break)
    faults = {
        (measure, criterion.id): criterion.fault or criterion.name
        for shape in programme.shapes.values()
        for measure in shape.holds
        for criterion in shape.criteria
    }
    words = {item: counted.most_common(1)[0][0] for item, counted in said.items() if counted}
    return {item: faults.get((item, word), word.replace("_", " ")) for item, word in words.items()}
