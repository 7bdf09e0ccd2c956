"""Frozen records that travel between the layers, and the column names of the trials frame.

Nothing here computes. A record is built in one place and read everywhere else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

# --- words with a fixed set of values -------------------------------------------------------------

Kind = Literal["hold", "count", "score_count", "distance", "shape"]
Combine = Literal["best", "mean", "sum", "first"]
Side = Literal["", "left", "right"]
Risk = Literal["low", "medium", "high"]
Support = Literal["published", "partly", "derived", "common_practice", "placeholder"]
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

# --- the programme ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ErrorModel:
    """SEM(x) = max(a, b * |x|) in the unit of the measure, for the combined score of one day."""

    a: float
    b: float
    support: Support = "placeholder"
    note: str = ""

    def sem(self, value: float) -> float:
        """Standard error of measurement at `value`, in the unit of the measure."""
        return max(self.a, self.b * abs(value))


@dataclass(frozen=True, slots=True)
class Limits:
    """Ranges for typing errors: outside `warn` asks, outside `refuse` is not taken."""

    warn: tuple[float, float]
    refuse: tuple[float, float]


@dataclass(frozen=True, slots=True)
class MeasureSpec:
    """One measure and its protocol as an edition of the programme states it."""

    id: str
    name: str
    kind: Kind
    unit: str
    sides: bool
    age_min: int
    attempts: int
    combine: Combine
    cap: float | None
    limits: Limits
    error: ErrorModel
    loads: tuple[str, ...] = ()
    version: int = 1
    variants: tuple[str, ...] = ()  # easiest first
    seconds_per_child: int = 60
    precision: float = 1
    aliases: tuple[str, ...] = ()
    text: Mapping[str, str] = field(default_factory=dict)  # set_up, start, form_standard, say, show, cue, gate, notes
    stop_rules: tuple[str, ...] = ()
    equipment: tuple[str, ...] = ()
    variant_words: Mapping[str, str] = field(default_factory=dict)  # short names: 'Arms overhead'
    variant_texts: Mapping[str, str] = field(default_factory=dict)  # what the child does in each
    published: tuple[str, ...] = ()  # what sources say, each beginning with the source's id
    optional: bool = False
    support: Support = "common_practice"
    sources: tuple[str, ...] = ()
    extra: Mapping[str, object] = field(default_factory=dict)  # keys of the file that nothing here reads


@dataclass(frozen=True, slots=True)
class CriterionSpec:
    """One thing to look for in a shape, with its three level texts."""

    id: str
    name: str
    must_have: bool
    not_yet: str
    with_reminder: str
    on_own: str
    cue: str = ""
    fault: str = ""  # short words for 'what broke first', such as 'low back lifted'
    extra: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ShapeSpec:
    """A body shape: five criteria at three levels, total 0 to 10."""

    id: str
    name: str
    position: str
    viewpoint: str
    age_min: int
    criteria: tuple[CriterionSpec, ...]
    loads: tuple[str, ...] = ()
    version: int = 1
    error: ErrorModel = ErrorModel(1.0, 0.0)
    aliases: tuple[str, ...] = ()
    gate: str = ""
    supervision: str = ""
    holds: tuple[str, ...] = ()  # measures that hold this shape: 'what broke first' uses these criteria
    support: Support = "common_practice"
    sources: tuple[str, ...] = ()
    kind: Kind = "shape"
    sides: bool = False
    cap: float | None = 10.0
    combine: Combine = "best"
    unit: str = "of_10"
    extra: Mapping[str, object] = field(default_factory=dict)

    @property
    def top(self) -> int:
        """Highest total: two for each criterion."""
        return 2 * len(self.criteria)


@dataclass(frozen=True, slots=True)
class Requirement:
    """What a skill asks of one measure or shape."""

    item: str  # id of a measure or a shape
    minimum: float
    kind: Literal["measure", "shape"] = "measure"
    both_sides: bool = False  # the weaker side decides
    must_have: tuple[str, ...] = ()  # shape criteria that must be 'on their own'
    soft_under: int | None = None  # below this age it is advice only
    variant: str = ""  # this variant or a harder one; "" = any
    extra: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SkillSpec:
    """A foundation skill, what it comes after and what it asks."""

    id: str
    name: str
    area: str  # floor, bars, beam, vault
    risk: Risk
    min_age: int
    after: tuple[str, ...]  # skill ids that a coach must have marked consistent
    requirements: tuple[Requirement, ...]
    why: str = ""
    safety: str = ""
    loads: tuple[str, ...] = ()
    support: Support = "common_practice"
    sources: tuple[str, ...] = ()
    extra: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Band:
    """An age band: from the day `low` is reached until the day before `high` is."""

    id: str
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Benchmark:
    """Where 'building' starts and where the club aim stands, for one item in one band."""

    item: str
    band: str
    building: float
    aim: float
    support: Support = "common_practice"
    sources: tuple[str, ...] = ()
    note: str = ""
    variant: str = ""  # the figures speak of this variant or a harder one; "" = any
    extra: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Rules:
    """How sure the club wants to be, and how long evidence lasts."""

    confidence: Mapping[str, float] = field(default_factory=lambda: {"low": 0.75, "medium": 0.85, "high": 0.90})
    drift_weeks: float = 12.0  # q = R / drift_weeks per week
    expiry_weeks: int = 16
    expiry_weeks_careful: int = 8  # wrist- or neck-loaded high-risk skills
    confirm_days: int = 7


@dataclass(frozen=True, slots=True)
class Programme:
    """One whole edition, checked: everything the calculation needs to know about what is tested."""

    edition: int
    measures: Mapping[str, MeasureSpec]
    shapes: Mapping[str, ShapeSpec]
    skills: Mapping[str, SkillSpec]
    benchmarks: Mapping[tuple[str, str], Benchmark]  # (item, band)
    bands: tuple[Band, ...]
    rules: Rules = Rules()
    sources: Mapping[str, str] = field(default_factory=dict)
    body_areas: tuple[str, ...] = ()
    areas_blocking_all: tuple[str, ...] = ("head", "hip", "general")
    #: What stands above the list of each file: the rules of testing and judging.
    preamble: Mapping[str, Mapping[str, object]] = field(default_factory=dict)

    def item(self, item_id: str) -> MeasureSpec | ShapeSpec:
        """The measure or shape with this id; KeyError when there is none."""
        found = self.measures.get(item_id)
        return found if found is not None else self.shapes[item_id]

    def benchmark(self, item_id: str, band: str, variant: str = "") -> Benchmark | None:
        """The benchmark of an item in a band; None too for an easier variant than it speaks of."""
        found = self.benchmarks.get((item_id, band))
        if found is None or not found.variant or not variant:
            return found
        spec = self.measures.get(item_id)
        ladder = spec.variants if spec is not None else ()
        harder = ladder[ladder.index(found.variant) :] if found.variant in ladder else ()
        return found if variant in harder else None

    def items(self) -> tuple[MeasureSpec | ShapeSpec, ...]:
        """Every measure, then every shape, in the order of the edition."""
        return (*self.measures.values(), *self.shapes.values())


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
    age: float  # decimal years on the day
    band: str  # "" when outside every band
    zone: Zone
    levels: Mapping[str, int | None] | None = None  # shapes
    form_break: str = ""
    second_levels: Mapping[str, int | None] | None = None  # shapes: a blind second look by another coach


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


@dataclass(frozen=True, slots=True)
class RequirementState:
    """One requirement for one child, and why."""

    requirement: Requirement
    word: RequirementWord
    probability: float | None  # that the true level is at least the threshold; None for must-haves alone or nothing known
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
    """One item over a group: newest scored day of each child (the weaker side), newest series only."""

    item: str
    children: int  # with a score
    low: float | None  # quartiles; None under five children
    middle: float | None
    high: float | None
    at_least: int  # how many of them are 'at least'
    zones: Mapping[Zone, int]
    oldest_on: date | None
    settles: int  # places that are not known for want of this alone


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
