"""A pool of children fitted by plain loops, for tests that ask whether `fit_pool` says the same.

Only the mixed model itself is shared (`fit_trends`, which is compared with lme4 and statsmodels elsewhere). What an
'at least' adds to a belief is added up over a fine grid here, with no formula for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
from scipy import stats

from assessments.analysis.pooling import Line, Trends, fit_trends
from assessments.analysis.records import DayScore, ErrorModel, Interpretation

Said = tuple[float, float] | None  # a value and its noise variance; None: the day says nothing


def believed_given(bound: float, mean: float, variance: float, noise: float) -> tuple[float, float]:
    """Mean and variance of a belief N(mean, variance) once a test with this noise variance showed `bound` or more."""
    sd = variance**0.5
    level = np.linspace(mean - 10 * sd, mean + 10 * sd, 40001)
    weight = stats.norm.pdf(level, mean, sd) * stats.norm.sf(bound, level, noise**0.5)
    weight /= weight.sum()
    middle = float((weight * level).sum())
    return middle, float((weight * (level - middle) ** 2).sum())


def added_by(bound: float, mean: float, variance: float, noise: float) -> Said:
    """The value and noise variance that would have changed the belief as the bound did.

    None where it weighs less than a hundredth of a plain value.
    """
    after, left = believed_given(bound, mean, variance, noise)
    precision = 1 / left - 1 / variance
    if precision <= 0.01 / noise:
        return None
    return (after / left - mean / variance) / precision, 1 / precision


def without(mean: float, variance: float, value: float, noise: float) -> tuple[float, float]:
    """The belief before a day that said `value` with this noise: the day pulled it there by its share of precision.

    At least a hundredth of the precision stays.
    """
    left = 1 / max(1 / variance - 1 / noise, 0.01 / variance)
    return mean - left / noise * (value - mean), left


def plain_trends(club: Sequence[Interpretation], on: date, error: ErrorModel) -> Trends:
    """The fit of `fit_pool` on a date; every day of the club has to be one that counts."""
    days = {one.athlete: sorted(one.days, key=lambda day: day.on) for one in club}
    scores = [_seen(day)[0] for own in days.values() for day in own if not day.at_least]
    said = {athlete: _at_first(own, error, float(np.mean(scores))) for athlete, own in days.items()}
    found = _fit(days, said, on, None)
    rounds = 3 if any(day.at_least for own in days.values() for day in own) else 1
    for _ in range(rounds):
        said = {
            athlete: [
                _anew(found, athlete, day, old, on, error)
                for day, old in zip(own, said[athlete], strict=True)
            ]
            for athlete, own in days.items()
        }
        found = _fit(days, said, on, found)
    return found


def _at_first(own: Sequence[DayScore], error: ErrorModel, typical: float) -> list[Said]:
    scores = [_seen(day)[0] for day in own if not day.at_least]
    found: list[Said] = []
    for day in own:
        value, clocks = _seen(day)
        under = value < (float(np.mean(scores)) if scores else typical)
        at = float(np.mean(scores)) if scores else value
        found.append(None if day.at_least and under else (value, error.sem(at) ** 2 + clocks))
    return found


def _seen(day: DayScore) -> tuple[float, float]:
    """What was held, less the lateness of a stop with several clocks, and the variance that those add."""
    return day.value - day.late, day.clock_variance


def _anew(found: Trends, athlete: str, day: DayScore, old: Said, on: date, error: ErrorModel) -> Said:
    known = athlete if athlete in found.children else None
    mean, variance = found.at(known, (day.on - on).days / 7)
    value, clocks = _seen(day)
    if not day.at_least:
        return value, error.sem(mean) ** 2 + clocks
    if old is not None:
        mean, variance = without(mean, variance, old[0], old[1] * found.residual)
    added = added_by(value, mean, variance, found.residual * (error.sem(mean) ** 2 + clocks))
    return None if added is None else (added[0], added[1] / found.residual)


def _fit(
    days: dict[str, list[DayScore]], said: dict[str, list[Said]], on: date, start: Trends | None
) -> Trends:
    lines = []
    for athlete, own in days.items():
        told = [(day, one) for day, one in zip(own, said[athlete], strict=True) if one is not None]
        times = np.array([(day.on - on).days / 7 for day, _ in told])
        values, noises = np.array([one[0] for _, one in told]), np.array([one[1] for _, one in told])
        lines.append(Line(athlete, times, values, noises))
    return fit_trends(lines, noise_weight=14, steady=True, start=start)
