"""The read side's only doors: one child, a group, a test day. Each returns one frozen record.

`athlete_report(athlete, on)` -> AthleteReport
    child            ChildLine: code, name, full_name, group, born_on, age, band, resting (areas with an open rest note)
    on, programme    the date of the reading; the edition in force
    interpretations  every series of the child (`.of(item)` gives those of one measure or shape)
    skills           SkillState in the order of the programme (`.skill(id)` gives one)
    decisions        DecisionLine, newest first (`.decisions_on(skill)`)
    rests            RestSpell, newest first
    steps            item -> BenchmarkStep along the child's birthdays
    interrupted      (day, item, variant, side) -> why tries were interrupted

`group_report(athletes, on)` -> GroupReport
    children         ChildLine in name order
    on, programme
    summary          GroupSummary: counts, expected ready, what decides, what to test, spread
    `.word(code, skill)`   SkillWord of one place          `.coach_word(code, skill)`  the coach's word
    `.deciding(code, skill)`  item or skill that decides   `.state(code, skill)`       the whole SkillState, made when asked
    `.last_on(code)` newest scored day of the child        `.unknown(code)`            how many skills are not known

`day_sheet(day)` -> DaySheet
    day (code), on, children (DayChild: line, present, sore, blocked items), stations (DayStation), entries (DayEntry that
    stand, in order), conflicts (places where more than one entry with evidence stands)

Queries do not grow with the children.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django.utils import timezone

from assessments.analysis import (
    Scores,
    age_and_band,
    benchmark_steps,
    day_scores,
    group_summary,
    in_force,
    interpretations,
    skill_states,
    touches,
    verdicts,
)
from assessments.analysis.records import (
    ChildFacts,
    MeasureSpec,
    Programme,
    RestSpell,
    ShapeSpec,
)
from assessments.frames import trials_frame
from assessments.models import AssessmentDay, Attendance, Result, SkillDecision
from assessments.models.results import EVIDENCE
from assessments.programme import current_programme, programme_of
from assessments.report_records import (
    AthleteReport,
    ChildLine,
    DayChild,
    DayEntry,
    DaySheet,
    DayStation,
    DecisionLine,
    GroupReport,
)
from assessments.skill_words import coach_marks
from athletes.models import Athlete, Group, RestNote


def athlete_report(athlete: Athlete, on: date) -> AthleteReport:
    """Scores, levels, states and decisions of one child as of a day."""
    programme = current_programme()
    facts, lines = _known_about([athlete], on, programme)
    scores = _scores([athlete], programme, on)
    child, line = facts[0], lines[0]
    found = verdicts(tuple(programme.skills.values()), scores, programme=programme, children=facts, on=on)
    return AthleteReport(
        child=line,
        on=on,
        programme=programme,
        interpretations=interpretations(
            scores, programme=programme, born_on={line.code: line.born_on}, on=on
        ),
        skills=skill_states(found, 0),
        decisions=_decision_lines(athlete, on),
        rests=child.rests,
        steps={
            item: benchmark_steps(programme, item, line.born_on)
            for item in (*programme.measures, *programme.shapes)
        },
        interrupted=_interrupted(athlete, on),
    )


def group_report(athletes: Iterable[Athlete], on: date, *, programme: Programme | None = None) -> GroupReport:
    """Every child's states on every skill as of a day, under the current programme unless another one is asked about."""
    children = sorted(athletes, key=lambda one: (one.first_name, one.last_name, one.pk))
    programme = programme or current_programme()
    facts, lines = _known_about(children, on, programme)
    skills = tuple(programme.skills.values())
    scores = _scores(children, programme, on)
    found = verdicts(skills, scores, programme=programme, children=facts, on=on)
    return GroupReport(
        children=lines,
        on=on,
        programme=programme,
        summary=group_summary(found),
        verdicts=found,
        _rows={line.code: n for n, line in enumerate(lines)},
        _skills={skill.id: k for k, skill in enumerate(skills)},
    )


def day_sheet(day: AssessmentDay) -> DaySheet:
    """What one test day asks for and what has come in so far; rest notes as on that day."""
    programme = programme_of(day.edition) if day.edition else current_programme()
    entries = _entries(day)
    places: dict[tuple[str, str, str, str, int, bool], list[DayEntry]] = {}
    for entry in entries:
        if entry.outcome in EVIDENCE:
            key = (entry.athlete, entry.item, entry.variant, entry.side, entry.trial, entry.second)
            places.setdefault(key, []).append(entry)
    stations = tuple(
        DayStation(str(code), item, variant)
        for code, item, variant in day.stations.values_list("code", "measure__slug", "variant")
    )
    return DaySheet(
        day=str(day.code),
        on=day.held_on,
        programme=programme,
        children=_day_children(day, programme),
        stations=stations,
        entries=entries,
        conflicts=tuple(tuple(found) for found in places.values() if len(found) > 1),
    )


def _scores(athletes: Iterable[Athlete], programme: Programme, on: date) -> Scores:
    codes = {athlete.pk: str(athlete.code) for athlete in athletes}
    trials = trials_frame(Result.objects.filter(athlete__in=list(codes)), athletes=codes)
    return day_scores(trials, programme, on=on)


def _interrupted(athlete: Athlete, on: date) -> dict[tuple[str, str, str, str], list[str]]:
    """Why tries of a child were interrupted, where a reason was kept; they are no evidence and may be repeated."""
    rows = Result.objects.filter(athlete=athlete, outcome="interrupted", day__held_on__lte=on).current()
    found: dict[tuple[str, str, str, str], list[str]] = {}
    fields = ("day__code", "measure__slug", "variant", "side", "reason")
    for day, item, variant, side, why in (
        rows.exclude(reason="").order_by("received_at", "pk").values_list(*fields)
    ):
        found.setdefault((str(day), item, variant, side), []).append(why)
    return found


def _known_about(
    athletes: list[Athlete], on: date, programme: Programme
) -> tuple[tuple[ChildFacts, ...], tuple[ChildLine, ...]]:
    keys = [athlete.pk for athlete in athletes]
    rests = rests_of(keys)
    said: dict[int, list[tuple[str, str, date]]] = {}
    for key, skill, word, at in (
        SkillDecision.objects.filter(athlete__in=keys)
        .in_order()
        .values_list("athlete_id", "skill__slug", "word", "decided_at")
    ):
        if (day := timezone.localdate(at)) <= on:
            said.setdefault(key, []).append((skill, word, day))
    facts = tuple(
        ChildFacts(str(one.code), one.born_on, rests.get(one.pk, ()), coach_marks(said.get(one.pk, ())))
        for one in athletes
    )
    groups = dict(Group.objects.values_list("pk", "name"))
    lines = tuple(
        _line(one, child, groups, programme=programme, on=on)
        for one, child in zip(athletes, facts, strict=True)
    )
    return facts, lines


def rests_of(keys: list[int]) -> dict[int, tuple[RestSpell, ...]]:
    spells: dict[int, list[RestSpell]] = {}
    notes = RestNote.objects.meant().filter(athlete__in=keys).order_by("-opened_on", "-pk")
    for key, areas, began, ended in notes.values_list("athlete_id", "areas", "opened_on", "ended_on"):
        spells.setdefault(key, []).append(RestSpell(tuple(areas), began, ended))
    return {key: tuple(found) for key, found in spells.items()}


def _line(
    athlete: Athlete, child: ChildFacts, groups: Mapping[int, str], *, programme: Programme, on: date
) -> ChildLine:
    age, band = age_and_band(athlete.born_on, on, programme.bands)
    areas = [area for spell in child.rests if in_force(spell, on) for area in spell.areas]
    return ChildLine(
        code=child.athlete,
        name=athlete.short_name,
        full_name=athlete.full_name,
        group=groups.get(athlete.group_id, "") if athlete.group_id else "",
        born_on=athlete.born_on,
        age=age,
        band=band,
        resting=tuple(dict.fromkeys(areas)),
    )


def _decision_lines(athlete: Athlete, on: date) -> tuple[DecisionLine, ...]:
    rows = SkillDecision.objects.filter(athlete=athlete).order_by("-decided_at", "-pk")
    labels = dict(SkillDecision.Word.choices)
    fields: tuple[Any, ...] = (
        "skill__slug",
        "word",
        "reason",
        "decided_at",
        "decided_by__name",
        "state_shown",
    )
    return tuple(
        DecisionLine(skill, word, str(labels[word]), reason, timezone.localdate(at), by or "", shown)
        for skill, word, reason, at, by, shown in rows.values_list(*fields)
        if timezone.localdate(at) <= on
    )


def _entries(day: AssessmentDay) -> tuple[DayEntry, ...]:
    rows = Result.objects.for_day(day).current().order_by("received_at", "pk")
    fields: tuple[Any, ...] = (
        "code", "athlete__code", "measure__slug", "variant", "side", "trial", "value", "levels", "outcome", "at_once",
        "second", "late", "replaces", "judge__name", "form_break",
    )  # fmt: skip
    return tuple(
        DayEntry(
            code=str(code), athlete=str(athlete), item=item, variant=variant, side=side, trial=trial, value=value,
            levels=levels, outcome=outcome, at_once=at_once, second=second, late=late, corrected=bool(replaces),
            judge=judge or "", form_break=form_break,
        )
        for code, athlete, item, variant, side, trial, value, levels, outcome, at_once, second, late, replaces, judge,
        form_break in rows.values_list(*fields)
    )  # fmt: skip


def _day_children(day: AssessmentDay, programme: Programme) -> tuple[DayChild, ...]:
    """Children of the day's groups and whoever has an attendance line, lines first in their order."""
    lines = {line.athlete_id: line for line in Attendance.objects.filter(day=day).select_related("athlete")}
    others = (
        Athlete.objects.training(day.held_on)
        .filter(group__in=day.groups.values("pk"))
        .exclude(pk__in=list(lines))
        .in_name_order()
    )
    athletes = [*(line.athlete for line in lines.values()), *others]
    rests, groups = (
        rests_of([athlete.pk for athlete in athletes]),
        dict(Group.objects.values_list("pk", "name")),
    )
    items: tuple[MeasureSpec | ShapeSpec, ...] = (*programme.measures.values(), *programme.shapes.values())
    found = []
    for athlete in athletes:
        open_spells = [one for one in rests.get(athlete.pk, ()) if in_force(one, day.held_on)]
        blocked = tuple(
            item.id
            for item in items
            if any(touches(spell, frozenset(item.loads), programme) for spell in open_spells)
        )
        facts = ChildFacts(str(athlete.code), athlete.born_on, rests.get(athlete.pk, ()))
        there = lines.get(athlete.pk)
        found.append(
            DayChild(
                child=_line(athlete, facts, groups, programme=programme, on=day.held_on),
                present=there.present if there else None,
                sore=there.sore if there else Attendance.Answer.NOT_ASKED.value,
                blocked=blocked,
            )
        )
    return tuple(found)
