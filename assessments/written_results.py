"""One result as somebody typed it -> value and outcome, or the reason why it cannot be known."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time
from typing import Literal

from assessments.analysis.records import MeasureSpec, Outcome
from athletes.sheet_file import Cell, Formula, fold

#: What a bare 0 in a hold or a count means: nobody can know unless the club says.
Zeros = Literal["", "could_not", "not_tried"]

_NUMBER = r"[-−]?\d+(?:[.,]\d+)?"
_AT_LEAST = (
    re.compile(rf"({_NUMBER})\s*([a-z]*)\s*\+\s*([a-z]*)"),
    re.compile(rf"(?:>=?|≥|at least|more than|over)\s*({_NUMBER})\s*([a-z]*)()"),
    re.compile(rf"({_NUMBER})\s*([a-z]*)\s+(?:or more|and more|plus)()"),
)
_PLAIN = re.compile(rf"({_NUMBER})\s*([a-z]*\.?)")
_CLOCK = re.compile(r"(\d{1,2}):([0-5]\d)(?:[.,]0+)?")
_MINUTES = re.compile(r"(\d{1,2})\s*min(?:s|utes?)?\s*(?:(\d{1,2})\s*(?:s|secs?|seconds?)?)?")
_OUT_OF = re.compile(r"(\d+)\s*(?:/|of|out of)\s*(\d+)")
_COULD_NOT = re.compile(
    r"(?:0\s*(?:reps?|s|secs?|cm)?\s*)?(?:tried\s*)?(?:but\s*)?(?:child\s*)?"
    r"(?:could not|couldn t|couldnt|cannot|can t|cant|unable|not able|cns|no start)"
    r"(?:\s*(?:start|do it|do|yet|to start|hold|hold it))*"
)
_NOT_TRIED_WORDS = frozenset(
    {
        "not tried",
        "not done",
        "absent",
        "away",
        "missing",
        "not there",
        "not here",
        "not tested",
        "excused",
        "nt",
        "n t",
    }
)
_BLANK_WORDS = frozenset({"", "na", "n a", "none", "blank"})
_UNITS: Mapping[str, Mapping[str, float]] = {
    "s": dict.fromkeys(("s", "sec", "secs", "second", "seconds"), 1.0) | dict.fromkeys(("min", "mins"), 60.0),
    "cm": {"cm": 1.0, "m": 100.0, "mm": 0.1},
    "reps": dict.fromkeys(("rep", "reps", "x", "times"), 1.0),
}


class UnclearResult(ValueError):
    """The cell cannot be read as a result; the message says why."""


class BareZero(UnclearResult):
    """A 0 that may be 'tried, could not' or 'not tried'."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What a cell says."""

    value: float | None
    outcome: Outcome
    note: str = ""
    warning: str = ""


def read_result(cell: Cell, spec: MeasureSpec, *, zeros: Zeros = "") -> Reading | None:
    """The result in this cell; None when it is blank, which means not tried."""
    _refuse_non_numbers(cell, spec)
    text = cell.text.casefold().replace("’", "'").strip(" '\"")
    words = fold(text)
    if words in _BLANK_WORDS and not any(letter.isdigit() for letter in text):
        return None
    if words in _NOT_TRIED_WORDS:
        return Reading(None, "not_attempted")
    if _COULD_NOT.fullmatch(words):
        return Reading(0.0, "could_not_start")
    for pattern in _AT_LEAST:
        if match := pattern.fullmatch(text):
            value = _in_unit(match[1], match[2] or match[3], spec, text)
            return _at_least(value, spec, text)
    return _scored(_number(text, spec), spec, text, zeros=zeros)


def _refuse_non_numbers(cell: Cell, spec: MeasureSpec) -> None:
    if isinstance(cell.value, Formula):
        raise UnclearResult("a formula stands here; paste its value instead")
    if isinstance(cell.value, date | time):
        raise UnclearResult(
            f"a date or a time of day stands here, not {unit_words(spec)}; the spreadsheet may have changed it"
        )
    if isinstance(cell.value, bool):
        raise UnclearResult("a yes or no stands here, not a number")
    if isinstance(cell.value, float) and not math.isfinite(cell.value):
        raise UnclearResult("this is not a number")


def unit_words(spec: MeasureSpec) -> str:
    """The unit as a person says it."""
    return {"s": "seconds", "reps": "repetitions"}.get(spec.unit, spec.unit.replace("_", " "))


def _number(text: str, spec: MeasureSpec) -> float:
    if spec.unit == "s" and (match := _CLOCK.fullmatch(text)):
        return int(match[1]) * 60.0 + int(match[2])
    if spec.unit == "s" and (match := _MINUTES.fullmatch(text)):
        return int(match[1]) * 60.0 + int(match[2] or 0)
    if spec.kind == "score_count" and spec.cap and (match := _OUT_OF.fullmatch(text)):
        if float(match[2]) != spec.cap:
            raise UnclearResult(f"'{text}' is not out of {spec.cap:g}")
        return float(match[1])
    if match := _PLAIN.fullmatch(text):
        return _in_unit(match[1], match[2], spec, text)
    raise UnclearResult(f"'{text}' is not a number in {unit_words(spec)}")


def _in_unit(number: str, unit: str, spec: MeasureSpec, text: str) -> float:
    value = float(number.replace(",", ".").replace("−", "-"))
    unit = unit.rstrip(".")
    if not unit:
        return value
    factor = _UNITS.get(spec.unit, {}).get(unit)
    if factor is None:
        raise UnclearResult(f"'{text}' is not in {unit_words(spec)}")
    return round(value * factor, 6)


def _at_least(value: float, spec: MeasureSpec, text: str) -> Reading:
    _check_limits(value, spec)
    if spec.cap is not None and value >= spec.cap:
        return Reading(spec.cap, "reached_cap", note="" if value == spec.cap else f"written {text}")
    return Reading(_whole(value, spec, text), "chose_to_stop", note=f"written {text}")


def _scored(value: float, spec: MeasureSpec, text: str, *, zeros: Zeros) -> Reading | None:
    if value == 0 and spec.kind != "score_count" and spec.limits.refuse[0] >= 0:
        if not zeros:
            raise BareZero("0 can be 'tried, could not' or 'not tried'; write which, or leave it blank")
        return Reading(0.0, "could_not_start") if zeros == "could_not" else None
    _check_limits(value, spec)
    low, high = spec.limits.warn
    if spec.cap is not None and spec.kind != "score_count" and value >= spec.cap:
        if value == spec.cap:
            return Reading(spec.cap, "reached_cap")
        warning = (
            f"{value:g} is past the cap of {spec.cap:g} {unit_words(spec)}; kept as at least {spec.cap:g}"
        )
        return Reading(spec.cap, "reached_cap", note=f"written {text}", warning=warning)
    warning = "" if low <= value <= high else f"{value:g} {unit_words(spec)} is unusual; look again"
    kept = _whole(value, spec, text)
    return Reading(kept, "scored", note="" if kept == value else f"written {text}", warning=warning)


def _check_limits(value: float, spec: MeasureSpec) -> None:
    low, high = spec.limits.refuse
    if not low <= value <= high:
        raise UnclearResult(
            f"{value:g} {unit_words(spec)} is not possible; it lies between {low:g} and {high:g}"
        )


def _whole(value: float, spec: MeasureSpec, text: str) -> float:
    """Hand-timed seconds are rounded down to whole ones; a count is whole already, or a slip."""
    if spec.kind == "hold" and spec.precision >= 1:
        return float(math.floor(value))
    if spec.kind in ("count", "score_count") and value != int(value):
        raise UnclearResult(f"'{text}' is not a whole number of {unit_words(spec)}")
    return value
