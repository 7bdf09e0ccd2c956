"""The coach's word for a skill, read from the decisions in order; and which decisions a state allows. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from assessments.analysis.records import CoachMark, CoachWord, SkillWord

DecisionWord = Literal["agree", "not_yet", "override", "learning", "consistent", "reopened", "withdrawn"]

#: What each decision makes of the coach's word.
MEANING: dict[str, CoachWord] = {
    "agree": "learning",
    "override": "learning",
    "learning": "learning",
    "reopened": "learning",
    "consistent": "consistent",
    "not_yet": "",
}


@dataclass(frozen=True, slots=True)
class Offer:
    """One decision that a coach may take now."""

    word: DecisionWord
    label: str
    needs_reason: bool = False
    needs_days: bool = False
    main: bool = False


def standing(words: Sequence[str]) -> int | None:
    """Place of the newest decision of one skill that stands; each 'withdrawn' takes back the one before it."""
    kept = _kept(words)
    return kept[-1] if kept else None


def coach_marks(decisions: Iterable[tuple[str, str, date]]) -> dict[str, CoachMark]:
    """Marks by skill from (skill, word, day) of one child, oldest first.

    A word said again keeps the day on which it was first said.
    """
    said: dict[str, list[tuple[str, date]]] = {}
    for skill, word, on in decisions:
        said.setdefault(skill, []).append((word, on))
    marks = {}
    for skill, rows in said.items():
        kept = [rows[place] for place in _kept([word for word, _ in rows])]
        if kept:
            marks[skill] = _mark(kept)
    return marks


def _kept(words: Sequence[str]) -> list[int]:
    kept: list[int] = []
    for place, word in enumerate(words):
        if word != "withdrawn":
            kept.append(place)
        elif kept:
            kept.pop()
    return kept


def _mark(said: Sequence[tuple[str, date]]) -> CoachMark:
    word, since = MEANING[said[-1][0]], said[-1][1]
    for earlier, on in reversed(said[:-1]):
        if MEANING[earlier] != word:
            break
        since = on
    return CoachMark(word, since)


def offers(state: SkillWord, coach_word: CoachWord) -> tuple[Offer, ...]:
    """The decisions that make sense now. While a rest note touches the skill nothing may be started."""
    if coach_word == "consistent":
        return (Offer("reopened", "Back to learning"),)
    if state == "resting":
        return (Offer("not_yet", "Not yet"),) if coach_word == "learning" else ()
    if coach_word == "learning":
        return (
            Offer("consistent", "Consistent", needs_days=True, main=True),
            Offer("not_yet", "Not yet"),
        )
    consistent = Offer("consistent", "Already consistent", needs_days=True)
    if state == "ready":
        return (
            Offer("agree", "Agree: start it", main=True),
            Offer("not_yet", "Not yet"),
            consistent,
        )
    return (
        Offer("override", "Start it all the same", needs_reason=True),
        Offer("learning", "Already learning it", needs_reason=True),
        consistent,
    )


def problem_with(offer: Offer, *, reason: str, days: tuple[date, ...], today: date) -> str:
    """What is missing for a decision, in words; nothing when it can be taken."""
    if offer.needs_reason and not reason.strip():
        return "Say why in a few words. The reason is kept with the decision."
    if offer.needs_days and len(set(days)) < 2:
        return "Consistent means seen on two different days. Give both dates."
    if any(day > today for day in days):
        return "A day that has not come yet cannot be one on which it was seen."
    if any(day < today - timedelta(days=365) for day in days):
        return "That day is more than a year ago. Look again before calling it consistent."
    return ""
