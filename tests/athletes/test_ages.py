"""Ages, bands and seasons on the days where they are easy to get wrong."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.ages import age_on, band_of, birthday, completed_years, season_of

VECTORS = Path(__file__).parents[1] / "outside" / "data" / "worked_age_vectors.csv"


@dataclass(frozen=True)
class Years:
    id: str
    low: int
    high: int


BANDS = (Years("4", 4, 5), Years("5", 5, 6), Years("8-9", 8, 10))
births = st.dates(date(2010, 1, 1), date(2022, 12, 31))


def vectors() -> list[dict[str, str]]:
    with VECTORS.open(newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", vectors(), ids=lambda row: f"{row['born']}-{row['tested']}")
def test_ages_agree_with_the_worked_dates(row):
    born, tested = date.fromisoformat(row["born"]), date.fromisoformat(row["tested"])
    assert age_on(born, tested) == pytest.approx(float(row["decimal_age_365_25"]), abs=5e-7)
    assert completed_years(born, tested) == int(row["completed_years_leapday_1_march"])


@given(births.filter(lambda day: (day.month, day.day) != (2, 29)), st.integers(1, 15))
def test_the_birthday_itself_completes_the_year(born, years):
    birthday = born.replace(year=born.year + years)
    assert completed_years(born, birthday) == years
    assert completed_years(born, birthday - timedelta(days=1)) == years - 1


@pytest.mark.parametrize("year", [2017, 2018, 2019])
def test_a_leap_day_birthday_is_reached_on_the_first_of_march(year):
    born = date(2016, 2, 29)
    assert completed_years(born, date(year, 2, 28)) == year - 2017
    assert completed_years(born, date(year, 3, 1)) == year - 2016


@given(births, st.integers(0, 4000), st.integers(1, 400))
def test_age_only_grows(born, days, more):
    earlier, later = born + timedelta(days=days), born + timedelta(days=days + more)
    assert age_on(born, earlier) < age_on(born, later)
    assert completed_years(born, earlier) <= completed_years(born, later)


@pytest.mark.parametrize("ask", [age_on, completed_years])
def test_a_day_before_birth_is_refused(ask):
    with pytest.raises(ValueError, match="before the birth date 2019-05-02"):
        ask(date(2019, 5, 2), date(2019, 5, 1))


@pytest.mark.parametrize(
    ("on", "band"),
    [
        (date(2023, 5, 1), None),
        (date(2023, 5, 2), "4"),
        (date(2024, 5, 1), "4"),
        (date(2024, 5, 2), "5"),
        (date(2025, 5, 2), None),
        (date(2027, 5, 2), "8-9"),
        (date(2029, 5, 1), "8-9"),
        (date(2029, 5, 2), None),
    ],
)
def test_a_band_holds_from_the_first_birthday_to_the_day_before_the_last(on, band):
    found = band_of(date(2019, 5, 2), on, BANDS)
    assert (found.id if found else None) == band


@pytest.mark.parametrize(
    ("on", "first_month", "begins", "ends", "name"),
    [
        (date(2025, 9, 1), 9, date(2025, 9, 1), date(2026, 8, 31), "2025/26"),
        (date(2026, 8, 31), 9, date(2025, 9, 1), date(2026, 8, 31), "2025/26"),
        (date(2026, 3, 4), 1, date(2026, 1, 1), date(2026, 12, 31), "2026"),
        (date(2000, 1, 1), 3, date(1999, 3, 1), date(2000, 2, 29), "1999/00"),
    ],
)
def test_a_season_holds_its_first_and_last_day(on, first_month, begins, ends, name):
    season = season_of(on, first_month)
    assert (season.begins_on, season.ends_on, season.name) == (begins, ends, name)


@pytest.mark.parametrize("month", [0, 13])
def test_a_season_cannot_begin_outside_the_year(month):
    with pytest.raises(ValueError, match="from 1 to 12"):
        season_of(date(2026, 1, 1), month)


@given(born=births, years=st.integers(0, 12))
def test_a_birthday_is_the_first_day_of_its_whole_year(born, years):
    day = birthday(born, years)
    assert completed_years(born, day) == years
    assert years == 0 or completed_years(born, day - timedelta(days=1)) == years - 1
