"""A foundation block for one child or a group: where to start with each exercise, and what to do where an area rests.

Amounts come from the latest clean results; all of it is common practice and a coach who sees the children decides.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from assessments.analysis import (
    BEGIN_AGAIN,
    DOSED,
    PURPOSE,
    BlockPlan,
    Dose,
    Instead,
    instead_of,
    interpretations,
    plan_block,
    rest_ended,
    series_parts,
    starting_dose,
    why_no_dose,
)
from assessments.analysis.records import Interpretation, MeasureSpec, Programme, RestSpell
from assessments.report_records import AthleteReport, ChildLine, GroupReport
from athletes.models import AREA_WORDS

MOST_EXERCISES = 6
MOST_OF_ONE_PURPOSE = 2
MOST_NAMES = 4  # children of one line; of more the number is said
USUAL_MINUTES = 15  # a longer block is one that is still new
NEAREST = ("nearly", "not_yet", "not_known")


@dataclass(frozen=True, slots=True)
class ChildDose:
    """One exercise of one child: an amount, or what to do in its place."""

    dose: Dose | None
    instead: Instead | None
    variant: str  # the version that the result was measured in, in words
    instead_names: tuple[str, ...] = ()
    why: str = ""  # the sentence where results are there and none of them counts any more

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
    """A needed exercise that rests and that nobody has an amount for: whose it is, and what they do in its place."""

    name: str
    areas: tuple[str, ...]
    words: str
    who: str  # "" in a block for one child


@dataclass(frozen=True, slots=True)
class UntestedLine:
    """Exercises of which results are there and none counts any more, for nobody in the block."""

    names: tuple[str, ...]
    words: str
    who: str  # "" in a block for one child


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
    untested: tuple[UntestedLine, ...]
    notes: tuple[str, ...]

    @property
    def minutes_needed(self) -> int:
        """Whole minutes, rounded up."""
        return -(-self.seconds // 60)


@dataclass(frozen=True, slots=True)
class _Known:
    """What a block is made from: every line of its children, their rest notes, and how long results last."""

    programme: Programme
    on: date
    children: tuple[ChildLine, ...]
    found: Sequence[Interpretation]
    rests: Mapping[str, Sequence[RestSpell]]  # by child
    weeks: Mapping[str, int]  # by measure: the shortest limit with which a state counts it


def child_block(report: AthleteReport, *, minutes: int) -> Block:
    """A block for one child, what decides for the nearest skills first."""
    asked = [
        (one.requirement.item, one.expiry_weeks) for state in report.skills for one in state.requirements
    ]
    rests = {report.child.code: report.rests}
    known = _Known(
        report.programme, report.on, (report.child,), report.interpretations, rests, _shortest(asked)
    )
    rested = [
        one.requirement.item
        for state in report.skills
        if state.word == "resting"
        for one in state.requirements
        if one.word == "resting"
    ]
    return _block(known, minutes=minutes, need=_needed_by_child(report), rested=rested)


def group_block(report: GroupReport, *, minutes: int) -> Block:
    """One block for a group, what decides most often first; each child has an amount of their own."""
    born = {line.code: line.born_on for line in report.children}
    judged = report.verdicts
    found = interpretations(judged.scores, programme=report.programme, born_on=born, on=report.on)
    need: Counter[str] = Counter()
    for skill in report.summary.skills:
        for item in _trained_by(report.programme, skill.deciding):
            need[item] += skill.deciding_count
    order = [item for item, count in need.most_common() if count]
    asked = [(column.requirement.item, column.expiry_days // 7) for column in judged.columns]
    rests = {child.athlete: child.rests for child in judged.children}
    known = _Known(report.programme, report.on, report.children, found, rests, _shortest(asked))
    rested = [column.requirement.item for q, column in enumerate(judged.columns) if judged.rested[:, q].any()]
    return _block(known, minutes=minutes, need=order, rested=rested)


def _shortest(asked: Iterable[tuple[str, int]]) -> dict[str, int]:
    found: dict[str, int] = {}
    for item, weeks in asked:
        found[item] = min(weeks, found.get(item, weeks))
    return found


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
    named = (item for name in (*deciding, *asked) for item in _trained_by(report.programme, name))
    return list(dict.fromkeys(named))


def _trained_by(programme: Programme, name: str) -> tuple[str, ...]:
    """The exercises behind what decides: a measure is itself, a shape is trained by what holds it."""
    if name in programme.measures:
        return (name,)
    shape = programme.shapes.get(name)
    return tuple(item for item in shape.holds if item in programme.measures) if shape else ()


def _block(known: _Known, *, minutes: int, need: Sequence[str], rested: Sequence[str]) -> Block:
    programme, every = known.programme, _doses(known)
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
    broke = _broke_first(programme, known.found)
    # What rests comes last: it is not done, but what to do in its place is said.
    last = (item for name in rested for item in _trained_by(programme, name))
    missing = {item: every[item] for item in dict.fromkeys((*need, *last)) if item not in doses}
    return Block(
        on=known.on,
        minutes=plan.minutes,
        seconds=plan.seconds,
        steps=_steps(programme, plan, doses=doses, broke=broke),
        children=known.children,
        left_out=tuple(programme.measures[item].name for item in plan.left_out),
        resting=_resting_lines(known, missing),
        untested=_untested_lines(known, {item: own for item, own in every.items() if item not in doses}),
        notes=plan.notes,
    )


def _resting_lines(known: _Known, cells: Mapping[str, Mapping[str, ChildDose]]) -> tuple[RestingLine, ...]:
    """One line for all children in whom the same rests and who do the same in its place."""
    lines = []
    for item, own in cells.items():
        alike: dict[tuple[tuple[str, ...], str], list[str]] = {}
        for code, cell in own.items():
            if cell.instead is not None:
                names = " or ".join(cell.instead_names).lower()
                words = f"instead {names}." if names else "leave it out today."
                areas = tuple(AREA_WORDS.get(area, area).lower() for area in cell.instead.areas)
                alike.setdefault((areas, words), []).append(code)
        name = known.programme.measures[item].name
        lines += [RestingLine(name, *key, _who(known.children, codes)) for key, codes in alike.items()]
    return tuple(lines)


def _untested_lines(known: _Known, cells: Mapping[str, Mapping[str, ChildDose]]) -> tuple[UntestedLine, ...]:
    """One line for all exercises of which the same is true of the same children."""
    alike: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for item, own in cells.items():
        spec = known.programme.measures[item]
        if spec.kind not in DOSED or spec.text.get("gate"):
            continue
        said: dict[str, list[str]] = {}
        for code, cell in own.items():
            if cell.why:
                said.setdefault(cell.why, []).append(code)
        for why, codes in said.items():
            alike.setdefault((why, tuple(codes)), []).append(spec.name)
    return tuple(
        UntestedLine(tuple(names), why, _who(known.children, codes)) for (why, codes), names in alike.items()
    )


def _who(children: Sequence[ChildLine], codes: Sequence[str]) -> str:
    """Whose a line of a group is: all, a few by name, else how many."""
    if len(children) == 1:
        return ""
    if len(codes) == len(children):
        return f"all {len(children)} children"
    if len(codes) > MOST_NAMES:
        return f"{len(codes)} of {len(children)} children"
    return ", ".join(child.name for child in children if child.code in codes)


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


def _doses(known: _Known) -> dict[str, dict[str, ChildDose]]:
    """What each child does in each measure, by measure and child."""
    by_child: dict[tuple[str, str], list[Interpretation]] = {}
    for one in known.found:
        by_child.setdefault((one.item, one.athlete), []).append(one)
    return {
        item: {
            child.code: _child_dose(known, spec, child, by_child.get((item, child.code), ()))
            for child in known.children
        }
        for item, spec in known.programme.measures.items()
    }


def _child_dose(
    known: _Known, spec: MeasureSpec, child: ChildLine, lines: Sequence[Interpretation]
) -> ChildDose:
    programme = known.programme
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
    if not scored or spec.kind not in DOSED:
        return ChildDose(None, None, "")
    present = [line for line in scored if series_parts(line.series)[0] == spec.version]
    if not present:
        return ChildDose(None, None, "", why=f"Last tested by an earlier protocol: {BEGIN_AGAIN}")
    since = rest_ended(known.rests[child.code], frozenset(spec.loads), programme, on=known.on)
    weeks = known.weeks.get(spec.id, programme.rules.expiry_weeks)
    present.sort(key=_newness)
    why = [why_no_dose(line.days, on=known.on, since=since, expiry_weeks=weeks) for line in present]
    counting = [line for line, words in zip(present, why, strict=True) if not words]
    if not counting:
        return ChildDose(None, None, "", why=why[-1])
    # The newest version, of two on one date the lower; of two sides the lower one decides, and both have to count.
    series = counting[-1].series
    sides = {line.side for line in counting if line.series == series}
    if spec.sides and len(sides) < 2:
        other = "right" if "left" in sides else "left"
        return ChildDose(
            None, None, "", why=f"Only one side was tested in time: test the {other} side first."
        )
    doses = [
        starting_dose(spec, line.days, on=known.on, since=since, expiry_weeks=weeks)
        for line in counting
        if line.series == series
    ]
    variant = counting[-1].variant
    words = spec.variant_words.get(variant, variant.replace("_", " "))
    return ChildDose(min(doses, key=lambda dose: dose.amount if dose else 0), None, words)


def _newness(line: Interpretation) -> tuple[date, float]:
    return (line.latest.on, -line.latest.value) if line.latest else (date.min, 0.0)


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
