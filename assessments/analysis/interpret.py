"""Trials -> one interpretation a child, item, series and side: scored days, level and change."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np
import pandas as pd

from assessments.analysis.records import (
    Band,
    BenchmarkStep,
    DayScore,
    Interpretation,
    Level,
    MeasureSpec,
    Programme,
    ShapeSpec,
    Zone,
)
from assessments.analysis.scoring import (
    EVIDENCE,
    SIDES,
    Floats,
    Scores,
    date_of,
    day_scores,
    days_of,
    series_parts,
)
from assessments.analysis.trend import Estimates, Histories, estimate, histories, latest_change, speaks_for
from athletes.ages import age_on, band_of, birthday


def interpret(
    trials: pd.DataFrame, *, programme: Programme, born_on: Mapping[str, date], on: date
) -> tuple[Interpretation, ...]:
    """Every series of every child in the frame, as known on a day; age, band and zone as on each scored day.

    Nothing is joined across series (protocol version and variant) or sides. A child without a birth date is refused.
    A day before the birth date has no age, no band and no zone.
    """
    return interpretations(day_scores(trials, programme, on=on), programme=programme, born_on=born_on, on=on)


def interpretations(
    scores: Scores, *, programme: Programme, born_on: Mapping[str, date], on: date
) -> tuple[Interpretation, ...]:
    """The records of scores that are already combined."""
    laid = histories(scores)
    found = current_levels(scores, laid, programme=programme, on=on)
    line_of = {int(series): line for line, series in enumerate(laid.series)}
    ends = np.append(scores.start, len(scores))[1:]
    seconds = scores.second_levels
    made = []
    for series, (begin, end) in enumerate(zip(scores.start.tolist(), ends.tolist(), strict=True)):
        spec = programme.item(scores.items[scores.item[begin]])
        born = born_on.get(scores.athletes[scores.athlete[begin]])
        if born is None:
            raise ValueError(f"no birth date for child {scores.athletes[scores.athlete[begin]]}")
        days = tuple(
            _day_score(scores, row, spec, programme, born=born, second=seconds.get(row))
            for row in range(begin, end)
        )
        line = line_of.get(series)
        level = None if line is None else Level(float(found.mean[line]), float(found.variance[line]))
        made.append(_interpretation(scores, begin, spec, days=days, level=level))
    return tuple(made)


def scores_of(interpretations: Sequence[Interpretation], programme: Programme) -> Scores:
    """The columns that these records came from: `interpretations` read backwards."""
    ordered = sorted(
        interpretations, key=lambda one: (one.athlete, one.item, one.series, SIDES.index(one.side))
    )
    pairs = [(one, day) for one in ordered for day in one.days]
    names = [tuple(sorted({str(name) for name in column})) for column in (
        (one.athlete for one in ordered), (one.item for one in ordered), (one.series for one in ordered),
        (day.day for _, day in pairs),
    )]  # fmt: skip
    codes = [{name: code for code, name in enumerate(column)} for column in names]
    item = np.array([codes[1][one.item] for one, _ in pairs], dtype=np.int64)
    at_once = np.array([day.at_once for _, day in pairs], dtype=np.int64)
    lengths = np.array([len(one.days) for one in ordered if one.days], dtype=np.int64)
    levels, broke = np.empty(len(pairs), object), np.empty(len(pairs), object)
    levels[:], broke[:] = [day.levels for _, day in pairs], [day.form_break for _, day in pairs]
    return Scores(
        athletes=names[0], items=names[1], series_names=names[2], days=names[3],
        athlete=np.array([codes[0][one.athlete] for one, _ in pairs], dtype=np.int64), item=item,
        series=np.array([codes[2][one.series] for one, _ in pairs], dtype=np.int64),
        side=np.array([SIDES.index(one.side) for one, _ in pairs], dtype=np.int64),
        day=np.array([codes[3][day.day] for _, day in pairs], dtype=np.int64),
        on=np.array([days_of(day.on) for _, day in pairs], dtype=np.int64),
        value=np.array([day.value for _, day in pairs], dtype=np.float64),
        at_least=np.array([day.at_least for _, day in pairs], dtype=np.bool_),
        outcome=np.array([EVIDENCE.index(day.outcome) for _, day in pairs], dtype=np.int64),
        trials=np.array([day.trials for _, day in pairs], dtype=np.int64), at_once=at_once,
        sem=np.array([day.sem for _, day in pairs], dtype=np.float64),
        clock_variance=np.array([day.clock_variance for _, day in pairs], dtype=np.float64),
        late=np.array([day.late for _, day in pairs], dtype=np.float64),
        familiarisation=np.array([day.familiarisation for _, day in pairs], dtype=np.bool_),
        first_look=np.array([day.first_look for _, day in pairs], dtype=np.bool_),
        levels=levels, form_break=broke,
        second_levels={row: day.second_levels for row, (_, day) in enumerate(pairs) if day.second_levels is not None},
        start=np.cumsum(lengths) - lengths,
        partial_looks={
            (codes[0][one.athlete], codes[1][one.item], codes[2][one.series]): one.partial_looks
            for one in ordered if one.partial_looks
        },
    )  # fmt: skip


def current_levels(scores: Scores, laid: Histories, *, programme: Programme, on: date) -> Estimates:
    """The level of every series, predicted to a day; noise is the error at the mean of the series."""
    count = len(laid.series)
    total = np.where(laid.seen, laid.value, 0.0).sum(axis=1)
    typical = np.abs(total / np.maximum(laid.seen.sum(axis=1), 1))
    item = scores.item[scores.start[laid.series]] if count else np.empty(0, np.int64)
    a, b = error_models(scores, programme)
    error = np.maximum(np.maximum(a[item], b[item] * typical), 1e-9)
    return estimate(
        laid.weeks,
        laid.value,
        seen=laid.seen,
        at_least=laid.at_least,
        noise=error[:, None] ** 2 + laid.clock_variance,
        drift=error**2 / programme.rules.drift_weeks,
        on_week=days_of(on) / 7.0,
        lasts=np.full(count, float(programme.rules.expiry_weeks)),
    )


def error_models(scores: Scores, programme: Programme) -> tuple[Floats, Floats]:
    """The two numbers of each item's error model, by item code; zeros for an item outside the edition."""
    specs = [programme.measures.get(name) or programme.shapes.get(name) for name in scores.items]
    a = np.array([spec.error.a if spec else 0.0 for spec in specs], dtype=np.float64)
    b = np.array([spec.error.b if spec else 0.0 for spec in specs], dtype=np.float64)
    return a, b


def zone_of(programme: Programme, item: str, *, band: str, value: float, variant: str = "") -> Zone:
    """Starting out, building or club aim for a value in a band; "" where the club has no benchmark for it."""
    benchmark = programme.benchmark(item, band, variant)
    if benchmark is None or math.isnan(value):
        return ""
    if value >= benchmark.aim:
        return "club_aim"
    return "building" if value >= benchmark.building else "starting_out"


def benchmark_steps(programme: Programme, item: str, born: date) -> tuple[BenchmarkStep, ...]:
    """The benchmarks of an item along one child's birthdays, for drawing; bands without one leave a gap."""
    steps = (
        (band, programme.benchmarks.get((item, band.id)))
        for band in sorted(programme.bands, key=lambda band: band.low)
    )
    return tuple(
        BenchmarkStep(birthday(born, band.low), birthday(born, band.high), benchmark)
        for band, benchmark in steps
        if benchmark is not None
    )


def age_and_band(born: date, on: date, bands: tuple[Band, ...]) -> tuple[float, str]:
    """Decimal age and band on a day; NaN and "" on a day before birth."""
    if on < born:
        return math.nan, ""
    band = band_of(born, on, bands)
    return age_on(born, on), band.id if band else ""


def _day_score(
    scores: Scores,
    row: int,
    spec: MeasureSpec | ShapeSpec,
    programme: Programme,
    *,
    born: date,
    second: Mapping[str, int | None] | None,
) -> DayScore:
    on, value = date_of(scores.on[row]), float(scores.value[row])
    age, band = age_and_band(born, on, programme.bands)
    variant = series_parts(scores.series_names[scores.series[row]])[1]
    levels = scores.levels[row]
    broke = scores.form_break[row]
    return DayScore(
        on=on,
        day=scores.days[scores.day[row]],
        value=value,
        at_least=bool(scores.at_least[row]),
        outcome=EVIDENCE[scores.outcome[row]],
        trials=int(scores.trials[row]),
        at_once=int(scores.at_once[row]),
        sem=float(scores.sem[row]),
        first_look=bool(scores.first_look[row]),
        familiarisation=bool(scores.familiarisation[row]),
        age=age,
        band=band,
        zone=zone_of(programme, spec.id, band=band, value=value, variant=variant),
        levels=levels if isinstance(levels, Mapping) else None,
        form_break=broke if isinstance(broke, str) else "",
        second_levels=second,
        late=float(scores.late[row]),
        clock_variance=float(scores.clock_variance[row]),
    )


def _interpretation(
    scores: Scores,
    row: int,
    spec: MeasureSpec | ShapeSpec,
    *,
    days: tuple[DayScore, ...],
    level: Level | None,
) -> Interpretation:
    series = scores.series_names[scores.series[row]]
    counted = [day for day in days if not day.familiarisation]
    looks = scores.partial_looks.get(
        (int(scores.athlete[row]), int(scores.item[row]), int(scores.series[row]))
    )
    return Interpretation(
        athlete=scores.athletes[scores.athlete[row]],
        item=spec.id,
        series=series,
        side=SIDES[scores.side[row]],
        days=days,
        latest=speaks_for(counted),
        level=level,
        change=latest_change(days, timed=spec.kind == "hold", error=spec.error),
        variant=series_parts(series)[1],
        partial_looks=looks or (),
    )
