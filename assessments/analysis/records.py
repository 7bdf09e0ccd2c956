"""Frozen records that travel between the layers, and the column names of the trials frame.

Nothing here computes. A record is built in one place and read everywhere else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from assessments.analysis.programme_records import (
    Band,
    Benchmark,
    Combine,
    CriterionSpec,
    ErrorModel,
    Kind,
    Limits,
    MeasureSpec,
    Programme,
    Requirement,
    Risk,
    Rules,
    ShapeSpec,
    SkillSpec,
    Support,
)

__all__ = [
    "TRIALS_COLUMNS",
    "Band",
    "Benchmark",
    "BenchmarkStep",
    "Change",
    "ChildFacts",
    "CoachMark",
    "CoachWord",
    "Combine",
    "CriterionSpec",
    "DayScore",
    "ErrorModel",
    "GroupSummary",
    "Interpretation",
    "Kind",
    "Level",
    "Limits",
    "MeasureSpec",
    "MeasureSummary",
    "Outcome",
    "PartialLook",
    "PrerequisiteState",
    "Programme",
    "Requirement",
    "RequirementState",
    "RequirementWord",
    "RestSpell",
    "Risk",
    "Rules",
    "ShapeSpec",
    "Side",
    "SkillSpec",
    "SkillState",
    "SkillSummary",
    "SkillWord",
    "Spread",
    "Support",
    "Zone",
]  # fmt: skip

# --- words with a fixed set of values -------------------------------------------------------------

Side = Literal["", "left", "right"]
Outcome = Literal[
    "scored",  # a value was reached and the form broke or the work ended
    "reached_cap",  # the clock or count cap came first: the true value is at least this
    "chose_to_stop",  # the child asked to stop: at least this, never a fall
    "could_not_start",  # tried, 0
    "not_attempted",  # blank with a reason; no evidence
    "stopped_for_pain",  # no score is kept
    "interrupted",  # clock or page was not trusted; no evidence
    "withdrawn",  # an undo: the entry it replaces no longer counts
]
RequirementWord = Literal["met", "likely", "not_yet", "not_known", "advice", "resting"]
SkillWord = Literal["resting", "not_known", "not_yet", "nearly", "ready"]
CoachWord = Literal["", "learning", "consistent"]
Zone = Literal["", "starting_out", "building", "club_aim"]

#: Columns of the trials frame: one row a trial that counts (not replaced, not withdrawn).
TRIALS_COLUMNS = (
    "athlete",  # str, code of the child
    "item",  # str, id of the measure or shape
    "series",  # str, "v1" or "v1:tucked": protocol version and variant; never joined across
    "side",  # "", "left", "right"
    "day",  # str, code of the test day
    "on",  # datetime64, date of the test day
    "trial",  # int, 1, 2, 3...
    "value",  # float: unit of the measure; for shapes the total 0-10, NaN when a criterion was not seen
    "outcome",  # Outcome
    "at_once",  # int, children timed by one coach at the same time (1 when not a group hold)
    "second",  # bool, a blind second look: never scored, only compared
    "familiarisation",  # bool, day kept but never progress
    "levels",  # dict criterion -> 0/1/2/None for shapes, None otherwise
    "judge",  # str, code of the coach who judged, "" when unknown
    "form_break",  # str, what broke first, "" when not said
    "conflict",  # bool, two entries stand in the same place and nobody has settled it: no evidence
)

# --- benchmarks of one child ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class BenchmarkStep:
    """A benchmark as one child meets it: from the birthday that opens the band until the one that closes it."""

    begins_on: date
    ends_on: date  # first day that no longer belongs
    benchmark: Benchmark


# --- what is known about a child beside the trials ----------------------------------------------------


@dataclass(frozen=True, slots=True)
class RestSpell:
    """One rest note: which areas rested, from when, until when (None while it is open)."""

    areas: tuple[str, ...]
    began_on: date
    ended_on: date | None = None


@dataclass(frozen=True, slots=True)
class CoachMark:
    """The coach's word for one skill of one child."""

    word: CoachWord
    since: date | None = None


@dataclass(frozen=True, slots=True)
class ChildFacts:
    """What a judgement needs beside results: birth date, rest notes and the coach's words by skill id."""

    athlete: str
    born_on: date
    rests: tuple[RestSpell, ...] = ()
    words: Mapping[str, CoachMark] = field(default_factory=dict)


# --- what the calculation returns ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PartialLook:
    """A look at a shape without a total, because something was not seen. What was seen still counts for must-haves."""

    on: date
    levels: Mapping[str, int | None]


@dataclass(frozen=True, slots=True)
class DayScore:
    """The combined score of one test day in one series on one side."""

    on: date
    day: str
    value: float
    at_least: bool  # cap reached, or the child chose to stop
    outcome: Outcome
    trials: int
    at_once: int
    sem: float  # at this value, timing error of several clocks included
    first_look: bool
    familiarisation: bool
    age: float  # decimal years on the day; NaN on a day before the birth date
    band: str  # "" when outside every band
    zone: Zone
    levels: Mapping[str, int | None] | None = None  # shapes
    form_break: str = ""
    second_levels: Mapping[str, int | None] | None = None  # shapes: a blind second look by another coach
    late: float = 0.0  # seconds by which a stop with several clocks is late on average: `value` holds them
    clock_variance: float = 0.0  # seconds squared, the part of `sem` squared that several clocks add

    @property
    def held(self) -> float:
        """The value as a level is read from it: less the mean lateness of several clocks."""
        return self.value - self.late


@dataclass(frozen=True, slots=True)
class Level:
    """Where the true level is believed to stand on a date."""

    mean: float
    variance: float


@dataclass(frozen=True, slots=True)
class Change:
    """Two scored days compared with the noise of the measure."""

    word: Literal["up", "down", "about_the_same", "first_look", "not_comparable"]
    since: date | None
    difference: float
    detectable: float  # MDC90
    reason: str = ""  # why nothing can be said, "" when something can


@dataclass(frozen=True, slots=True)
class Interpretation:
    """One child, one item, one series, one side: every scored day and what it means."""

    athlete: str
    item: str
    series: str
    side: Side
    days: tuple[DayScore, ...]  # oldest first; the familiarisation days included and marked
    latest: DayScore | None  # newest day that counts as evidence
    level: Level | None  # predicted to the date of the reading
    change: Change | None
    variant: str = ""
    partial_looks: tuple[PartialLook, ...] = ()  # shapes; oldest first


@dataclass(frozen=True, slots=True)
class RequirementState:
    """One requirement for one child, and why."""

    requirement: Requirement
    word: RequirementWord
    probability: (
        float | None
    )  # that the true level is at least the threshold; None for must-haves alone or nothing known
    confidence: float  # what the risk of the skill asks for
    value: float | None
    side: Side
    on: date | None
    weeks_old: float | None
    days: int  # scored days behind it
    at_least: bool
    reason: str  # one plain sentence
    one_more: str  # what one more test would do
    series: str = ""
    since: date | None = None  # a rest that touches it ended then: days before do not count
    expiry_weeks: int = 16  # evidence that is older does not count


@dataclass(frozen=True, slots=True)
class PrerequisiteState:
    """A skill that must be consistent first."""

    skill: str
    consistent: bool
    since: date | None = None


@dataclass(frozen=True, slots=True)
class SkillState:
    """One skill for one child: the suggestion, its reasons, and the coach's word beside it."""

    athlete: str
    skill: str
    word: SkillWord
    requirements: tuple[RequirementState, ...]
    prerequisites: tuple[PrerequisiteState, ...]
    deciding: str  # item or skill id that decides, "" when none does
    reason: str  # one plain sentence
    joint_bound: float | None  # 1 - sum(1 - p): chance that all hold is at least this
    age_note: str = ""
    coach_word: CoachWord = ""
    coach_since: date | None = None


@dataclass(frozen=True, slots=True)
class SkillSummary:
    """One skill over a group. Counts always include 'not known'."""

    skill: str
    counts: Mapping[SkillWord, int]
    expected_ready: float  # sum of p of the deciding requirements, over children whom nothing else holds back
    expected_spread: float  # sqrt(sum p (1 - p))
    deciding: str  # commonest item or skill that decides while not ready, "" when none
    deciding_count: int


@dataclass(frozen=True, slots=True)
class MeasureSummary:
    """One item over a group: newest scored day of each child (the weaker side), in the version done last."""

    item: str
    children: int  # with a score
    zones: Mapping[Zone, int]
    oldest_on: date | None
    settles: int  # places that are not known for want of this alone


@dataclass(frozen=True, slots=True)
class Spread:
    """How far the newest scores of a group reach in one version of one item; 'at least' lowers nothing."""

    children: int  # with a score in this version
    at_least: int  # how many of them reached the cap or chose to stop
    enough: bool  # False under five children: a spread would show single ones
    low: float | None  # three quarters of the children reach it; None where it lies beyond what was seen
    middle: float | None  # half do
    high: float | None  # a quarter do
    variant: str  # the version that most children did last, "" where there is only one
    others: Mapping[str, int]  # children who did another version last, by version
    stale: int  # children whose scores are all too old to count
    late: int  # of `children`, those timed with several clocks: counted less the mean lateness


@dataclass(frozen=True, slots=True)
class GroupSummary:
    """A group on a day, for the director. Children are never ordered by score."""

    on: date
    children: int
    counts: Mapping[SkillWord, int]  # over all places (child x skill)
    skills: tuple[SkillSummary, ...]
    measures: tuple[MeasureSummary, ...]
    commonest: str  # item that decides most often while not ready: what to train next
    commonest_count: int
    settles: str  # item whose test would settle most places that are not known
    settles_count: int
    oldest_on: date | None
    resting: int  # children with an open rest note
