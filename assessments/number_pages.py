"""The pages of numbers laid out: the first sentence, the rows with their ranges, what may be done. Records in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assessments.analysis import Coverage, StateOutcome
from assessments.analysis.records import MeasureSpec, ShapeSpec
from assessments.number_words import (
    FORECAST_LEVEL,
    STATE_WORDS,
    Span,
    amount,
    chance_words,
    change_words,
    coverage_sentence,
    cut_words,
    error_words,
    errors_sentence,
    forecast_words,
    outcome_words,
    span,
    trust_words,
    unfinished_words,
    worthwhile_sentence,
)
from assessments.numbers import ErrorLine, KeptWord, RequirementForecast, WorthwhileLine
from assessments.outcomes import Outcomes

Spec = MeasureSpec | ShapeSpec
UNIT = (0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Card:
    """One question of the overview and the page that answers it."""

    url: str
    title: str
    about: str
    fetches: bool = False  # whether its first sentence speaks of the whole club and is worked out quickly


CARDS = (
    Card("assessments:numbers_error", "How noisy is each test?", "Your own repeat tests beside the starter’s figure.", True),
    Card("assessments:numbers_agreement", "Do coaches see the same shape?", "Second looks, and calibration.", True),
    Card("assessments:numbers_outcomes", "Does ‘ready to try’ mean anything?", "What became of children by state.", True),
    Card("assessments:numbers_forecasts", "Do forecasts keep their word?", "The newest results against what was expected."),
    Card("assessments:numbers_norms", "Where do your own children stand by age?", "Smoothed percentiles, and a draft."),
    Card("assessments:numbers_reference", "And published values?", "A national survey, with how its test differed."),
)  # fmt: skip


# --- error ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ErrorRow:
    """One measure with the club's noise as a multiple of the starter's."""

    spec: Spec
    line: ErrorLine
    words: str
    change: str
    span: Span | None


@dataclass(frozen=True, slots=True)
class ErrorPage:
    """All measures; those with something to say first."""

    sentence: str
    needed: int
    days_apart: int
    rows: tuple[ErrorRow, ...]
    without: tuple[ErrorRow, ...]
    may_take: bool
    worthwhile: str
    changes: tuple[ChangeRow, ...]


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """A fifth of the spread between children beside the smallest change that two days show."""

    name: str
    children: int
    worth: str
    seen_from: str
    is_seen: bool


def error_page(lines: Sequence[ErrorLine], worthwhile: Sequence[WorthwhileLine]) -> ErrorPage:
    """Rows with two children or more, then those that nobody was tested in twice; then what each test can see."""
    rows = [_error_row(line) for line in lines]
    ready = sum(line.may_be_taken for line in lines)
    first = lines[0].found
    return ErrorPage(
        sentence=errors_sentence(len(lines), ready, first.needed),
        needed=first.needed,
        days_apart=first.days_apart,
        rows=tuple(row for row in rows if row.span is not None),
        without=tuple(row for row in rows if row.span is None),
        may_take=ready > 0,
        worthwhile=worthwhile_sentence(sum(one.is_seen for one in worthwhile), len(worthwhile)),
        changes=tuple(
            ChangeRow(
                one.spec.name,
                one.children,
                amount(one.change, one.spec.unit),
                amount(one.detectable, one.spec.unit),
                one.is_seen,
            )
            for one in worthwhile
        ),
    )


def _error_row(line: ErrorLine) -> ErrorRow:
    found, shown = line.found, None
    if found.scale is not None and found.scale_interval is not None:
        low, high = found.scale_interval
        said = (
            f"{found.scale:.2f} times the starter’s noise, between {low:.2f} and {high:.2f}; 1 is the starter"
        )
        shown = span(found.scale, low, high, ends=(0.0, 2.0), mark=1.0, words=said)
    return ErrorRow(
        line.spec,
        line,
        error_words(line.spec, found, is_own=line.is_own),
        change_words(line.spec, found),
        shown,
    )


# --- outcomes and coverage --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ShareRow:
    """A share with its interval on a line from 0 to 1."""

    name: str
    glyph: str
    count: int
    words: str
    span: Span | None
    unfinished: tuple[str, ...] = ()  # not seen to the end, and why
    chance: str = ""  # misses beside those that chance would give


@dataclass(frozen=True, slots=True)
class OutcomePage:
    """What became of the children in each state."""

    found: Outcomes
    rows: tuple[ShareRow, ...]
    shown: tuple[ShareRow, ...]
    is_enough: bool


def outcome_page(found: Outcomes) -> OutcomePage:
    """States in their order, 'ready' first."""
    return OutcomePage(
        found=found,
        rows=tuple(_outcome(one) for one in found.rules),
        shown=tuple(
            _outcome(one) for one in found.shown if one.followed or one.waiting or one.left or one.moved
        ),
        is_enough=any(one.followed or one.moved for one in found.rules),
    )


def _outcome(one: StateOutcome) -> ShareRow:
    words = outcome_words(one)
    shown = None
    if one.interval is not None and one.share is not None:
        shown = span(one.share, *one.interval, ends=UNIT, words=words)
    return ShareRow(STATE_WORDS[one.word], one.word, one.followed, words, shown, unfinished_words(one))


@dataclass(frozen=True, slots=True)
class ForecastPage:
    """How often the range held what came."""

    kept: KeptWord
    sentence: str
    rows: tuple[ShareRow, ...]
    cut: str  # ranges that are counted apart; "" without one, or where the sentence says it


def forecast_page(kept: KeptWord) -> ForecastPage:
    """All children first, then by age band."""
    rows = tuple(_coverage(one) for one in kept.coverage if one.count)
    cut = cut_words(kept.coverage[0]) if rows else ""
    return ForecastPage(kept, coverage_sentence(kept.spec, kept.coverage), rows, cut)


def _coverage(one: Coverage) -> ShareRow:
    name = f"age {one.group}" if one.group else "all children"
    if one.interval is None:
        return ShareRow(name, "", one.count, "nobody yet", None)
    low, high = one.interval
    words = f"{one.covered} of {one.count}; between {100 * low:.0f} and {100 * high:.0f} of 100"
    shown = span(one.share, low, high, ends=UNIT, mark=FORECAST_LEVEL / 100, words=words)
    return ShareRow(name, "", one.count, words, shown, chance=chance_words(one))


@dataclass(frozen=True, slots=True)
class ForecastLine:
    """One requirement of one child: the range of dates on a line of six months, or why nothing can be said."""

    found: RequirementForecast
    words: str
    trust: str
    span: Span | None


def forecast_line(one: RequirementForecast) -> ForecastLine:
    """Words first; the range from one to nine chances in ten, open at the end when that lies beyond six months."""
    found, shown = one.found, None
    words = forecast_words(one.spec, one.state, found)
    if found.word == "within" and found.path and found.earliest_on and found.likely_on:
        first, last = found.path[0].on, found.path[-1].on
        weeks = [(day - first).days for day in (found.likely_on, found.earliest_on, found.latest_on or last)]
        shown = span(*weeks, ends=(0.0, float((last - first).days)), words=words)
    return ForecastLine(one, words, trust_words(found), shown)
