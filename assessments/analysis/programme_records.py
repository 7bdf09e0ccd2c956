"""What an edition of the programme states, as frozen records: measures, shapes, skills, benchmarks, rules.

Nothing here computes. Outsiders import these names from `records`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Kind = Literal["hold", "count", "score_count", "distance", "shape"]
Combine = Literal["best", "mean", "sum", "first"]
Risk = Literal["low", "medium", "high"]
Support = Literal["published", "partly", "derived", "common_practice", "placeholder"]


@dataclass(frozen=True, slots=True)
class ErrorModel:
    """SEM(x) = max(a, b * |x|) in the unit of the measure, for the combined score of one day."""

    a: float
    b: float
    support: Support = "placeholder"
    note: str = ""
    children: int | None = None  # measured twice by the club; None where the error comes from elsewhere

    @property
    def df(self) -> int | None:
        """Degrees of freedom behind an error of the club's own."""
        return None if self.children is None else max(self.children - 1, 1)

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
    #: set_up, start, form_standard, say, show, cue, gate, notes
    text: Mapping[str, str] = field(default_factory=dict)
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

    confidence: Mapping[str, float] = field(
        default_factory=lambda: {"low": 0.75, "medium": 0.85, "high": 0.90}
    )
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
