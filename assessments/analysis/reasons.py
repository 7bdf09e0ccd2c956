"""Columns of verdicts -> records that say in plain sentences what was found, how sure it is, and what would help."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from assessments.analysis.cells import WORDS, Column, admissible
from assessments.analysis.conformity import guard_factor, normal_share
from assessments.analysis.must_haves import MISSING, SEEN_ONCE, SEEN_TWICE
from assessments.analysis.records import (
    CoachMark,
    MeasureSpec,
    PrerequisiteState,
    Requirement,
    RequirementState,
    RequirementWord,
    ShapeSpec,
    SkillSpec,
    SkillState,
)
from assessments.analysis.scoring import SIDES, date_of, days_of
from assessments.analysis.verdicts import NEARLY, NOT_KNOWN, NOT_YET, RESTING, SKILL_WORDS, Verdicts

#: Within this many seconds of the line a time taken with many clocks asks for a single try.
CLOSE_SECONDS = 2.0
MANY_CLOCKS = 4
#: A next score further above the level than this many of its standard deviations is not held out to anybody.
FAR = 2.0


@dataclass(frozen=True, slots=True)
class _Facts:
    """What stands behind one requirement of one child."""

    column: Column
    word: RequirementWord
    z: float
    mean: float
    variance: float
    value: float
    side: int
    series: str
    on: date | None
    days: int
    at_least: bool
    at_once: int
    must: int
    waits: bool  # met, but a second day has to confirm it
    since: int  # days before this do not count any more
    harder: bool  # the series is of a harder variant than the one asked for
    doubled: bool  # the level leans on a day on which the child chose to stop
    lent: bool  # scores have expired and only stops are left: a new score starts anew
    late: float  # seconds taken off the newest score because several clocks stop late


def skill_states(verdicts: Verdicts, child: int) -> tuple[SkillState, ...]:
    """Every skill of one child, by place in `verdicts.children`."""
    return tuple(skill_state(verdicts, child, k) for k in range(len(verdicts.skills)))


def skill_state(verdicts: Verdicts, child: int, skill: int) -> SkillState:
    """One skill of one child, with its requirements, in words."""
    spec, known = verdicts.skills[skill], verdicts.children[child]
    begin, end = verdicts.spans[skill]
    found = [_facts(verdicts, child, q) for q in range(begin, end)]
    requirements = tuple(_requirement(facts, verdicts.on) for facts in found)
    state, column = int(verdicts.state[child, skill]), int(verdicts.deciding[child, skill])
    chosen = found[column - begin] if column >= 0 else None
    mark = known.words.get(spec.id, CoachMark(""))
    waits_for_skill = state == NOT_YET and chosen is not None and chosen.word != "not_yet"
    before = spec.after[verdicts.blocked[child, skill]] if waits_for_skill else ""
    deciding = before or (chosen.column.requirement.item if chosen else "")
    return SkillState(
        athlete=known.athlete,
        skill=spec.id,
        word=SKILL_WORDS[state],
        requirements=requirements,
        prerequisites=tuple(_prerequisite(known.words.get(name), name) for name in spec.after),
        deciding="" if state == RESTING else deciding,
        reason=_skill_reason(verdicts, spec, state, chosen, before),
        joint_bound=_joint_bound(requirements, found),
        age_note=f"Usually from {spec.min_age}." if verdicts.too_young[child, skill] else "",
        coach_word=mark.word,
        coach_since=mark.since,
    )


def _requirement(facts: _Facts, today: date) -> RequirementState:
    known = not math.isnan(facts.z)
    return RequirementState(
        requirement=facts.column.requirement,
        word=facts.word,
        probability=normal_share(facts.z) if known else None,
        confidence=facts.column.confidence,
        value=facts.value if facts.on is not None else None,
        side=SIDES[facts.side],
        on=facts.on,
        weeks_old=None if facts.on is None else (today - facts.on).days / 7.0,
        days=facts.days,
        at_least=facts.at_least,
        reason=_reason(facts, today),
        one_more=_one_more(facts),
        series=facts.series,
        since=date_of(facts.since) if facts.since else None,
        expiry_weeks=facts.column.expiry_days // 7,
    )


def figure(spec: MeasureSpec | ShapeSpec, value: float, *, at_least: bool = False) -> str:
    """A value with its unit in words, such as 26 s, at least 60 s, 7 of 10; 'not known' for none."""
    if not math.isfinite(value):
        return "not known"
    number = f"{value:.0f}" if float(value).is_integer() else f"{value:.1f}"
    top = {"of_5": " of 5", "of_10": " of 10", "reps": "", "count": ""}
    unit = top.get(spec.unit, f" {spec.unit}" if spec.unit else "")
    return f"{'at least ' if at_least else ''}{number}{unit}"


def must_have_names(spec: MeasureSpec | ShapeSpec, requirement: Requirement) -> str:
    """Criteria that are wanted by themselves, whatever the total; "" where there are none."""
    criteria = spec.criteria if isinstance(spec, ShapeSpec) else ()
    return ", ".join(one.name for one in criteria if one.id in requirement.must_have)


def _facts(verdicts: Verdicts, child: int, q: int) -> _Facts:
    column, scores, laid = verdicts.columns[q], verdicts.scores, verdicts.laid
    line = int(verdicts.history[child, q])
    known = line >= 0
    if not known:
        line = _newest_line(verdicts, child, q)
    word: RequirementWord = WORDS[verdicts.word[child, q]]
    if verdicts.advice[child, q]:
        word = "advice"
    if verdicts.rested[child, q]:
        word = "resting"
    waits = word == "met" and column.two_days and not verdicts.confirmed[child, q]
    if line < 0:
        nothing = (math.nan, math.nan, math.nan, math.nan)
        return _Facts(
            column, word, *nothing, 0, "", None, 0, False, 1, SEEN_TWICE, False, 0, False, False, False, 0.0
        )
    rows = verdicts.joined.get((child, q), laid.row[line][laid.seen[line]])
    rows = rows[scores.on[rows] >= verdicts.since[child, q]] if known else rows
    harder = [
        admissible(column.spec, column.requirement, scores.series_names[code]) == "harder"
        for code in scores.series[rows]
    ]
    telling = rows[~((scores.at_least[rows] | harder) & (scores.held[rows] < column.line))]
    newest = telling[-1] if len(telling) else rows[-1]
    series = scores.series_names[scores.series[newest]]
    return _Facts(
        column=column, word=word, z=float(verdicts.z[child, q]), mean=float(verdicts.mean[child, q]),
        variance=float(verdicts.variance[child, q]), value=float(scores.value[newest]),
        side=int(scores.side[newest]), series=series,
        on=date_of(scores.on[newest]), days=len(telling), at_least=bool(scores.at_least[newest]),
        at_once=int(scores.at_once[newest]), must=int(verdicts.must[child, q]), waits=waits,
        since=int(verdicts.since[child, q]),
        harder=admissible(column.spec, column.requirement, series) == "harder", doubled=bool(verdicts.doubled[child, q]),
        lent=bool(verdicts.lent[child, q]), late=float(scores.late[newest]),
    )  # fmt: skip


def _newest_line(verdicts: Verdicts, child: int, q: int) -> int:
    """The series whose evidence is newest although it does not count, to say why; -1 when there is none."""
    scores, laid, column = verdicts.scores, verdicts.laid, verdicts.columns[q]
    name, item = verdicts.children[child].athlete, column.requirement.item
    if name not in scores.athletes or item not in scores.items:
        return -1
    first = scores.start[laid.series]
    mine = (scores.athlete[first] == scores.athletes.index(name)) & (
        scores.item[first] == scores.items.index(item)
    )
    lines = [
        line for line in mine.nonzero()[0].tolist()
        if admissible(column.spec, column.requirement, scores.series_names[scores.series[first[line]]])
    ]  # fmt: skip
    return max(lines, key=lambda line: int(laid.on[line].max()), default=-1)


def _reason(facts: _Facts, today: date) -> str:
    column = facts.column
    asked = f"{column.spec.name} asks for {figure(column.spec, column.requirement.minimum)}"
    if facts.on is None:
        return f"{asked}; not seen yet."
    shown = f"{figure(column.spec, facts.value, at_least=facts.at_least)} on {_day(facts.on)}{_side(facts)}"
    if facts.word == "resting":
        return f"{asked}; {shown}. Paused by a rest note."
    if math.isnan(facts.z):
        return f"{asked}; {shown} {_why_unknown(facts, facts.on, today)}."
    if facts.word == "advice":
        return (
            f"{asked}; {shown}. Advice only under {column.requirement.soft_under}: it is too noisy to decide."
        )
    sure = f"{_share(normal_share(facts.z))} sure, {_share(column.confidence)} asked for"
    return f"{asked}; {shown}, {sure}.{_late_note(facts)}{_must_note(facts)}"


def _late_note(facts: _Facts) -> str:
    if facts.late <= 0.0:
        return ""
    others = "1 other" if facts.at_once == 2 else f"{facts.at_once - 1} others"
    return f" Timed with {others}: {facts.late:.1f} s were taken off, because several clocks stop late."


def _taken_off(facts: _Facts) -> str:
    over = facts.late > 0.0 and facts.value >= facts.column.line
    return f": {facts.late:.1f} s are taken off, because several clocks stop late" if over else ""


def _must_note(facts: _Facts) -> str:
    names = _must_names(facts.column)
    if facts.must == MISSING:
        return f" {names} not yet on their own."
    if facts.must == SEEN_ONCE:
        return f" {names} on their own once; it takes two days or two coaches."
    if facts.waits:
        return f" Met on one day; a second one {facts.column.confirm_days} or more days apart confirms it."
    return ""


def _must_names(column: Column) -> str:
    return must_have_names(column.spec, column.requirement) or "Must-haves"


def _why_unknown(facts: _Facts, seen_on: date, today: date) -> str:
    if not facts.days:
        if facts.harder:
            return "was in a harder version, so it says nothing yet about the one asked for"
        return f"may have been more, so it says nothing yet{_taken_off(facts)}"
    if days_of(seen_on) < facts.since:
        return f"was before the rest that ended on {_day(date_of(facts.since))}"
    if (today - seen_on).days > facts.column.expiry_days:
        return f"is more than {facts.column.expiry_days // 7} weeks old"
    return "counts, but the other side has no score that still does"


def _one_more(facts: _Facts) -> str:
    """What one more test would do, from the same filter run one step on."""
    column, spec = facts.column, facts.column.spec
    if facts.word in ("resting", "advice"):
        return ""
    if math.isnan(facts.z):
        return f"A test would start it: {_first_test(facts)}"
    if facts.must != SEEN_TWICE and facts.z >= column.z_needed:
        times = "once more" if facts.must == SEEN_ONCE else "on two days"
        return f"Wanted on their own {times}: {_must_names(column)}."
    if facts.waits:
        least = max(step_up(column.line, spec), step_up(_needed(facts), spec))
        own = f", with {_must_names(column)} on their own" if column.requirement.must_have else ""
        return (
            f"A day with {figure(spec, least)} or more{_how(facts)}{own}, {column.confirm_days} or more days apart, "
            "would confirm it."
        )
    if (
        spec.kind == "hold"
        and facts.at_once > MANY_CLOCKS
        and abs(facts.value - column.line) <= CLOSE_SECONDS
    ):
        return f"Timed with {facts.at_once - 1} others and close to the line: take it once alone."
    return _next_score(facts)


def _how(facts: _Facts) -> str:
    """How a score has to be taken to count as much as is said."""
    spec = facts.column.spec
    each = " on each side" if facts.column.requirement.both_sides and spec.sides else ""
    version = " in the version asked for" if facts.harder else ""
    return f"{each}{version}{', timed alone' if spec.kind == 'hold' and facts.at_once > 1 else ''}"


def _first_test(facts: _Facts) -> str:
    """What the first day of a new line would have to bring."""
    column, spec = facts.column, facts.column.spec
    enough = step_up(column.line + _factor(column) * column.error, spec)
    if spec.cap is not None and enough > spec.cap:
        return "it would take more than one."
    wanted = f"{figure(spec, enough)} or more{_how(facts)}"
    again = f"a second day {column.confirm_days} or more days apart"
    if column.requirement.must_have:
        times = f"on that day and {again}" if column.two_days else "on two days or for two coaches"
        return f"{wanted}, with {_must_names(column)} on their own {times}, would be enough."
    return (
        f"{wanted}, and {again} that keeps it met, would be enough."
        if column.two_days
        else f"{wanted} would be enough."
    )


def _factor(column: Column, *, doubled: bool = False) -> float:
    """Standard errors above the line that the confidence asks for, with twice the doubt where a line leans on stops."""
    confidence = (1.0 + column.confidence) / 2.0 if doubled else column.confidence
    return guard_factor(confidence, column.df)


def _next_score(facts: _Facts) -> str:
    column, spec = facts.column, facts.column.spec
    enough = step_up(_needed(facts), spec)
    musts = column.requirement.must_have
    if facts.word == "met":
        if column.two_days:
            enough = max(enough, step_up(column.line, spec))
        always = enough <= 0 and spec.kind != "distance" and not musts
        own = f", with {_must_names(column)} on their own," if musts else ""
        score = (
            "any score"
            if always
            else f"{figure(spec, max(enough, 0.0) if musts else enough)} or more{_how(facts)}{own}"
        )
        return f"Next test: {score} would keep it met."
    surprise = facts.mean + FAR * math.sqrt(facts.variance + column.error**2)
    if (spec.cap is not None and enough > spec.cap) or enough > surprise:
        return "One more test will hardly settle it; it takes several."
    if not musts:
        return f"Next test: {figure(spec, enough)} or more{_how(facts)} would meet it."
    times = {MISSING: " on two days or for two coaches", SEEN_ONCE: "", SEEN_TWICE: ""}[facts.must]
    return f"Next test: {figure(spec, enough)} or more, with {_must_names(column)} on their own{times}, would meet it."


def _needed(facts: _Facts) -> float:
    """The score today that would bring the level just to the confidence asked for."""
    if facts.lent:
        return facts.column.line + _factor(facts.column) * facts.column.error
    gain = facts.variance / (facts.variance + facts.column.error**2)
    left = math.sqrt((1.0 - gain) * facts.variance)
    wanted = facts.column.line + _factor(facts.column, doubled=facts.doubled) * left
    return facts.mean + (wanted - facts.mean) / gain


def step_up(value: float, spec: MeasureSpec | ShapeSpec) -> float:
    """The next step upwards, as this measure is written."""
    step = spec.precision if isinstance(spec, MeasureSpec) else 1.0
    return math.ceil(value / step - 1e-9) * step


def _skill_reason(verdicts: Verdicts, spec: SkillSpec, state: int, chosen: _Facts | None, before: str) -> str:
    if state == RESTING:
        return "A rest note touches what this loads."
    if before:
        names = {skill.id: skill.name for skill in verdicts.skills}
        return f"{names.get(before, before)} comes first and is not marked consistent."
    if chosen is None:
        return "Nothing that is measured decides this at this age; the coach's eye does."
    reason = _reason(chosen, verdicts.on)
    if state == NOT_KNOWN:
        return f"Not enough is known. {reason}"
    if state == NEARLY and chosen.word == "met" and not chosen.waits:
        return f"All requirements are met; the skill is usually from {spec.min_age}."
    return reason


def _joint_bound(requirements: tuple[RequirementState, ...], found: Sequence[_Facts]) -> float | None:
    """Chance that all hold is at least 1 - sum(1 - p) (Bonferroni; no independence assumed).

    None where a chance is missing, or a must-have is, which has no chance.
    """
    asked = [
        (one.probability, facts.must)
        for one, facts in zip(requirements, found, strict=True)
        if one.word != "advice"
    ]
    known = [p for p, must in asked if p is not None and must == SEEN_TWICE]
    if not asked or len(known) < len(asked):
        return None
    return max(0.0, 1.0 - sum(1.0 - p for p in known))


def _prerequisite(mark: CoachMark | None, skill: str) -> PrerequisiteState:
    consistent = mark is not None and mark.word == "consistent"
    return PrerequisiteState(skill, consistent, mark.since if mark is not None and consistent else None)


def _side(facts: _Facts) -> str:
    return f", {SIDES[facts.side]} side" if SIDES[facts.side] else ""


def _share(p: float) -> str:
    """Whole per cent, never 0 or 100: nothing measured is certain."""
    return f"{min(max(round(100 * p), 1), 99)} %"


def _day(on: date) -> str:
    return f"{on.day} {on:%b %Y}"
