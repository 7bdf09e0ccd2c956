"""Sentences that stand first on the pages of numbers, and the small ranges beside them. Pure: records in, words out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from assessments.analysis import (
    Coverage,
    ErrorEstimate,
    Forecast,
    StateOutcome,
    detectable_change,
    figure,
    misses_that_fit,
)
from assessments.analysis.calibration import WEEKS_FOLLOWED
from assessments.analysis.records import MeasureSpec, RequirementState, ShapeSpec
from assessments.progress_words import day_words, found_words, must_have_names

Spec = MeasureSpec | ShapeSpec
FORECAST_LEVEL = 80
LIKELY = 0.5  # chance from which a requirement is likely met
FEW_DAYS = 5  # fewer of one child show no direction
MISSES = 1 - FORECAST_LEVEL / 100  # promised share outside the range
STATE_WORDS = {
    "ready": "ready to try",
    "nearly": "nearly",
    "not_yet": "not yet",
    "not_known": "not known",
    "resting": "resting",
}


@dataclass(frozen=True, slots=True)
class Span:
    """A range on a common line, as places in per cent; `mark` is what it is compared with."""

    x: str
    width: str
    at: str
    mark: str
    words: str


def span(
    value: float, low: float, high: float, *, ends: tuple[float, float], mark: float | None = None, words: str
) -> Span:
    """A range between two ends; what lies beyond an end stops there."""
    start, stop = _place(low, ends), _place(high, ends)
    return Span(
        x=f"{start:.1f}%",
        width=f"{max(stop - start, 0.5):.1f}%",
        at=f"{_place(value, ends):.1f}%",
        mark=f"{_place(mark, ends):.1f}%" if mark is not None else "",
        words=words,
    )


def _place(value: float, ends: tuple[float, float]) -> float:
    share = (value - ends[0]) / (ends[1] - ends[0])
    return 100 * min(max(share, 0.0), 1.0)


def amount(value: float, unit: str) -> str:
    """An error or a change with its unit: one decimal, because errors are small."""
    words = {"s": " s", "cm": " cm", "of_10": " of 10", "of_5": " of 5"}.get(unit, "")
    return f"{value:.1f}{words}"


def signed(value: float) -> str:
    """A difference with one decimal and its sign; no sign when it rounds to nothing."""
    text = f"{abs(value):.1f}"
    return text if text == "0.0" else f"{'+' if value > 0 else '−'}{text}"


# --- error ------------------------------------------------------------------------------------------


def error_words(spec: Spec, found: ErrorEstimate, *, is_own: bool = False) -> str:
    """The club's own error beside the starter's, and the one in use when it is no longer the starter's."""
    if found.scale is None or found.scale_interval is None or found.sem_at is None:
        return found.reason
    value, own, low, high = found.sem_at
    starter = found.starter.sem(value)
    at = figure(spec, round(value))
    said = f"At {at}: {amount(own, spec.unit)} (between {low:.1f} and {high:.1f}); the starter says {starter:.1f}."
    if is_own:
        said = f"{said} In use: {amount(spec.error.sem(value), spec.unit)}, set by an edition of yours."
    if not found.enough or found.confirming:
        return f"{said} {found.reason}"
    if found.scale_interval[1] < 1:
        return f"Less noise than the starter says. {said}"
    if found.scale_interval[0] > 1:
        return f"More noise than the starter says. {said}"
    return f"About what the starter says. {said}"


def change_words(spec: Spec, found: ErrorEstimate) -> str:
    """What taking it over would do to 'really changed'."""
    if found.model is None or found.sem_at is None:
        return ""
    value, own = found.sem_at[0], found.sem_at[1]
    now = detectable_change(spec.error.sem(value), df=spec.error.df)
    then = detectable_change(own, df=found.children - 1)  # from so few children Student's t
    if round(now, 1) == round(then, 1):
        return f"‘Really changed’ begins at {amount(now, spec.unit)} there."
    return f"‘Really changed’ would begin at {amount(then, spec.unit)} there; now it is {amount(now, spec.unit)}."


def errors_sentence(count: int, ready: int, needed: int) -> str:
    """The first sentence of the page."""
    if not ready:
        return (
            f"Every error is still the starter’s. For one of your own, {needed} children need two test days of the "
            "same measure within two weeks."
        )
    return (
        f"Your own repeat tests say how noisy {ready} of {count} measures and shapes are; "
        "the others still rest on the starter’s figure."
    )


def worthwhile_sentence(seen: int, count: int) -> str:
    """Whether tests can see what would be worth having."""
    if not count:
        return "No measure has ten children with a result yet."
    small = "a change of a fifth of the spread between your children"
    if not seen:
        return f"Two test days cannot show {small}, in any of {count} measures and shapes: look at levels over several days."
    tests = "every measure and shape" if seen == count else f"{seen} of {count} measures and shapes"
    return f"Two test days can show {small} in {tests}."


# --- agreement, outcomes, coverage --------------------------------------------------------------------


def agreement_sentence(looks: int, same: int, seen: int) -> str:
    """How often two coaches gave the same level."""
    if not looks:
        return (
            "No second looks yet. Ask a second coach to judge a few shapes, without seeing the first answer."
        )
    return (
        f"Two coaches gave the same level {_of_ten(same, seen)} times, "
        f"from {looks} second look{'' if looks == 1 else 's'} in the last year."
    )


def _of_ten(part: int, whole: int) -> str:
    return f"{round(10 * part / whole)} of 10" if whole else "0 of 0"


def coverage_sentence(spec: Spec, found: Sequence[Coverage]) -> str:
    """Whether the ranges of the forecasts kept their word: the misses beside those that chance alone would give."""
    every = found[0]
    if not every.count and every.cut:
        return f"{spec.name}: {cut_words(every)} The promise of {FORECAST_LEVEL} of 100 is for ranges with both ends open."
    if not every.count:
        return f"{spec.name}: not enough test days yet to check a forecast."
    misses = every.count - every.covered
    low, high = misses_that_fit(every.count, MISSES)
    said = (
        f"{spec.name}: {every.covered} of {every.count} newest results lay inside the range that the earlier days gave, "
        f"{misses} outside; chance alone would put {low} to {high} outside"
    )
    if low <= misses <= high:
        return f"{said}. That fits the promised {FORECAST_LEVEL} of 100."
    word = "too vague" if misses < low else "too sure of themselves"
    return f"{said}. The ranges are {word}."


def cut_words(one: Coverage) -> str:
    """What became of the ranges that can be missed on one side only; "" without one."""
    if not one.cut:
        return ""
    more = "more " if one.count else ""
    ranges = f"{one.cut} {more}range ends" if one.cut == 1 else f"{one.cut} {more}ranges end"
    return f"{ranges} at the cap or at 0 and can be missed on one side only: {one.cut_covered} of {one.cut} held."


def chance_words(one: Coverage) -> str:
    """The misses of one row, and how many chance would give."""
    low, high = misses_that_fit(one.count, MISSES)
    return f"{one.count - one.covered}; chance gives {low} to {high}"


def outcome_words(one: StateOutcome) -> str:
    """One state's later outcome in words; where not all were seen to the end, the share is not the plain fraction."""
    seen = f"{one.consistent} of {one.followed} skill{'' if one.followed == 1 else 's'} of {children_words(one.children)}"
    if one.interval is None or one.share is None:
        if one.consistent:
            return f"{seen}; nobody stayed in it for {WEEKS_FOLLOWED} weeks without, so there is no share"
        if one.moved:
            return f"nobody stayed in it for {WEEKS_FOLLOWED} weeks"
        return "still being followed" if one.waiting else "nobody followed yet"
    low, high = (round(100 * end) for end in one.interval)
    if one.share != one.consistent / one.followed:
        return f"{seen} seen to the end; about {100 * one.share:.0f} of 100, between {low} and {high}"
    return f"{seen}; between {low} and {high} of 100"


def unfinished_words(one: StateOutcome) -> tuple[str, ...]:
    """Skills of a state that were not seen to the end of the weeks, by what came first."""
    counts = ((one.moved, "moved on"), (one.waiting, "not over"), (one.left, "left club"))
    return tuple(f"{count} {why}" for count, why in counts if count)


def children_words(count: int) -> str:
    """Such as 1 child, 12 children."""
    return f"{count} {'child' if count == 1 else 'children'}"


# --- forecast ---------------------------------------------------------------------------------------


def forecast_words(spec: Spec, state: RequirementState, found: Forecast) -> str:
    """When a requirement may be met: a wide honest range of dates, or why nothing can be said.

    A date is never more than the level or the total: what is asked besides stands with it, and where the level is there
    already, how the requirement stands now.
    """
    asked = f"{spec.name}, {figure(spec, state.requirement.minimum)}"
    if found.word in ("resting", "no_evidence", "stale", "too_soon"):
        return f"{asked}: {found.reason[:1].lower()}{found.reason[1:]}"
    if found.word == "now":
        what = "total" if state.requirement.must_have else "level"
        decides = " A must-have decides." if _must_have_decides(state) else ""
        stands = f"{found_words(state)} {state.one_more}".rstrip()
        return f"{asked}: the {what} is expected there already.{decides} Now: {stands}"
    names = must_have_names(spec, state.requirement)
    besides = f" That is the total alone: {names} must be there on their own too." if names else ""
    today = found.path[0].on if found.path else None
    first = "now already" if found.earliest_on == today else f"on {day_words(found.earliest_on or date.max)}"
    if found.word == "later" or found.likely_on is None:
        early = f"; at the earliest {first}" if found.earliest_on else ""
        return f"{asked}: not expected within six months{early}.{besides}"
    last = f"until {day_words(found.latest_on)}" if found.latest_on else "more than six months"
    return (
        f"{asked}: most likely around {day_words(found.likely_on)}. "
        f"It may be there {first}, and may take {last}.{besides}"
    )


def _must_have_decides(state: RequirementState) -> bool:
    """Whether the total by itself would stand higher than the requirement does."""
    if not state.requirement.must_have or state.probability is None:
        return False
    likely, sure = state.probability >= LIKELY, state.probability >= state.confidence
    return (state.word == "not_yet" and likely) or (state.word == "likely" and sure)


def trust_words(found: Forecast) -> str:
    """How far one forecast can be trusted and what it leans on; "" where nothing was forecast."""
    if found.word not in ("now", "within", "later"):
        return ""
    days = f"{found.days} test day{'' if found.days == 1 else 's'}"
    inside = "Eight times in ten the date should lie inside. " if found.word == "within" else ""
    if not found.children:
        return (
            f"{inside}The child’s own line alone, from {days}: there are too few other children to lean on."
        )
    leans = f"{inside}It leans on {found.children} children {found.near}"
    if found.days < FEW_DAYS:
        return f"{leans}; this child’s {days} alone would say little."
    return f"{leans} and on {days} of this child."


def is_known(value: float | None) -> bool:
    """Whether there is a number to show."""
    return value is not None and not math.isnan(value)
