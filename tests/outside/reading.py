"""The data files of the outside checks, one way to read them. Sources: data/README.md."""

from __future__ import annotations

import csv
from pathlib import Path

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    """Every line of a data file as column -> text."""
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def columns(name: str, *wanted: str) -> list[list[float]]:
    """Columns of numbers of a data file, in the order asked for."""
    found = rows(name)
    return [[float(row[column]) for row in found] for column in wanted]
