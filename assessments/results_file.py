"""Past test days as a spreadsheet -> entries and problems, each with its cell. Nothing is written."""

from __future__ import annotations

import uuid
from collections import Counter
from dataclasses import dataclass
from datetime import date

from assessments.analysis.records import MeasureSpec, Outcome, Programme, Side
from assessments.result_columns import ColumnTarget, ResultColumns, UnmatchedHeader
from assessments.results_layout import Choices, Layout, UnmatchedColumn, lay_out
from assessments.written_results import BareZero, Reading, UnclearResult, read_result
from athletes.known_children import ChildNotFound, FoundChild, KnownChildren
from athletes.person_names import sums_up
from athletes.sheet_file import Cell, Line, Problem, Sheet, fold, lines_below, read_sheets, repeats
from athletes.written_dates import AmbiguousDate, DateOrder, UnclearDate, read_date

#: Entry ids are made from what an entry is about, so that the same file gives the same ids every time.
ENTRY_NAMESPACE = uuid.UUID("5d0f3a52-7c1e-4b7e-9b1f-3f2f6f0a8c11")


@dataclass(frozen=True, slots=True)
class EntryDraft:
    """One trial as the file gives it, ready for the door."""

    id: uuid.UUID
    on: date
    child: str
    child_name: str
    item: str
    variant: str
    side: Side
    trial: int
    value: float | None
    outcome: Outcome
    note: str
    where: str


@dataclass(frozen=True, slots=True)
class ResultsFile:
    """What the file says."""

    entries: tuple[EntryDraft, ...]
    problems: tuple[Problem, ...]
    warnings: tuple[Problem, ...]
    notes: tuple[str, ...]
    unmatched: tuple[UnmatchedColumn, ...]
    not_tried: int = 0
    asks_order: bool = False
    asks_zeros: bool = False


def entry_id(on: date, child: str, target: ColumnTarget) -> uuid.UUID:
    """The id of the entry in this place; the same for ever."""
    place = "|".join((on.isoformat(), child, target.item, target.side, str(target.trial), target.variant))
    return uuid.uuid5(ENTRY_NAMESPACE, place)


def read_results(
    content: bytes,
    filename: str,
    *,
    programme: Programme,
    children: KnownChildren,
    choices: Choices,
    today: date,
) -> ResultsFile:
    """Entries, problems, warnings and columns without a place of a CSV or XLSX file, wide or long."""
    reader = _Reader(programme, children, choices, today)
    for sheet in read_sheets(content, filename):
        reader.read(sheet)
    if not reader.sheets_read:
        reader.problems.append(
            Problem("", "No results were found: a sheet needs the children's names and measures.")
        )
    return reader.outcome()


class _Reader:
    """Walks the sheets of one file and collects what it finds."""

    def __init__(self, programme: Programme, children: KnownChildren, choices: Choices, today: date) -> None:
        self.programme, self.children, self.choices, self.today = programme, children, choices, today
        self.columns = ResultColumns(programme)
        self.entries: dict[uuid.UUID, EntryDraft] = {}
        self.disputed: set[uuid.UUID] = set()
        self.problems: list[Problem] = []
        self.warnings: list[Problem] = []
        self.notes: list[str] = []
        self.unmatched: dict[str, UnmatchedColumn] = {}
        self.sheets_read = self.not_tried = 0
        self.asks_order = self.asks_zeros = False

    def outcome(self) -> ResultsFile:
        entries = tuple(entry for entry in self.entries.values() if entry.id not in self.disputed)
        self._say_missing_variants(entries)
        return ResultsFile(
            entries,
            tuple(self.problems),
            tuple(self.warnings),
            tuple(self.notes),
            tuple(self.unmatched.values()),
            self.not_tried,
            self.asks_order,
            self.asks_zeros,
        )

    def _say_missing_variants(self, entries: tuple[EntryDraft, ...]) -> None:
        unsaid = Counter(entry.item for entry in entries if not entry.variant)
        for item, count in unsaid.items():
            if self.programme.measures[item].variants:
                name = self.programme.measures[item].name
                self.notes.append(
                    f"{name}: the version is not said for {count}, so these make a line of their own."
                )

    def read(self, sheet: Sheet) -> None:
        layout = lay_out(sheet, self.columns, programme=self.programme, choices=self.choices)
        if layout is None:
            self.notes.append(f"'{sheet.name}' was not read: it has no column with the children's names.")
            return
        if not layout.holds_results:
            self.notes.append(f"'{sheet.name}' was not read: it has no measures and no date.")
            return
        self.sheets_read += 1
        self.notes += [f"{sheet.name}: {note}" for note in sheet.notes] + layout.notes
        self.unmatched = layout.unmatched | self.unmatched
        if not layout.is_dated:
            self.asks_order = self.asks_order or layout.asks_order
            self.problems.append(Problem(sheet.name, layout.day_problem, sheet=sheet.name))
            return
        for line in lines_below(sheet, layout.header):
            self._read_line(sheet, line, layout)

    def _read_line(self, sheet: Sheet, line: Line, layout: Layout) -> None:
        where = f"{sheet.name}, line {line.number}"
        name = layout.people.name_on(line)
        if repeats(line, layout.header):
            self.notes.append(f"{where} repeats the headers and was skipped.")
            return
        if sums_up(str(name)):
            self.notes.append(f"{where} sums up the others and was skipped.")
            return
        try:
            child = self._child_on(line, layout)
            on = self._date_on(line, layout, child)
        except (ChildNotFound, UnclearDate) as error:
            self.asks_order = self.asks_order or isinstance(error, AmbiguousDate)
            self.problems.append(Problem(where, f"{error}.", line.number, sheet.name))
            return
        if child.note:
            self.warnings.append(Problem(where, f"{child.note}.", line.number, sheet.name))
        if layout.is_long:
            self._read_long(sheet, line, layout, child=child, on=on)
            return
        for column, target in layout.wide.items():
            self._read_cell(sheet, line.cell(column), line.number, child=child, on=on, target=target)

    def _child_on(self, line: Line, layout: Layout) -> FoundChild:
        born_on: date | None = None
        if "born" in layout.people.by_role:
            born_on = _date_in(
                line.cell(layout.people.by_role["born"]), self.choices.order or layout.people.order
            )
        group = line.cell(layout.people.by_role["group"]).text if "group" in layout.people.by_role else ""
        return self.children.find(layout.people.name_on(line), born_on=born_on, group=group)

    def _date_on(self, line: Line, layout: Layout, child: FoundChild) -> date:
        on = layout.day
        if "date" in layout.long:
            on = _date_in(line.cell(layout.long["date"]), self.choices.order) or on
        if on is None:
            raise UnclearDate("the date is blank")
        if on > self.today:
            raise UnclearDate(f"{on.isoformat()} is in the future")
        if on < child.child.born_on:
            raise UnclearDate(f"{on.isoformat()} is before {child.child.name} was born")
        return on

    def _read_long(self, sheet: Sheet, line: Line, layout: Layout, *, child: FoundChild, on: date) -> None:
        text = {role: line.cell(column).text for role, column in layout.long.items()}
        cell = line.cell(layout.long["measure"])
        try:
            mapped = self.choices.mapping.get(fold(text["measure"]))
            target = mapped or self.columns.target(text["measure"])
            if not target.ignored:
                target = self.columns.with_details(
                    target,
                    side=text.get("side", ""),
                    trial=text.get("trial", ""),
                    variant=text.get("variant", ""),
                )
        except UnmatchedHeader as error:
            column = UnmatchedColumn(
                text["measure"], f"{sheet.name}!{cell.address}", str(error), text["value"]
            )
            self.unmatched.setdefault(fold(text["measure"]), column)
            return
        if not target.ignored:
            self._read_cell(
                sheet, line.cell(layout.long["value"]), line.number, child=child, on=on, target=target
            )

    def _read_cell(
        self, sheet: Sheet, cell: Cell, number: int, *, child: FoundChild, on: date, target: ColumnTarget
    ) -> None:
        where = f"{sheet.name}!{cell.address}"
        spec = self.programme.measures[target.item]
        try:
            reading = read_result(cell, spec, zeros=self.choices.zeros)
        except UnclearResult as error:
            self.asks_zeros = self.asks_zeros or isinstance(error, BareZero)
            self.problems.append(
                Problem(where, f"{child.child.name}, {spec.name}: {error}.", number, sheet.name)
            )
            return
        if reading is None:
            self.not_tried += 1
            return
        if reading.warning:
            self.warnings.append(
                Problem(where, f"{child.child.name}, {spec.name}: {reading.warning}.", number, sheet.name)
            )
        self._keep(_draft(reading, where, child=child, on=on, target=target), spec)

    def _keep(self, draft: EntryDraft, spec: MeasureSpec) -> None:
        earlier = self.entries.setdefault(draft.id, draft)
        if earlier is draft:
            return
        if (earlier.value, earlier.outcome) == (draft.value, draft.outcome):
            self.notes.append(f"{draft.where} repeats {earlier.where} and was skipped.")
            return
        self.disputed.add(draft.id)
        text = (
            f"{draft.child_name}, {spec.name}: {said(draft.value, draft.outcome)} here, but "
            f"{said(earlier.value, earlier.outcome)} in {earlier.where} for the same day and try. "
            "Neither is taken; correct one, or number the tries if both count."
        )
        self.problems.append(Problem(draft.where, text))


def _date_in(cell: Cell, order: DateOrder) -> date | None:
    if cell.value is None:
        return None
    try:
        return read_date(cell.value, order)
    except UnclearDate as error:
        raise type(error)(f"{cell.address}: {error}") from error


def said(value: float | None, outcome: str) -> str:
    """A value and its outcome in words."""
    words = {"could_not_start": "tried, could not", "not_attempted": "not tried"}
    if outcome in words or value is None:
        return words.get(outcome, outcome.replace("_", " "))
    return f"at least {value:g}" if outcome in ("reached_cap", "chose_to_stop") else f"{value:g}"


def _draft(reading: Reading, where: str, *, child: FoundChild, on: date, target: ColumnTarget) -> EntryDraft:
    code = child.child.code
    return EntryDraft(
        entry_id(on, code, target),
        on,
        code,
        str(child.child.name),
        target.item,
        target.variant,
        target.side,
        target.trial,
        reading.value,
        reading.outcome,
        reading.note,
        where,
    )
