"""Day scores -> the state of each requirement for each child, before rest notes and advice.

A *lane* is one requirement held against one series of one child. Lanes of all children and requirements run
through the level filter together; the weaker side and then the best admissible series stand for the child.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np

from assessments.analysis.must_haves import MISSING, SEEN_ONCE, SEEN_TWICE, Answers, seen_twice
from assessments.analysis.records import MeasureSpec, Requirement, RequirementWord, ShapeSpec
from assessments.analysis.scoring import (
    EVIDENCE,
    SIDES,
    Flags,
    Floats,
    Ints,
    Scores,
    days_of,
    opens,
    series_parts,
)
from assessments.analysis.trend import Estimates, Histories, estimate

WORDS: tuple[RequirementWord, ...] = ("not_known", "not_yet", "likely", "met")
UNKNOWN, SHORT, LIKELY, MET = range(4)
#: '' says nothing, 'harder' only that the child can do at least that much.
Standing = Literal["", "asked", "harder"]
#: Rounding of the machine must not turn a score that stands exactly on the limit away.
HAIR = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """One requirement of one skill, with everything that does not depend on a child."""

    skill: int
    requirement: Requirement
    spec: MeasureSpec | ShapeSpec
    error: float  # standard error of a child at the threshold
    line: float
    confidence: float
    z_needed: float
    df: int | None  # of the error, where the club found it itself
    expiry_days: int
    two_days: bool  # high risk: confirmed by two days
    confirm_days: int  # so far apart
    areas: frozenset[str]  # loaded by the skill or by the item


def admissible(spec: MeasureSpec | ShapeSpec, requirement: Requirement, series: str) -> Standing:
    """What a series says about a requirement: the protocol version of the edition, in the variant asked for or a harder one.

    A score in a harder variant is a lower bound of the score in the one asked for.
    """
    version, variant = series_parts(series)
    if version != spec.version:
        return ""
    asked = requirement.variant
    if not asked or not isinstance(spec, MeasureSpec):
        return "asked"
    order = spec.variants
    if variant not in order or asked not in order or order.index(variant) < order.index(asked):
        return ""
    return "asked" if variant == asked else "harder"


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """One cell a child and requirement; arrays are [N, Q]."""

    word: Ints
    z: Floats
    history: Ints
    must: Ints
    confirmed: Flags
    mean: Floats
    variance: Floats
    doubled: Flags  # the level leans on a day on which the child chose to stop
    lent: Flags  # scores have expired and only stops are left
    joined: Mapping[
        tuple[int, int], Ints
    ]  # by child and column: rows behind a cell that holds harder variants too


@dataclass(frozen=True, slots=True, eq=False)
class _Lanes:
    """What is held against what: column, line of the histories and child of each lane."""

    column: Ints
    line: Ints
    child: Ints
    pair: Ints  # runs of lanes of one column, child and series: the sides
    row: Ints  # [lane, day] row of the scores, oldest first, -1 where there is none
    harder: Flags  # [lane, day] a day in a harder variant: only a lower bound of the one asked for
    joined: Flags  # the lane holds days of several series

    def __len__(self) -> int:
        return len(self.line)


def judge_cells(
    columns: Sequence[Column],
    scores: Scores,
    laid: Histories,
    *,
    athletes: Sequence[str],
    since: Ints,
    on: date,
    drift_weeks: float,
) -> Cells:
    """The best admissible series of every child for every requirement, the weaker side deciding.

    p = Phi(z) with z = (level - line) / sqrt(variance), the level filtered with the error at the threshold and
    predicted to `on`; with an error that the club found from few children z is the normal equivalent of Student's t.
    Days before `since` are not used; a level without a day newer than the expiry is not known, and a day that comes after
    the ones before it have expired starts anew. Days in a harder variant stand among those in the one asked for as 'at
    least', and so say nothing under the line.
    """
    lanes = _lanes(columns, scores, laid, athletes)
    q, row = lanes.column, np.maximum(lanes.row, 0)
    on_days = np.where(lanes.row >= 0, scores.on[row], -1) if len(scores) else lanes.row
    seen = (lanes.row >= 0) & (on_days >= since[lanes.child, q][:, None])
    error = np.array([column.error for column in columns], dtype=np.float64)[q]
    line = np.array([column.line for column in columns], dtype=np.float64)[q]
    expiry = np.array([column.expiry_days for column in columns], dtype=np.int64)[q]
    apart = np.array([column.confirm_days for column in columns], dtype=np.int64)[q]
    value, at_least, stopped, clocks = _days(scores, row, lanes.harder)
    found = estimate(
        on_days / 7.0,
        value,
        seen=seen,
        at_least=at_least,
        noise=error[:, None] ** 2 + clocks,
        drift=error**2 / drift_weeks,
        on_week=days_of(on) / 7.0,
        target=line,
        stopped=stopped,
        lasts=expiry / 7.0,
        df=np.array([column.df or np.inf for column in columns], dtype=np.float64)[q],
    )
    # A bound under the line says neither that it was reached nor that it was not.
    telling = seen & ~(at_least & (value < line[:, None]))
    confirmed = _two_days(
        on_days, value >= line[:, None], telling, apart=apart[:, None], lasts=expiry[:, None]
    )
    lead, confirmed = _weaker_side(columns, lanes, z=found.z, confirmed=confirmed)
    # The highest comes last, so that the best admissible series of a child stands.
    lead = lead[np.argsort(found.z[lead], kind="stable")]
    must = _must_haves(columns, lanes, scores, dates=np.where(seen, on_days, -1), lead=lead)
    return _cells(columns, lanes, lead, since.shape, must, confirmed, found)


def _days(scores: Scores, row: Ints, harder: Flags) -> tuple[Floats, Flags, Flags, Floats]:
    """Value, whether it is only 'at least', whether by the child's own stop or choice of variant, and clock variance."""
    if not len(scores):
        return (
            np.empty(row.shape),
            np.empty(row.shape, np.bool_),
            np.empty(row.shape, np.bool_),
            np.empty(row.shape),
        )
    bound = scores.at_least[row]
    stopped = harder | (bound & (scores.outcome[row] != EVIDENCE.index("reached_cap")))
    return scores.held[row], bound | harder, stopped, scores.clock_variance[row]


def _lanes(columns: Sequence[Column], scores: Scores, laid: Histories, athletes: Sequence[str]) -> _Lanes:
    place = {athlete: n for n, athlete in enumerate(athletes)}
    child_of = np.array([place.get(name, -1) for name in scores.athletes], dtype=np.int64)
    code_of = {name: code for code, name in enumerate(scores.items)}
    first = scores.start[laid.series] if len(laid.series) else np.empty(0, np.int64)
    child, item, series = child_of[scores.athlete[first]], scores.item[first], scores.series[first]
    ours = np.flatnonzero(child >= 0)
    ours = ours[np.argsort(item[ours], kind="stable")]
    edges = np.searchsorted(item[ours], np.arange(len(scores.items) + 1))
    fits: dict[tuple[str, str], tuple[Flags, Flags]] = {}
    parts = [np.empty(0, np.int64)]
    owners = [np.empty(0, np.int64)]
    above = [np.empty(0, np.bool_)]
    for q, column in enumerate(columns):
        code = code_of.get(column.requirement.item)
        if code is None:
            continue
        lines = ours[edges[code] : edges[code + 1]]
        key = (column.requirement.item, column.requirement.variant)
        if key not in fits:
            standing = np.array(
                [admissible(column.spec, column.requirement, name) for name in scores.series_names], dtype=str
            )
            fits[key] = (standing != "", standing == "harder")
        lines = lines[fits[key][0][series[lines]]]
        parts.append(lines)
        above.append(fits[key][1][series[lines]])
        owners.append(np.full(len(lines), q, dtype=np.int64))
    line, owner, harder = np.concatenate(parts), np.concatenate(owners), np.concatenate(above)
    asked = np.array([bool(column.requirement.variant) for column in columns], dtype=np.bool_)[owner]
    child_and_column = owner * max(len(athletes), 1) + child[line]
    # Where a variant is asked for, the series of one side make one line; elsewhere each series stands for itself.
    side = scores.side[first][line]
    own = np.where(asked, side, len(SIDES) + series[line] * len(SIDES) + side)
    group = child_and_column * (len(SIDES) * (len(scores.series_names) + 2)) + own
    pair = child_and_column * (len(scores.series_names) + 1) + np.where(asked, 0, 1 + series[line])
    order = np.lexsort((harder, side, pair))
    line, owner, harder, group, pair = line[order], owner[order], harder[order], group[order], pair[order]
    lead = np.flatnonzero(opens(group))
    joined = np.diff(np.append(lead, len(group))) > 1
    lower = np.repeat(harder[:, None], laid.row.shape[1], axis=1)
    row, lower = _joined(scores, laid.row[line], lower, lead=lead, joined=joined)
    return _Lanes(
        owner[lead], line[lead], child[line[lead]], np.cumsum(opens(pair[lead])) - 1, row, lower, joined
    )


def _joined(scores: Scores, row: Ints, harder: Flags, *, lead: Ints, joined: Flags) -> tuple[Ints, Flags]:
    """Rows of each lane, those of several series in order of date; exact values before bounds, then from below upwards."""
    ends = np.append(lead, len(row))[1:]
    if not joined.any():
        return row[lead], harder[lead]
    width = int(
        max((row[begin:end] >= 0).sum() for begin, end in zip(lead[joined], ends[joined], strict=True))
    )
    width = max(width, row.shape[1])
    rows = np.full((len(lead), width), -1, dtype=np.int64)
    lower = np.zeros((len(lead), width), dtype=np.bool_)
    rows[:, : row.shape[1]], lower[:, : row.shape[1]] = row[lead], harder[lead]
    for place in np.flatnonzero(joined).tolist():
        here = slice(lead[place], ends[place])
        found, above = row[here][row[here] >= 0], harder[here][row[here] >= 0]
        order = np.lexsort((scores.held[found], scores.at_least[found] | above, scores.on[found]))
        rows[place], lower[place] = -1, False
        rows[place, : len(found)], lower[place, : len(found)] = found[order], above[order]
    return rows, lower


def _two_days(on: Ints, reached: Flags, telling: Flags, *, apart: Ints, lasts: Ints) -> Flags:
    """Reached on the newest telling date and on the last one at least `apart` days before it that had not expired then.

    Of two tests on one date both have to reach it.
    """
    newest = np.where(telling, on, -1).max(axis=1, initial=-1)[:, None]
    before = np.where(telling & (on <= newest - apart), on, -2).max(axis=1, initial=-2)[:, None]
    missed = telling & ~reached & ((on == newest) | (on == before))
    there = (before >= 0) & (before >= newest - lasts)
    twice: Flags = there[:, 0] & ~missed.any(axis=1)
    return twice


def _weaker_side(
    columns: Sequence[Column],
    lanes: _Lanes,
    *,
    z: Floats,
    confirmed: Flags,
) -> tuple[Ints, Flags]:
    """The lane that decides in each pair of sides, and confirmation as the pair has it."""
    if not len(lanes):
        return np.empty(0, np.int64), confirmed
    both = np.array([column.requirement.both_sides for column in columns], dtype=np.bool_)[lanes.column]
    asked = np.array([2 if column.spec.sides else 1 for column in columns], dtype=np.int64)[lanes.column]
    known = ~np.isnan(z)
    begins = np.flatnonzero(opens(lanes.pair))
    lowest = np.minimum.reduceat(np.where(known, z, np.inf), begins)[lanes.pair]
    highest = np.maximum.reduceat(np.where(known, z, -np.inf), begins)[lanes.pair]
    count = np.add.reduceat(known.astype(np.int64), begins)[lanes.pair]
    decides = known & np.where(both, (z == lowest) & (count >= asked), z == highest)
    lead = np.flatnonzero(decides)
    lead = lead[opens(lanes.pair[lead])]
    everywhere = np.logical_and.reduceat(confirmed | ~known, begins)[lanes.pair]
    return lead, np.where(both, everywhere, confirmed)


def _must_haves(columns: Sequence[Column], lanes: _Lanes, scores: Scores, *, dates: Ints, lead: Ints) -> Ints:
    """Whether all must-have criteria were 'on their own' on the last two dates, or for two coaches on the newest.

    A date says yes when every look on it does, no when the first coach saw one that was not there, and neither when only a
    second coach did. A look without a total, because something was not seen, counts for what was seen. The earlier
    date must not have expired by the newest.
    """
    must = np.full(len(lanes), SEEN_TWICE, dtype=np.int64)
    asking = np.array([bool(column.requirement.must_have) for column in columns], dtype=np.bool_)
    at = lead[asking[lanes.column[lead]]]
    if not len(at):
        return must
    answers = Answers(scores)
    for lane, q, rows, on in zip(
        at.tolist(), lanes.column[at].tolist(), lanes.row[at].tolist(), dates[at].tolist(), strict=True
    ):
        column = columns[q]
        counted = [(day, row) for day, row in zip(on, rows, strict=True) if day >= 0]
        must[lane] = seen_twice(answers, counted, column.requirement.must_have, column.expiry_days)
    return must


def _cells(
    columns: Sequence[Column],
    lanes: _Lanes,
    lead: Ints,
    shape: tuple[int, ...],
    must: Ints,
    confirmed: Flags,
    found: Estimates,
) -> Cells:
    z = found.z
    needed = np.array([column.z_needed for column in columns], dtype=np.float64)[lanes.column[lead]]
    word = np.where(z[lead] < needed - HAIR, LIKELY, MET)
    word = np.where(must[lead] == SEEN_ONCE, np.minimum(word, LIKELY), word)
    word = np.where((z[lead] < -HAIR) | (must[lead] == MISSING), SHORT, word)
    at = (lanes.child[lead], lanes.column[lead])
    cells = Cells(
        word=np.full(shape, UNKNOWN, dtype=np.int64),
        z=np.full(shape, np.nan),
        history=np.full(shape, -1, dtype=np.int64),
        must=np.full(shape, SEEN_TWICE, dtype=np.int64),
        confirmed=np.zeros(shape, dtype=np.bool_),
        mean=np.full(shape, np.nan),
        variance=np.full(shape, np.nan),
        doubled=np.zeros(shape, dtype=np.bool_),
        lent=np.zeros(shape, dtype=np.bool_),
        joined={
            (int(lanes.child[lane]), int(lanes.column[lane])): lanes.row[lane][lanes.row[lane] >= 0]
            for lane in lead.tolist()
            if lanes.joined[lane]
        },
    )
    cells.word[at], cells.z[at], cells.history[at] = word, z[lead], lanes.line[lead]
    cells.must[at], cells.confirmed[at] = must[lead], confirmed[lead]
    cells.mean[at], cells.variance[at] = found.mean[lead], found.variance[lead]
    cells.doubled[at], cells.lent[at] = found.doubled[lead], found.lent[lead]
    return cells
