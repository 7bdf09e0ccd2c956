"""What the invented children do on a test day: true levels that grow, and tries that scatter around them."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from uuid import UUID

from assessments.analysis import clock_bias, clock_error
from assessments.analysis.records import MeasureSpec, Outcome, Programme, ShapeSpec, Side
from assessments.entries import Entry
from club.demo.story import Child, Story, StoryDay, code

ALWAYS = ("hollow_hold", "front_support_hold")
PART_A = (
    "arch_hold", "straight_hang", "double_heel_raises", "stick_landings", "wall_handstand_hold",
    "side_support_hold", "hollow", "front_support", "landing", "handstand_line",
)  # fmt: skip
PART_B = (
    "single_leg_stance", "releve_hold", "kneeling_push_ups", "bar_support_hold", "standing_long_jump",
    "single_heel_raises", "bent_arm_hang", "hanging_knee_lifts", "tuck", "hang", "arch", "straight_stand", "releve",
)  # fmt: skip
HARDER_FROM = {
    "hollow_hold": 5.6,
    "front_support_hold": 5.0,
    "side_support_hold": 6.0,
    "wall_handstand_hold": 6.5,
}
VARIANTS = {
    "hollow_hold": ("tucked", "arms_by_side"),
    "front_support_hold": ("handles", "flat_hands"),
    "arch_hold": ("arms_by_side", "arms_by_side"),
    "side_support_hold": ("knee_down", "long_legs"),
    "wall_handstand_hold": ("feet_low_45_degrees", "feet_high"),
    "double_heel_raises": ("feet_together", "feet_together"),
    "bent_arm_hang": ("overhand", "overhand"),
}
SECOND_LOOKS = 0.12
HOWS = {"hold": "timed", "distance": "typed", "count": "counted", "score_count": "counted"}


@dataclass(frozen=True, slots=True)
class Made:
    """One try of one child, before it has a tablet and a number."""

    item: str
    outcome: Outcome
    how: str = ""
    value: float | None = None
    levels: Mapping[str, int] | None = None
    variant: str = ""
    side: Side = ""
    trial: int = 1
    form_break: str = ""
    at_once: int = 1
    second: bool = False
    areas: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ScoredExamples:
    """Ten examples of one shape with agreed totals, and who scored them."""

    shape: str
    title: str
    agreed: tuple[int, ...]
    weeks_ago: int
    #: Coach's e-mail, totals, weeks since (None: a year before their calibration ends, and confirmed).
    scores: tuple[tuple[str, tuple[int, ...], int | None], ...]


EXAMPLES = (
    ScoredExamples(
        "hollow", "Ten drawings", (2, 4, 5, 6, 6, 7, 8, 9, 3, 10), 50,
        (
            ("petra@fernleigh.example", (3, 4, 5, 7, 6, 8, 8, 9, 4, 10), None),
            ("tome@fernleigh.example", (2, 4, 4, 6, 7, 7, 7, 9, 3, 9), None),
            ("wren@fernleigh.example", (1, 4, 5, 6, 6, 6, 8, 10, 3, 10), None),
            ("director@fernleigh.example", (2, 4, 5, 6, 5, 7, 8, 9, 3, 10), None),
            ("ines@fernleigh.example", (2, 5, 5, 6, 6, 7, 8, 9, 2, 10), None),
            ("bao@fernleigh.example", (2, 4, 6, 6, 7, 7, 8, 9, 5, 9), 2),
        ),
    ),
    ScoredExamples(
        "front_support", "Live, autumn", (3, 5, 8, 6, 7, 4, 9, 5, 6, 8), 3,
        (
            ("petra@fernleigh.example", (5, 6, 9, 7, 8, 6, 10, 6, 7, 9), 1),
            ("wren@fernleigh.example", (3, 5, 7, 6, 8, 4, 9, 5, 5, 8), 1),
        ),
    ),
)  # fmt: skip


def items_of(day: StoryDay, programme: Programme) -> list[str]:
    """The measures and shapes of one day, in the order of its stations."""
    wanted = ALWAYS + (PART_A if day.part == "a" else PART_B)
    return [item for item in wanted if item in programme.measures or item in programme.shapes]


def entries_of(day: StoryDay, story: Story, programme: Programme, coaches: Mapping[str, UUID]) -> list[Entry]:
    """Every entry of one day, as two tablets would have made them; `coaches` maps e-mail to code."""
    found: list[Entry] = []
    seqs = {"a": 0, "b": 0}
    for child in story.children:
        if child.group not in day.groups or child.joined_on > day.held_on:
            continue
        chance = random.Random(f"{day.code}/{child.code}")
        if chance.random() < 0.06 and child.plot in ("", "loose_hollow"):
            continue  # away that day
        tablet = "a" if child.group == day.groups[0] else "b"
        for made in _child_day(child, day, programme, chance):
            seqs[tablet] += 1
            judge = day.lead if not made.second else _other(day.lead, coaches)
            found.append(_entry(made, day, child, tablet=tablet, seq=seqs[tablet], judge=coaches[judge]))
    return found


def _other(lead: str, coaches: Mapping[str, UUID]) -> str:
    return next(email for email in sorted(coaches) if email != lead)


def _entry(made: Made, day: StoryDay, child: Child, *, tablet: str, seq: int, judge: UUID) -> Entry:
    noon = datetime.combine(day.held_on, time(16, 0), tzinfo=UTC)
    kind = "rubric" if made.levels is not None else made.how
    return Entry(
        id=code("entry", day.code, tablet, seq),
        tablet=f"tablet-{tablet}",
        seq=seq,
        day=day.code,
        child=child.code,
        measure=made.item,
        outcome=made.outcome,
        how=kind,
        t_wall=noon + timedelta(seconds=20 * seq),
        variant=made.variant,
        side=made.side,
        trial=made.trial,
        value=made.value,
        levels=made.levels,
        form_break=made.form_break,
        at_once=made.at_once,
        second=made.second,
        judge=judge,
        areas=made.areas,
    )


def _child_day(child: Child, day: StoryDay, programme: Programme, chance: random.Random) -> Iterator[Made]:
    age = (day.held_on - child.born_on).days / 365.25
    for item in items_of(day, programme):
        spec = programme.item(item)
        if age < spec.age_min or _gated(item, child, age):
            continue
        if isinstance(spec, ShapeSpec):
            yield from _shape(child, spec, age, day, chance)
        else:
            made = list(_measure(child, spec, age, day, programme, chance))
            yield from made
            if any(one.outcome == "stopped_for_pain" for one in made):
                return  # pain ends the day


def _gated(item: str, child: Child, age: float) -> bool:
    """What a coach would not offer yet."""
    if item in ("wall_handstand_hold", "handstand_line"):
        return child.ability + (age - 6) * 0.2 < 0.8
    return item == "single_heel_raises" and child.ability < 0.3


def target(item: str, age: float, programme: Programme) -> tuple[float, float]:
    """Where building starts and where the aim stands, sliding between the middles of the bands."""
    rows = [
        ((band.low + band.high) / 2, programme.benchmarks[(item, band.id)])
        for band in programme.bands
        if (item, band.id) in programme.benchmarks
    ]
    if not rows:
        return 3.0, 8.0
    before = [row for row in rows if row[0] <= age] or rows[:1]
    after = [row for row in rows if row[0] >= age] or rows[-1:]
    (a0, low), (a1, high) = before[-1], after[0]
    share = 0.0 if a1 == a0 else (age - a0) / (a1 - a0)
    return (
        low.building + share * (high.building - low.building),
        low.aim + share * (high.aim - low.aim),
    )


def true_level(child: Child, item: str, age: float, day: StoryDay, programme: Programme) -> float:
    """Where the child truly stands that day."""
    own = random.Random(f"{child.code}/{item}").gauss(0, 0.22)
    growth = 0.06 * (day.round - 4)
    if child.plot == "plateau" and day.round >= 3:
        # The benchmarks rise with age; the child's hold does not.
        age -= max(0.0, (day.round - 3) * 0.2)
        growth = -0.06
    if child.plot == "leap":
        growth = 0.0 if day.round < 5 else 0.95
    if child.plot == "loose_hollow":
        own += -1.15 if item in ("hollow_hold", "hollow") else 0.15
    if child.plot == "resting" and day.round == 6:
        growth -= 0.1
    low, aim = target(item, age, programme)
    return low + (aim - low) * (child.ability + own + growth)


def _measure(
    child: Child, spec: MeasureSpec, age: float, day: StoryDay, programme: Programme, chance: random.Random
) -> Iterator[Made]:
    if child.plot == "resting" and day.round == 6 and day.part == "b" and spec.id == "front_support_hold":
        yield Made(
            spec.id, "stopped_for_pain", HOWS[spec.kind], variant=_variant(spec, age, child), areas=("wrist",)
        )
        return
    level = true_level(child, spec.id, age, day, programme)
    for side in _sides(spec):
        there = level * (0.55 if child.plot == "one_side" and side == "left" else 1.0)
        tries = 1 if spec.combine == "sum" else spec.attempts
        for trial in range(1, tries + 1):
            scatter = chance.gauss(0, 0.8) * spec.error.sem(there)
            clocks = 4 if spec.kind == "hold" and spec.id in ALWAYS else 1
            late = _late(clocks, f"{child.first_name} {child.last_name} {day.held_on} {spec.id} {trial}")
            value, outcome = _outcome(spec, there + scatter + late, chance)
            yield Made(
                spec.id, outcome, HOWS[spec.kind], variant=_variant(spec, age, child), side=side, trial=trial, value=value,
                form_break=_broke(spec, chance, programme) if outcome == "scored" and spec.kind == "hold" else "",
                at_once=clocks,
            )  # fmt: skip


def _late(clocks: int, which: str) -> float:
    """Seconds by which the stop of this try comes late, by the model of several clocks."""
    drawn = random.Random(which).gauss(0.0, 1.0)
    return 0.0 if clocks == 1 else float(clock_bias(clocks) - clock_bias(1) + drawn * clock_error(clocks))


def _sides(spec: MeasureSpec) -> tuple[Side, ...]:
    return ("left", "right") if spec.sides else ("",)


def _variant(spec: MeasureSpec, age: float, child: Child) -> str:
    easy, hard = VARIANTS.get(spec.id, ("", ""))
    if not spec.variants:
        return ""
    if not easy:
        return spec.variants[0]
    return hard if age + (child.ability - 0.7) * 0.3 >= HARDER_FROM.get(spec.id, 0) else easy


def _outcome(spec: MeasureSpec, value: float, chance: random.Random) -> tuple[float, Outcome]:
    whole = float(math.floor(value))
    if spec.cap is not None and whole >= spec.cap:
        return spec.cap, "reached_cap"
    if spec.kind == "distance":
        return max(whole, spec.limits.refuse[0] + 1), "scored"
    if whole < 1:
        return 0.0, "could_not_start"
    if spec.kind == "hold" and chance.random() < 0.04:
        return whole, "chose_to_stop"
    return whole, "scored"


def _broke(spec: MeasureSpec, chance: random.Random, programme: Programme) -> str:
    shapes = [shape for shape in programme.shapes.values() if spec.id in shape.holds]
    if not shapes or chance.random() < 0.3:
        return ""
    return chance.choice(shapes[0].criteria[:3]).id


def _shape(child: Child, spec: ShapeSpec, age: float, day: StoryDay, chance: random.Random) -> Iterator[Made]:
    own = random.Random(f"{child.code}/{spec.id}").gauss(0, 0.15)
    loose = -0.45 if child.plot == "loose_hollow" and spec.id == "hollow" else 0.0
    leap = 0.3 if child.plot == "leap" and day.round >= 5 else 0.0
    ease = 0.36 + 0.22 * child.ability + own + loose + leap + 0.035 * (day.round - 3) + 0.02 * (age - 6)
    first = {criterion.id: _seen(child, criterion.id, ease, chance) for criterion in spec.criteria}
    yield Made(spec.id, "scored", levels=first)
    if not day.familiarisation and chance.random() < SECOND_LOOKS:
        again = {
            key: level if chance.random() < 0.78 else min(2, max(0, level + chance.choice((-1, 1))))
            for key, level in first.items()
        }
        yield Made(spec.id, "scored", levels=again, second=True)


def _seen(child: Child, criterion: str, ease: float, chance: random.Random) -> int:
    own = random.Random(f"{child.code}/{criterion}").gauss(0, 0.16)
    score = ease + own + chance.gauss(0, 0.09)
    return 2 if score > 0.60 else 1 if score > 0.32 else 0
