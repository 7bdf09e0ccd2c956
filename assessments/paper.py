"""Paper for the worst day: the slots that a station sheet prints, and the same slots typed in afterwards.

A cell is read as a results file reads it: 23, 60+, 'could not', 'away', blank.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time

from django.utils import timezone

from assessments.analysis.records import MeasureSpec, Outcome, ShapeSpec, Side
from assessments.attendance import roll_of
from assessments.days import Spec, spec_of, variant_words
from assessments.entries import Entry
from assessments.floor_sheet import programme_for
from assessments.models import AssessmentDay, Result, Station
from assessments.models.results import EVIDENCE
from assessments.written_results import UnclearResult, read_result
from athletes.models import Athlete
from athletes.sheet_file import Cell
from club.access import Viewer

#: Child, measure, version, side and try -> the value in words, and the levels of a shape.
_Standing = dict[tuple[int, int, str, str, int], tuple[str, Mapping[str, object]]]
SHAPE_TRIES = 1
_LEVELS = {"0": 0, "1": 1, "2": 2, "": None, "?": None}


@dataclass(frozen=True, slots=True)
class Slot:
    """One box on the sheet: a try on a side, or a criterion of a try."""

    side: Side
    trial: int
    criterion: str
    words: str

    @property
    def key(self) -> str:
        """How the box is called in the typing grid."""
        return f"{self.side or 'both'}_{self.trial}_{self.criterion}".rstrip("_")


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One child on the sheet: what stands already by slot, and what was typed or is wrong with it."""

    athlete: Athlete
    cells: list[GridCell]


@dataclass(frozen=True, slots=True)
class GridCell:
    """One box of the typing grid."""

    slot: Slot
    name: str
    typed: str = ""
    problem: str = ""
    stands: str = ""


@dataclass(frozen=True, slots=True)
class StationSheet:
    """One station on paper."""

    station: Station
    spec: Spec
    variant: str
    slots: list[Slot]
    rows: list[SheetRow]
    group: str = ""  # only where each group has a sheet of its own

    @property
    def is_shape(self) -> bool:
        """Judged by criteria."""
        return isinstance(self.spec, ShapeSpec)

    @property
    def is_timed(self) -> bool:
        """Held against a clock, so that it counts how many clocks one coach watched."""
        return isinstance(self.spec, MeasureSpec) and self.spec.kind == "hold"


def slots_of(spec: Spec) -> list[Slot]:
    """Every box that one child has at a station."""
    if isinstance(spec, ShapeSpec):
        return [
            Slot("", trial, criterion.id, criterion.name)
            for trial in range(1, SHAPE_TRIES + 1)
            for criterion in spec.criteria
        ]
    sides: tuple[Side, ...] = ("left", "right") if spec.sides else ("",)
    return [
        Slot(
            side,
            trial,
            "",
            " ".join(filter(None, (side, f"try {trial}" if spec.attempts > 1 else ""))) or "result",
        )
        for side in sides
        for trial in range(1, spec.attempts + 1)
    ]


def sheets(day: AssessmentDay, viewer: Viewer, *, station: uuid.UUID | None = None) -> list[StationSheet]:
    """The stations of a day as sheets, with what stands already."""
    programme = programme_for(day)
    children = [row.athlete for row in roll_of(day, viewer) if row.present is not False]
    standing = _standing(day)
    rows = day.stations.select_related("measure").order_by("order", "pk")
    found = []
    for one in rows if station is None else rows.filter(code=station):
        spec = spec_of(programme, one.measure.slug)
        if spec is not None:
            slots = slots_of(spec)
            lines = [_row(child, one, slots, standing) for child in children]
            found.append(StationSheet(one, spec, variant_words(spec, one.variant), slots, lines))
    return found


def by_group(found: Sequence[StationSheet]) -> list[StationSheet]:
    """A sheet for each group of each station, as they are called; as it is where the day has one group."""
    split = []
    for sheet in found:
        groups = sorted({_group_of(row) for row in sheet.rows})
        if len(groups) < 2:
            split.append(sheet)
            continue
        for group in groups:
            rows = [row for row in sheet.rows if _group_of(row) == group]
            split.append(replace(sheet, rows=rows, group=group or "No group"))
    return split


def _group_of(row: SheetRow) -> str:
    return row.athlete.group.name if row.athlete.group else ""


def _standing(day: AssessmentDay) -> _Standing:
    rows = Result.objects.for_day(day).current().filter(outcome__in=EVIDENCE, second=False)
    fields = ("athlete_id", "measure_id", "variant", "side", "trial", "value", "levels", "outcome")
    found = {}
    for athlete, measure, variant, side, trial, value, levels, outcome in rows.values_list(*fields):
        number = "" if value is None else f"{value:g}"
        words = "could not start" if outcome == "could_not_start" else number
        words += "+" if outcome in ("reached_cap", "chose_to_stop") and number else ""
        found[(athlete, measure, variant, side, trial)] = (words, levels or {})
    return found


def _row(child: Athlete, station: Station, slots: Sequence[Slot], standing: _Standing) -> SheetRow:
    cells = []
    for slot in slots:
        place = (child.pk, station.measure_id, station.variant, slot.side, slot.trial)
        there = standing.get(place)
        words = ""
        if there is not None:
            level = there[1].get(slot.criterion) if slot.criterion else None
            words = ("?" if level is None else str(level)) if slot.criterion else there[0]
        cells.append(GridCell(slot, f"{child.code.hex}_{slot.key}", stands=words))
    return SheetRow(child, cells)


def typed_entries(
    sheet: StationSheet,
    typed: Mapping[str, str],
    *,
    day: AssessmentDay,
    judge: uuid.UUID | None,
    page: uuid.UUID,
    at_once: int = 1,
) -> tuple[list[Entry], list[SheetRow]]:
    """What was typed as entries; and the rows again, with a reason at each box that cannot be read.

    `page` is a fresh id of the page that was typed on: sent twice, it is the same entries. `at_once` is how many
    children a coach timed together, as the sheet says; it counts for holds alone.
    """
    rows = [_typed_row(row, sheet, typed) for row in sheet.rows]
    maker = _Maker(sheet, day, judge, page, at_once if sheet.is_timed else 1)
    entries: list[Entry] = []
    read: list[SheetRow] = []
    for row in rows:
        cells = []
        for cell in row.cells:
            try:
                entries += maker.from_cell(row, cell)
                cells.append(cell)
            except UnclearResult as why:
                cells.append(GridCell(cell.slot, cell.name, cell.typed, str(why)))
        read.append(SheetRow(row.athlete, cells))
    return entries, read


def _typed_row(row: SheetRow, sheet: StationSheet, typed: Mapping[str, str]) -> SheetRow:
    cells = [
        cell if cell.stands else GridCell(cell.slot, cell.name, typed.get(cell.name, "").strip()[:40])
        for cell in row.cells
    ]
    return SheetRow(row.athlete, cells)


@dataclass(frozen=True, slots=True)
class _Maker:
    sheet: StationSheet
    day: AssessmentDay
    judge: uuid.UUID | None
    page: uuid.UUID
    at_once: int

    def from_cell(self, row: SheetRow, cell: GridCell) -> Iterator[Entry]:
        if cell.stands:
            return
        if isinstance(self.sheet.spec, MeasureSpec):
            yield from self._measured(row, cell, self.sheet.spec)
        elif cell.typed.casefold() not in _LEVELS:
            raise UnclearResult("write 0, 1 or 2, or leave it blank")
        elif cell is row.cells[-1] or self._last_of_try(row, cell):
            yield from self._judged(row, cell.slot.trial)

    @staticmethod
    def _last_of_try(row: SheetRow, cell: GridCell) -> bool:
        return [one for one in row.cells if one.slot.trial == cell.slot.trial][-1] is cell

    def _measured(self, row: SheetRow, cell: GridCell, spec: MeasureSpec) -> Iterator[Entry]:
        # On paper a 0 in a hold or a count is what a coach writes for 'tried, could not'.
        reading = read_result(Cell("", cell.typed), spec, zeros="could_not")
        if reading is not None:
            yield self._entry(row, cell.slot, outcome=reading.outcome, value=reading.value, note=reading.note)

    def _judged(self, row: SheetRow, trial: int) -> Iterator[Entry]:
        cells = [cell for cell in row.cells if cell.slot.trial == trial]
        levels = {cell.slot.criterion: _LEVELS.get(cell.typed.casefold()) for cell in cells}
        if any(level is not None for level in levels.values()):
            yield self._entry(row, cells[0].slot, outcome="scored", levels=levels)

    def _entry(
        self,
        row: SheetRow,
        slot: Slot,
        *,
        outcome: Outcome,
        value: float | None = None,
        levels: Mapping[str, int | None] | None = None,
        note: str = "",
    ) -> Entry:
        code = uuid.uuid5(self.page, f"{row.athlete.code}|{slot.side}|{slot.trial}")
        return Entry(
            id=code,
            tablet=f"desk-{code.hex}",
            seq=1,
            day=self.day.code,
            child=row.athlete.code,
            measure=self.sheet.spec.id,
            outcome=outcome,
            how="rubric" if levels is not None else "typed",
            t_wall=_seen_at(self.day),
            variant=self.sheet.station.variant,
            side=slot.side,
            trial=slot.trial,
            value=value,
            levels=levels,
            judge=self.judge,
            at_once=self.at_once,
            note=note,
        )


def _seen_at(day: AssessmentDay) -> datetime:
    """Nobody wrote the minute down: the start of the day stands for it."""
    noon = timezone.make_aware(datetime.combine(day.held_on, time(12)))
    return min(day.opened_at, noon) if day.opened_at else noon
