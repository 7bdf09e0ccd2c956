"""Pages of percentiles laid out: the club's own by age, and published values beside the middle of an age. Records in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assessments.analysis import figure
from assessments.number_charts import norm_chart
from assessments.number_words import is_known
from assessments.own_norms import NormLines, ReferenceBand, ReferenceLines


@dataclass(frozen=True, slots=True)
class NormRow:
    """One age band: percentiles with their ranges, beside the benchmark that counts now."""

    band: str
    children: int
    enough: bool
    cells: tuple[tuple[str, str], ...]  # value, range
    now: str
    draft: str


@dataclass(frozen=True, slots=True)
class NormPage:
    """The percentiles of one measure in one version."""

    found: NormLines
    sentence: str
    heads: tuple[str, ...]
    rows: tuple[NormRow, ...]
    chart: dict[str, object] | None
    variants: tuple[tuple[str, str, int], ...]  # id, words, children


def norm_page(found: NormLines) -> NormPage:
    """A table by age band; the drawing only where some band has enough children."""
    enough = [band for band in found.norms.bands if band.enough]
    spec = found.spec
    words = {name: spec.variant_words.get(name, name.replace("_", " ")) for name, _ in found.variants}
    return NormPage(
        found=found,
        sentence=_norm_sentence(found),
        heads=tuple(_percent_words(percent) for percent in found.norms.percents),
        rows=tuple(_norm_row(found, place) for place in range(len(found.norms.bands))),
        chart=norm_chart(found.norms, found.points, spec=spec, now=found.now, bands=found.bands)
        if enough
        else None,
        variants=tuple((name, words[name] or "the one version", count) for name, count in found.variants),
    )


def _norm_sentence(found: NormLines) -> str:
    enough = [band.band for band in found.norms.bands if band.enough]
    if not enough:
        return f"{found.spec.name}: no age has {found.norms.needed} children with a result yet."
    ages = ", ".join(enough[:-1]) + (" and " if len(enough) > 1 else "") + enough[-1]
    return f"{found.spec.name}: enough children at {ages} to say where the club’s own children stand."


def _percent_words(percent: float) -> str:
    return {10.0: "1 of 10 below", 25.0: "1 of 4 below", 50.0: "middle", 75.0: "3 of 4 below", 90.0: "9 of 10 below"}.get(
        percent, f"{percent:g} of 100 below"
    )  # fmt: skip


def _norm_row(found: NormLines, place: int) -> NormRow:
    band, spec = found.norms.bands[place], found.spec
    cells = []
    for value, interval in zip(band.values, band.intervals, strict=True):
        shown = figure(spec, round(value)) if value is not None else "above the cap" if band.enough else ""
        reach = ""
        if interval is not None:
            high = f"{interval[1]:.0f}" if interval[1] != float("inf") else "above the cap"
            reach = f"{interval[0]:.0f} to {high}"
        cells.append((shown, reach))
    now = found.now.get(band.band)
    draft = next((row for row in found.draft if row.band == band.band), None)
    return NormRow(
        band=band.band,
        children=band.children,
        enough=band.enough,
        cells=tuple(cells),
        now=f"{now.building:g} and {now.aim:g}" if now else "none",
        draft=f"{draft.building:g} and {draft.aim:g}" if draft else "",
    )


@dataclass(frozen=True, slots=True)
class ReferenceRow:
    """One age: published values, and the club's own middle beside them."""

    band: str
    values: tuple[str, ...]
    children: int
    middle: str
    stands: str  # where the middle would stand in the table
    caution: str


@dataclass(frozen=True, slots=True)
class ReferencePage:
    """One published table."""

    found: ReferenceLines
    heads: tuple[str, ...]
    rows: tuple[ReferenceRow, ...]


def reference_page(tables: Sequence[ReferenceLines]) -> tuple[ReferencePage, ...]:
    """Each table with the words that must stand beside it."""
    return tuple(
        ReferencePage(
            one,
            tuple(_percent_words(percent) for percent in one.percents),
            tuple(
                ReferenceRow(
                    band.band,
                    tuple(
                        figure(one.spec, round(value)) if value is not None else "" for value in band.values
                    ),
                    band.children,
                    figure(one.spec, round(band.middle)) if is_known(band.middle) and band.middle else "",
                    _stands(one, band),
                    band.caution,
                )
                for band in one.bands
            ),
        )
        for one in tables
    )


def _stands(one: ReferenceLines, band: ReferenceBand) -> str:
    """Where the middle of an age would stand among the children of the table: of a group, never of one child."""
    if band.middle is None or not is_known(band.middle):
        return ""
    found = one.table.place(band.middle, band.age)
    if found.where != "at" or found.centile is None:
        return found.reason
    return f"about centile {found.centile:.0f} of this table"
