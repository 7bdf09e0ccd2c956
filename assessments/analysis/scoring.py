"""Trials of one test day -> one score: best, mean, sum or first; caps, 'at least', could not start, not tried.

Scores live in columns (`Scores`), one row a child, item, series, side and day, so that one child and a
thousand take the same path. Records are made from these columns, never beside them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
import pandas as pd

from assessments.analysis.clocks import clock_bias, clock_error
from assessments.analysis.records import MeasureSpec, Outcome, PartialLook, Programme, ShapeSpec, Side

Ints: TypeAlias = npt.NDArray[np.int64]
Floats: TypeAlias = npt.NDArray[np.float64]
Flags: TypeAlias = npt.NDArray[np.bool_]
Objects: TypeAlias = npt.NDArray[np.object_]

SIDES: tuple[Side, ...] = ("", "left", "right")
#: Outcomes that say something about the level. All others are no evidence.
EVIDENCE: tuple[Outcome, ...] = ("scored", "reached_cap", "chose_to_stop", "could_not_start")
AT_LEAST: tuple[Outcome, ...] = ("reached_cap", "chose_to_stop")
COMBINES = ("best", "mean", "sum", "first")
SHAPE_ATTEMPTS = 2
HIGHEST_TRIAL = 999
_EPOCH = date(1970, 1, 1).toordinal()


@dataclass(frozen=True, slots=True, eq=False)
class Scores:
    """Day scores in columns, sorted by child, item, series, side and date; `start` opens each series.

    Two test days on one date have no order of their own: exact values come first, then from below upwards.
    """

    athletes: tuple[str, ...]
    items: tuple[str, ...]
    series_names: tuple[str, ...]
    days: tuple[str, ...]
    athlete: Ints
    item: Ints
    series: Ints
    side: Ints
    day: Ints
    on: Ints  # days since 1970-01-01
    value: Floats
    at_least: Flags
    outcome: Ints  # index into EVIDENCE
    trials: Ints
    at_once: Ints
    sem: Floats
    clock_variance: Floats  # part of sem squared that comes from watching several clocks
    late: Floats  # seconds by which a stop with several clocks is late on average; 0 where the clock stopped itself
    familiarisation: Flags
    first_look: Flags
    levels: Objects
    form_break: Objects
    second_levels: Mapping[int, Mapping[str, int | None]]  # by row
    start: Ints
    partial_looks: Mapping[tuple[int, int, int], tuple[PartialLook, ...]]  # by child, item and series

    def __len__(self) -> int:
        return len(self.value)

    @property
    def held(self) -> Floats:
        """Values as a level is read from them: less the mean lateness of several clocks."""
        return self.value - self.late


def day_scores(trials: pd.DataFrame, programme: Programme, *, on: date) -> Scores:
    """One score a day from the frame of trials (columns: `records.TRIALS_COLUMNS`), up to and with `on`.

    Counted are the first `attempts` trials that ended in a value, in trial order: an attempt that was
    interrupted may be repeated, but a third good try never turns best of two into best of three. A day with an
    unsettled conflict among them has no score, nor has a sum with a trial missing. Rows of an item that the
    edition does not hold are left out. A missing key field, two dates for one day and a negative or endless
    trial number are refused.
    """
    table = _read(trials, programme)
    rows = np.flatnonzero(table.usable & (table.on <= days_of(on)))
    rows = rows[np.argsort(table.slot[rows] * (HIGHEST_TRIAL + 1) + table.trial[rows], kind="stable")]
    rows = rows[_rank(table.slot[rows]) < table.attempts[table.item[rows]]]
    begins = np.flatnonzero(opens(table.slot[rows]))
    if not len(begins):
        return _scores(table, rows, np.empty(0), np.empty(0, bool), np.empty(0, int), np.empty(0, int), on=on)
    value, at_least, chosen, sound = _combine(table, rows, begins)
    lengths = np.diff(np.append(begins, len(rows)))
    at_once = np.where(
        _rule(table, rows[begins], "mean") | _rule(table, rows[begins], "sum"),
        np.maximum.reduceat(table.at_once[rows], begins),
        table.at_once[chosen],
    )
    return _scores(table, chosen[sound], value[sound], at_least[sound], lengths[sound], at_once[sound], on=on)


def days_of(on: date) -> int:
    """The date as days since 1970-01-01."""
    return on.toordinal() - _EPOCH


def date_of(days: int) -> date:
    """The date of a number of days since 1970-01-01."""
    return date.fromordinal(int(days) + _EPOCH)


def opens(keys: Ints) -> Flags:
    """Where a run of equal keys begins."""
    first = np.ones(len(keys), dtype=np.bool_)
    first[1:] = keys[1:] != keys[:-1]
    return first


def series_parts(series: str) -> tuple[int, str]:
    """Protocol version and variant of a series such as v1 or v2:tucked."""
    version, _, variant = series.partition(":")
    if version[:1] != "v" or not version[1:].isdigit():
        raise ValueError(f"a series is written v1 or v1:variant, not {series!r}")
    return int(version[1:]), variant


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """The frame in columns of numbers."""

    athletes: tuple[str, ...]
    items: tuple[str, ...]
    series_names: tuple[str, ...]
    days: tuple[str, ...]
    specs: tuple[MeasureSpec | ShapeSpec | None, ...]  # by item code
    attempts: Ints  # by item code
    athlete: Ints
    item: Ints
    series: Ints
    side: Ints
    day: Ints
    on: Ints
    trial: Ints
    value: Floats
    outcome: Ints
    at_once: Ints
    conflict: Flags
    familiarisation: Flags
    second: Flags
    usable: Flags
    slot: Ints  # one number a child, item, series, side and day, in that order with days by date
    levels: Objects
    judge: Objects
    form_break: Objects


def _read(trials: pd.DataFrame, programme: Programme) -> _Table:
    athlete, athletes = _coded(trials["athlete"])
    item, items = _coded(trials["item"])
    series, series_names = _coded(trials["series"])
    day, days = _coded(trials["day"])
    side = _known(trials["side"], SIDES, strict=True)
    outcome = _known(trials["outcome"], EVIDENCE, strict=False)
    specs = tuple(programme.measures.get(name) or programme.shapes.get(name) for name in items)
    if trials["on"].isna().any():
        raise ValueError("a trial without on")
    on = trials["on"].to_numpy().astype("datetime64[D]").astype(np.int64)
    trial = trials["trial"].to_numpy().astype(np.int64)
    if len(trial) and not 0 <= trial.min() <= trial.max() <= HIGHEST_TRIAL:
        raise ValueError(f"a trial number lies between 0 and {HIGHEST_TRIAL}")
    value = _values(trials["value"].to_numpy(dtype=np.float64, na_value=np.nan), outcome, item, specs)
    second = trials["second"].to_numpy(dtype=np.bool_)
    conflict = trials["conflict"].to_numpy(dtype=np.bool_)
    known = np.array([spec is not None for spec in specs], dtype=np.bool_)[item]
    evidence = (outcome >= 0) & np.isfinite(value)
    place = _day_places(day, on, len(days))
    slot = (((athlete * len(items) + item) * len(series_names) + series) * len(SIDES) + side) * len(days)
    return _Table(
        athletes=athletes, items=items, series_names=series_names, days=days, specs=specs,
        attempts=np.array([_attempts(spec) for spec in specs], dtype=np.int64),
        athlete=athlete, item=item, series=series, side=side, day=day, on=on, trial=trial, value=value,
        outcome=outcome, at_once=np.maximum(trials["at_once"].to_numpy().astype(np.int64), 1),
        conflict=conflict, familiarisation=trials["familiarisation"].to_numpy(dtype=np.bool_),
        second=second, usable=known & ~second & (evidence | conflict), slot=slot + place[day],
        levels=_objects(trials["levels"]), judge=_objects(trials["judge"]),
        form_break=_objects(trials["form_break"]),
    )  # fmt: skip


def _coded(column: pd.Series) -> tuple[Ints, tuple[str, ...]]:
    if isinstance(column.dtype, pd.CategoricalDtype):
        codes, names = column.cat.codes.to_numpy(), column.cat.categories
    else:
        codes, names = pd.factorize(column, sort=True)
    if len(codes) and codes.min() < 0:
        raise ValueError(f"a trial without {column.name}")
    return codes.astype(np.int64), tuple(str(name) for name in names)


def _known(column: pd.Series, words: tuple[str, ...], *, strict: bool) -> Ints:
    codes, names = _coded(column)
    unknown = [name for name in names if name not in words]
    if strict and unknown:
        raise ValueError(f"{column.name} is one of {words}, not {unknown[0]!r}")
    places = np.array([words.index(name) if name in words else -1 for name in names], dtype=np.int64)
    return places[codes] if len(codes) else codes


def _objects(column: pd.Series) -> Objects:
    if isinstance(column.dtype, pd.CategoricalDtype):
        return np.asarray(column.cat.categories, dtype=object)[column.cat.codes.to_numpy()]
    return column.to_numpy(dtype=object)


def _values(
    value: Floats, outcome: Ints, item: Ints, specs: tuple[MeasureSpec | ShapeSpec | None, ...]
) -> Floats:
    """Tried and could not start is 0; reached cap without a figure is the cap."""
    caps = np.array([np.nan if spec is None or spec.cap is None else spec.cap for spec in specs], float)
    capped = (outcome == EVIDENCE.index("reached_cap")) & np.isnan(value)
    value = np.where(outcome == EVIDENCE.index("could_not_start"), 0.0, value)
    return np.where(capped, caps[item], value) if len(value) else value


def _day_places(day: Ints, on: Ints, count: int) -> Ints:
    """The place of each day code when days stand in order of date."""
    dates = np.zeros(count, dtype=np.int64)
    dates[day] = on
    if not np.array_equal(dates[day], on):
        raise ValueError("a day has one date, and one in this frame has two")
    places = np.empty(count, dtype=np.int64)
    places[np.argsort(dates, kind="stable")] = np.arange(count)
    return places


def _attempts(spec: MeasureSpec | ShapeSpec | None) -> int:
    return spec.attempts if isinstance(spec, MeasureSpec) else SHAPE_ATTEMPTS


def _rank(slot: Ints) -> Ints:
    """0, 1, 2... within each run of equal slots."""
    place = np.arange(len(slot))
    first: Ints = place - np.maximum.accumulate(np.where(opens(slot), place, 0))
    return first


def _rule(table: _Table, rows: Ints, combine: str) -> Flags:
    rules = [spec is not None and spec.combine == combine for spec in table.specs]
    return np.array(rules, dtype=np.bool_)[table.item[rows]]


def _combine(table: _Table, rows: Ints, begins: Ints) -> tuple[Floats, Flags, Ints, Flags]:
    """Value, 'at least', the trial that decided, and whether the day is sound, for each run of trials."""
    value, run = table.value[rows], np.cumsum(opens(table.slot[rows])) - 1
    held = value - lateness(_timed(table), table.item[rows], table.at_once[rows], table.outcome[rows])
    bound = np.isin(table.outcome[rows], [EVIDENCE.index(word) for word in AT_LEAST])
    conflict = np.logical_or.reduceat(table.conflict[rows], begins)
    lengths = np.diff(np.append(begins, len(rows)))
    seen = np.where(np.isfinite(held), held, -np.inf)
    highest = np.maximum.reduceat(seen, begins)
    # Of equal best trials the one that may hide more decides, then the earliest.
    merit = (seen == highest[run]).astype(np.int64) * (1 + bound)
    winners = np.flatnonzero(merit == np.maximum.reduceat(merit, begins)[run])
    best = rows[winners[opens(run[winners])]]
    added, any_bound = np.add.reduceat(value, begins), np.logical_or.reduceat(bound, begins)
    first = rows[begins]
    rules = [_rule(table, first, word) for word in COMBINES]
    results = [table.value[best], added / lengths, added, value[begins]]
    bounds = [np.maximum.reduceat(merit, begins) == 2, any_bound, any_bound, bound[begins]]
    chosen = np.where(rules[0], best, first)
    short = rules[2] & (lengths < table.attempts[table.item[first]])
    return np.select(rules, results), np.select(rules, bounds, default=False), chosen, ~conflict & ~short


def _scores(
    table: _Table, chosen: Ints, value: Floats, at_least: Flags, trials: Ints, at_once: Ints, *, on: date
) -> Scores:
    series = table.slot[chosen] // max(len(table.days), 1)
    order = np.lexsort((at_once, trials, table.outcome[chosen], value, at_least, table.on[chosen], series))
    chosen, trials, at_once = chosen[order], trials[order], at_once[order]
    value, at_least = value[order], at_least[order]
    item = table.item[chosen]
    model = [(spec.error.a, spec.error.b) if spec else (0.0, 0.0) for spec in table.specs]
    a, b = np.array(model, dtype=np.float64).reshape(-1, 2).T
    timed, outcome = _timed(table), _outcome(table, chosen, at_least)
    clocks = clock_variance(timed, item, at_once, outcome)
    start = np.flatnonzero(opens(series[order]))
    familiarisation = table.familiarisation[chosen]
    return Scores(
        athletes=table.athletes, items=table.items, series_names=table.series_names, days=table.days,
        athlete=table.athlete[chosen], item=item, series=table.series[chosen], side=table.side[chosen],
        day=table.day[chosen], on=table.on[chosen], value=value, at_least=at_least,
        outcome=outcome, trials=trials, at_once=at_once, late=lateness(timed, item, at_once, outcome),
        sem=np.sqrt(np.maximum(a[item], b[item] * np.abs(value)) ** 2 + clocks), clock_variance=clocks,
        familiarisation=familiarisation, first_look=_first_look(start, familiarisation, table.on[chosen]),
        levels=table.levels[chosen], form_break=table.form_break[chosen],
        second_levels=_second_looks(table, chosen), start=start, partial_looks=_partial_looks(table, chosen, on),
    )  # fmt: skip


def _timed(table: _Table) -> list[bool]:
    return [spec is not None and spec.kind == "hold" for spec in table.specs]


def clock_variance(timed: list[bool], item: Ints, at_once: Ints, outcome: Ints) -> Floats:
    """Variance that several clocks add to a stop by hand; `timed` says by item code what is a hold."""
    if not len(item):
        return np.empty(0)
    added: Floats = np.where(_by_hand(timed, item, outcome), clock_error(at_once) ** 2, 0.0)
    return added


def lateness(timed: list[bool], item: Ints, at_once: Ints, outcome: Ints) -> Floats:
    """Seconds that a stop with several clocks comes later on average than one that is watched alone.

    The error model of a measure holds one watched clock. A clock that stopped itself at the cap is not late, and a child
    who could not start has no time.
    """
    if not len(item):
        return np.empty(0)
    late = clock_bias(np.maximum(at_once, 1)) - clock_bias(1)
    taken: Floats = np.where(_by_hand(timed, item, outcome), late, 0.0)
    return taken


def _by_hand(timed: list[bool], item: Ints, outcome: Ints) -> Flags:
    stopped = np.isin(outcome, [EVIDENCE.index(word) for word in ("scored", "chose_to_stop")])
    return np.array(timed, dtype=np.bool_)[item] & stopped


def _outcome(table: _Table, chosen: Ints, at_least: Flags) -> Ints:
    """The outcome of the trial that decided; a mean or sum with an 'at least' part is itself at least."""
    outcome = table.outcome[chosen]
    lifted = at_least & ~np.isin(outcome, [EVIDENCE.index(word) for word in AT_LEAST])
    return np.where(lifted, EVIDENCE.index("chose_to_stop"), outcome)


def _first_look(start: Ints, familiarisation: Flags, on: Ints) -> Flags:
    """Everything on the first date of each series that was not a play day."""
    first = np.zeros(len(familiarisation), dtype=np.bool_)
    counts = np.flatnonzero(~familiarisation)
    if len(counts):
        series = np.searchsorted(start, counts, side="right")
        opening = opens(series)
        first[counts] = on[counts] == on[counts][opening][np.cumsum(opening) - 1]
    return first


def _second_looks(table: _Table, chosen: Ints) -> dict[int, Mapping[str, int | None]]:
    """Levels given by a second coach on the same day, by row of the scores.

    Both coaches are known and two people, they saw the try that stands, and nothing about the look waits to be settled. Of
    several second looks each criterion has the lowest level, and none where one coach did not see it.
    """
    place_of = {slot: place for place, slot in enumerate(table.slot[chosen].tolist())}
    looks: dict[int, Mapping[str, int | None]] = {}
    for row in np.flatnonzero(table.second & (table.outcome >= 0) & ~table.conflict):
        place, levels = place_of.get(int(table.slot[row])), table.levels[row]
        if place is None or not isinstance(levels, Mapping) or table.trial[row] != table.trial[chosen[place]]:
            continue
        judge, first = table.judge[row], table.judge[chosen[place]]
        if judge and first and judge != first:
            looks[place] = _lowest(looks[place], levels) if place in looks else levels
    return looks


def _lowest(one: Mapping[str, int | None], other: Mapping[str, int | None]) -> Mapping[str, int | None]:
    """The lower level of each criterion that both saw, None for the others."""
    return {
        name: None if (a := one.get(name)) is None or (b := other.get(name)) is None else min(a, b)
        for name in {**one, **other}
    }


def _partial_looks(
    table: _Table, chosen: Ints, on: date
) -> dict[tuple[int, int, int], tuple[PartialLook, ...]]:
    """Looks at a shape on days without a total, because something was not seen, oldest first; play days left out."""
    whole = set(table.slot[chosen].tolist())
    counted = ~table.second & ~table.conflict & ~table.familiarisation & (table.on <= days_of(on))
    rows = np.flatnonzero(counted & (table.outcome >= 0) & ~np.isfinite(table.value))
    looks: dict[tuple[int, int, int], list[PartialLook]] = {}
    for row in rows[np.argsort(table.on[rows], kind="stable")]:
        levels = table.levels[row]
        if isinstance(levels, Mapping) and int(table.slot[row]) not in whole:
            key = (int(table.athlete[row]), int(table.item[row]), int(table.series[row]))
            looks.setdefault(key, []).append(PartialLook(date_of(table.on[row]), levels))
    return {key: tuple(found) for key, found in looks.items()}
