"""Latest clean result -> a starting dose for each exercise, and a block that fits the time there is.

All of it is common practice without a source, and is marked so: holds of 10 to 30 seconds, 10 to 20 easy
repetitions for beginners of 4 to 7, a block of 10 to 15 minutes and up to 30 while it is new. For comparison,
published advice for children is 6 to 15 repetitions and 1 to 3 sets on 2 or 3 days a week (Faigenbaum and
others 2009, doi:10.1519/JSC.0b013e31819df407). A coach who sees the child decides.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from assessments.analysis.ordering import WRIST, apart, stage_of
from assessments.analysis.records import DayScore, MeasureSpec, Rules, Support

DOSED = ("hold", "count")  # all else is practised
HOLD_RANGE = (10.0, 30.0)
REPS_RANGE_BEGINNER = (10.0, 20.0)
REPS_RANGE_OLDER = (8.0, 15.0)
BEGINNER_UNTIL = 8  # years: 4 to 7
SHARE = 0.60  # of the best clean hold or count
HIGHEST_SHARE = 0.80  # never closer to the best than this
MOST_SETS = 3
SECONDS_A_REP = 3
CHANGE_SECONDS = 30
USUAL = Rules()
BEGIN_AGAIN = "begin with the easiest version and watch."
BLOCK_MINUTES = (10, 15)
NEW_BLOCK_MINUTES = 30
PURPOSE = {
    "hollow_hold": "front of the trunk",
    "forearm_plank_hold": "front of the trunk",
    "front_support_hold": "front of the trunk",
    "arch_hold": "back of the trunk",
    "hip_back_lifts": "back of the trunk",
    "side_support_hold": "side of the trunk",
    "hip_side_lifts": "side of the trunk",
    "straight_hang": "hanging",
    "hanging_knee_lifts": "hanging",
    "bent_arm_hang": "hanging",
    "bar_support_hold": "pushing",
    "kneeling_push_ups": "pushing",
    "full_push_ups": "pushing",
    "double_heel_raises": "feet and ankles",
    "single_heel_raises": "feet and ankles",
    "releve_hold": "balance",
    "single_leg_stance": "balance",
    "squat_jumps": "legs",
}
#: Where nothing of the same purpose can be done, this is trained instead.
NEXT_PURPOSE = {
    "pushing": "front of the trunk",
    "hanging": "front of the trunk",
    "front of the trunk": "feet and ankles",
    "back of the trunk": "front of the trunk",
    "side of the trunk": "front of the trunk",
    "feet and ankles": "front of the trunk",
    "balance": "front of the trunk",
    "legs": "front of the trunk",
}


@dataclass(frozen=True, slots=True)
class Dose:
    """Where to start with one exercise. Suggested sets can be fewer in a block that is short of time."""

    item: str
    unit: str  # "s" or "reps"
    amount: int
    sets: int
    rest_seconds: int
    sides: int  # 2 when left and right are both worked
    loads: tuple[str, ...]
    watch: tuple[str, ...]
    reason: str
    below_usual: bool  # under the club's usual range, because the child does fewer
    support: Support = "common_practice"

    def seconds(self, sets: int) -> int:
        """Time of some sets with the rests between them, changing over included."""
        work = self.amount * (SECONDS_A_REP if self.unit == "reps" else 1) * self.sides
        return CHANGE_SECONDS + sets * work + (sets - 1) * self.rest_seconds


@dataclass(frozen=True, slots=True)
class Instead:
    """An exercise that rests, and what can be done in its place."""

    item: str
    areas: tuple[str, ...]
    exercises: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Step:
    """One exercise of a block."""

    dose: Dose
    sets: int
    seconds: int


@dataclass(frozen=True, slots=True)
class BlockPlan:
    """Exercises in order that fit the time, and those that do not."""

    steps: tuple[Step, ...]
    left_out: tuple[str, ...]
    seconds: int
    minutes: int
    notes: tuple[str, ...]
    support: Support = "common_practice"


def starting_dose(
    spec: MeasureSpec,
    days: Sequence[DayScore],
    *,
    on: date,
    since: date | None = None,
    expiry_weeks: int = USUAL.expiry_weeks,
    sets: int = 2,
) -> Dose | None:
    """Dose from the newest clean result that still counts on a date: 60 % of it, within the club's range, never over 80 %.

    `days` are of one line of the present protocol. Days before `since`, when a rest that touches the exercise ended,
    and days older than the expiry say nothing, as in the states of skills (`why_no_dose` says so in words). Range: 10 to
    30 s for a hold; 10 to 20 repetitions under 8 years and 8 to 15 from 8. A child whose best is small does less than
    the range. A newest result that is only 'at least' lowers nothing: the highest of it, of the other 'at least' and of
    the newest exact result counts. A stop with several clocks is taken less its mean lateness. None when no
    result counts, when it was 0 (take an easier version), or for jumps, reaches and landings, which are practised.
    """
    if spec.kind not in DOSED:
        return None
    clean = _counting(days, on=on, since=since, expiry_weeks=expiry_weeks)
    if not clean:
        return None
    newest = _telling(clean)
    amount, low = _amount(spec, newest)
    if amount < 1:
        return None
    unit = "s" if spec.kind == "hold" else "reps"
    bound = "at least " if newest.at_least else ""
    below = amount < low
    reason = (
        f"Best clean result {bound}{newest.value:g} {unit} on {newest.on:%d %b %Y}; start at {amount} {unit}."
    )
    if below:
        reason += f" Less than the usual {low:g}: clean and short, or an easier version."
    rest = max(30, 2 * amount) if unit == "s" else 45
    watch = tuple(text for text in (newest.form_break, *spec.stop_rules[:2]) if text)
    sides = 2 if spec.sides else 1
    wanted = min(max(sets, 1), MOST_SETS)
    return Dose(spec.id, unit, amount, wanted, rest, sides, spec.loads, watch, reason, below)


def why_no_dose(
    days: Sequence[DayScore],
    *,
    on: date,
    since: date | None = None,
    expiry_weeks: int = USUAL.expiry_weeks,
) -> str:
    """The sentence where results are there and none of them counts any more; "" where one does, or none was ever clean."""
    clean = [day for day in _clean(days) if day.on <= on]
    if not clean or _counting(clean, on=on, since=since, expiry_weeks=expiry_weeks):
        return ""
    newest = max(day.on for day in clean)
    if since is not None and newest < since:
        return f"Not tested since the rest ended on {since.day} {since:%b %Y}: {BEGIN_AGAIN}"
    return f"Not tested for {(on - newest).days // 7} weeks: {BEGIN_AGAIN}"


def _clean(days: Sequence[DayScore]) -> list[DayScore]:
    return [day for day in days if not day.familiarisation and math.isfinite(day.value)]


def _counting(days: Sequence[DayScore], *, on: date, since: date | None, expiry_weeks: int) -> list[DayScore]:
    """Clean days that still say where the child stands."""
    return [
        day
        for day in _clean(days)
        if 0 <= (on - day.on).days <= 7 * expiry_weeks and (since is None or day.on >= since)
    ]


def _telling(clean: Sequence[DayScore]) -> DayScore:
    """The newest exact result, or a higher 'at least' since then."""
    exact = max((day for day in clean if not day.at_least), key=lambda day: (day.on, day.held), default=None)
    bounds = [day for day in clean if day.at_least and (exact is None or day.on >= exact.on)]
    return max([*bounds, *([exact] if exact else [])], key=lambda day: (day.held, day.on))


def _amount(spec: MeasureSpec, newest: DayScore) -> tuple[int, float]:
    low, high = HOLD_RANGE
    if spec.kind == "count":
        low, high = REPS_RANGE_BEGINNER if newest.age < BEGINNER_UNTIL else REPS_RANGE_OLDER
    share = max(SHARE * newest.held, min(low, HIGHEST_SHARE * newest.held))
    return math.floor(min(high, share) + 1e-9), low


def instead_of(
    spec: MeasureSpec,
    measures: Mapping[str, MeasureSpec],
    resting: Collection[str],
    *,
    age: int,
    rest_everything: Collection[str] = ("head", "hip", "general"),
) -> Instead | None:
    """What to do in place of an exercise whose body area rests; None when nothing about it rests.

    Exercises with the same purpose that load no resting area, else those of a neighbouring purpose; none when an
    area rests that rests everything. Never one that a child of this age is not given or that has a gate.
    """
    areas = tuple(sorted(set(resting) & {*spec.loads, *rest_everything}))
    if not areas:
        return None
    if set(areas) & set(rest_everything):
        return Instead(spec.id, areas, (), "Resting: no exercises until the rest note is ended.")
    purpose = PURPOSE.get(spec.id, "")
    for tried in (purpose, NEXT_PURPOSE.get(purpose, "")):
        found = tuple(
            other.id
            for other in measures.values()
            if other.id != spec.id
            and PURPOSE.get(other.id) == tried
            and other.age_min <= age
            and not other.text.get("gate")
            and not set(other.loads) & set(resting)
        )
        if found:
            return Instead(
                spec.id, areas, found, f"Resting: {', '.join(areas)}. Work on the {tried} like this."
            )
    return Instead(spec.id, areas, (), f"Resting: {', '.join(areas)}. Leave it out today.")


def plan_block(
    doses: Sequence[Dose], kinds: Mapping[str, MeasureSpec], *, minutes: int, new: bool = False
) -> BlockPlan:
    """A block of exercises, most needed first in `doses`, that fits the minutes.

    One set of each in the order of need while there is time, then a second and third in the same order up to
    what the dose asks. Then calm before tiring, wrist-loading exercises never next to each other. At most
    15 minutes, 30 while the block is new; a longer wish is shortened and said so.
    """
    if minutes < 1:
        raise ValueError("A block needs at least one minute.")
    most = NEW_BLOCK_MINUTES if new else BLOCK_MINUTES[1]
    notes = []
    if minutes > most:
        notes.append(f"Shortened to {most} minutes, the most for {'a new' if new else 'a known'} block.")
    if minutes < BLOCK_MINUTES[0]:
        notes.append(f"A block usually takes {BLOCK_MINUTES[0]} to {BLOCK_MINUTES[1]} minutes.")
    room = 60 * min(minutes, most)
    chosen = _fill(doses, room)
    by_stage: dict[int, list[Dose]] = {}
    for dose in doses:
        if dose.item in chosen:
            by_stage.setdefault(stage_of(dose.item, kinds[dose.item].kind), []).append(dose)
    order, unplaced = apart(
        [by_stage[stage] for stage in sorted(by_stage)], lambda dose: WRIST in dose.loads, needed=doses
    )
    if unplaced:
        notes.append("Left out so that wrists are not loaded twice in a row.")
    steps = tuple(Step(dose, chosen[dose.item], dose.seconds(chosen[dose.item])) for dose in order)
    placed = {step.dose.item for step in steps}
    left_out = tuple(dose.item for dose in doses if dose.item not in placed)
    return BlockPlan(steps, left_out, sum(step.seconds for step in steps), room // 60, tuple(notes))


def _fill(doses: Sequence[Dose], room: int) -> dict[str, int]:
    """Sets for each exercise that fits."""
    if len({dose.item for dose in doses}) < len(doses):
        raise ValueError("Each exercise has one dose.")
    chosen: dict[str, int] = {}
    spent = 0
    for sets in range(1, MOST_SETS + 1):
        for dose in doses:
            if sets > dose.sets or chosen.get(dose.item, 0) != sets - 1:
                continue
            more = dose.seconds(sets) - (dose.seconds(sets - 1) if sets > 1 else 0)
            if spent + more <= room:
                chosen[dose.item] = sets
                spent += more
    return chosen
