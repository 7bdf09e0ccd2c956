"""Lines small enough for a list or a sheet of paper, as SVG paths. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assessments.analysis.records import DayScore, Interpretation
from assessments.charts import evidence


@dataclass(frozen=True, slots=True)
class Dot:
    """One mark of a small drawing: open for a first look, an open triangle for 'at least'."""

    x: float
    y: float
    kind: str  # dot, open, at_least
    points: str = ""  # corners of the triangle


@dataclass(frozen=True, slots=True)
class Spark:
    """A line small enough for a list: paths that are never joined across series, and the newest mark."""

    width: int
    height: int
    paths: tuple[str, ...]
    dots: tuple[Dot, ...]


def spark(lines: Sequence[Interpretation], *, width: int = 120, height: int = 32) -> Spark:
    """The same history without axes, for lists and paper; the words beside it say what it shows."""
    days = [day for line in lines for day in evidence(line)]
    if not days:
        return Spark(width, height, (), ())
    first, last = min(day.on for day in days), max(day.on for day in days)
    low, high = min(day.value for day in days), max(day.value for day in days)
    span, rise = max((last - first).days, 1), max(high - low, 1e-9)
    pad = 6

    def place(day: DayScore) -> tuple[float, float]:
        across = (day.on - first).days / span if last > first else 0.5
        up = (day.value - low) / rise if high > low else 0.5
        return round(pad + across * (width - 2 * pad), 1), round(height - pad - up * (height - 2 * pad), 1)

    paths, dots = [], []
    for line in lines:
        joined = [place(day) for day in evidence(line) if not day.first_look]
        if len(joined) > 1:
            paths.append("M" + "L".join(f"{x} {y}" for x, y in joined))
        for day in evidence(line):
            if day.first_look or day is evidence(line)[-1]:
                dots.append(_dot(day, *place(day)))
    return Spark(width, height, tuple(paths), tuple(dots))


def _dot(day: DayScore, x: float, y: float) -> Dot:
    if day.at_least:
        return Dot(x, y, "at_least", f"{x} {y - 5} {x + 5} {y + 4} {x - 5} {y + 4}")
    return Dot(x, y, "open" if day.first_look else "dot")
