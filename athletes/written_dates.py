"""A date as somebody typed it -> a date, or the reason why it cannot be known."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from typing import Literal

from athletes.sheet_file import CellValue, Formula, fold, tidy

DateOrder = Literal["", "day_first", "month_first"]

_MONTHS = {
    name: number
    for number, names in enumerate(
        (
            "jan january",
            "feb february",
            "mar march",
            "apr april",
            "may",
            "jun june",
            "jul july",
            "aug august",
            "sep sept september",
            "oct october",
            "nov november",
            "dec december",
        ),
        1,
    )
    for name in names.split()
}
_MONTH = "|".join(sorted(_MONTHS, key=len, reverse=True))
_YEAR_FIRST = re.compile(r"(?<!\d)(\d{4})([-/._ ])(\d{1,2})\2(\d{1,2})(?!\d)")
_YEAR_LAST = re.compile(r"(?<!\d)(\d{1,2})\s?([-/.])\s?(\d{1,2})\s?\2\s?(\d{4}|\d{2})(?!\d)")
_DAY_NAMED = re.compile(
    rf"(?<!\d)(\d{{1,2}})(?:st|nd|rd|th)?[\s-]+({_MONTH})\.?[\s,-]+(\d{{4}}|\d{{2}})(?!\d)"
)
_MONTH_NAMED = re.compile(rf"\b({_MONTH})\.?[\s-]+(\d{{1,2}})(?:st|nd|rd|th)?,?\s+(\d{{4}})(?!\d)")

# Spreadsheets count days from here; the two serials are 1 January 2000 and 31 December 2099.
_SERIAL_ZERO = date(1899, 12, 30)
_FIRST_SERIAL, _LAST_SERIAL = 36526, 73050


class UnclearDate(ValueError):
    """The date cannot be known; the message says what to do."""


class AmbiguousDate(UnclearDate):
    """Both readings are dates and nobody said which one is meant."""


def read_date(value: CellValue, order: DateOrder) -> date:
    """The date in a cell that holds a date and nothing else."""
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, Formula):
        raise UnclearDate("holds a formula; paste its value instead")
    if isinstance(value, int | float) and not isinstance(value, bool):
        return _from_serial(value)
    text = re.sub(r"[T\s]00:00(:00(\.0+)?)?Z?$", "", tidy(str(value)))
    if text.isdecimal() and len(text) < 10:  # a raised 2 is a digit that int() does not read
        return _from_serial(int(text))
    found = find_date(text, order)
    if found is None or fold(found[1]) != fold(text):
        raise UnclearDate(f"'{text}' is not a date; write it as 2019-03-04")
    return found[0]


def find_date(text: str, order: DateOrder) -> tuple[date, str] | None:
    """The first date inside a longer text and the words it was written with; None when there is none."""
    lowered = text.casefold()
    if match := _YEAR_FIRST.search(lowered):
        return _date(match[1], match[3], match[4], match[0]), match[0]
    if match := _DAY_NAMED.search(lowered):
        return _date(match[3], _MONTHS[match[2]], match[1], match[0]), match[0]
    if match := _MONTH_NAMED.search(lowered):
        return _date(match[3], _MONTHS[match[1]], match[2], match[0]), match[0]
    if match := _YEAR_LAST.search(lowered):
        return _numbers_only(match[1], match[3], match[4], match[0], order=order), match[0]
    return None


def _numbers_only(first: str, second: str, year: str, written: str, *, order: DateOrder) -> date:
    day_first = _possible(year, second, first)
    month_first = _possible(year, first, second)
    if day_first and month_first and day_first != month_first:
        if not order:
            raise AmbiguousDate(
                f"'{written}' can be {_words(day_first)} or {_words(month_first)}; "
                "say whether the day or the month comes first"
            )
        return day_first if order == "day_first" else month_first
    chosen = (
        day_first
        if order == "day_first"
        else month_first
        if order == "month_first"
        else day_first or month_first
    )
    if chosen:
        return chosen
    if day_first or month_first:
        said = "day" if order == "day_first" else "month"
        raise UnclearDate(f"'{written}' is no date when the {said} comes first; write it as 2019-03-04")
    raise UnclearDate(f"'{written}' is not in the calendar")


def _words(when: date) -> str:
    return f"{when.day} {when:%B} {when.year}"


def _possible(year: str, month: str | int, day: str | int) -> date | None:
    full = int(year) + (2000 if len(year) == 2 else 0)
    try:
        return date(full, int(month), int(day))
    except ValueError:
        return None


def _date(year: str, month: str | int, day: str | int, written: str) -> date:
    found = _possible(year, month, day)
    if found is None:
        raise UnclearDate(f"'{written}' is not in the calendar")
    return found


def _from_serial(value: float) -> date:
    if not _FIRST_SERIAL <= value <= _LAST_SERIAL or int(value) != value:
        raise UnclearDate(f"'{value:g}' is a number, not a date; write it as 2019-03-04")
    return _SERIAL_ZERO + timedelta(days=int(value))
