"""Does 'ready to try' mean anything? Later outcomes counted for each state that the app had suggested.

For the director, to judge the rules and not the coaches. Without a difference between the states the
thresholds say nothing, whatever their arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from assessments.analysis.censored import survival
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
    left_on: date | None = None  # when the child left the club; nothing is known from then on


@dataclass(frozen=True, slots=True)
class StateOutcome:
    """How many children of one state had the skill within the weeks that are followed."""

    word: SkillWord
    followed: int  # to the end: had the skill, or were there for all the weeks
    consistent: int
    waiting: int  # not followed long enough yet
    left: int  # left the club before the weeks were over
    share: (
        float | None
    )  # that had the skill, of all, each counted for as long as they were seen; None when nobody was
    interval: Interval | None  # of the share, 95 %


def outcomes_by_state(
    found: Iterable[Followed], on: date, *, weeks: int = WEEKS_FOLLOWED
) -> tuple[StateOutcome, ...]:
    """Counts, shares and intervals by state, 'ready' first.

    The first suggestion of each child, skill and state counts, so that a child looked at every week does not
    count every week; a skill that was consistent already on that day is left out. A child is followed for
    `weeks`. One whose weeks are not over, or who left, counts for as long as they were seen: share = 1 - S(weeks) by
    Kaplan & Meier 1958, interval of Wilson on S(1 - S) / Greenwood's variance children (Rothman 1978, J Chronic Dis
    31:557), which is plain met / of and Newcombe 1998 when everybody was followed. Leaving must have nothing to do with
    the skill. A share is no proof: coaches choose whom they let try.
    """
    first: dict[tuple[str, str, SkillWord], Followed] = {}
    for one in sorted(found, key=lambda one: one.on):
        already = one.consistent_on is not None and one.consistent_on <= one.on
        gone = one.left_on is not None and one.left_on <= one.on
        if not already and not gone and one.on <= on:
            first.setdefault((one.athlete, one.skill, one.word), one)
    return tuple(
        _outcome(word, [one for one in first.values() if one.word == word], on, weeks) for word in ORDER
    )


def _outcome(word: SkillWord, found: Sequence[Followed], on: date, weeks: int) -> StateOutcome:
    days, had, waiting, left = [], [], 0, 0
    for one in found:
        end = one.on + timedelta(weeks=weeks)
        seen_until = min(end, on, one.left_on or date.max)
        got = one.consistent_on is not None and one.consistent_on <= seen_until
        until = one.consistent_on if got and one.consistent_on else seen_until
        days.append((until - one.on).days)
        had.append(got)
        gone = one.left_on is not None and one.left_on < min(end, on + timedelta(days=1))
        left += not got and gone
        waiting += not got and not gone and end > on
    followed = len(found) - waiting - left
    share, interval = _share(days, had, followed)
    return StateOutcome(word, followed, sum(had), waiting, left, share, interval)


def _share(days: Sequence[int], had: Sequence[bool], followed: int) -> tuple[float | None, Interval | None]:
    """Share by the last day that is followed, and its interval; None while nobody was followed to the end."""
    met = sum(had)
    if not followed:
        return None, None
    if not met or followed == len(days):
        return met / followed, wilson(met, followed)
    last = survival(days, had)[-1]
    share = 1.0 - last.share
    # At 'all' there is no variance to take the number of children from.
    count = share * (1.0 - share) / last.error**2 if share < 1.0 else float(followed)
    return share, wilson(share * count, count)


def says_something(outcomes: Sequence[StateOutcome]) -> str:
    """One plain sentence on 'ready' beside 'nearly': whether their intervals are apart."""
    by_word = {one.word: one for one in outcomes}
    ready, nearly = by_word["ready"].interval, by_word["nearly"].interval
    if ready is None or nearly is None:
        return "Not enough followed yet to compare ‘ready’ with ‘nearly’."
    if ready[0] > nearly[1]:
        return "Children called ready got the skill more often than those called nearly, beyond chance."
    if ready[1] < nearly[0]:
        return (
            "Children called ready got the skill less often than those called nearly: look at the thresholds."
        )
    return "The ranges of ‘ready’ and ‘nearly’ overlap: the difference may be chance."
