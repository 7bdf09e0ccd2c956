"""Age on a date, age band and season: the only age arithmetic there is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Protocol, TypeVar


class AgeBand(Protocol):
    """Anything with an id that holds from the day `low` is reached until the day before `high` is."""

    @property
    def id(self) -> str: ...
    @property
    def low(self) -> int: ...
    @property
    def high(self) -> int: ...


B = TypeVar("B", bound=AgeBand)


@dataclass(frozen=True, slots=True)
class Season:
    """A club year, first and last day included."""

    begins_on: date
    ends_on: date

    @property
    def name(self) -> str:
        """Such as 2025/26, or 2025 for a season that is a calendar year."""
        first, last = self.begins_on.year, self.ends_on.year
        return str(first) if first == last else f"{first}/{last % 100:02d}"


def age_on(born_on: date, on: date) -> float:
    """Decimal age in years: exact days / 365.25. For curves and charts, never for birthdays."""
    days = (on - born_on).days
    if days < 0:
        raise ValueError(f"{on:%Y-%m-%d} is before the birth date {born_on:%Y-%m-%d}")
    return days / 365.25


def completed_years(born_on: date, on: date) -> int:
    """Whole years reached by the civil calendar; a birthday on 29 February counts as reached on 1 March.

    Never floor(days / 365.25): that is a year short on many birthdays.
    """
    if on < born_on:
        raise ValueError(f"{on:%Y-%m-%d} is before the birth date {born_on:%Y-%m-%d}")
    return on.year - born_on.year - ((on.month, on.day) < (born_on.month, born_on.day))


def birthday(born_on: date, years: int) -> date:
    """The first day on which that many whole years are reached."""
    try:
        return born_on.replace(year=born_on.year + years)
    except ValueError:
        return date(born_on.year + years, 3, 1)


def band_of(born_on: date, on: date, bands: Iterable[B]) -> B | None:
    """The band that holds the completed years on that day; None outside every band."""
    years = completed_years(born_on, on)
    return next((band for band in bands if band.low <= years < band.high), None)


def season_of(on: date, first_month: int = 9) -> Season:
    """The club year that holds the day; it begins on the first of `first_month`."""
    if not 1 <= first_month <= 12:
        raise ValueError(f"a season begins in a month from 1 to 12, not {first_month}")
    year = on.year if on.month >= first_month else on.year - 1
    begins = date(year, first_month, 1)
    return Season(begins, date(year + 1, first_month, 1) - timedelta(days=1))
