"""Where the club's own children stand by age, and where published values lie: for the director, never for a family.

Percentiles say what is, not what should be. They become benchmarks only through a draft that a director publishes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from assessments.analysis import (
    Norms,
    ReferenceTable,
    club_norms,
    draft_benchmarks,
    read_reference,
)
from assessments.analysis.records import Band, Benchmark, DayScore, Interpretation, MeasureSpec
from assessments.models import ProgrammeEdition
from assessments.numbers import Evidence, NothingToDraft, club_evidence, current_documents, lowest_of
from assessments.programme import begin_draft
from assessments.programme_editing import put_benchmarks
from club.access import Viewer

REFERENCES = Path(__file__).parent / "reference_data"


@dataclass(frozen=True, slots=True)
class NormLines:
    """Smoothed percentiles of one measure in one version, beside the benchmarks that count now."""

    spec: MeasureSpec
    variant: str
    variants: tuple[tuple[str, int], ...]  # versions with results, and how many children each
    norms: Norms
    now: Mapping[str, Benchmark]  # benchmarks in force by band
    draft: tuple[Benchmark, ...]
    points: tuple[tuple[float, float, bool], ...]  # age, value, at least; no names
    bands: tuple[Band, ...]


def norm_lines(evidence: Evidence, item: str, variant: str = "") -> NormLines:
    """Percentiles over age of one measure; with two sides the lower one of each day counts."""
    spec = evidence.programme.measures[item]
    by_variant: dict[str, list[Interpretation]] = {}
    for one in evidence.of(item):
        by_variant.setdefault(one.variant, []).append(one)
    variants = tuple(
        (name, len({one.athlete for one in by_variant[name]}))
        for name in (spec.variants or ("",))
        if name in by_variant
    )
    chosen = variant if variant in by_variant else max(variants, key=lambda one: one[1], default=("", 0))[0]
    lines = lower_side(by_variant.get(chosen, ()))
    norms = club_norms(lines, evidence.programme.bands, evidence.on, lowest=lowest_of(spec), cap=spec.cap)
    bands = [band.id for band in evidence.programme.bands]
    return NormLines(
        spec=spec,
        variant=chosen,
        variants=variants,
        norms=norms,
        now={band: row for band in bands if (row := evidence.programme.benchmarks.get((item, band)))},
        draft=draft_benchmarks(norms, item, precision=spec.precision, cap=spec.cap),
        points=tuple(
            (day.age, day.value, day.at_least)
            for line in lines
            for day in line.days
            if not (day.familiarisation or day.first_look)
        ),
        bands=evidence.programme.bands,
    )


def lower_side(lines: Sequence[Interpretation]) -> tuple[Interpretation, ...]:
    """One line a child: of left and right on the same day the lower one; a day with one side alone is left out."""
    sided: dict[tuple[str, str], list[Interpretation]] = {}
    for one in lines:
        sided.setdefault((one.athlete, one.series), []).append(one)
    return tuple(_lower(both) for both in sided.values() if not both[0].side or len(both) == 2)


def _lower(both: Sequence[Interpretation]) -> Interpretation:
    if not both[0].side:
        return both[0]
    other = {day.day: day for day in both[1].days}
    days: list[DayScore] = [
        min(day, other[day.day], key=lambda one: (one.value, one.at_least))
        for day in both[0].days
        if day.day in other
    ]
    return replace(both[0], side="", days=tuple(days), latest=days[-1] if days else None)


def draft_norms(item: str, variant: str, viewer: Viewer) -> ProgrammeEdition:
    """A draft edition with benchmarks from the club's own percentiles. Bands without enough children stay as they are."""
    found = norm_lines(club_evidence(viewer.today, items=[item]), item, variant)
    if not found.draft:
        raise NothingToDraft("No age band has enough children for benchmarks of your own.")
    zones = {
        row.band: {
            "from": row.building,
            "aim": row.aim,
            **({"variant": found.variant} if found.variant else {}),
        }
        for row in found.draft
    }
    about = {
        "support": "derived",
        "note": " ".join(dict.fromkeys(f"{row.band}: {row.note}" for row in found.draft)),
    }
    documents = put_benchmarks(current_documents(), "measures", item, zones=zones, about=about)
    return begin_draft(viewer, title=f"Own benchmarks: {found.spec.name}"[:80], documents=documents)


# --- published values -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ReferenceBand:
    """One age: published values beside the middle of the club's own children."""

    band: str
    age: float
    values: tuple[float | None, ...]  # None where the table has no such percentile
    caution: str
    children: int
    middle: float | None  # of the club; None under the number that norms need


@dataclass(frozen=True, slots=True)
class ReferenceLines:
    """One published table for a measure of the programme. For the director alone."""

    table: ReferenceTable
    spec: MeasureSpec
    percents: tuple[float, ...]
    bands: tuple[ReferenceBand, ...]
    needed: int


def reference_lines(evidence: Evidence) -> tuple[ReferenceLines, ...]:
    """Every published table that the programme has a measure for; both sexes together, since the app keeps none."""
    return tuple(
        _reference(evidence, table) for table in _tables() if table.measure in evidence.programme.measures
    )


def referenced() -> tuple[str, ...]:
    """The measures that a published table speaks of."""
    return tuple(table.measure for table in _tables())


@lru_cache(maxsize=1)
def _tables() -> tuple[ReferenceTable, ...]:
    return tuple(read_reference(folder.parent) for folder in sorted(REFERENCES.glob("*/source.toml")))


def _reference(evidence: Evidence, table: ReferenceTable) -> ReferenceLines:
    """One table at the middle of each age band of the club; a band outside the ages of the table has no row."""
    own = norm_lines(evidence, table.measure).norms
    bands = []
    for band in own.bands:
        middle = band.values[own.percents.index(50.0)] if band.enough else None
        values = tuple(table.value(percent, band.age) for percent in own.percents)
        if all(value is None for value in values):
            continue
        bands.append(
            ReferenceBand(band.band, band.age, values, table.caution(band.age), band.children, middle)
        )
    spec = evidence.programme.measures[table.measure]
    return ReferenceLines(table, spec, own.percents, tuple(bands), own.needed)
