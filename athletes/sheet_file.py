"""A spreadsheet as bytes -> sheets of cells that know their address. CSV and XLSX end in the same shape."""

from __future__ import annotations

import csv
import io
import lzma
import re
import unicodedata
import warnings
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import PurePath
from statistics import median
from typing import Any

MAX_BYTES = 5 * 1024 * 1024
MAX_ROWS = 5_000
MAX_COLUMNS = 200
MAX_UNPACKED_BYTES = 60 * 1024 * 1024
LAST_ROW_LOOKED_AT = 20_000
HEADER_SEARCH_LINES = 15
DELIMITERS = (",", ";", "\t")
#: What reading an archive raises when it is damaged, locked, or packed in a way that nobody uses.
DAMAGED = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, NotImplementedError, RuntimeError, OSError, EOFError,
)  # fmt: skip

# Letters that Unicode does not take apart into a base letter and a mark.
_WHOLE_LETTERS = str.maketrans(
    {"ø": "o", "Ø": "o", "ł": "l", "Ł": "l", "đ": "d", "Đ": "d", "æ": "ae", "Æ": "ae", "œ": "oe", "Œ": "oe"}
    | {"ı": "i", "þ": "th", "Þ": "th", "ð": "d", "Ð": "d"}
)
_INVISIBLE = dict.fromkeys(map(ord, "\u200b\u200e\u200f\u2060\ufeff"))


class UnreadableFile(ValueError):
    """The file as a whole cannot be read; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Formula:
    """A cell that holds a formula. Formulas are never worked out here."""

    text: str


CellValue = str | int | float | bool | date | datetime | time | Formula | None


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell and where a person finds it."""

    address: str
    value: CellValue

    @property
    def text(self) -> str:
        """What a person reads in the cell, spaces tidied; "" when it is blank."""
        if self.value is None:
            return ""
        if isinstance(self.value, Formula):
            return self.value.text
        if isinstance(self.value, float) and self.value.is_integer():
            return str(int(self.value))
        return tidy(str(self.value))


@dataclass(frozen=True, slots=True)
class Line:
    """One row with something in it, under the number that a spreadsheet shows beside it."""

    number: int
    cells: tuple[Cell, ...]

    def cell(self, column: int) -> Cell:
        """The cell in this column, blank when the row ends before it."""
        if column < len(self.cells):
            return self.cells[column]
        return Cell(f"{column_letters(column)}{self.number}", None)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its lines without the blank ones, and what was odd about reading it."""

    name: str
    lines: tuple[Line, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Problem:
    """Something that a person has to look at, and where."""

    where: str
    text: str
    line: int = 0
    sheet: str = ""

    def __str__(self) -> str:
        return f"{self.where}: {self.text}" if self.where else self.text


def tidy(text: str) -> str:
    """The text in composed Unicode with single spaces and no invisible marks."""
    composed = unicodedata.normalize("NFC", text.replace("\u00a0", " "))
    return " ".join(composed.translate(_INVISIBLE).split())


def fold(text: str) -> str:
    """The text without case, accents and punctuation, for comparing what people typed."""
    apart = unicodedata.normalize("NFKD", text.translate(_WHOLE_LETTERS))
    plain = "".join(letter for letter in apart if not unicodedata.combining(letter)).casefold()
    return " ".join(re.findall(r"[^\W_]+", plain))


def column_letters(index: int) -> str:
    """0 -> A, 25 -> Z, 26 -> AA."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def read_sheets(content: bytes, filename: str) -> tuple[Sheet, ...]:
    """The sheets of a CSV or XLSX file, told apart by content and not by name."""
    if len(content) > MAX_BYTES:
        raise UnreadableFile("The file is larger than 5 MB. Split it and bring in one part at a time.")
    if not content.strip():
        raise UnreadableFile("The file is empty.")
    if content.startswith(b"PK\x03\x04"):
        return _read_workbook(content)
    if content.startswith(b"\xd0\xcf\x11\xe0"):
        raise UnreadableFile(
            "This is an old .xls or a locked workbook. Save it as .xlsx or CSV without a password."
        )
    if content.startswith((b"%PDF", b"\x89PNG", b"\xff\xd8\xff")):
        raise UnreadableFile("This is not a spreadsheet. Save the list as .xlsx or CSV.")
    return (_read_csv(content, PurePath(filename).stem),)


def find_header(sheet: Sheet, recognise: Callable[[str], bool]) -> Line | None:
    """The line near the top with most headers that `recognise` knows; None when there is none."""
    best, most = None, 0
    for line in sheet.lines[:HEADER_SEARCH_LINES]:
        known = sum(1 for cell in line.cells if isinstance(cell.value, str) and recognise(cell.text))
        if known > most:
            best, most = line, known
    return best


def lines_below(sheet: Sheet, header: Line) -> tuple[Line, ...]:
    """The lines under the header."""
    return tuple(line for line in sheet.lines if line.number > header.number)


def repeats(line: Line, header: Line) -> bool:
    """True when a line says the same as the header, as it does where two lists were pasted together."""
    return [fold(cell.text) for cell in line.cells] == [fold(cell.text) for cell in header.cells]


# --- CSV ---------------------------------------------------------------------------------------------


def _read_csv(content: bytes, name: str) -> Sheet:
    text, notes = _decode(content)
    first, _, rest = text.partition("\n")
    skipped = 0
    if first.strip().lower().startswith("sep=") and len(first.strip()) == 5:
        delimiter, text, skipped = first.strip()[-1], rest, 1
    else:
        delimiter = _delimiter_of(text)
    lines: list[Line] = []
    number = skipped
    try:
        for number, fields in enumerate(
            csv.reader(io.StringIO(text, newline=""), delimiter=delimiter), 1 + skipped
        ):
            if line := _line(number, fields):
                lines.append(line)
                _check_size(lines, name)
    except csv.Error as error:
        raise UnreadableFile(f"The file breaks off near line {number + 1}: {error}.") from error
    return Sheet(name, tuple(lines), notes)


def _decode(content: bytes) -> tuple[str, tuple[str, ...]]:
    marked = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    encodings = ("utf-16",) if marked else ("utf-8-sig", "cp1252")
    for encoding in encodings:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" in text:
            break
        odd = encoding == "cp1252"
        note = "Read as Windows text (cp1252). Look at the names with accents before you apply."
        return text, (note,) if odd else ()
    raise UnreadableFile("The letters in this file cannot be read. Save it as CSV UTF-8 or .xlsx.")


def _delimiter_of(text: str) -> str:
    def evenness(delimiter: str) -> tuple[float, int]:
        rows = csv.reader(io.StringIO(text[:20_000], newline=""), delimiter=delimiter)
        widths = [
            len(fields) for fields, _ in zip(rows, range(20), strict=False) if any(f.strip() for f in fields)
        ]
        usual = median(widths) if widths else 0
        return usual, sum(1 for width in widths if width == usual)

    try:
        return max(DELIMITERS, key=evenness)
    except csv.Error as error:
        raise UnreadableFile(f"The first lines cannot be read as a table: {error}.") from error


# --- XLSX --------------------------------------------------------------------------------------------


def _read_workbook(content: bytes) -> tuple[Sheet, ...]:
    _check_archive(content)
    import openpyxl  # slow to import, and only wanted when somebody brings a workbook

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # openpyxl warns about charts and styles, which nobody asked for
        try:
            book = openpyxl.load_workbook(
                io.BytesIO(content), read_only=True, data_only=False, keep_links=False
            )
        except Exception as error:  # the library raises many kinds on a damaged file
            raise UnreadableFile(
                "The workbook is damaged. Open it, save it again as .xlsx and try once more."
            ) from error
        try:
            return tuple(
                _read_worksheet(sheet) for sheet in book.worksheets if sheet.sheet_state == "visible"
            )
        except UnreadableFile:
            raise
        except Exception as error:
            raise UnreadableFile(
                "The workbook is damaged. Open it, save it again as .xlsx and try once more."
            ) from error
        finally:
            book.close()


def _check_archive(content: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            members = archive.infolist()
            if not any(member.filename == "xl/workbook.xml" for member in members):
                raise UnreadableFile("This is not an Excel workbook. Save it as .xlsx or CSV.")
            if sum(member.file_size for member in members) > MAX_UNPACKED_BYTES:
                raise UnreadableFile(
                    "The workbook unpacks to more than 60 MB. Keep only the lists and try again."
                )
            for member in members:
                # A document type is the way in for entity tricks, and no spreadsheet program writes one. It may
                # stand in a member of any name, and in two-byte letters.
                if b"<!DOCTYPE" in archive.read(member).replace(b"\x00", b""):
                    raise UnreadableFile("The workbook holds a document type, which is not accepted.")
    except DAMAGED as error:
        raise UnreadableFile("The workbook is damaged or locked with a password.") from error


def _read_worksheet(worksheet: Any) -> Sheet:
    name = str(worksheet.title)
    lines: list[Line] = []
    for number, values in _worksheet_rows(worksheet):
        if line := _line(number, values):
            lines.append(line)
            _check_size(lines, name)
    return Sheet(name, tuple(lines))


def _worksheet_rows(worksheet: Any) -> Iterator[tuple[int, list[CellValue]]]:
    worksheet.reset_dimensions()
    for number, cells in enumerate(worksheet.iter_rows(max_row=LAST_ROW_LOOKED_AT + 1), 1):
        if number > LAST_ROW_LOOKED_AT and any(cell.value is not None for cell in cells):
            raise UnreadableFile(
                f"There is something below row {LAST_ROW_LOOKED_AT}. Remove it and try again."
            )
        yield number, [_cell_value(cell.value, cell.data_type) for cell in cells]


def _cell_value(value: object, data_type: str) -> CellValue:
    if data_type == "f":
        return Formula(str(value))
    if data_type == "e":
        return str(value)
    if isinstance(value, str | int | float | bool | datetime | time):
        return value
    return None if value is None else str(value)


# --- both --------------------------------------------------------------------------------------------


def _line(number: int, values: list[CellValue] | list[str]) -> Line | None:
    cells = tuple(
        Cell(f"{column_letters(index)}{number}", _blank_to_none(value)) for index, value in enumerate(values)
    )
    while cells and cells[-1].value is None:
        cells = cells[:-1]
    return Line(number, cells) if cells else None


def _blank_to_none(value: CellValue) -> CellValue:
    return None if isinstance(value, str) and not tidy(value) else value


def _check_size(lines: list[Line], name: str) -> None:
    if len(lines) > MAX_ROWS + 1:
        raise UnreadableFile(
            f"'{name}' has more than {MAX_ROWS} rows. Split it and bring in one part at a time."
        )
    if len(lines[-1].cells) > MAX_COLUMNS:
        raise UnreadableFile(f"'{name}' has more than {MAX_COLUMNS} columns. Keep the ones that matter.")
