"""Past test days in a spreadsheet -> entries and problems with their cells."""

from __future__ import annotations

import io
from datetime import date

import openpyxl
import pytest

from assessments.result_columns import ColumnTarget, parse_mapping
from assessments.results_file import entry_id, read_results
from assessments.results_layout import Choices
from tests.assessments.results_programme import CHILDREN, PROGRAMME, TODAY


def read(content, name="2026-03-12.csv", **choices):
    content = content.encode() if isinstance(content, str) else content
    return read_results(
        content, name, programme=PROGRAMME, children=CHILDREN, choices=Choices(**choices), today=TODAY
    )


def sheets(**by_name) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in by_name.items():
        sheet = book.create_sheet(name.replace("_", " "))
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def places(found):
    return [(e.on.isoformat(), e.child, e.item, e.side, e.trial, e.value, e.outcome) for e in found.entries]


def said(found) -> list[str]:
    return [str(problem) for problem in found.problems]


WIDE = "Name,Hollow 1,Hollow 2,One-leg stand L,One-leg stand R,Long jump,Notes\n"


def test_a_wide_sheet_gives_one_entry_a_filled_cell():
    found = read(
        WIDE.replace("Long jump", "Standing long jump")
        + "Mia Ash,20,22,12,,80,shy today\n\nZoë Søby,60+,,,could not,,"
    )
    assert places(found) == [
        ("2026-03-12", "mia", "hollow_hold", "", 1, 20, "scored"),
        ("2026-03-12", "mia", "hollow_hold", "", 2, 22, "scored"),
        ("2026-03-12", "mia", "single_leg_stance", "left", 1, 12, "scored"),
        ("2026-03-12", "mia", "standing_long_jump", "", 1, 80, "scored"),
        ("2026-03-12", "zoe", "hollow_hold", "", 1, 60, "reached_cap"),
        ("2026-03-12", "zoe", "single_leg_stance", "right", 1, 0, "could_not_start"),
    ]
    assert found.not_tried == 4
    assert not found.problems
    assert not found.unmatched
    assert "2026-03-12: column 'Notes' (G1) was not read." in found.notes


def test_a_long_list_gives_one_entry_a_line():
    found = read(
        "Date,Child,Test,Side,Try,Result\n"
        "12/3/2026,Mia Ash,Hollow hold,,1,20\n"
        "12/3/2026,Mia Ash,One-leg stand,L,,12\n"
        "14/5/2026,Zoë Søby,Still landings out of five,,,4/5\n",
        name="all.csv",
        order="day_first",
    )
    assert places(found) == [
        ("2026-03-12", "mia", "hollow_hold", "", 1, 20, "scored"),
        ("2026-03-12", "mia", "single_leg_stance", "left", 1, 12, "scored"),
        ("2026-05-14", "zoe", "stick_landings", "", 1, 4, "scored"),
    ]


def test_the_same_result_wide_or_long_is_the_same_entry():
    wide = read("Name,One-leg stand R2\nMia Ash,12")
    long = read("Name,Measure,Side,Trial,Value\nMia Ash,single_leg_stance,right,2,12")
    assert [entry.id for entry in wide.entries] == [entry.id for entry in long.entries]
    place = ColumnTarget("single_leg_stance", "right", 2)
    assert wide.entries[0].id == entry_id(date(2026, 3, 12), "mia", place)


def test_each_sheet_is_a_day_dated_by_its_name_and_a_list_of_children_is_left_alone():
    found = read(
        sheets(
            Roster=[["Name", "Born"], ["Mia Ash", date(2019, 3, 4)]],
            Spring=[["Name", "Hollow"], ["Mia Ash", 11]],
            **{"12 March 2026": [["Name", "Hollow"], ["Mia Ash", 14]]},
        ),
        name="results.xlsx",
    )
    assert [entry[0] for entry in places(found)] == ["2026-03-12"]
    assert "'Roster' was not read: it has no measures and no date." in found.notes
    assert said(found) == ["Spring: no date: put it into the sheet's name or into a column 'Date'."]


def test_a_date_above_the_headers_dates_the_sheet():
    found = read("Quillbrook test day 12 March 2026\nName,Hollow\nMia Ash,14", name="spring.csv")
    assert [entry[0] for entry in places(found)] == ["2026-03-12"]


def test_an_unclear_day_is_asked():
    text = "Name,Hollow\nMia Ash,14"
    asked = read(text, name="day 3-12-2025.csv")
    assert asked.asks_order
    assert not asked.entries
    assert [entry[0] for entry in places(read(text, name="day 3-12-2025.csv", order="day_first"))] == [
        "2025-12-03"
    ]


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("Mia Ash,good", "2026-03-12!B2: Mia Ash, Hollow hold: 'good' is not a number in seconds."),
        ("Mia Ash,0", "2026-03-12!B2: Mia Ash, Hollow hold: 0 can be 'tried, could not' or 'not tried'; "
         "write which, or leave it blank."),
        ("Mia Ahs,20", "2026-03-12, line 2: no child called 'Mia Ahs' is on the list; perhaps Mia Ash (Tigers)."),
        ("Ida Fox,20", "2026-03-12, line 2: no child called 'Ida Fox' is on the list."),
        ("Ben Oak,20", "2026-03-12, line 2: more than one child is called Ben Oak; "
         "add the date of birth to tell them apart."),
        (",20", "2026-03-12, line 2: the name is missing."),
    ],
)  # fmt: skip
def test_a_problem_names_its_cell_or_line_and_the_rest_is_read(line, reason):
    found = read(f"Name,Hollow\n{line}\nZoë Søby,30")
    assert said(found) == [reason]
    assert [entry.child for entry in found.entries] == ["zoe"]


def test_a_birth_date_or_a_group_tells_two_children_of_one_name_apart():
    found = read("Name,Born,Hollow\nBen Oak,2020-02-02,20")
    assert [entry.child for entry in found.entries] == ["ben2"]
    found = read("Name,Group,Hollow\nBen Oak,tigers,20")
    assert [entry.child for entry in found.entries] == ["ben1"]
    assert said(read("Name,Born,Hollow\nMia Ash,2019-03-05,20")) == [
        "2026-03-12, line 2: Mia Ash was born on 2019-03-04, the file says 2019-03-05."
    ]


def test_a_name_without_its_accents_or_with_an_initial_is_read_and_said():
    found = read("Name,Hollow\nzoe soby,20\nMia A.,30")
    assert [entry.child for entry in found.entries] == ["zoe", "mia"]
    assert [str(warning) for warning in found.warnings] == [
        "2026-03-12, line 2: 'zoe soby' is read as Zoë Søby.",
        "2026-03-12, line 3: 'Mia A.' is read as Mia Ash.",
    ]


@pytest.mark.parametrize(
    ("day", "reason"), [("2027-01-01", "in the future"), ("2015-01-01", "before Mia Ash was born")]
)
def test_a_day_that_cannot_be_is_a_problem(day, reason):
    found = read("Name,Hollow\nMia Ash,20", name=f"{day}.csv")
    assert reason in said(found)[0]
    assert not found.entries


def test_the_same_place_twice_is_a_repeat_or_a_dispute():
    assert any("repeats" in note for note in read("Name,Hollow\nMia Ash,20\nMia Ash,20").notes)
    found = read("Name,Hollow\nMia Ash,20\nMia Ash,25")
    assert not found.entries
    assert said(found) == [
        "2026-03-12!B3: Mia Ash, Hollow hold: 25 here, but 20 in 2026-03-12!B2 for the same day and try. "
        "Neither is taken; correct one, or number the tries if both count."
    ]


def test_a_line_of_averages_is_not_a_child():
    found = read("Name,Hollow\nMia Ash,20\nAverage,20")
    assert len(found.entries) == 1
    assert not found.problems


def test_a_column_without_a_place_is_listed_and_can_be_mapped_or_left_out():
    text = "Name,Balance a,One-leg stand,Mood,Weight\nMia Ash,12,9,happy,21"
    found = read(text)
    assert [(column.header, column.where, column.reason, column.example) for column in found.unmatched] == [
        ("Balance a", "2026-03-12!B1", "no measure has this name", "12"),
        ("One-leg stand", "2026-03-12!C1", "One-leg stand, flat foot needs left or right", "9"),
        ("Mood", "2026-03-12!D1", "no measure has this name", "happy"),
    ]
    assert not found.entries
    said_by_hand = [
        "Balance A=single_leg_stance:left",
        "One-leg stand=single_leg_stance:right",
        "mood=ignore",
    ]
    found = read(text, mapping=dict(parse_mapping(one, PROGRAMME) for one in said_by_hand))
    assert not found.unmatched
    assert [(entry.side, entry.value) for entry in found.entries] == [("left", 12), ("right", 9)]


def test_two_columns_for_one_place_are_not_both_taken():
    found = read("Name,Hollow,Hollow hold\nMia Ash,12,14")
    assert [entry.value for entry in found.entries] == [12]
    assert "number the tries" in found.unmatched[0].reason


def test_an_unknown_measure_in_a_long_list_is_listed_once():
    found = read("Name,Measure,Value\nMia Ash,Splits,3\nZoë Søby,splits,4\nMia Ash,Hollow,20")
    assert [(column.header, column.where) for column in found.unmatched] == [("Splits", "2026-03-12!B2")]
    assert len(found.entries) == 1


def test_a_file_without_results_says_what_it_needs():
    assert said(read("Colour,Size\nred,4", name="a.csv")) == [
        "No results were found: a sheet needs the children's names and measures."
    ]
