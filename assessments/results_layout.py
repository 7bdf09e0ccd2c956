"""How one sheet of results is laid out: wide or long, on which day, and which column is what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from assessments.analysis.records import Programme
from assessments.result_columns import ColumnTarget, ResultColumns, UnmatchedHeader, check_side
from assessments.written_results import Zeros
from athletes.person_columns import PersonColumns, is_sensitive, person_columns, role_of
from athletes.sheet_file import Line, Sheet, find_header, fold, lines_below
from athletes.written_dates import AmbiguousDate, DateOrder, UnclearDate, find_date

LongRole = Literal["measure", "value", "side", "trial", "variant", "date"]
_LONG_ROLES: tuple[tuple[LongRole, tuple[str, ...]], ...] = (
    ("measure", ("measure", "item", "exercise", "test", "station", "what")),
    ("value", ("result", "value", "score", "measured", "results")),
    ("side", ("side", "leg", "arm", "left right", "l r")),
    ("trial", ("trial", "try", "attempt", "go")),
    ("variant", ("variant", "version")),
    ("date", ("date", "day", "test date", "test day", "tested on", "date tested", "when", "date of test")),
)
_LONG_WORDS: Mapping[str, LongRole] = {word: role for role, words in _LONG_ROLES for word in words}
_LEFT_ALONE = frozenset(
    {
        "age",
        "note",
        "notes",
        "comment",
        "comments",
        "coach",
        "judge",
        "tested by",
        "total",
        "rank",
        "position",
    }
    | {"place", "number", "no", "id", "age group", "sum", "average"}
)


@dataclass(frozen=True, slots=True)
class Choices:
    """What a person said about this file."""

    order: DateOrder = ""
    zeros: Zeros = ""
    mapping: Mapping[str, ColumnTarget] = field(default_factory=dict)  # folded header -> place


@dataclass(frozen=True, slots=True)
class UnmatchedColumn:
    """A column that belongs to no measure yet; a person maps it or leaves it out."""

    header: str
    where: str
    reason: str
    example: str = ""


@dataclass(slots=True)
class Layout:
    """What is known about a sheet before its lines are read."""

    header: Line
    people: PersonColumns
    long: dict[LongRole, int] = field(default_factory=dict)  # a wide sheet may have "date" here, and no more
    wide: dict[int, ColumnTarget] = field(default_factory=dict)
    day: date | None = None
    day_problem: str = ""
    asks_order: bool = False
    notes: list[str] = field(default_factory=list)
    unmatched: dict[str, UnmatchedColumn] = field(default_factory=dict)

    @property
    def is_long(self) -> bool:
        """One line a result."""
        return "value" in self.long

    @property
    def is_dated(self) -> bool:
        """The day is known, or stands on each line."""
        return self.day is not None or "date" in self.long

    @property
    def holds_results(self) -> bool:
        """False for a list of children, or another sheet that has come along."""
        return self.is_long or bool(self.wide) or self.is_dated


def lay_out(sheet: Sheet, columns: ResultColumns, *, programme: Programme, choices: Choices) -> Layout | None:
    """The layout of a sheet; None when no column holds the children's names."""
    header = find_header(sheet, lambda text: _is_known(text, columns, choices))
    people = person_columns(header) if header else None
    if header is None or people is None or not people.names_a_child:
        return None
    layout = Layout(header, people)
    _find_long_columns(layout)
    _find_day(layout, sheet, choices)
    _find_measures(layout, sheet, columns, programme=programme, choices=choices)
    return layout


def _is_known(text: str, columns: ResultColumns, choices: Choices) -> bool:
    if role_of(text) or fold(text) in _LONG_WORDS or fold(text) in choices.mapping:
        return True
    try:
        columns.target(text)
    except UnmatchedHeader:
        return False
    return True


def _find_long_columns(layout: Layout) -> None:
    roles: dict[LongRole, int] = {}
    for column, cell in enumerate(layout.header.cells):
        role = _LONG_WORDS.get(fold(cell.text))
        if role and role not in roles and column not in layout.people.used:
            roles[role] = column
    is_long = "measure" in roles and "value" in roles
    layout.long = roles if is_long else {role: column for role, column in roles.items() if role == "date"}


def _find_day(layout: Layout, sheet: Sheet, choices: Choices) -> None:
    above = [cell for line in sheet.lines if line.number < layout.header.number for cell in line.cells]
    for where, text in [("the sheet's name", sheet.name), *((cell.address, cell.text) for cell in above)]:
        try:
            found = find_date(text, choices.order)
        except UnclearDate as error:
            layout.asks_order = isinstance(error, AmbiguousDate)
            layout.day_problem = f"{where}: {error}."
            return
        if found:
            layout.day = found[0]
            return
    layout.day_problem = "no date: put it into the sheet's name or into a column 'Date'."


def _find_measures(
    layout: Layout, sheet: Sheet, columns: ResultColumns, *, programme: Programme, choices: Choices
) -> None:
    taken = layout.people.used | set(layout.people.second) | set(layout.long.values())
    private: list[str] = []
    for column, cell in enumerate(layout.header.cells):
        text, where = cell.text, f"{sheet.name}!{cell.address}"
        if not text or column in taken:
            continue
        if is_sensitive(text):
            private.append(f"{text} ({cell.address})")
            continue
        if layout.is_long or fold(text) in _LEFT_ALONE:
            layout.notes.append(f"{sheet.name}: column '{text}' ({cell.address}) was not read.")
            continue
        try:
            target = choices.mapping.get(fold(text)) or columns.target(text)
            if target.ignored:
                continue
            check_side(target.side, programme.measures[target.item])
            if target in layout.wide.values():
                raise UnmatchedHeader("another column of this sheet has the same place; number the tries")
            layout.wide[column] = target
        except UnmatchedHeader as error:
            values = (line.cell(column).text for line in lines_below(sheet, layout.header))
            example = next((value for value in values if value), "")
            layout.unmatched.setdefault(fold(text), UnmatchedColumn(text, where, str(error), example))
    if private:
        layout.notes.append(
            f"{sheet.name}: left out on purpose, the club does not need it here: {', '.join(private)}."
        )
