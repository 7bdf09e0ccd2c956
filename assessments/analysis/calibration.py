"""Does 'ready to try' mean anything? Later outcomes counted for each state that the app had suggested.

For the director, to judge the rules and not the coaches. Without a difference between the states the
thresholds say nothing, whatever their arithmetic.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from assessments.analysis.censored import survival
from assessments.analysis.records import SkillWord
from assessments.analysis.reliability import wilson
from assessments.analysis.samples import Interval

WEEKS_FOLLOWED = 8
CHILDREN_TO_COMPARE = 10  # different ones, in each state
ORDER: tuple[SkillWord, ...] = ("ready", "nearly", "not_yet", "not_known", "resting")


@dataclass(frozen=True, slots=True)
class Followed:
    """A suggestion for one skill of one child and what came of it."""

    athlete: str
    skill: str
    word: SkillWord
    on: date
    consistent_on: date | None  # when a coach marked the skill consistent, None so far
    left_on: date | None = None  # when the child left the club; nothing is known from then on


@dataclass(frozen=True, slots=True)
class StateOutcome:
    """How often a skill came within the weeks that are followed, while one state stood."""

    word: SkillWord
    followed: int  # skills of children, to the end: came, or the state stood for all the weeks without it
    children: int  # different children behind `followed`
    consistent: int
    waiting: int  # not followed long enough yet
    moved: int  # the suggestion changed before the weeks were over
    left: int  # the child left the club before the weeks were over
    # That came, of all, each counted for as long as it was seen; None when nobody was seen to the end.
    share: float | None
    interval: Interval | None  # of the share, 95 %, as from so many children and not skills


@dataclass(frozen=True, slots=True)
class _Spell:
    """A state of one skill of one child from its first day to when it was last seen to stand."""

    athlete: str
    days: int
    end: Literal["came", "stood", "waiting", "moved", "left"]


def outcomes_by_state(
    found: Iterable[Followed], on: date, *, weeks: int = WEEKS_FOLLOWED
) -> tuple[StateOutcome, ...]:
    """Counts, shares and intervals by state, 'ready' first.

    Of each child, skill and state the first spell counts: from the first suggestion to the day on which another was
    found. So no two states share a day or a success, and a child looked at every week does not count every week. A word of
    the day of the change belongs to the state before. A skill that was consistent already is left out. A spell is followed
    for `weeks`. One whose weeks are not over, that ended or whose child left counts for as long as it stood: share =
    1 - S(weeks) by Kaplan & Meier 1958. Its interval is Wilson's on S(1 - S) / Greenwood's variance skills (Rothman 1978, J
    Chronic Dis 31:557), times sum(m) / sum(m^2) for m skills of a child, each by the part of the weeks that it was seen: as
    if all skills of one child went the same way (Kish 1965, Survey Sampling: design effect with correlation 1). So it is
    never as from more than the different children, (sum m)^2 / sum(m^2).

    Limits: the share says what would come if the state stood for all the weeks and who moved on were like who stayed.
    They are not alike: who moves from nearly to ready is closer to the skill, who falls back from ready is further from it.
    Both make nearly look lower and ready higher, so a difference is rather too large. Leaving must have nothing to do
    with the skill. A share is no proof: coaches choose whom they let try.
    """
    looks: dict[tuple[str, str], list[Followed]] = {}
    for one in sorted(found, key=lambda one: one.on):
        if one.on <= on:
            looks.setdefault((one.athlete, one.skill), []).append(one)
    spells: dict[SkillWord, list[_Spell]] = {word: [] for word in ORDER}
    for same in looks.values():
        for place, first in _first_of_each(same):
            changed = next((one.on for one in same[place:] if one.word != first.word), None)
            spells[first.word].append(_spell(first, changed, on, weeks))
    return tuple(_outcome(word, spells[word], weeks) for word in ORDER)


def _first_of_each(looks: Sequence[Followed]) -> list[tuple[int, Followed]]:
    """The first look in each state, with its place, that was no skill or child too late."""
    first: dict[SkillWord, int] = {}
    for place, one in enumerate(looks):
        already = one.consistent_on is not None and one.consistent_on <= one.on
        gone = one.left_on is not None and one.left_on <= one.on
        if not already and not gone:
            first.setdefault(one.word, place)
    return [(place, looks[place]) for place in first.values()]


def _spell(one: Followed, changed: date | None, on: date, weeks: int) -> _Spell:
    end = one.on + timedelta(weeks=weeks)
    last = min(end, on, one.left_on or date.max, changed or date.max)
    if one.consistent_on is not None and one.consistent_on <= last:
        return _Spell(one.athlete, (one.consistent_on - one.on).days, "came")
    days = (last - one.on).days
    if last == end:
        return _Spell(one.athlete, days, "stood")
    if last == one.left_on:
        return _Spell(one.athlete, days, "left")
    return _Spell(one.athlete, days, "moved" if last == changed else "waiting")


def _outcome(word: SkillWord, spells: Sequence[_Spell], weeks: int) -> StateOutcome:
    count = Counter(spell.end for spell in spells)
    to_the_end = [spell for spell in spells if spell.end in ("came", "stood")]
    share, interval = _share(spells, to_the_end, weeks)
    return StateOutcome(
        word=word,
        followed=len(to_the_end),
        children=len({spell.athlete for spell in to_the_end}),
        consistent=count["came"],
        waiting=count["waiting"],
        moved=count["moved"],
        left=count["left"],
        share=share,
        interval=interval,
    )


def _share(
    spells: Sequence[_Spell], to_the_end: Sequence[_Spell], weeks: int
) -> tuple[float | None, Interval | None]:
    """Share by the last day that is followed, and its interval; None where nobody was seen to the end without it."""
    came = sum(spell.end == "came" for spell in to_the_end)
    if not to_the_end:
        return None, None
    if not came or len(to_the_end) == len(spells):
        count = _as_children(len(to_the_end), to_the_end, weeks)
        return came / len(to_the_end), wilson(came / len(to_the_end) * count, count)
    last = survival([spell.days for spell in spells], [spell.end == "came" for spell in spells])[-1]
    share = 1.0 - last.share
    if share == 1.0:  # no variance to take the number of skills from
        count = _as_children(len(to_the_end), to_the_end, weeks)
    elif came == len(to_the_end):
        return None, None
    else:
        count = _as_children(share * (1.0 - share) / last.error**2, spells, weeks)
    return share, wilson(share * count, count)


def _as_children(skills: float, spells: Sequence[_Spell], weeks: int) -> float:
    """What so many independent skills are worth when all skills of a child go one way: never more than its children."""
    seen: dict[str, float] = {}
    for spell in spells:
        part = 1.0 if spell.end in ("came", "stood") else spell.days / (7 * weeks)
        seen[spell.athlete] = seen.get(spell.athlete, 0.0) + part
    total = sum(seen.values())
    different = total**2 / sum(skills_seen**2 for skills_seen in seen.values())
    return min(skills, different, different * skills / total)


def says_something(outcomes: Sequence[StateOutcome]) -> str:
    """One plain sentence on 'ready' beside 'nearly': whether their intervals are apart, from ten children in each."""
    by_word = {one.word: one for one in outcomes}
    first, second = by_word["ready"], by_word["nearly"]
    few = [f"{one.children} in ‘{one.word}’" for one in (first, second) if one.children < CHILDREN_TO_COMPARE]
    if few or first.interval is None or second.interval is None:
        seen = f" ({', '.join(few)})" if few else ""
        return (
            "Not enough followed yet to compare ‘ready’ with ‘nearly’: it takes "
            f"{CHILDREN_TO_COMPARE} different children in each{seen}."
        )
    ready, nearly = first.interval, second.interval
    if ready[0] > nearly[1]:
        return "Children called ready got the skill more often than those called nearly, beyond chance."
    if ready[1] < nearly[0]:
        return (
            "Children called ready got the skill less often than those called nearly: look at the thresholds."
        )
    return "The ranges of ‘ready’ and ‘nearly’ overlap: the difference may be chance."
