"""Scores and requirements -> the state of every requirement and skill of every child, in columns.

This is the one calculation behind a child's page and a group's board. `readiness` is its door, `reasons` reads
sentences from it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from assessments.analysis.cells import LIKELY, MET, SHORT, UNKNOWN, Cells, Column, judge_cells
from assessments.analysis.conformity import counts_whole, line_of, z_for
from assessments.analysis.records import (
    ChildFacts,
    Programme,
    RestSpell,
    SkillSpec,
    SkillWord,
)
from assessments.analysis.scoring import Flags, Floats, Ints, Scores, days_of
from assessments.analysis.trend import Histories, histories
from athletes.ages import completed_years

SKILL_WORDS: tuple[SkillWord, ...] = ("resting", "not_known", "not_yet", "nearly", "ready")
RESTING, NOT_KNOWN, NOT_YET, NEARLY, READY = range(5)
CAREFUL_LOADS = frozenset({"wrist", "neck"})


@dataclass(frozen=True, slots=True, eq=False)
class Verdicts:
    """States in columns: N children, K skills, Q requirements (those of one skill side by side)."""

    on: date
    programme: Programme
    children: tuple[ChildFacts, ...]
    skills: tuple[SkillSpec, ...]
    columns: tuple[Column, ...]
    spans: tuple[tuple[int, int], ...]  # columns of each skill
    scores: Scores
    laid: Histories
    state: Ints  # [N, K] index into SKILL_WORDS
    deciding: Ints  # [N, K] column that decides, -1 where none does
    blocked: Ints  # [N, K] first prerequisite that is not consistent, -1 where all are
    decided: Flags  # [N, K] a coach has said that the child learns it, or does it
    too_young: Flags  # [N, K]
    resting: Flags  # [N, K]
    word: Ints  # [N, Q] index into WORDS, before resting and advice
    z: Floats  # [N, Q] distance of the level from the line, in its own spread; NaN where not known
    history: Ints  # [N, Q] line of `laid` that decides, -1 where not known
    must: Ints  # [N, Q]
    confirmed: Flags  # [N, Q]
    advice: Flags  # [N, Q]
    rested: Flags  # [N, Q] an open rest note touches it
    since: Ints  # [N, Q] days before this do not count any more (a rest note ended), 0 where none did
    mean: Floats  # [N, Q]
    variance: Floats  # [N, Q]
    doubled: Flags  # [N, Q] the level leans on a day on which the child chose to stop
    lent: Flags  # [N, Q] scores have expired and only stops are left: a new score starts anew
    joined: Mapping[
        tuple[int, int], Ints
    ]  # by child and column: rows behind a cell that holds harder variants too


def verdicts(
    skills: Sequence[SkillSpec],
    scores: Scores,
    *,
    programme: Programme,
    children: Sequence[ChildFacts],
    on: date,
) -> Verdicts:
    """Judge every child on every skill on a day. Scores of children who are not listed are passed over."""
    skills, children = tuple(skills), tuple(children)
    columns = tuple(_columns(skills, programme))
    laid = histories(scores)
    rested, since = _rests(columns, children, programme, on=on)
    cells = judge_cells(
        columns,
        scores,
        laid,
        athletes=[child.athlete for child in children],
        since=since,
        on=on,
        drift_weeks=programme.rules.drift_weeks,
    )
    years = np.array([_years(child, on) for child in children], dtype=np.int64)
    soft = np.array([column.requirement.soft_under or 0 for column in columns], dtype=np.int64)
    advice = years[:, None] < soft[None, :]
    young = years[:, None] < np.array([skill.min_age for skill in skills], dtype=np.int64)[None, :]
    spans = _spans(columns, len(skills))
    blocked = _blocked(skills, children)
    resting = _resting_skills(skills, spans, children, rested, programme, on=on)
    state, deciding = _skills(cells, columns, spans, advice=advice, young=young, blocked=blocked)
    return Verdicts(
        on=on, programme=programme, children=children, skills=skills, columns=columns, spans=spans, scores=scores,
        laid=laid, state=np.where(resting, RESTING, state), deciding=deciding, blocked=blocked,
        decided=_decided(skills, children), too_young=young,
        resting=resting, word=cells.word, z=cells.z, history=cells.history, must=cells.must,
        confirmed=cells.confirmed, advice=advice, rested=rested, since=since, mean=cells.mean,
        variance=cells.variance, doubled=cells.doubled, lent=cells.lent, joined=cells.joined,
    )  # fmt: skip


def in_force(spell: RestSpell, on: date) -> bool:
    """Resting on that day; the day on which a rest note ended is free again."""
    return spell.began_on <= on and (spell.ended_on is None or spell.ended_on > on)


def touches(spell: RestSpell, areas: frozenset[str], programme: Programme) -> bool:
    """A rest note touches what loads one of its areas, and some areas touch everything."""
    return bool(areas.intersection(spell.areas)) or any(
        area in programme.areas_blocking_all for area in spell.areas
    )


def rest_ended(
    spells: Iterable[RestSpell], areas: frozenset[str], programme: Programme, *, on: date
) -> date | None:
    """The day on which the last rest that touches an area ended, up to and with `on`; None where none did."""
    ended = (
        spell.ended_on
        for spell in spells
        if spell.ended_on is not None and spell.ended_on <= on and touches(spell, areas, programme)
    )
    return max(ended, default=None)


def _columns(skills: Sequence[SkillSpec], programme: Programme) -> list[Column]:
    rules, made = programme.rules, []
    for place, skill in enumerate(skills):
        careful = skill.risk == "high" and not CAREFUL_LOADS.isdisjoint(skill.loads)
        weeks = rules.expiry_weeks_careful if careful else rules.expiry_weeks
        for requirement in skill.requirements:
            spec = programme.item(requirement.item)
            confidence = rules.confidence[skill.risk]
            made.append(
                Column(
                    skill=place,
                    requirement=requirement,
                    spec=spec,
                    error=max(spec.error.sem(requirement.minimum), 1e-9),
                    line=line_of(requirement.minimum, whole=counts_whole(spec)),
                    confidence=confidence,
                    z_needed=z_for(confidence),
                    df=spec.error.df,
                    expiry_days=7 * weeks,
                    two_days=skill.risk == "high",
                    confirm_days=rules.confirm_days,
                    areas=frozenset(skill.loads) | frozenset(spec.loads),
                )
            )
    return made


def _spans(columns: Sequence[Column], count: int) -> tuple[tuple[int, int], ...]:
    owner = np.array([column.skill for column in columns], dtype=np.int64)
    edges = np.searchsorted(owner, np.arange(count + 1))
    return tuple((int(edges[k]), int(edges[k + 1])) for k in range(count))


def _years(child: ChildFacts, on: date) -> int:
    return completed_years(child.born_on, on) if on >= child.born_on else 0


def _rests(
    columns: Sequence[Column], children: Sequence[ChildFacts], programme: Programme, *, on: date
) -> tuple[Flags, Ints]:
    rested = np.zeros((len(children), len(columns)), dtype=np.bool_)
    since = np.zeros((len(children), len(columns)), dtype=np.int64)
    for n, child in enumerate(children):
        if not child.rests:
            continue
        for q, column in enumerate(columns):
            rested[n, q] = any(
                in_force(spell, on) and touches(spell, column.areas, programme) for spell in child.rests
            )
            ended = rest_ended(child.rests, column.areas, programme, on=on)
            since[n, q] = 0 if ended is None else days_of(ended)
    return rested, since


def _resting_skills(
    skills: Sequence[SkillSpec],
    spans: Sequence[tuple[int, int]],
    children: Sequence[ChildFacts],
    rested: Flags,
    programme: Programme,
    *,
    on: date,
) -> Flags:
    """A skill rests when a rest note touches what it loads, or what one of its measures loads."""
    resting = np.zeros((len(children), len(skills)), dtype=np.bool_)
    for n, child in enumerate(children):
        open_spells = [spell for spell in child.rests if in_force(spell, on)]
        if not open_spells:
            continue
        for k, skill in enumerate(skills):
            loads = frozenset(skill.loads)
            touched = any(touches(spell, loads, programme) for spell in open_spells)
            resting[n, k] = touched or rested[n, spans[k][0] : spans[k][1]].any()
    return resting


def _blocked(skills: Sequence[SkillSpec], children: Sequence[ChildFacts]) -> Ints:
    names = {
        name: i for i, name in enumerate(dict.fromkeys(name for skill in skills for name in skill.after))
    }
    done = np.zeros((len(children), len(names)), dtype=np.bool_)
    for n, child in enumerate(children):
        for name, mark in child.words.items():
            if mark.word == "consistent" and name in names:
                done[n, names[name]] = True
    blocked = np.full((len(children), len(skills)), -1, dtype=np.int64)
    for k, skill in enumerate(skills):
        for place in range(len(skill.after) - 1, -1, -1):
            blocked[~done[:, names[skill.after[place]]], k] = place
    return blocked


def _decided(skills: Sequence[SkillSpec], children: Sequence[ChildFacts]) -> Flags:
    place = {skill.id: k for k, skill in enumerate(skills)}
    decided = np.zeros((len(children), len(skills)), dtype=np.bool_)
    for n, child in enumerate(children):
        for name, mark in child.words.items():
            if mark.word and name in place:
                decided[n, place[name]] = True
    return decided


def _skills(
    cells: Cells,
    columns: Sequence[Column],
    spans: Sequence[tuple[int, int]],
    *,
    advice: Flags,
    young: Flags,
    blocked: Ints,
) -> tuple[Ints, Ints]:
    """The weakest link decides: state of each skill before resting, and the column that decides."""
    state = np.full(young.shape, NOT_KNOWN, dtype=np.int64)
    deciding = np.full(young.shape, -1, dtype=np.int64)
    two_days = np.array([column.two_days for column in columns], dtype=np.bool_)
    needed = np.array([column.z_needed for column in columns], dtype=np.float64)
    unconfirmed = (cells.word == MET) & two_days & ~cells.confirmed
    margin = np.clip(np.where(cells.word == UNKNOWN, 0.0, cells.z - needed), -400.0, 400.0)
    # Ordered by word first, a met but unconfirmed requirement between likely and met, then by what is missing.
    weakness = np.where(unconfirmed, 2.5, cells.word) * 1000.0 + margin
    weakness = np.where(advice, np.inf, weakness)
    for k, (begin, end) in enumerate(spans):
        if begin == end or not len(young):
            continue
        least = weakness[:, begin:end].argmin(axis=1) + begin
        word = np.take_along_axis(cells.word, least[:, None], axis=1)[:, 0]
        decides = np.isfinite(np.take_along_axis(weakness, least[:, None], axis=1)[:, 0])
        waits = np.take_along_axis(unconfirmed, least[:, None], axis=1)[:, 0]
        short = (word == SHORT) | (blocked[:, k] >= 0)
        almost = (word == LIKELY) | waits | young[:, k]
        known = np.where(short, NOT_YET, np.where(almost, NEARLY, READY))
        state[:, k] = np.where((word == UNKNOWN) | ~decides, NOT_KNOWN, known)
        deciding[:, k] = np.where(decides, least, -1)
    return state, deciding
