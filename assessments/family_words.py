"""A note for a child's family, composed from what is known: words first, own past only, no numbers. Pure."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from typing import Any

from assessments.analysis import in_force, touches
from assessments.analysis.records import (
    Change,
    DayScore,
    ErrorModel,
    Interpretation,
    Programme,
    RestSpell,
    ShapeSpec,
    SkillState,
)
from assessments.analysis.samples import noise_factor
from assessments.analysis.trend import change_between, speaks_for
from assessments.family_bank import CAN, GROWS, PLAY, SHAPE_WORDS

LOOK_BACK = timedelta(days=300)
#: Two-sided, as everywhere where a change is named; one note makes many comparisons and shares this among them.
CONFIDENCE = 0.90
MOST_LEARNING = 4
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class FamilyNote:
    """The words of one note. Everything that is printed is in here, so that it stays as it was given."""

    title: str
    lead: str
    grew: str
    next_step: str
    home: str
    learning: tuple[str, ...]
    resting: str
    shape: str  # the drawing, "" for none
    shape_words: str

    def body(self) -> dict[str, Any]:
        """As it is kept."""
        return {**asdict(self), "learning": list(self.learning)}


@dataclass(frozen=True, slots=True)
class Strength:
    """One thing to be glad about."""

    words: str
    shape: str = ""


def compose(
    name: str,
    *,
    programme: Programme,
    lines: Sequence[Interpretation],
    skills: Sequence[SkillState],
    rests: Sequence[RestSpell],
    on: date,
) -> FamilyNote:
    """A draft for a coach to read, change and approve. It says nothing that was not seen."""
    resting = [spell for spell in rests if in_force(spell, on)]
    newly = _newly_own(name, programme, lines, on)
    grown = _grown(name, programme, lines, on)
    owned = _owned(name, programme, lines, on)
    best = next(iter([*newly, *grown, *owned]), Strength(f"{name} tries new shapes and games with us."))
    second = next((one for one in [*grown, *newly] if one != best), None)
    next_item, next_words = _next(name, programme, _free(lines, programme, resting), resting=bool(resting))
    learning = [programme.skills[one.skill].name for one in skills if one.coach_word == "learning"]
    shape = best.shape or next((one.shape for one in [*newly, *owned] if one.shape), "")
    return FamilyNote(
        title=f"{name} is building strong shapes" if shape else f"{name} at the gym",
        lead=best.words,
        grew=second.words if second else _steady(name, programme, lines, on),
        next_step=next_words,
        home=_play(next_item, resting, programme),
        learning=tuple(learning[:MOST_LEARNING]),
        resting=f"{name} is resting from some of our tests for now. Please talk to us." if resting else "",
        shape=shape,
        shape_words=SHAPE_WORDS.get(shape, programme.shapes[shape].name.lower() if shape else ""),
    )


def when_words(then: date, now: date) -> str:
    """'in March', with the year when it is long ago."""
    month = MONTHS[then.month - 1]
    return f"in {month}" if (now - then).days < 330 else f"in {month} {then.year}"


def _newly_own(name: str, programme: Programme, lines: Sequence[Interpretation], on: date) -> list[Strength]:
    """Criteria that are on their own now and were not at an earlier look this season; must-haves first.

    A first look never counts: practice alone lifts the second one. A note picks from some forty criteria, and one look
    of one coach at one of them is easily a lucky one; so 'now' means that the look before saw it too, or a second coach.
    """
    found = []
    for line, spec in _shapes(programme, lines):
        days = _comparable(line, on)
        if len(days) < 2:
            continue
        before, now = days[0].levels or {}, days[-1].levels or {}
        first = next((day.levels or {} for day in line.days if day.first_look), {})
        newer = [look.levels for look in line.partial_looks if look.on >= days[-1].on]
        for one in spec.criteria:
            earlier = before.get(one.id)
            again = (days[-1].second_levels or {}).get(one.id)
            twice = (len(days) > 2 and (days[-2].levels or {}).get(one.id) == 2) or again == 2
            refused = again in (0, 1) or any(levels.get(one.id) in (0, 1) for levels in newer)
            grown = earlier is not None and earlier < 2 and first.get(one.id) != 2
            if now.get(one.id) == 2 and twice and grown and not refused:
                found.append((not one.must_have, -days[-1].on.toordinal(), _can(name, spec, one.id)))
    return [one for *_, one in sorted(found, key=lambda row: row[:2])]


def _owned(name: str, programme: Programme, lines: Sequence[Interpretation], on: date) -> list[Strength]:
    return [
        _own(name, spec, one.id)
        for line, spec in _shapes(programme, lines)
        for one in sorted(spec.criteria, key=lambda one: not one.must_have)
        if line.latest is not None
        and on - line.latest.on <= LOOK_BACK
        and (line.latest.levels or {}).get(one.id) == 2
    ]


@dataclass(frozen=True, slots=True)
class _Compared:
    """The first and the last day of this season in one line, and what lies between them."""

    line: Interpretation
    error: ErrorModel
    first: DayScore
    last: DayScore
    change: Change

    def beyond(self, comparisons: int) -> float:
        """By how many detectable changes it rose, where the note makes so many comparisons; 0 for no rise."""
        if self.change.word != "up":
            return 0.0
        df = self.error.df
        wider = noise_factor(1 - (1 - CONFIDENCE) / comparisons, df) - noise_factor(CONFIDENCE, df)
        limit = self.change.detectable + wider * math.hypot(self.first.sem, self.last.sem)
        return self.change.difference / max(limit, 1e-9)


def _compared(programme: Programme, lines: Sequence[Interpretation], on: date) -> list[_Compared]:
    """Every line of this edition with two days of this season that may be compared."""
    specs = {spec.id: spec for spec in programme.items()}
    found = []
    for line in lines:
        spec, days = specs.get(line.item), _comparable(line, on)
        if spec is not None and len(days) > 1:
            change = change_between(days[0], days[-1], timed=spec.kind == "hold", error=spec.error)
            found.append(_Compared(line, spec.error, days[0], days[-1], change))
    return found


def _grown(name: str, programme: Programme, lines: Sequence[Interpretation], on: date) -> list[Strength]:
    """Measures that rose since an earlier day of this season by more than noise, most surely first.

    A note picks the greatest of many comparisons. Each held to 90 % (one rise of noise in 20), half of the notes on
    a dozen measures would tell of a growth that is none. So each of k comparisons is held to 1 - 0.10 / k: of
    children without any change at most one note in 20 then tells of growth, however the measures hang together
    (Bonferroni's inequality; O. J. Dunn 1961, J Am Stat Assoc 56:52). Small growth is missed more often, and
    nothing is said of it. A first look never counts.
    """
    compared = [one for one in _compared(programme, lines, on) if one.line.item in programme.measures]
    found = []
    for one in compared:
        size = one.beyond(len(compared))
        if size > 1:
            spec = programme.measures[one.line.item]
            phrase = GROWS.get(spec.id, (f"does more in {spec.name.lower()}", ""))[0]
            found.append((-size, Strength(f"{name} {phrase} than {when_words(one.first.on, on)}.")))
    unique = dict.fromkeys(one for _, one in sorted(found, key=lambda row: row[0]))
    return list(unique)


def _next(
    name: str, programme: Programme, lines: Sequence[Interpretation], *, resting: bool
) -> tuple[str, str]:
    """The item and the words for what comes next: a shape that needs a reminder, else a measure to build."""
    open_ = [
        (not one.must_have, -(levels.get(one.id) or 0), spec, one.id)
        for line, spec in _shapes(programme, lines)
        if (levels := (line.latest.levels or {}) if line.latest else {})
        for one in spec.criteria
        if levels.get(one.id) in (0, 1)
    ]
    if open_:
        _, _, spec, criterion = min(open_, key=lambda row: row[:2])
        phrase = CAN.get((spec.id, criterion))
        shape = SHAPE_WORDS.get(spec.id, f"the {spec.name.lower()}")
        if phrase:
            return spec.id, f"We will practise this in {shape}: {phrase}."
        return spec.id, f"We will practise {shape}."
    building = [line for line in lines if line.latest and line.item in programme.measures]
    low = [line for line in building if line.latest and line.latest.zone in ("starting_out", "building")]
    if not low and resting:
        return "", "We will start again slowly when the time is right."
    if not low:
        return "", f"{name} will try new games with us."
    line = low[0]
    phrase = GROWS.get(line.item, ("", programme.measures[line.item].name.lower()))[1]
    if line.latest and line.latest.value <= 0:
        return line.item, f"{name} is building up to the first go at {phrase}."
    return line.item, f"We will work on {phrase}."


def _free(
    lines: Sequence[Interpretation], programme: Programme, resting: Sequence[RestSpell]
) -> list[Interpretation]:
    """What can be practised now: nothing that an open rest note touches."""
    items = {spec.id: spec for spec in programme.items()}
    return [
        line
        for line in lines
        if line.item in items and not _rests(items[line.item].loads, resting, programme)
    ]


def _rests(loads: Sequence[str], resting: Sequence[RestSpell], programme: Programme) -> bool:
    return any(touches(spell, frozenset(loads), programme) for spell in resting)


def _play(item: str, resting: Sequence[RestSpell], programme: Programme) -> str:
    """An idea that goes with what comes next and loads nothing that rests; none while everything rests."""
    free = [idea for idea in PLAY if not _rests(idea.loads, resting, programme)]
    fitting = [idea for idea in free if item in idea.fits] or free
    return fitting[0].words if fitting else ""


def _steady(name: str, programme: Programme, lines: Sequence[Interpretation], on: date) -> str:
    """What is true where nothing grew: about the same, only begun, or nothing at all.

    'About the same' needs a comparison, and most of all comparisons within noise. What fell is not told.
    """
    words = Counter(one.change.word for one in _compared(programme, lines, on))
    if words:
        same = words["about_the_same"] > words.total() / 2
        return "Most things are about the same as before. That is normal at this age." if same else ""
    seen = [day for line in lines for day in line.days if not day.familiarisation]
    if not seen or min(day.on for day in seen) < on - LOOK_BACK:
        return ""
    if len({day.on for day in seen}) == 1:
        return f"We have had a first look at what {name} can do."
    return f"We are still getting to know what {name} can do. Next time we can tell more."


def _can(name: str, spec: ShapeSpec, criterion: str) -> Strength:
    phrase = CAN.get((spec.id, criterion))
    if phrase is None:
        return Strength(f"{name} needs fewer reminders in {_shape_name(spec)} now.", spec.id)
    return Strength(f"In {_shape_name(spec)}, {name} can now {phrase} with no reminder.", spec.id)


def _own(name: str, spec: ShapeSpec, criterion: str) -> Strength:
    phrase = CAN.get((spec.id, criterion))
    if phrase is None:
        return Strength(f"{name} works hard on {_shape_name(spec)}.", spec.id)
    return Strength(f"In {_shape_name(spec)}, {name} can {phrase} with no reminder.", spec.id)


def _shape_name(spec: ShapeSpec) -> str:
    return SHAPE_WORDS.get(spec.id, f"the {spec.name.lower()}")


def _shapes(programme: Programme, lines: Sequence[Interpretation]) -> list[tuple[Interpretation, ShapeSpec]]:
    return [
        (line, programme.shapes[line.item])
        for line in lines
        if line.item in programme.shapes and line.latest is not None
    ]


def _comparable(line: Interpretation, on: date) -> list[DayScore]:
    """One day for each date of this season that may be compared: no play day and no first look."""
    days = [
        day for day in line.days if not (day.familiarisation or day.first_look) and on - day.on <= LOOK_BACK
    ]
    spoken = (
        speaks_for([day for day in days if day.on == date_seen])
        for date_seen in sorted({day.on for day in days})
    )
    return [day for day in spoken if day is not None]
