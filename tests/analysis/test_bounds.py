"""Values that are only 'at least' in a line of days: whatever they are, they never pull a child down."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.analysis import level_on
from assessments.analysis.records import Requirement
from assessments.analysis.scoring import day_scores
from assessments.analysis.trend import estimate
from assessments.analysis.verdicts import verdicts
from tests.analysis.small_club import MONDAY, child, frame, programme, skill, trial

READ = 60.0
LINE = 30.0
HAIR = 1e-9


@st.composite
def lines(draw):
    """Any line of one to seven days: (week, score, only 'at least', noise variance); weeks may repeat."""
    day = st.tuples(st.integers(0, 50), st.integers(0, 60), st.booleans(), st.sampled_from([9.0, 25.0, 40.0]))
    return sorted(draw(st.lists(day, min_size=1, max_size=7)), key=lambda one: (one[0], one[2], one[1]))


def found(line, *, target=LINE, capped=False):
    """Level and z of one line, bounds being stops or caps; both are minus infinity where nothing is known."""
    weeks, scores, bound, noise = (np.array([column]) for column in zip(*line, strict=True))
    got = estimate(
        weeks.astype(float),
        scores.astype(float),
        seen=np.ones(bound.shape, np.bool_),
        at_least=bound,
        noise=noise,
        drift=np.array([25.0 / 12]),
        on_week=READ,
        target=None if target is None else np.array([target]),
        stopped=bound & (not capped),
        lasts=np.array([16.0]),
    )
    return tuple(-math.inf if math.isnan(one) else float(one) for one in (got.mean[0], got.z[0]))


@settings(max_examples=400)
@given(lines(), st.booleans())
def test_no_line_is_better_off_without_one_of_its_bounds(line, capped):
    level, z = found(line, target=None, capped=capped)[0], found(line, capped=capped)[1]
    for place, day in enumerate(line):
        rest = line[:place] + line[place + 1 :]
        if day[2] and rest:
            assert found(rest, target=None, capped=capped)[0] <= level + HAIR
            assert found(rest, capped=capped)[1] <= z + HAIR


@settings(max_examples=200)
@given(lines(), st.integers(0, 6), st.integers(1, 20), st.booleans())
def test_a_higher_bound_never_puts_a_child_lower(line, place, more, capped):
    week, score, bound, noise = line[place % len(line)]
    if bound:
        higher = [*line]
        higher[place % len(line)] = (week, score + more, bound, noise)
        higher.sort(key=lambda one: (one[0], one[2], one[1]))
        assert found(higher, capped=capped)[1] >= found(line, capped=capped)[1] - HAIR
        assert found(higher, target=None)[0] >= found(line, target=None)[0] - HAIR


@settings(max_examples=200)
@given(lines(), st.integers(0, 6))
def test_up_to_two_scores_over_the_line_that_turn_out_to_be_the_cap_lower_nothing(line, place):
    week, score, bound, noise = line[place % len(line)]
    if not bound and score >= LINE and sum(one[2] for one in line) < 2:
        open_ = [*line]
        open_[place % len(line)] = (week, score, True, noise)
        open_.sort(key=lambda one: (one[0], one[2], one[1]))
        assert found(open_, capped=True)[1] >= found(line, capped=True)[1] - HAIR


@settings(max_examples=200)
@given(lines())
def test_a_stop_says_less_than_the_cap_and_never_that_the_line_was_missed(line):
    exact = [one for one in line if not one[2]]
    without = found(exact)[1] if exact else -math.inf
    stop, cap = found(line)[1], found(line, capped=True)[1]
    assert without - HAIR <= stop <= cap + HAIR
    if not exact:
        assert stop == -math.inf or stop >= 0.0


@settings(max_examples=100)
@given(lines(), st.randoms(use_true_random=False))
def test_days_of_one_date_may_come_in_any_order(line, random):
    mixed = random.sample(line, len(line))
    weeks, scores, bounds, _ = zip(*line, strict=True)
    others = zip(*mixed, strict=True)
    there = level_on(*list(others)[:2], 5, READ, at_least=[one[2] for one in mixed])
    assert there == level_on(weeks, scores, 5, READ, at_least=bounds)


def word(*rows, week=8.0):
    """The word about 40 s asked of Mia, with a noise of 5 s."""
    one = skill("skill", Requirement("hollow_hold", 40), risk="medium")
    edition, on = programme(one), MONDAY + timedelta(days=round(7 * week))
    board = verdicts(
        [one], day_scores(frame(rows), edition, on=on), programme=edition, children=(child(),), on=on
    )
    return board.word[0, 0], float(board.z[0, 0])


def test_a_low_stop_does_not_turn_met_into_not_yet():
    """By hand: 50 alone is (50 - 40) / 5 = 2 standard errors over the line, 0.02275 in doubt, twice that is 1.6901."""
    high = trial(50, week=8, outcome="chose_to_stop")
    alone = word(high)
    both = word(trial(10, outcome="chose_to_stop"), high)
    assert both == alone and alone[1] == pytest.approx(1.6901434)


def test_a_low_stop_before_exact_days_does_not_hold_a_later_bound_down():
    """By hand: v = 25 + 8 * 25 / 12 eight weeks after the 20, K = v / (v + 25) = 0.625, 20 + 0.625 * 30 = 38.75."""
    marks = [True, False, True]
    found = level_on([0, 8, 16], [10, 20, 50], 5, 16, at_least=marks)
    assert found.mean == pytest.approx(38.75)


def test_two_bounds_at_most_narrow_the_spread():
    spreads = [
        level_on([0] * days, [60] * days, 5, 0, at_least=[True] * days).variance for days in (1, 2, 3, 6)
    ]
    assert spreads == pytest.approx([25, 12.5, 12.5, 12.5])


def test_of_many_bounds_the_best_two_count():
    weeks, scores = [0, 1, 2, 3, 4], [20, 31, 12, 33, 25]
    best = level_on([1, 3], [31, 33], 5, 4)
    alone = level_on([3], [33], 5, 4)
    found = level_on(weeks, scores, 5, 4, at_least=[True] * 5)
    assert found.mean == max(best.mean, alone.mean) == 33
