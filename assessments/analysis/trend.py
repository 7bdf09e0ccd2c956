"""Change beyond noise and the current level of a slowly drifting ability.

The level is a random walk seen through noise; the scalar filter below is the recursive least-squares answer
(R. E. Kalman 1960, doi:10.1115/1.3662552). Without drift it is the plain mean of n days with error u / sqrt(n).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import NormalDist

import numpy as np

from assessments.analysis.clocks import clock_bias
from assessments.analysis.conformity import normal_share
from assessments.analysis.records import Change, DayScore, ErrorModel, Level
from assessments.analysis.samples import noise_factor
from assessments.analysis.scoring import Flags, Floats, Ints, Scores

#: After one test, this many weeks of drift double the variance (an engineering choice).
DRIFT_WEEKS = 12.0
#: So many days that are only 'at least' may count in one line. More would hardly change it and double the work.
MOST_BOUNDS = 2
NORMAL = NormalDist()


@dataclass(frozen=True, slots=True, eq=False)
class Histories:
    """Evidence of each series side by side: one row a series, one column a day, oldest first, padded on the right."""

    series: Ints  # index into Scores.start
    row: Ints  # [series, day] row of the scores, -1 where there is none
    on: Ints  # days since 1970-01-01, -1 where there is none
    weeks: Floats  # the same in weeks, NaN where there is none
    value: Floats  # less the mean lateness of several clocks
    at_least: Flags
    clock_variance: Floats

    @property
    def seen(self) -> Flags:
        """Where there is a day."""
        there: Flags = self.row >= 0
        return there


def histories(scores: Scores) -> Histories:
    """Lay out the days that count as evidence; play days are left out, and so are series without any."""
    rows = np.flatnonzero(~scores.familiarisation)
    series = np.searchsorted(scores.start, rows, side="right") - 1
    # Two days on one date must not depend on their order: exact values first, then bounds from below upwards.
    held = scores.held
    rows = rows[np.lexsort((held[rows], scores.at_least[rows], scores.on[rows], series))]
    names, begins, counts = np.unique(series, return_index=True, return_counts=True)
    place = np.arange(len(rows)) - np.repeat(begins, counts)
    line = np.repeat(np.arange(len(names)), counts)
    shape = (len(names), int(counts.max()) if len(counts) else 0)
    row = np.full(shape, -1, dtype=np.int64)
    row[line, place] = rows
    there = row >= 0
    at = np.maximum(row, 0)

    return Histories(
        series=names,
        row=row,
        on=np.where(there, scores.on[at], -1),
        weeks=np.where(there, scores.on[at] / 7.0, np.nan),
        value=np.where(there, held[at], np.nan),
        at_least=there & scores.at_least[at],
        clock_variance=np.where(there, scores.clock_variance[at], 0.0),
    )


def newest_rows(laid: Histories) -> Ints:
    """Row of the score that stands for the newest date of each series: `speaks_for`, in columns."""
    lines = np.arange(len(laid.series))
    last = laid.seen.sum(axis=1) - 1
    exact = (laid.on == laid.on[lines, last][:, None]) & laid.seen & ~laid.at_least
    place = np.where(exact, np.arange(laid.row.shape[1]), -1).max(axis=1, initial=-1)
    said = (place >= 0) & (laid.value[lines, last] <= laid.value[lines, place])
    rows: Ints = laid.row[lines, np.where(said, place, last)]
    return rows


@dataclass(frozen=True, slots=True, eq=False)
class Estimates:
    """Level of each line on one date; NaN where there is no evidence, or none that is fresh enough."""

    mean: Floats
    variance: Floats
    z: Floats  # (mean - target) / sqrt(variance), doubt about stops doubled; NaN without a target
    doubled: Flags  # the line leans on a day on which the child chose to stop
    lent: Flags  # its scores have expired and only stops are left: a new score starts anew


def estimate(
    weeks: Floats,
    value: Floats,
    *,
    seen: Flags,
    at_least: Flags,
    noise: Floats,
    drift: Floats,
    on_week: float,
    target: Floats | None = None,
    stopped: Flags | None = None,
    lasts: Floats | None = None,
    df: Floats | None = None,
) -> Estimates:
    """Filter each line of days (oldest first) and predict it to `on_week`.

    Start at the first day with its own noise; then v <- v + drift * weeks, K = v / (v + noise),
    m <- m + K (x - m), v <- (1 - K) v. A day more than `lasts` weeks after the one before starts anew, and a line whose
    newest counted day is older than that has no level against a target; exact days that old say no more than the bounds
    that came after them.

    Of the days that are only 'at least', the line counts none, one or two as scores, whichever choice puts it
    highest: the greatest z against a target, or m without one; the others say nothing, and so does one under the target.
    No such day ever lowers a line, since leaving it out is one of the choices. The rule is ours. Counting x
    as a score claims no more than 'at least x' does, because the share of N(0, 1) below a point over the density there
    rises with the point. But choosing among days takes the lucky ones: where days are counted on which the child
    chose to stop (`stopped`), the doubt 1 - Phi(z) is doubled, and never raised over a half. So a child at the
    line whose stops come where the hold would have broken is called met no more often than agreed while up to
    half of the days, or up to three in a row, are stops (simulated in the tests, with what lies beyond).

    With `df`, where the noise was found from few children, z is the normal equivalent of Student's t.
    """
    bounds: Flags = seen & at_least
    if target is not None:
        bounds = np.logical_and(bounds, value >= target[:, None])
    if stopped is None:
        stopped = at_least
    line, counted = _choices(seen & ~at_least, bounds)
    restart = np.full(len(line), np.inf) if lasts is None else lasts[line]
    by_choice = (at_least & stopped)[line]
    days = _Days(weeks[line], value[line], noise[line], drift[line], restart, counted & ~by_choice, on_week)
    mean, variance, last = _filtered(days, counted)
    variance = variance + drift[line] * (on_week - last)
    doubled: Flags = np.any(counted & by_choice, axis=1)
    lent = np.zeros(len(line), dtype=np.bool_)
    if target is None:
        z, height = np.full(len(line), np.nan), mean
    else:
        z, lent = _against(days, counted, target[line], mean=mean, variance=variance, last=last)
        if df is not None:
            z = normal_equivalent(z, df[line])
        z[doubled] = doubly_doubtful(z[doubled])
        height = z
    height = np.where(np.isnan(height), -np.inf, height)
    # The highest of each line comes last; of equal ones the one without a stop, then the surest.
    order = np.lexsort((-variance, ~doubled, height, line))
    best = order[np.flatnonzero(np.append(np.diff(line[order]), 1))] if len(order) else order
    return Estimates(mean[best], variance[best], z[best], doubled[best], lent[best])


@dataclass(frozen=True, slots=True, eq=False)
class _Days:
    """The days of each choice, [choice, day], and what the filter needs of its line."""

    weeks: Floats
    value: Floats
    noise: Floats
    drift: Floats
    restart: Floats  # weeks after which a day starts anew
    exact: Flags  # counted days that are scores: a cap that was reached stands like one, a stop does not
    on_week: float


def _against(
    days: _Days, counted: Flags, target: Floats, *, mean: Floats, variance: Floats, last: Floats
) -> tuple[Floats, Flags]:
    """z of each choice, NaN where its newest day has expired, and where scores have expired behind a stop.

    A stop lends no time to scores: those that have expired say no more than the stops alone that came after them.
    """
    fresh = days.on_week - last <= days.restart
    z = np.where(fresh, (mean - target) / np.sqrt(variance), np.nan)
    newest = np.where(days.exact, days.weeks, -np.inf).max(axis=1, initial=-np.inf)
    lent: Flags = (days.on_week - newest > days.restart) & np.isfinite(newest) & ~np.isnan(z)
    if lent.any():
        m, v, then = _filtered(days, counted & ~days.exact)
        alone = (m - target) / np.sqrt(v + days.drift * (days.on_week - then))
        z = np.where(lent, np.fmin(z, alone), z)
    return z, lent


def normal_equivalent(z: Floats, df: Floats) -> Floats:
    """The normal z of the same chance as Student's t on `df` degrees of freedom; z itself where df is infinite."""
    few = np.isfinite(df) & ~np.isnan(z)
    if not few.any():
        return z
    from scipy.special import ndtri, stdtr

    made = z.copy()
    # From below, where both are exact: a chance next to 1 cannot be told from 1.
    made[few] = -np.sign(z[few]) * ndtri(stdtr(df[few], -np.abs(z[few])))
    return made


def doubly_doubtful(z: Floats) -> Floats:
    """z' with 1 - Phi(z') = 2 (1 - Phi(z)), and 0 where that would be more than a half; z itself below 0.

    The same bound as Bonferroni's for the better of two looks.
    """
    made = z.copy()
    for at in np.flatnonzero(z > 0):
        doubt = 2.0 * normal_share(-float(z[at]))
        made[at] = max(0.0, -NORMAL.inv_cdf(doubt)) if 0.0 < doubt < 1.0 else (0.0 if doubt else z[at])
    return made


def _choices(exact: Flags, bounds: Flags) -> tuple[Ints, Flags]:
    """Which days may count: a row for each choice with its line, first that of the exact days alone."""
    lines, chosen = [np.arange(len(exact))], [exact]
    days = np.flatnonzero(bounds.any(axis=0)).tolist()
    for size in range(1, MOST_BOUNDS + 1):
        for places in combinations(days, size):
            having = np.flatnonzero(bounds[:, places].all(axis=1))
            counted = exact[having]
            counted[:, places] = True
            lines.append(having)
            chosen.append(counted)
    return np.concatenate(lines), np.concatenate(chosen)


def _filtered(days: _Days, counted: Flags) -> tuple[Floats, Floats, Floats]:
    """Mean and variance after the last day that counts, and its week; NaN where none does.

    An exact day so long after the exact one before starts anew whatever bounds lie between.
    """
    count = len(counted)
    mean, variance, last, scored = (np.full(count, np.nan) for _ in range(4))
    for day in range(counted.shape[1]):
        here, x, week = counted[:, day], days.value[:, day], days.weeks[:, day]
        exact = days.exact[:, day]
        gap, since = week - last, np.where(exact, week - scored, 0.0)
        first = here & (~(gap <= days.restart) | (since > days.restart))
        later = here & ~first
        predicted = variance + days.drift * gap
        gain = predicted / (predicted + days.noise[:, day])
        mean = np.where(first, x, np.where(later, mean + gain * (x - mean), mean))
        variance = np.where(first, days.noise[:, day], np.where(later, (1.0 - gain) * predicted, variance))
        last = np.where(here, week, last)
        scored = np.where(here & exact, week, scored)
    return mean, variance, last


def level_on(
    weeks: Sequence[float],
    scores: Sequence[float],
    error: float,
    on_week: float,
    *,
    at_least: Sequence[bool] | None = None,
) -> Level:
    """Where the true level of one series stands in `on_week`, from day scores with standard error `error`.

    Scalar filter with noise R = error^2 and drift R / 12 per week, after the last day predicted to `on_week`.
    Days may come in any order; days after `on_week` are not used. Not for scores of different protocols or
    variants, and no forecast: drift has no direction.
    """
    week, score = np.asarray(weeks, dtype=np.float64), np.asarray(scores, dtype=np.float64)
    bound = np.zeros(len(score), np.bool_) if at_least is None else np.asarray(at_least, dtype=np.bool_)
    if not len(week) == len(score) == len(bound):
        raise ValueError("weeks, scores and 'at least' marks differ in number")
    if not (math.isfinite(error) and error > 0):
        raise ValueError(f"an error is a number above 0, not {error}")
    if not (np.isfinite(week).all() and np.isfinite(score).all() and math.isfinite(on_week)):
        raise ValueError("weeks and scores are finite numbers")
    past = np.flatnonzero(week <= on_week)
    if not len(past):
        raise ValueError("no score on or before that week")
    order = past[np.lexsort((score[past], bound[past], week[past]))]
    line = (1, len(order))
    found = estimate(
        week[order].reshape(line),
        score[order].reshape(line),
        seen=np.ones(line, np.bool_),
        at_least=bound[order].reshape(line),
        noise=np.full(line, error**2),
        drift=np.array([error**2 / DRIFT_WEEKS]),
        on_week=on_week,
    )
    return Level(float(found.mean[0]), float(found.variance[0]))


def change_between(
    earlier: DayScore, later: DayScore, *, timed: bool, error: ErrorModel | None = None
) -> Change:
    """Say up or down only when two scored days differ by more than noise.

    Detectable = 1.645 * sqrt(sem1^2 + sem2^2), which is MDC90 = 1.645 * sqrt(2) * SEM for equal errors
    (J. P. Weir 2005, doi:10.1519/15184.1). An `error` that the club found itself, from n children, has Student's t on
    n - 1 degrees of freedom in place of 1.645. Holds timed with different numbers of clocks also differ by the lateness
    of the stop, which is added. A first look, a play day or another series is never compared; 'at least' can hide a
    rise but never shows a fall.
    """
    detectable = _factor(error) * math.hypot(earlier.sem, later.sem)
    if timed:
        detectable += float(abs(clock_bias(later.at_once) - clock_bias(earlier.at_once)))
    difference = later.value - earlier.value
    if abs(difference) <= detectable:
        return Change("about_the_same", earlier.on, difference, detectable)
    if difference < 0 and later.at_least:
        return _unknown(earlier, difference, detectable, "The later value is 'at least', so it is no fall.")
    if difference > 0 and earlier.at_least:
        return _unknown(
            earlier, difference, detectable, "The earlier value was 'at least': it may have been higher."
        )
    return Change("up" if difference > 0 else "down", earlier.on, difference, detectable)


def _factor(error: ErrorModel | None) -> float:
    return noise_factor(0.90, None if error is None else error.df)


def _unknown(earlier: DayScore, difference: float, detectable: float, reason: str) -> Change:
    return Change("not_comparable", earlier.on, difference, detectable, reason)


def speaks_for(days: Sequence[DayScore]) -> DayScore | None:
    """The score that stands for the newest date: a stop under an exact score of that date says nothing. None of none."""
    if not days:
        return None
    newest = [day for day in days if day.on == max(one.on for one in days)]
    reached = max((day.value for day in newest if not day.at_least), default=-math.inf)
    return [day for day in newest if not (day.at_least and day.value <= reached)][-1]


def latest_change(days: Sequence[DayScore], *, timed: bool, error: ErrorModel | None = None) -> Change | None:
    """The change of the newest scored day of a series against the newest of an earlier date.

    None without a scored day. Of two days on one date the one of `speaks_for` stands for it.
    """
    counted = [day for day in days if not day.familiarisation]
    latest = speaks_for(counted)
    if latest is None:
        return None
    detectable = _factor(error) * math.sqrt(2) * latest.sem
    if latest.first_look:
        reason = "First look: the start of the line, nothing to compare with."
        return Change("first_look", None, 0.0, detectable, reason)
    before = speaks_for([day for day in counted if day.on < latest.on])
    assert before is not None  # a date that is not the first look has one before it
    if before.first_look:
        reason = "Second time: the one before was a first look, and practice alone lifts those."
        return Change("not_comparable", None, 0.0, detectable, reason)
    return change_between(before, latest, timed=timed, error=error)
