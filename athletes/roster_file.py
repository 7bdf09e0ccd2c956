"""A club's list of children as a spreadsheet -> rows and problems, each with its line number. Nothing is written."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from athletes.ages import completed_years
from athletes.known_children import KnownChild
from athletes.person_columns import PersonColumns, is_sensitive, person_columns, role_of
from athletes.person_names import PersonName, nearly_same, sums_up
from athletes.sheet_file import Formula, Line, Problem, Sheet, find_header, lines_below, read_sheets, repeats
from athletes.written_dates import AmbiguousDate, DateOrder, UnclearDate, find_date, read_date

YOUNGEST, OLDEST = 2, 18
LONGEST_NAME = 60
_EMAIL = re.compile(r"[^@\s,;<>]+@[^@\s,;<>]+\.[^@\s,;<>.]+")

Answer = Literal["same", "two"]


@dataclass(frozen=True, slots=True)
class Contact:
    """A guardian as the list gives one."""

    email: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class RosterRow:
    """One child on one line, read without a problem."""

    line: int
    sheet: str
    name: PersonName
    born_on: date
    group: str = ""
    joined_on: date | None = None
    contacts: tuple[Contact, ...] = ()

    @property
    def where(self) -> str:
        """Where a person finds the line."""
        return f"{self.sheet}, line {self.line}"

    @property
    def place(self) -> str:
        """The line as a key for an answer, such as 'Roster:14'."""
        return f"{self.sheet}:{self.line}"


@dataclass(frozen=True, slots=True)
class RosterFile:
    """What the file says: rows that are clear, problems to settle, and what was left alone."""

    rows: tuple[RosterRow, ...]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]
    asks_order: bool = False


@dataclass(frozen=True, slots=True)
class ChildPlan:
    """One child as the file wants them, all their lines together. `code` is "" for a new child."""

    code: str
    name: PersonName
    born_on: date
    rows: tuple[RosterRow, ...]


@dataclass(frozen=True, slots=True)
class Question:
    """A line that may be a child who is here already; a person answers 'same' or 'two'."""

    row: RosterRow
    other: PersonName
    other_born_on: date
    text: str


# --- bytes -> rows -----------------------------------------------------------------------------------


def read_roster(content: bytes, filename: str, *, order: DateOrder = "", today: date) -> RosterFile:
    """Rows, problems and notes of a CSV or XLSX list of children."""
    rows: list[RosterRow] = []
    problems: list[Problem] = []
    notes: list[str] = []
    asks_order = False
    lists = _lists(read_sheets(content, filename), notes)
    for sheet, header, columns in lists:
        notes += _said_about(sheet, header, columns)
        for line in lines_below(sheet, header):
            if repeats(line, header) or sums_up(str(columns.name_on(line))):
                notes.append(f"{sheet.name}, line {line.number} is no child and was skipped.")
                continue
            row, found, ambiguous = _read_line(
                sheet.name, line, columns, order=order or columns.order, today=today
            )
            problems += found
            asks_order = asks_order or ambiguous
            if row:
                rows.append(row)
    if not lists:
        problems.append(
            Problem("", "No list of children was found: it needs headers for a name and a date of birth.")
        )
    return RosterFile(tuple(rows), tuple(problems), tuple(notes), asks_order)


def _lists(sheets: Iterable[Sheet], notes: list[str]) -> list[tuple[Sheet, Line, PersonColumns]]:
    """The sheets that list children. A sheet named after a day is a test day, if there is a list beside it."""
    lists: list[tuple[Sheet, Line, PersonColumns]] = []
    for sheet in sheets:
        header = find_header(sheet, lambda text: role_of(text) is not None)
        columns = person_columns(header) if header else None
        if header is None or columns is None or not columns.names_a_child or "born" not in columns.by_role:
            notes.append(f"'{sheet.name}' was not read: it has no columns for a name and a date of birth.")
        else:
            lists.append((sheet, header, columns))
    undated = [found for found in lists if not _is_dated(found[0].name)]
    if undated:
        notes += [
            f"'{sheet.name}' was not read: it is named after a day, like a test day."
            for sheet, _, _ in lists
            if _is_dated(sheet.name)
        ]
    return undated or lists


def _is_dated(name: str) -> bool:
    try:
        return find_date(name, "") is not None
    except UnclearDate:
        return True


def _said_about(sheet: Sheet, header: Line, columns: PersonColumns) -> list[str]:
    notes = [f"{sheet.name}: {note}" for note in sheet.notes]
    others = [(c.text, c.address) for i, c in enumerate(header.cells) if c.text and i not in columns.used]
    private = [f"{text} ({address})" for text, address in others if is_sensitive(text)]
    unknown = [f"{text} ({address})" for text, address in others if not is_sensitive(text)]
    if private:
        notes.append(
            f"{sheet.name}: left out on purpose, the club does not need it here: {', '.join(private)}."
        )
    if unknown:
        notes.append(f"{sheet.name}: columns that were not read: {', '.join(unknown)}.")
    lines = lines_below(sheet, header)
    if lines and (gaps := lines[-1].number - header.number - len(lines)):
        notes.append(f"{sheet.name}: {gaps} blank {'line was' if gaps == 1 else 'lines were'} skipped.")
    return notes


def _repeats_header(line: Line, header: Line) -> bool:
    return [cell.text.casefold() for cell in line.cells] == [cell.text.casefold() for cell in header.cells]


def _read_line(
    sheet: str, line: Line, columns: PersonColumns, *, order: DateOrder, today: date
) -> tuple[RosterRow | None, list[Problem], bool]:
    found: list[str] = []
    formulas = [
        c.address for i, c in enumerate(line.cells) if i in columns.used and isinstance(c.value, Formula)
    ]
    if formulas:
        found.append(f"{', '.join(formulas)} holds a formula; paste its value instead")
    name = columns.name_on(line)
    if not name.first or not name.last:
        found.append(
            f"a first and a last name are needed, found '{name}'" if str(name) else "the name is missing"
        )
    born_on, ambiguous, odd = _date(line, columns, "born", order=order)
    found += odd or _odd_age(born_on, line.cell(columns.by_role["born"]).address, today)
    joined_on, ambiguous_too, odd = _date(line, columns, "joined", order=order)
    found += odd
    if born_on and joined_on and joined_on < born_on:
        found.append(f"joined {joined_on.isoformat()} is before the date of birth {born_on.isoformat()}")
    group = line.cell(columns.by_role["group"]).text if "group" in columns.by_role else ""
    contacts, odd = _contacts(line, columns)
    found += odd
    if max(len(name.first), len(name.last), len(group)) > LONGEST_NAME:
        found.append(f"a name or a group is longer than {LONGEST_NAME} letters")
    problems = [Problem(f"{sheet}, line {line.number}", f"{text}.", line.number, sheet) for text in found]
    row = (
        RosterRow(line.number, sheet, name, born_on, group, joined_on, contacts)
        if born_on and not found
        else None
    )
    return row, problems, ambiguous or ambiguous_too


def _date(
    line: Line, columns: PersonColumns, role: Literal["born", "joined"], *, order: DateOrder
) -> tuple[date | None, bool, list[str]]:
    if role not in columns.by_role:
        return None, False, []
    cell = line.cell(columns.by_role[role])
    if cell.value is None:
        return None, False, [f"{cell.address}, the date of birth, is blank"] if role == "born" else []
    if isinstance(cell.value, Formula):
        return None, False, []  # said once for the whole line
    try:
        return read_date(cell.value, order), False, []
    except UnclearDate as error:
        return None, isinstance(error, AmbiguousDate), [f"{cell.address}: {error}"]


def _odd_age(born_on: date | None, address: str, today: date) -> list[str]:
    if born_on is None:
        return []
    if born_on > today:
        return [f"{address}: {born_on.isoformat()} is in the future"]
    years = completed_years(born_on, today)
    if not YOUNGEST <= years <= OLDEST:
        return [f"{address}: born {born_on.isoformat()} makes {years} years; check the year"]
    return []


def _contacts(line: Line, columns: PersonColumns) -> tuple[tuple[Contact, ...], list[str]]:
    name = line.cell(columns.by_role["guardian"]).text if "guardian" in columns.by_role else ""
    contacts: list[Contact] = []
    bad: list[str] = []
    for column in columns.emails:
        cell = line.cell(column)
        if isinstance(cell.value, Formula):
            continue
        for part in re.split(r"[;,]", cell.text):
            if not all(_EMAIL.fullmatch(word) for word in part.split()):
                bad.append(f"{cell.address}: '{part.strip()}' is not an e-mail address")
                continue
            for email in part.casefold().split():
                if email not in {contact.email for contact in contacts}:
                    contacts.append(Contact(email, "" if contacts else name))
    return tuple(contacts), bad


# --- rows -> children --------------------------------------------------------------------------------


def match_children(
    rows: Iterable[RosterRow], known: Iterable[KnownChild], answers: Mapping[str, Answer]
) -> tuple[tuple[ChildPlan, ...], tuple[Question, ...]]:
    """Who each line is about. A near match is asked and never merged in silence."""
    plans = _Plans()
    for child in known:
        plans.add(ChildPlan(child.code, child.name, child.born_on, ()))
    questions: list[Question] = []
    for row in rows:
        at, question = plans.find(row)
        if question and row.place not in answers:
            questions.append(question)
        elif at is not None and not (question and answers[row.place] == "two"):
            plans.join(at, row)
        else:
            plans.add(ChildPlan("", row.name, row.born_on, (row,)))
    return tuple(plan for plan in plans.all if plan.rows), tuple(questions)


class _Plans:
    """The children so far, found by birth date and by name."""

    def __init__(self) -> None:
        self.all: list[ChildPlan] = []
        self._born: dict[date, list[int]] = defaultdict(list)
        self._called: dict[str, list[int]] = defaultdict(list)

    def add(self, plan: ChildPlan) -> None:
        self._born[plan.born_on].append(len(self.all))
        self._called[plan.name.key].append(len(self.all))
        self.all.append(plan)

    def join(self, at: int, row: RosterRow) -> None:
        """Give a line to a child. The spelling that is here stays; a confirmed birth date is put right."""
        plan = self.all[at]
        if plan.born_on != row.born_on:
            self._born[row.born_on].append(at)
        self.all[at] = replace(plan, born_on=row.born_on, rows=(*plan.rows, row))

    def find(self, row: RosterRow) -> tuple[int | None, Question | None]:
        """The child of a line, with a question when only a person can tell."""
        same_day = self._born[row.born_on]
        for at in same_day:
            if self.all[at].name == row.name:
                return at, None
        for at in same_day:
            if nearly_same(self.all[at].name, row.name):
                plan = self.all[at]
                text = f"'{row.name}' looks like {plan.name}, born on the same day. One child, or two?"
                return at, Question(row, plan.name, plan.born_on, text)
        for at in self._called[row.name.key]:
            plan = self.all[at]
            text = (
                f"{plan.name} is on the list with {plan.born_on.isoformat()}, here with "
                f"{row.born_on.isoformat()}. One child with a new date, or two?"
            )
            return at, Question(row, plan.name, plan.born_on, text)
        return None, None
