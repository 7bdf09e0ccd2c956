"""A folder of published values -> one checked reference table.

A folder holds `source.toml` (where the numbers come from and what they must not be used for) and the CSV
files it names. What is missing or senseless is refused with the file, the line and the reason; nothing
is filled in.
"""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from assessments.analysis.centiles import (
    LmsTable,
    OffTheScale,
    OutsideAges,
    PercentileBand,
    PercentileTable,
    Placement,
)

POOLED = "all"
PERCENTILE = re.compile(r"p\d+")
WORDS = (
    "id",
    "measure",
    "name",
    "unit",
    "edition",
    "source",
    "population",
    "protocol",
    "difference",
    "terms",
    "method",
)
Table = TypeVar("Table", LmsTable, PercentileTable)


class ReferenceProblem(ValueError):
    """A reference folder cannot be used; the message says which file, which line and why."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a CSV file that knows where it stands, for messages."""

    path: Path
    line: int
    values: Mapping[str, str | None]

    @property
    def place(self) -> str:
        """Folder and file of the line."""
        return f"{self.path.parent.name}/{self.path.name}"

    def text(self, column: str) -> str:
        """The words in a column; a problem when there are none."""
        found = (self.values.get(column) or "").strip()
        if not found:
            raise ReferenceProblem(f"{self.place}, line {self.line}: nothing in column '{column}'.")
        return found

    def number(self, column: str) -> float:
        """The number in a column; a problem when it is not one."""
        found = self.text(column)
        try:
            return float(found)
        except ValueError as error:
            raise ReferenceProblem(
                f"{self.place}, line {self.line}: '{found}' in column '{column}' is not a number."
            ) from error


@dataclass(frozen=True, slots=True)
class ReferenceTable:
    """One published table with everything that must stand beside it. For the director, never for a family."""

    id: str
    measure: str
    name: str
    unit: str
    edition: str
    source: str
    population: str
    protocol: str
    difference: str  # how the protocol differs from the club's
    terms: str
    method: str
    caveats: tuple[str, ...]
    interest_only_under: float  # below this age the values are for interest, not norms
    lms: Mapping[str, LmsTable]  # group of children -> table; "all" is both sexes together
    percentiles: Mapping[str, PercentileTable]

    def place(self, value: float, age: float, *, at_least: bool = False) -> Placement:
        """Where a value stands among all children of that age; the smooth table answers when there is one."""
        table = self.lms.get(POOLED) or self.percentiles[POOLED]
        return table.place(value, age, at_least=at_least)

    def value(self, percent: float, age: float) -> float | None:
        """What so many per cent of all children of that age stay under, in `unit`; None where the table says nothing.

        The smooth table gives any percentile of the ages it covers, printed rows only their own percentiles.
        """
        smooth = self.lms.get(POOLED)
        try:
            if smooth is not None:
                return smooth.value(percent, age)
            rows = self.percentiles[POOLED]
            values = rows.at(age)
        except (OutsideAges, OffTheScale):
            return None
        return values[rows.percents.index(percent)] if percent in rows.percents else None

    def caution(self, age: float) -> str:
        """What must be said beside a placement at this age, "" when nothing more."""
        if age < self.interest_only_under:
            return (
                f"Under {self.interest_only_under:g} years these values are for interest only: "
                "few children, and not all had a score."
            )
        return ""


def read_reference(folder: Path) -> ReferenceTable:
    """Read one folder of published values; ReferenceProblem when anything in it cannot be trusted."""
    source = _read_source(folder / "source.toml")
    lms = _by_group(folder, source.get("lms"), _lms_table)
    percentiles = _by_group(folder, source.get("percentiles"), _percentile_table)
    if POOLED not in {*lms, *percentiles}:
        raise ReferenceProblem(f"{folder.name}: no rows for '{POOLED}', all children together.")
    words = {word: str(source[word]).strip() for word in WORDS}
    return ReferenceTable(
        id=words["id"],
        measure=words["measure"],
        name=words["name"],
        unit=words["unit"],
        edition=words["edition"],
        source=words["source"],
        population=words["population"],
        protocol=words["protocol"],
        difference=words["difference"],
        terms=words["terms"],
        method=words["method"],
        caveats=tuple(str(caveat) for caveat in source.get("caveats", ())),
        interest_only_under=float(source.get("interest_only_under", 0)),
        lms=lms,
        percentiles=percentiles,
    )


def _read_source(path: Path) -> Mapping[str, Any]:
    try:
        source = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise ReferenceProblem(f"{path.parent.name}/{path.name} cannot be read: {error}") from error
    missing = [word for word in WORDS if not str(source.get(word, "")).strip()]
    if missing:
        raise ReferenceProblem(f"{path.parent.name}/{path.name} does not say: {', '.join(missing)}.")
    return source


def _by_group(folder: Path, name: object, build: Callable[[Sequence[Row]], Table]) -> dict[str, Table]:
    """One table for each value of the column `children`; an empty answer when the source names no file."""
    if name is None:
        return {}
    path = folder / str(name)
    try:
        with path.open(encoding="utf-8", newline="") as lines:
            rows = [Row(path, line, values) for line, values in enumerate(csv.DictReader(lines), start=2)]
    except (OSError, UnicodeDecodeError) as error:
        raise ReferenceProblem(f"{folder.name}/{path.name} cannot be read: {error}") from error
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.text("children"), []).append(row)
    tables = {}
    for group, members in groups.items():
        try:
            tables[group] = build(members)
        except ReferenceProblem:
            raise
        except ValueError as error:
            raise ReferenceProblem(f"{members[0].place}, rows for '{group}': {error}") from error
    return tables


def _lms_table(rows: Sequence[Row]) -> LmsTable:
    columns = ("age_years", "L", "M", "S")
    ages, l_values, m_values, s_values = zip(
        *(tuple(row.number(column) for column in columns) for row in rows), strict=True
    )
    return LmsTable(ages, l_values, m_values, s_values)


def _percentile_table(rows: Sequence[Row]) -> PercentileTable:
    """Columns age_from, age_to, n and one column a percentile: p3, p5, ..."""
    columns = [name for name in rows[0].values if PERCENTILE.fullmatch(str(name))]
    bands = tuple(
        PercentileBand(
            int(row.number("age_from")),
            int(row.number("age_to")),
            tuple(row.number(column) for column in columns),
            int(row.number("n")),
        )
        for row in rows
    )
    return PercentileTable(tuple(float(column[1:]) for column in columns), bands)
