"""Noise beside a known part, against the nine trials of diuretics that Viechtbauer 2007 (Stat Med 26:37) works out.

The differences are log odds ratios with known variances, and the noise looked for is the spread between trials:
the same equation as repeat tests with a known part from several clocks. The counts are those of Collins and others
1985 (FROM MEMORY); that they are the right ones is seen from the moment estimate of his table II (READ-2).
"""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest

from assessments.analysis import estimate_error
from assessments.analysis.records import ErrorModel
from assessments.analysis.repeats import RepeatPair

#: Ill and all of the treated, ill and all of the others.
TRIALS = (
    (14, 131, 14, 136), (21, 385, 17, 134), (14, 57, 24, 48), (6, 38, 18, 40), (12, 1011, 35, 760),
    (138, 1370, 175, 1336), (15, 506, 20, 524), (6, 108, 2, 103), (65, 153, 40, 102),
)  # fmt: skip
#: A flat error for which a difference has variance 1, so that the scale squared is the variance looked for.
UNIT = ErrorModel(1 / math.sqrt(2), 0.0)


def log_odds() -> tuple[np.ndarray, np.ndarray]:
    ill, all_, ill_others, all_others = np.array(TRIALS, dtype=float).T
    well, well_others = all_ - ill, all_others - ill_others
    return np.log(
        ill * well_others / (well * ill_others)
    ), 1 / ill + 1 / well + 1 / ill_others + 1 / well_others


def test_the_counts_are_those_of_the_paper() -> None:
    y, v = log_odds()
    w = 1 / v
    q = (w * (y - (w * y).sum() / w.sum()) ** 2).sum()
    moments = (q - (len(y) - 1)) / (w.sum() - (w**2).sum() / w.sum())
    assert moments == pytest.approx(0.2297, abs=5e-5)  # READ-2, table II


def test_the_interval_beside_a_known_part_is_that_of_the_paper() -> None:
    day = date(2026, 3, 2)
    pairs = [
        RepeatPair(f"trial {n}", 0.0, float(y), day, day, clock_variance=float(v))
        for n, (y, v) in enumerate(zip(*log_odds(), strict=True))
    ]
    found = estimate_error(pairs, UNIT, confidence=0.95)
    assert found.scale_interval is not None and found.scale is not None
    low, high = (end**2 for end in found.scale_interval)
    assert (low, high) == pytest.approx((0.0723, 2.2027), abs=5e-5)  # READ-2, Q-profile
    y, v = log_odds()
    weight = 1 / (found.scale**2 + v)
    mean = (weight * y).sum() / weight.sum()
    assert (weight * (y - mean) ** 2).sum() == pytest.approx(len(y) - 1)  # the estimating equation of 1982
    assert found.shift == pytest.approx(mean)
