"""The level at which a child is believed to stand today, in words for staff. Pure: records in, words out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from assessments.analysis import figure, in_force, rest_ended, series_parts, touches
from assessments.analysis.interpret import current_levels, scores_of
from assessments.analysis.records import (
    DayScore,
    Interpretation,
    Level,
    MeasureSpec,
    Programme,
    RestSpell,
    ShapeSpec,
)
from assessments.analysis.trend import histories
from assessments.progress_words import series_words

Spec = MeasureSpec | ShapeSpec
HAIR = 1e-9
POINTS = ("of_5", "of_10")  # all of them is all there is


def level_words(
    lines: Sequence[Interpretation],
    spec: Spec,
    *,
    programme: Programme,
    rests: Sequence[RestSpell],
    on: date,
) -> str:
    """Such as 'Believed level today: about 22 s, likely between 18 and 26.'; one error each way, two times in three.

    Of the newest version under the present protocol; each side by itself. "" where nothing counts today: without a day
    within the time that evidence lasts, while a rest touches what the item loads, and from days before such a rest ended.
    """
    present = [line for line in lines if line.latest and series_parts(line.series)[0] == spec.version]
    loads = frozenset(spec.loads)
    if not present or any(in_force(spell, on) and touches(spell, loads, programme) for spell in rests):
        return ""
    since = rest_ended(rests, loads, programme, on=on)
    newest = max(present, key=lambda line: line.latest.on if line.latest else date.min)
    said = []
    for line in (line for line in present if line.series == newest.series):
        days = [day for day in line.days if _counts(day) and (since is None or day.on >= since)]
        level = line.level if len(days) == sum(map(_counts, line.days)) else _anew(line, days, programme, on)
        fresh = [day for day in days if on - day.on <= timedelta(weeks=programme.rules.expiry_weeks)]
        words = _words(level, fresh, spec) if level else ""
        if words:
            said.append(f"{line.side} {words}" if line.side else words)
    several = len({line.series for line in present}) > 1
    version = f", {series_words(newest, spec)}" if several else ""
    return f"Believed level today{version}: {'; '.join(said)}." if said else ""


def _counts(day: DayScore) -> bool:
    return not day.familiarisation and math.isfinite(day.value)


def _anew(line: Interpretation, days: Sequence[DayScore], programme: Programme, on: date) -> Level | None:
    """The level from some of the days alone, by the same calculation."""
    if not days:
        return None
    scores = scores_of([replace(line, days=tuple(days))], programme)
    found = current_levels(scores, histories(scores), programme=programme, on=on)
    return Level(float(found.mean[0]), float(found.variance[0]))


def _words(level: Level, fresh: Sequence[DayScore], spec: Spec) -> str:
    """'At least' may be more: where such a day reaches the level there is no upper end, but for points that end."""
    bounds = [day for day in fresh if day.at_least and day.held >= level.mean - HAIR]
    if not bounds and all(day.at_least for day in fresh):
        return ""
    may_be_more = bounds and spec.unit not in POINTS
    error = math.sqrt(level.variance)
    low, high = level.mean - error, level.mean + error
    if spec.kind != "distance":
        low = max(low, 0.0)
    if spec.cap is not None:
        high = min(high, spec.cap)
    mean = level.mean if spec.kind == "distance" else max(level.mean, 0.0)
    if may_be_more:
        return f"{figure(spec, math.floor(mean))} or more, likely not under {math.floor(low)}"
    return f"about {figure(spec, round(mean))}, likely between {round(low)} and {round(high)}"
