"""What a child's results say, in plain sentences for staff. Pure: records in, words out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from assessments.analysis.reasons import figure, must_have_names
from assessments.analysis.records import (
    CriterionSpec,
    DayScore,
    Interpretation,
    MeasureSpec,
    Programme,
    RequirementState,
    ShapeSpec,
)
from assessments.analysis.symmetry import symmetry

__all__ = [
    "CriterionRow", "Interrupted", "NumberRow", "between_words", "broke_first", "cautions", "change_words", "criterion_rows",
    "day_words", "figure", "found_words", "how_words", "must_have_names", "number_rows", "series_words", "shape_words",
    "sides_words", "variant_words",
]  # fmt: skip

Spec = MeasureSpec | ShapeSpec

MORE = {"hold": ("Longer", "Shorter"), "distance": ("Further", "Less far"), "shape": ("Higher", "Lower")}
LEVEL_WORDS = {2: "on their own", 1: "with a reminder", 0: "not yet", None: "not seen"}
LEVEL_MARKS = {2: "f", 1: "h", 0: "", None: "u"}
COMBINED = {"best": "the best", "mean": "the mean", "sum": "the sum", "first": "the first"}
COUNT_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
BACK_ITEMS = frozenset({"arch_hold", "arch", "bridge"})


@dataclass(frozen=True, slots=True)
class NumberRow:
    """One line of the table beside a chart."""

    on: date
    what: str  # variant and side, "" when there is only one line
    value: str
    between: str
    age: float
    zone: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CriterionRow:
    """One criterion of a shape over the newest days."""

    name: str
    must_have: bool
    marks: tuple[str, ...]  # style marks, oldest first
    spoken: str  # the same in words
    now: str

    @property
    def mark(self) -> str:
        """The newest mark."""
        return self.marks[-1] if self.marks else LEVEL_MARKS[None]


def day_words(on: date) -> str:
    """Such as 14 Nov 2026."""
    return f"{on.day} {on:%b %Y}"


def series_words(line: Interpretation, spec: Spec) -> str:
    """How one line differs from another: the variant, or the protocol."""
    version, _, variant = line.series.partition(":")
    variant = line.variant or variant
    if not variant:
        return f"protocol {version.removeprefix('v')}"
    return variant_words(spec, variant)


def variant_words(spec: Spec, variant: str) -> str:
    """The short name of a version in lower case, such as 'arms overhead'."""
    words = spec.variant_words.get(variant, "") if isinstance(spec, MeasureSpec) else ""
    return (words or variant.replace("_", " ")).lower()


def how_words(spec: Spec) -> str:
    """Unit and combination, such as 'seconds, the best of two'."""
    if isinstance(spec, ShapeSpec):
        return f"points of {spec.top}, {COUNT_WORDS[len(spec.criteria)]} criteria"
    unit = {"s": "seconds", "cm": "centimetres"}.get(spec.unit, "times")
    if spec.attempts == 1:
        return f"{unit}, one try"
    return f"{unit}, {COMBINED[spec.combine]} of {COUNT_WORDS[min(spec.attempts, 10)]}"


def between_words(day: DayScore, spec: Spec) -> str:
    """The reach of the test's own noise: two times in three the true level is inside."""
    if day.at_least:
        stopped = "the child asked to stop" if day.outcome == "chose_to_stop" else "the cap came first"
        return f"or more: {stopped}"
    low = day.value - day.sem if spec.unit == "cm" else max(day.value - day.sem, 0.0)
    high = min(day.value + day.sem, spec.cap) if spec.kind == "shape" and spec.cap else day.value + day.sem
    unit = f" {spec.unit}" if spec.unit in ("s", "cm") else ""
    return f"likely between {round(low)} and {round(high)}{unit}"


def change_words(line: Interpretation, spec: Spec) -> str:
    """One sentence about the two newest scored days, against the noise of the measure."""
    latest = line.latest
    if latest is None:
        return "Nothing scored yet."
    now = figure(spec, latest.value, at_least=latest.at_least)
    side = f"{line.side.capitalize()} side: " if line.side else ""
    return side + _against_noise(line, spec, latest, now)


def _against_noise(line: Interpretation, spec: Spec, latest: DayScore, now: str) -> str:
    change = line.change
    if change is None or change.word == "first_look":
        return f"First look: {now} on {day_words(latest.on)}. The next test day begins the line."
    if change.word == "not_comparable":
        return f"{now} on {day_words(latest.on)}. {_sentence(change.reason or 'It cannot be compared with the day before.')}"
    before = next((day for day in reversed(line.days) if day.on == change.since), None)
    then = figure(spec, before.value, at_least=before.at_least) if before else ""
    since = day_words(change.since) if change.since else "before"
    noise = _plain_figure(spec, round(change.detectable))
    if change.word == "about_the_same":
        return (
            f"About the same as on {since}: {now} now, {then} then. Up to {noise} either way could be chance."
        )
    up, down = MORE.get(spec.kind, ("More", "Fewer"))
    word = up if change.word == "up" else down
    return f"{word} than on {since}, by more than the test’s own noise: {now} now, {then} then; {noise} could be chance."


def sides_words(lines: Sequence[Interpretation], spec: Spec) -> str:
    """Left and right of the newest series, said without alarm; "" when neither was scored.

    Two days are not set against each other. A bound on the higher side makes the difference 'at least'; where a bound
    may hide it, nothing is said about it.
    """
    newest = max((line for line in lines if line.latest and line.side), key=_when, default=None)
    if newest is None:
        return ""
    both = {line.side: line.latest for line in lines if line.series == newest.series and line.latest}
    left, right = both.get("left"), both.get("right")
    if left is None or right is None:
        return f"Only the {newest.side} side has been seen; a skill that asks for both needs the other too."
    late = left.late - right.late
    found = symmetry(left.value, right.value, sem_left=left.sem, sem_right=right.sem, late=late)
    now = [figure(spec, day.value, at_least=day.at_least) for day in (left, right)]
    if left.on != right.on:
        return (
            f"Left {now[0]} on {day_words(left.on)}, right {now[1]} on {day_words(right.on)}: seen on two days, "
            "so the sides are not set against each other."
        )
    pair = f"Left {now[0]}, right {now[1]} on {day_words(left.on)}"
    assert found is not None
    higher, lower = (left, right) if left.value > right.value else (right, left)
    if lower.at_least or (higher.at_least and not found.shown):
        return f"{pair}: it cannot be said how far the sides are apart, because ‘at least’ may be more."
    noise = _plain_figure(spec, round(found.noise))
    if not found.shown:
        return f"{pair}: no difference beyond the test’s own noise of {noise}."
    gap = _plain_figure(spec, round(abs(found.difference), 1))
    share = f", {abs(found.percent):.0f} % of the higher side" if found.percent is not None else ""
    apart = f"they differ by at least {gap}" if higher.at_least else f"they differ by {gap}{share}"
    return (
        f"{pair}: {apart}; up to {noise} could be chance. "
        "Left and right differ in everyone; it matters if it hurts or keeps growing."
    )


def found_words(state: RequirementState) -> str:
    """What was found for a requirement, without what it asks, such as '21 s on 2 Jun 2026, 54 % sure, 90 % asked for.'"""
    _, _, found = state.reason.partition("; ")
    found = found or state.reason
    return found[:1].upper() + found[1:]


def broke_first(
    lines: Sequence[Interpretation], programme: Programme
) -> tuple[tuple[tuple[str, int], ...], int]:
    """What broke first, most often first, and on how many days it was said."""
    said = [day.form_break for line in lines for day in line.days if day.form_break]
    names = _fault_names(lines[0].item, programme) if lines else {}
    counted = Counter(names.get(word, word.replace("_", " ")) for word in said)
    return tuple(counted.most_common()), len(said)


def shape_words(day: DayScore, spec: ShapeSpec) -> str:
    """What is on their own now and what comes next, such as 'Head in line on their own. Next: legs together.'"""
    levels = day.levels or {}
    own = [one for one in spec.criteria if levels.get(one.id) == 2]
    rest = [one for one in spec.criteria if levels.get(one.id) in (0, 1)]
    unseen = [one for one in spec.criteria if levels.get(one.id) is None]
    # Must-haves come first in both: they decide.
    own.sort(key=lambda one: not one.must_have)
    rest.sort(key=lambda one: (not one.must_have, -(levels.get(one.id) or 0)))
    parts = [f"{own[0].name} on their own." if own else "Building up with reminders."]
    if len(own) == len(spec.criteria):
        parts = ["All of it on their own."]
    if rest:
        parts.append(f"Next: {_lower(rest[0].name)}.")
    if unseen:
        parts.append(f"Not seen that day: {', '.join(_lower(one.name) for one in unseen)}.")
    return " ".join(parts)


def criterion_rows(line: Interpretation, spec: ShapeSpec, *, newest: int = 6) -> tuple[CriterionRow, ...]:
    """Criteria down, the newest days across."""
    days = [day for day in line.days if day.levels is not None][-newest:]
    return tuple(_criterion_row(one, days) for one in spec.criteria)


#: Why tries were interrupted, by day, item, variant and side.
Interrupted = Mapping[tuple[str, str, str, str], Sequence[str]]


def number_rows(
    lines: Sequence[Interpretation], spec: Spec, interrupted: Interrupted | None = None
) -> tuple[NumberRow, ...]:
    """The same numbers as the chart, newest first, play days included and marked, with tries that were interrupted."""
    several = len({line.series for line in lines}) > 1
    rows = []
    for line in lines:
        parts = [series_words(line, spec)] if several else []
        what = ", ".join([*parts, line.side] if line.side else parts)
        for day in line.days:
            why = (interrupted or {}).get((day.day, line.item, line.variant, line.side), ())
            rows.append(_number_row(day, what, spec, why))
    return tuple(sorted(rows, key=lambda row: (row.on, row.what), reverse=True))


def cautions(lines: Sequence[Interpretation], spec: Spec) -> tuple[str, ...]:
    """What a reader should keep in mind about this item, the most telling first."""
    scored = max((len([d for d in line.days if not d.familiarisation]) for line in lines), default=0)
    said = []
    if spec.error.support == "placeholder":
        said.append("The error bars rest on a placeholder, not on repeat tests of your own.")
    if 1 < scored < 3:
        said.append("Scores jump when a task is new. Look at the third test day before you call it progress.")
    if spec.id in BACK_ITEMS:
        said.append("Backs: low and long. More height or more seconds is not better.")
    if "wrist" in spec.loads:
        said.append("Wrists: short turns, varied tasks, rest days. Sore wrists rest.")
    if any(day.at_once > 4 for line in lines for day in line.days[-1:]):
        said.append("Timed with many clocks at once: the bar is wider than with one.")
    return tuple(said)


def _number_row(day: DayScore, what: str, spec: Spec, interrupted: Sequence[str]) -> NumberRow:
    notes = []
    if day.familiarisation:
        notes.append("play day: kept, never progress")
    elif day.first_look:
        notes.append("first look")
    if day.at_once > 1:
        notes.append(f"{day.at_once} timed at once")
    if day.outcome == "could_not_start":
        notes.append("tried, could not start")
    if day.second_levels is not None:
        notes.append("second look by another coach")
    if interrupted:
        tries = f"{COUNT_WORDS[min(len(interrupted), 10)]} {'try' if len(interrupted) == 1 else 'tries'}"
        wanted = spec.attempts if isinstance(spec, MeasureSpec) else day.trials
        done = "repeated" if day.trials >= wanted else "interrupted"
        # A tablet begins its reason with the word that the note says already.
        why = (_lower(one.removeprefix("Interrupted: ")) for one in interrupted)
        notes.append(f"{tries} {done}: {', '.join(dict.fromkeys(why))}")
    between = between_words(day, spec).removeprefix("likely between ")
    return NumberRow(
        on=day.on, what=what, value=figure(spec, day.value, at_least=day.at_least), between=between,
        age=day.age, zone=day.zone.replace("_", " "), notes=tuple(notes),
    )  # fmt: skip


def _criterion_row(one: CriterionSpec, days: Sequence[DayScore]) -> CriterionRow:
    levels = [(day.levels or {}).get(one.id) for day in days]
    said = [LEVEL_WORDS[level] for level in levels]
    return CriterionRow(
        one.name,
        one.must_have,
        tuple(LEVEL_MARKS[level] for level in levels),
        ", then ".join(said),
        said[-1] if said else LEVEL_WORDS[None],
    )


def _fault_names(item: str, programme: Programme) -> dict[str, str]:
    shapes = [shape for shape in programme.shapes.values() if item in shape.holds or shape.id == item]
    return {one.id: one.fault or one.name.lower() for shape in shapes for one in shape.criteria}


def _plain_figure(spec: Spec, value: float) -> str:
    """A difference: points have no 'of 10'."""
    return figure(spec, value).removesuffix(" of 10").removesuffix(" of 5")


def _when(line: Interpretation) -> date:
    return line.latest.on if line.latest else date.min


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."
