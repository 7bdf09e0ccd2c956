"""Ages: days / 365.25 as in published growth software, and civil birthdays (data/README.md; all COMPUTED).

No published example with a 29 February birthday was found; the rule here, reached on 1 March, is written down and tested.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from athletes.ages import age_on, completed_years

from .reading import rows

VECTORS = [
    pytest.param(row, id=f"{row['born']} to {row['tested']}") for row in rows("worked_age_vectors.csv")
]


@pytest.mark.parametrize("row", VECTORS)
def test_decimal_age_vectors(row: dict[str, str]) -> None:
    born, tested = date.fromisoformat(row["born"]), date.fromisoformat(row["tested"])
    found = age_on(born, tested)
    assert round(found * 365.25) == (tested - born).days == int(row["days"])
    assert found == pytest.approx(float(row["decimal_age_365_25"]), abs=5e-7)
    assert found * 12 == pytest.approx(float(row["months_30_4375"]), abs=5e-5)


@pytest.mark.parametrize("row", VECTORS)
def test_leap_day_rule_is_explicit(row: dict[str, str]) -> None:
    found = completed_years(date.fromisoformat(row["born"]), date.fromisoformat(row["tested"]))
    assert found == int(row["completed_years_leapday_1_march"])


def test_the_two_leap_day_rules_differ_in_the_vectors() -> None:
    differing = [
        row
        for row in rows("worked_age_vectors.csv")
        if row["completed_years_leapday_1_march"] != row["completed_years_leapday_28_feb"]
    ]
    assert [(row["born"], row["tested"]) for row in differing] == [("2016-02-29", "2025-02-28")]


@pytest.mark.parametrize("row", VECTORS)
def test_the_other_leap_day_rule_is_one_day_earlier_and_nothing_else(row: dict[str, str]) -> None:
    """The column of the 28 February rule: our rule with 29 February read as 28 in a year without one."""
    born, tested = date.fromisoformat(row["born"]), date.fromisoformat(row["tested"])
    early = (born.month, born.day) == (2, 29) and not _is_leap(tested.year)
    other = completed_years(born - timedelta(days=1) if early else born, tested)
    assert other == int(row["completed_years_leapday_28_feb"])


def test_the_decimal_calendar_of_growth_studies_never_moves_a_centile() -> None:
    """Tanner, Whitehouse & Takaishi 1966, Arch Dis Child 41:454 (FROM MEMORY): year plus day / 365 to three places.

    Births 2014 to 2017 at ages 4 to 15: at most 0.0035 years from days / 365.25 (COMPUTED), about a day.
    """

    def calendar(day: date) -> float:
        return day.year + round((day.timetuple().tm_yday - 1) / 365, 3)

    births = [date(2014, 1, 1) + timedelta(days=n) for n in range(4 * 365 + 1)]
    gap = max(
        abs(calendar(tested) - calendar(born) - age_on(born, tested))
        for born in births
        for tested in (born + timedelta(days=round(365.25 * 4) + step) for step in range(0, 11 * 365, 7))
    )
    assert gap == pytest.approx(0.0035, abs=0.0004)


def test_completed_years_on_every_birthday() -> None:
    """Trap: floor(days / 365.25) is a year short on 42 % of birthdays (5,475 of 13,149)."""
    short = total = 0
    day = date(2014, 1, 1)
    while day <= date(2017, 12, 31):
        for years in range(5, 14):
            leap = (day.month, day.day) == (2, 29) and not _is_leap(day.year + years)
            birthday = date(day.year + years, 3, 1) if leap else day.replace(year=day.year + years)
            assert completed_years(day, birthday) == years
            assert completed_years(day, birthday - timedelta(days=1)) == years - 1
            short += int((birthday - day).days / 365.25) < years
            total += 1
        day += timedelta(days=1)
    assert (short, total) == (5475, 13149)


def _is_leap(year: int) -> bool:
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


@pytest.mark.parametrize("age", [age_on, completed_years])
def test_age_before_birth_refused(age: object) -> None:
    assert callable(age)
    with pytest.raises(ValueError):
        age(date(2020, 1, 2), date(2020, 1, 1))
