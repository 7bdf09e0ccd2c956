"""Spreadsheets as bytes: encodings, delimiters, workbooks, and files that are none."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import datetime

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes import sheet_file
from athletes.sheet_file import Formula, UnreadableFile, column_letters, read_sheets

cells = st.text(
    alphabet=st.characters(
        codec="utf-8", exclude_categories=("Cc", "Cs", "Cf", "Zl", "Zp", "Zs", "Co", "Cn")
    ),
    min_size=1,
    max_size=8,
)


def texts(content: bytes, name: str = "list.csv") -> list[list[str]]:
    return [[cell.text for cell in line.cells] for line in read_sheets(content, name)[0].lines]


def workbook(*rows, title="Roster") -> bytes:
    book = openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_list_reads_the_same_in_every_encoding_and_with_every_delimiter(encoding, delimiter):
    rows = [
        ["Name", "Born", "Group"],
        ["Zoë Søby", "2019-03-04", "Tigers"],
        ["Émile Å", "2018-01-01", "Bears"],
    ]
    content = "\r\n".join(delimiter.join(row) for row in rows).encode(encoding)
    assert texts(content) == rows


@given(st.lists(st.lists(cells, min_size=3, max_size=3), min_size=2, max_size=6))
def test_what_a_csv_writer_wrote_comes_back(rows):
    out = io.StringIO()
    csv.writer(out).writerows([["First", "Last", "Group"], *rows])
    tidied = [[sheet_file.tidy(value) for value in row] for row in rows]
    assert texts(out.getvalue().encode("utf-8")) == [["First", "Last", "Group"], *tidied]


def test_windows_text_is_read_and_said():
    assert read_sheets("Name\nZoë".encode("cp1252"), "list.csv")[0].notes != ()
    assert read_sheets("Name\nZoë".encode(), "list.csv")[0].notes == ()


def test_decimal_commas_do_not_hide_the_semicolon():
    assert texts(b"Name;Jump;Reach\nMia Ash;80,5;1,5\nTom Oak;90,5;2,5")[1] == ["Mia Ash", "80,5", "1,5"]


def test_a_first_line_that_names_the_separator_is_followed():
    assert texts(b"sep=;\nName;Group\nMia, Ash;Tigers") == [["Name", "Group"], ["Mia, Ash", "Tigers"]]


def test_line_numbers_are_those_of_the_spreadsheet():
    sheet = read_sheets(b"Name,Group\n\n,\nMia Ash,Tigers\n", "list.csv")[0]
    assert [line.number for line in sheet.lines] == [1, 4]
    assert sheet.lines[1].cells[1].address == "B4"


def test_a_workbook_gives_its_dates_and_leaves_its_formulas_alone():
    sheet = read_sheets(
        workbook(["Name", "Born", "Sum"], ["Mia Ash", datetime(2019, 3, 4), "=1+1"]), "a.xlsx"
    )[0]
    assert sheet.name == "Roster"
    assert [cell.value for cell in sheet.lines[1].cells] == ["Mia Ash", datetime(2019, 3, 4), Formula("=1+1")]


def test_a_workbook_is_known_by_content_and_not_by_name():
    assert texts(workbook(["Name"], ["Mia Ash"]), "list.csv") == [["Name"], ["Mia Ash"]]


def test_a_hidden_sheet_is_not_read():
    book = openpyxl.Workbook()
    book.active.append(["Name"])
    hidden = book.create_sheet("old")
    hidden.sheet_state = "hidden"
    out = io.BytesIO()
    book.save(out)
    assert [sheet.name for sheet in read_sheets(out.getvalue(), "a.xlsx")] == ["Sheet"]


def _with_document_type(content: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w") as new:
        for member in old.infolist():
            data = old.read(member)
            if member.filename == "xl/workbook.xml":
                data = b'<!DOCTYPE a [<!ENTITY b "c">]>' + data
            new.writestr(member, data)
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "empty"),
        (b" \n \n", "empty"),
        (b"x" * (sheet_file.MAX_BYTES + 1), "5 MB"),
        (b"Name\n" + b"Mia\n" * (sheet_file.MAX_ROWS + 1), "5000 rows"),
        (b"a," * (sheet_file.MAX_COLUMNS + 1) + b"b", "200 columns"),
        (b"\xd0\xcf\x11\xe0 old", "xlsx"),
        (b"PK\x03\x04 damaged", "damaged"),
        (workbook(["Name"])[:-40], "damaged"),
        (_with_document_type(workbook(["Name"])), "document type"),
        (b"%PDF-1.7", "not a spreadsheet"),
        (b"Name\n\x00\x00\x81", "cannot be read"),
    ],
)
def test_a_file_that_is_no_list_is_refused_with_a_reason(content, reason):
    with pytest.raises(UnreadableFile, match=reason):
        read_sheets(content, "list.csv")


def test_a_workbook_that_unpacks_too_large_is_refused(monkeypatch):
    monkeypatch.setattr(sheet_file, "MAX_UNPACKED_BYTES", 100)
    with pytest.raises(UnreadableFile, match="unpacks"):
        read_sheets(workbook(["Name"]), "a.xlsx")


def test_other_archives_are_not_workbooks():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("content.xml", "<a/>")
    with pytest.raises(UnreadableFile, match="not an Excel workbook"):
        read_sheets(out.getvalue(), "list.xlsx")


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_with_a_sentence(content):
    try:
        read_sheets(content, "list.csv")
    except UnreadableFile as error:
        assert str(error)


def test_columns_are_lettered_as_in_a_spreadsheet():
    assert [column_letters(index) for index in (0, 25, 26, 701, 702)] == ["A", "Z", "AA", "ZZ", "AAA"]
