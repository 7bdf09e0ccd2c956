"""Does 'ready to try' mean anything? What became of children in each state, to judge the rules and not the coaches."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils import timezone

from assessments.analysis import (
    SKILL_WORDS,
    Followed,
    StateOutcome,
    day_scores,
    outcomes_by_state,
    says_something,
    verdicts,
)
from assessments.analysis.records import ChildFacts, Programme, RestSpell
from assessments.frames import trials_frame
from assessments.models import AssessmentDay, Result, SkillDecision
from assessments.programme import current_programme
from assessments.skill_words import coach_marks
from athletes.models import Athlete, RestNote

WEEKS_BACK = 52
MOST_DATES = 12
ENROLLED = ("code", "born_on", "joined_on", "left_on")


@dataclass(frozen=True, slots=True)
class Said:
    """One decision of a coach: about which skill, what, when, and what the app had shown."""

    skill: str
    word: str
    on: date
    shown: str


@dataclass(frozen=True, slots=True)
class Enrolled:
    """From when to when a child is in the club."""

    code: str
    born_on: date
    joined_on: date
    left_on: date | None  # the first day without them


@dataclass(frozen=True, slots=True)
class Outcomes:
    """Later outcomes by state: under the present rules on past test days, and as it was shown at decisions."""

    dates: tuple[date, ...]
    rules: tuple[StateOutcome, ...]
    sentence: str
    shown: tuple[StateOutcome, ...]  # only where a coach decided
    decisions: int  # behind `shown`


def outcomes(on: date) -> Outcomes:
    """Every child's states after the test days of a year, by the present edition, and what a coach said later."""
    programme = current_programme()
    dates = _dates(on)
    said = _said()
    children = [
        Enrolled(str(code), *days) for code, *days in Athlete.objects.in_name_order().values_list(*ENROLLED)
    ]
    followed = tuple(_by_rules(programme, dates, said, children=children))
    rules = outcomes_by_state(followed, on)
    shown = tuple(_as_shown(said, {one.code: one.left_on for one in children}))
    return Outcomes(dates, rules, says_something(rules), outcomes_by_state(shown, on), len(shown))


def _dates(on: date) -> tuple[date, ...]:
    """Dates of test days, newest last; of many, every second or third, so that the year stays covered."""
    held = AssessmentDay.objects.filter(
        held_on__gt=on - timedelta(weeks=WEEKS_BACK), held_on__lte=on, familiarisation=False
    )
    found = sorted({*held.exclude(status=AssessmentDay.Status.PLANNED).values_list("held_on", flat=True)})
    step = -(-len(found) // MOST_DATES) or 1
    return tuple(found[::-1][::step][::-1])


def _said() -> dict[str, list[Said]]:
    rows = SkillDecision.objects.in_order().values_list(
        "athlete__code", "skill__slug", "word", "decided_at", "state_shown"
    )
    said: dict[str, list[Said]] = {}
    for code, skill, word, at, shown in rows:
        said.setdefault(str(code), []).append(Said(skill, word, timezone.localdate(at), shown))
    return said


def _by_rules(
    programme: Programme,
    dates: Sequence[date],
    said: Mapping[str, list[Said]],
    *,
    children: Sequence[Enrolled],
) -> Iterator[Followed]:
    """What the present rules say about every child who trained on each date, with the coach's words of that date."""
    trials = trials_frame(Result.objects.all())
    rests = _rests()
    skills = tuple(programme.skills.values())
    consistent = {code: _consistent_on(words) for code, words in said.items()}
    left = {one.code: one.left_on for one in children}
    for on in dates:
        facts = tuple(
            _facts(one.code, one.born_on, rests=rests, said=said, on=on)
            for one in children
            if one.joined_on <= on and (one.left_on is None or one.left_on > on)
        )
        found = verdicts(
            skills, day_scores(trials, programme, on=on), programme=programme, children=facts, on=on
        )
        for row, child in enumerate(facts):
            later = consistent.get(child.athlete, {})
            for column, skill in enumerate(skills):
                word = SKILL_WORDS[int(found.state[row, column])]
                yield Followed(child.athlete, skill.id, word, on, later.get(skill.id), left[child.athlete])


def _facts(
    code: str,
    born_on: date,
    *,
    rests: Mapping[str, tuple[RestSpell, ...]],
    said: Mapping[str, list[Said]],
    on: date,
) -> ChildFacts:
    words = [(one.skill, one.word, one.on) for one in said.get(code, ()) if one.on <= on]
    return ChildFacts(code, born_on, rests.get(code, ()), coach_marks(words))


def _rests() -> dict[str, tuple[RestSpell, ...]]:
    rows = RestNote.objects.meant().order_by("-opened_on", "-pk")
    spells: dict[str, tuple[RestSpell, ...]] = {}
    for code, areas, began, ended in rows.values_list("athlete__code", "areas", "opened_on", "ended_on"):
        spells[str(code)] = (*spells.get(str(code), ()), RestSpell(tuple(areas), began, ended))
    return spells


def _consistent_on(words: Iterable[Said]) -> dict[str, date]:
    """The day since which each skill is consistent, as the words stand now; what was taken back is not there."""
    marks = coach_marks([(one.skill, one.word, one.on) for one in words])
    return {skill: mark.since for skill, mark in marks.items() if mark.word == "consistent" and mark.since}


def _as_shown(said: Mapping[str, list[Said]], left: Mapping[str, date | None]) -> Iterator[Followed]:
    """The state that stood on the page when a coach decided, for decisions about starting."""
    for code, words in said.items():
        later = _consistent_on(words)
        for one in words:
            if one.word in ("agree", "override", "not_yet") and one.shown in SKILL_WORDS:
                yield Followed(code, one.skill, one.shown, one.on, later.get(one.skill), left.get(code))
