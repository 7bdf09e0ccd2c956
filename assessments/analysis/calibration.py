"""Does 'ready to try' mean anything? Later outcomes counted for each state that the app had suggested.

For the director, to judge the rules and not the coaches. Without a difference between the states the
thresholds say nothing, whatever their arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from assessments.analysis.records import SkillWord
from assessments.analysis.reliability import wilson
from assessments.analysis.samples import Interval

WEEKS_FOLLOWED = 8
ORDER: tuple[SkillWord, ...] = ("ready", "nearly", "not_yet", "not_known", "resting")


@dataclass(frozen=True, slots=True)
class Followed:
    """A suggestion for one skill of one child and what came of it."""

    athlete: str
    skill: str
    word: SkillWord
    on: date
    consistent_on: date | None  # when a coach marked the skill consistent, None so far


@dataclass(frozen=True, slots=True)
class StateOutcome:
    """How many children of one state had the skill within the weeks that are followed."""

    word: SkillWord
    followed: int
    consistent: int
    waiting: int  # not followed long enough yet; not in the share
    interval: Interval | None  # of the share, 95 %; None when nobody was followed

    @property
    def share(self) -> float | None:
        """Share that had the skill, None when nobody was followed."""
        return self.consistent / self.followed if self.followed else None


def outcomes_by_state(
    found: Iterable[Followed], on: date, *, weeks: int = WEEKS_FOLLOWED
) -> tuple[StateOutcome, ...]:
    """Counts, shares and Wilson intervals by state, 'ready' first.

    The first suggestion of each child, skill and state counts, so that a child looked at every week does not
    count every week; a skill that was consistent already on that day is left out. A child is followed for
    `weeks`; one who has not got the skill and whose weeks are not over is waiting. Source of the interval:
    Newcombe 1998. A share is no proof: coaches choose whom they let try.
    """
    first: dict[tuple[str, str, SkillWord], Followed] = {}
    for one in sorted(found, key=lambda one: one.on):
        already = one.consistent_on is not None and one.consistent_on <= one.on
        if not already and one.on <= on:
            first.setdefault((one.athlete, one.skill, one.word), one)
    return tuple(
        _outcome(word, [one for one in first.values() if one.word == word], on, weeks) for word in ORDER
    )


def _outcome(word: SkillWord, found: Sequence[Followed], on: date, weeks: int) -> StateOutcome:
    consistent = waiting = 0
    for one in found:
        end = one.on + timedelta(weeks=weeks)
        if one.consistent_on is not None and one.consistent_on <= min(end, on):
            consistent += 1
        elif end > on:
            waiting += 1
    followed = len(found) - waiting
    return StateOutcome(word, followed, consistent, waiting, wilson(consistent, followed))


def says_something(outcomes: Sequence[StateOutcome]) -> str:
    """One plain sentence on 'ready' beside 'nearly': whether their intervals are apart."""
    by_word = {one.word: one for one in outcomes}
    ready, nearly = by_word["ready"].interval, by_word["nearly"].interval
    if ready is None or nearly is None:
        return "Not enough followed yet to compare 'ready' with 'nearly'."
    if ready[0] > nearly[1]:
        return "Children called ready got the skill more often than those called nearly, beyond chance."
    if ready[1] < nearly[0]:
        return (
            "Children called ready got the skill less often than those called nearly: look at the thresholds."
        )
    return "The ranges of 'ready' and 'nearly' overlap: the difference may be chance."
