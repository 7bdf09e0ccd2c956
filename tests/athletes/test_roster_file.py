"""A club's list of children -> rows and problems with line numbers."""

from __future__ import annotations

import io
from datetime import date, datetime

import openpyxl
import pytest

from athletes.known_children import KnownChild
from athletes.person_names import PersonName
from athletes.roster_file import Contact, match_children, read_roster

TODAY = date(2026, 11, 25)


def read(text: str, order=""):
    return read_roster(text.encode(), "roster.csv", order=order, today=TODAY)


def said(found) -> list[str]:
    return [str(problem) for problem in found.problems]


def test_headers_come_in_any_order_and_case():
    found = read(
        "GROUP;Parent's e-mail;D.O.B.;Surname;FIRST NAME\nTigers;Pat@Home.example;2019-03-04;Søby;Zoë"
    )
    row = found.rows[0]
    assert (row.name, row.born_on, row.group) == (PersonName("Zoë", "Søby"), date(2019, 3, 4), "Tigers")
    assert row.contacts == (Contact("pat@home.example"),)
    assert not found.problems


@pytest.mark.parametrize(
    "header", ["Name", "Child", "Gymnast's name", "Full name", "NAME OF CHILD", "Last name, first name"]
)
def test_one_column_may_hold_the_whole_name(header):
    quoted = f'"{header}"'
    assert read(f'{quoted},Born\n"van Dijk, Noor",2019-03-04').rows[0].name == PersonName("Noor", "van Dijk")
    assert read(f"{quoted},Born\nNoor van Dijk,2019-03-04").rows[0].name == PersonName("Noor", "van Dijk")


def test_a_title_above_the_headers_is_not_a_child():
    found = read("Quillbrook list autumn\n\nName,Born\nMia Ash,2019-03-04")
    assert [str(row.name) for row in found.rows] == ["Mia Ash"]
    assert found.rows[0].line == 4


def test_an_unclear_date_is_asked_and_a_choice_settles_it():
    text = "Name,Born\nMia Ash,4/3/2019\nTom Oak,25/3/2019"
    asked = read(text)
    assert asked.asks_order
    assert [row.line for row in asked.rows] == [3]
    assert said(asked) == [
        "roster, line 2: B2: '4/3/2019' can be 4 March 2019 or 3 April 2019; "
        "say whether the day or the month comes first."
    ]
    settled = read(text, "day_first")
    assert not settled.asks_order
    assert [row.born_on for row in settled.rows] == [date(2019, 3, 4), date(2019, 3, 25)]


def test_a_header_may_state_the_order_itself():
    assert read("Name,DOB (dd/mm/yyyy)\nMia Ash,4/3/2019").rows[0].born_on == date(2019, 3, 4)
    assert read("Name,DOB (mm/dd/yyyy)\nMia Ash,4/3/2019").rows[0].born_on == date(2019, 4, 3)


def test_private_columns_are_left_out_and_said_apart_from_unknown_ones():
    notes = " ".join(read("Name,Born,Sex,Weight (kg),T-shirt\nMia Ash,2019-03-04,F,21,6y").notes)
    assert "left out on purpose, the club does not need it here: Sex (C1), Weight (kg) (D1)" in notes
    assert "columns that were not read: T-shirt (E1)" in notes


def test_blank_lines_and_repeated_headers_are_skipped_and_said():
    found = read("Name,Born\n\nMia Ash,2019-03-04\n\nName,Born\nTom Oak,2019-05-04")
    assert [row.line for row in found.rows] == [3, 6]
    assert any("2 blank lines were skipped" in note for note in found.notes)
    assert any("line 5 is no child" in note for note in found.notes)


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        (",2019-03-04,", "the name is missing"),
        ("Mia,2019-03-04,", "a first and a last name are needed, found 'Mia'"),
        ("Mia Ash,,", "B2, the date of birth, is blank"),
        ("Mia Ash,soon,", "B2: 'soon' is not a date; write it as 2019-03-04"),
        ("Mia Ash,2031-01-01,", "B2: 2031-01-01 is in the future"),
        ("Mia Ash,1989-03-04,", "B2: born 1989-03-04 makes 37 years; check the year"),
        ("Mia Ash,2019-03-04,pat at home", "C2: 'pat at home' is not an e-mail address"),
        (f"Mia {'A' * 61},2019-03-04,", "a name or a group is longer than 60 letters"),
    ],
)
def test_a_line_with_a_problem_is_left_out_and_the_others_stay(line, reason):
    found = read(f"Name,Born,Email\n{line}\nTom Oak,2019-05-04,tom@home.example")
    assert f"roster, line 2: {reason}." in said(found)
    assert [str(row.name) for row in found.rows] == ["Tom Oak"]


def test_a_formula_is_not_worked_out():
    book = openpyxl.Workbook()
    book.active.append(["Name", "Born"])
    book.active.append(["Mia Ash", "=DATE(2019,3,4)"])
    book.active.append(["Tom Oak", datetime(2019, 5, 4)])
    out = io.BytesIO()
    book.save(out)
    found = read_roster(out.getvalue(), "a.xlsx", today=TODAY)
    assert said(found) == ["Sheet, line 2: B2 holds a formula; paste its value instead."]
    assert [row.born_on for row in found.rows] == [date(2019, 5, 4)]


def test_several_addresses_are_several_guardians():
    found = read(
        "Name,Born,Guardian,Email 1,Email 2\nMia Ash,2019-03-04,Pat,a@h.example; b@h.example,c@h.example"
    )
    assert found.rows[0].contacts == (
        Contact("a@h.example", "Pat"),
        Contact("b@h.example"),
        Contact("c@h.example"),
    )


def test_a_file_without_a_list_says_what_it_needs():
    assert said(read("Colour,Size\nred,4")) == [
        "No list of children was found: it needs headers for a name and a date of birth."
    ]


def plans_for(text: str, known=(), answers=None):
    plans, questions = match_children(read(text).rows, known, answers or {})
    return [(plan.code, str(plan.name), [row.line for row in plan.rows]) for plan in plans], questions


def test_the_same_line_twice_is_one_child():
    plans, questions = plans_for("Name,Born\nMia Ash,2019-03-04\nMia Ash,2019-03-04")
    assert plans == [("", "Mia Ash", [2, 3])]
    assert not questions


@pytest.mark.parametrize("other", ["Zoe Hartley", "ZOË HARTLEY", "Zoë Hartly", '"Zoë, Hartley"'])
def test_a_child_spelt_two_ways_is_asked_and_not_merged(other):
    text = f"Name,Born\nZoë Hartley,2019-03-04\n{other},2019-03-04"
    plans, questions = plans_for(text)
    assert plans == [("", "Zoë Hartley", [2])]
    assert [question.row.place for question in questions] == ["roster:3"]
    assert plans_for(text, answers={"roster:3": "same"})[0] == [("", "Zoë Hartley", [2, 3])]
    assert len(plans_for(text, answers={"roster:3": "two"})[0]) == 2


def test_near_names_with_different_birth_dates_are_two_children():
    plans, questions = plans_for("Name,Born\nZoë Hartley,2019-03-04\nZoe Hartly,2019-03-05")
    assert len(plans) == 2
    assert not questions


def test_a_known_child_is_found_and_a_changed_birth_date_is_asked():
    known = [KnownChild("c1", PersonName("Mia", "Ash"), date(2019, 3, 4))]
    assert plans_for("Name,Born\nMia Ash,2019-03-04", known)[0] == [("c1", "Mia Ash", [2])]
    text = "Name,Born\nMia Ash,2019-04-03"
    plans, questions = plans_for(text, known)
    assert not plans
    assert "2019-03-04, here with 2019-04-03" in questions[0].text
    settled, _ = match_children(read(text).rows, known, {"roster:2": "same"})
    assert (settled[0].code, settled[0].born_on) == ("c1", date(2019, 4, 3))
