"""Dates as clubs type them."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.sheet_file import Formula
from athletes.written_dates import AmbiguousDate, UnclearDate, find_date, read_date

days = st.dates(date(2000, 1, 1), date(2099, 12, 31))
separators = st.sampled_from(["/", ".", "-"])


@given(days)
def test_an_iso_date_needs_no_choice(day):
    assert read_date(day.isoformat(), "") == day


@given(days, separators)
def test_a_stated_day_first_is_kept_for_every_day(day, separator):
    written = separator.join((str(day.day), str(day.month), str(day.year)))
    assert read_date(written, "day_first") == day


@given(days, separators)
def test_a_stated_month_first_is_kept_for_every_day(day, separator):
    written = separator.join((f"{day.month:02d}", f"{day.day:02d}", str(day.year)))
    assert read_date(written, "month_first") == day


@given(days)
def test_without_a_choice_numbers_are_read_only_when_one_reading_exists(day):
    written = f"{day.day}/{day.month}/{day.year}"
    if day.day <= 12 and day.day != day.month:
        with pytest.raises(AmbiguousDate):
            read_date(written, "")
    else:
        assert read_date(written, "") == day


@given(days)
def test_a_month_in_words_needs_no_choice(day):
    assert read_date(f"{day.day} {day:%B} {day.year}", "") == day
    assert read_date(f"{day:%b} {day.day}, {day.year}", "month_first") == day


@given(days)
def test_a_spreadsheet_serial_is_its_date(day):
    serial = (day - date(1899, 12, 30)) // timedelta(days=1)
    assert read_date(serial, "") == day
    assert read_date(str(serial), "") == day


@given(st.text(max_size=30))
def test_any_text_is_a_date_or_a_plain_reason(text):
    try:
        found = read_date(text, "")
    except UnclearDate as error:
        assert str(error)
    else:
        assert isinstance(found, date)


@pytest.mark.parametrize(
    "written", ["4th March 2019", "4-Mar-2019", "Mar 4, 2019", "4/3/19", "2019-03-04 00:00:00"]
)
def test_the_same_day_written_in_other_ways(written):
    assert read_date(written, "day_first") == date(2019, 3, 4)


def test_an_excel_date_has_no_time():
    assert read_date(datetime(2019, 3, 4), "") == date(2019, 3, 4)


def test_a_choice_that_the_date_contradicts_is_said_and_not_turned_round():
    with pytest.raises(UnclearDate, match="no date when the day comes first"):
        read_date("3/25/2019", "day_first")
    assert read_date("3/25/2019", "month_first") == date(2019, 3, 25)


@pytest.mark.parametrize("value", ["31/2/2019", "soon", "12", 7, 43528.5, Formula("=A1"), "2019-13-01", True])
def test_what_is_no_date_is_refused(value):
    with pytest.raises(UnclearDate):
        read_date(value, "day_first")


@pytest.mark.parametrize(
    "name", ["Test day 2025-09-12", "day_2025_09_12", "12 Sept 2025", "Autumn 12.9.2025 hall B"]
)
def test_a_date_is_found_inside_a_sheet_name(name):
    found = find_date(name, "day_first")
    assert found is not None
    assert found[0] == date(2025, 9, 12)
