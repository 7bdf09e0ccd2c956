"""The level of one series: what must hold whatever the numbers are."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.analysis import level_on, probability_met

values = st.floats(0, 60)
errors = st.floats(0.5, 20)
gaps = st.lists(st.integers(1, 12), min_size=1, max_size=6)


@st.composite
def histories(draw):
    weeks = [0]
    for gap in draw(gaps):
        weeks.append(weeks[-1] + gap)
    scores = draw(st.lists(values, min_size=len(weeks), max_size=len(weeks)))
    return weeks, scores


@given(histories(), errors, st.randoms(use_true_random=False))
def test_days_may_come_in_any_order(history, error, random):
    pairs = list(zip(*history, strict=True))
    random.shuffle(pairs)
    weeks, scores = zip(*pairs, strict=True)
    assert level_on(weeks, scores, error, 90) == level_on(*history, error, 90)


@given(values, values, errors, st.booleans())
def test_two_days_on_one_date_have_no_order(first, second, error, bound):
    marks = [False, bound]
    there = level_on([3, 3], [first, second], error, 5, at_least=marks)
    back = level_on([3, 3], [second, first], error, 5, at_least=marks[::-1])
    assert there == back


@given(histories(), errors, st.integers(-500, 500))
def test_only_distances_in_time_matter(history, error, shift):
    weeks, scores = history
    here = level_on(weeks, scores, error, 90)
    there = level_on([week + shift for week in weeks], scores, error, 90 + shift)
    assert (there.mean, there.variance) == pytest.approx((here.mean, here.variance))


@given(histories(), errors, st.floats(0.1, 10))
def test_another_unit_changes_only_the_unit(history, error, unit):
    weeks, scores = history
    here = level_on(weeks, scores, error, 90)
    there = level_on(weeks, [score * unit for score in scores], error * unit, 90)
    assert (there.mean, there.variance) == pytest.approx((here.mean * unit, here.variance * unit**2))


@given(values, errors, st.integers(2, 6))
def test_equal_results_narrow_the_band(value, error, count):
    one, many = level_on([0], [value], error, 0), level_on([0] * count, [value] * count, error, 0)
    assert many.mean == pytest.approx(value)
    assert many.variance == pytest.approx(one.variance / count)


@given(histories(), errors, values, st.integers(1, 100))
def test_waiting_moves_the_chance_towards_a_half(history, error, line, weeks):
    soon, later = level_on(*history, error, 80), level_on(*history, error, 80 + weeks)
    assert soon.mean == later.mean
    chances = [probability_met(level.mean, line, math.sqrt(level.variance)) for level in (soon, later)]
    assert abs(chances[1] - 0.5) <= abs(chances[0] - 0.5) + 1e-12


@given(histories(), errors)
def test_the_level_stays_within_what_was_seen(history, error):
    level = level_on(*history, error, 90)
    assert min(history[1]) - 1e-9 <= level.mean <= max(history[1]) + 1e-9
    assert level.variance > 0


@given(histories(), errors, st.data())
def test_bounds_never_put_the_level_under_what_exact_days_give(history, error, data):
    weeks, scores = history
    marks = data.draw(st.lists(st.booleans(), min_size=len(weeks), max_size=len(weeks)))
    exact = [place for place, bound in enumerate(marks) if not bound]
    mixed = level_on(weeks, scores, error, 90, at_least=marks)
    if exact:
        alone = level_on([weeks[i] for i in exact], [scores[i] for i in exact], error, 90)
        assert mixed.mean >= alone.mean - 1e-9


@given(histories(), errors, values)
def test_a_new_bound_never_lowers_the_level(history, error, bound):
    weeks, scores = history
    before = level_on(weeks, scores, error, 90)
    after = level_on([*weeks, 89], [*scores, bound], error, 90, at_least=[*[False] * len(weeks), True])
    assert after.mean >= before.mean - 1e-9


def test_a_bound_above_the_level_counts_as_a_score():
    bound = level_on([0, 1], [20, 30], 5, 1, at_least=[False, True])
    assert bound == level_on([0, 1], [20, 30], 5, 1)


def test_a_bound_under_the_level_only_lets_time_pass():
    assert level_on([0, 1], [20, 5], 5, 1, at_least=[False, True]) == level_on([0], [20], 5, 1)


def test_a_first_bound_does_not_hold_a_later_score_down():
    assert level_on([0, 1], [5, 30], 5, 1, at_least=[True, False]).mean == 30


def test_bounds_alone_start_at_the_bound():
    assert level_on([0], [60], 5, 0, at_least=[True]) == level_on([0], [60], 5, 0)


def test_days_after_the_reading_are_not_used():
    assert level_on([0, 9], [20, 40], 5, 4) == level_on([0], [20], 5, 4)


@pytest.mark.parametrize(
    ("weeks", "scores", "error", "on", "words"),
    [
        ([], [], 5, 0, "no score"),
        ([3], [20], 5, 2, "no score"),
        ([0, 1], [20], 5, 2, "differ in number"),
        ([0], [20], 0, 2, "above 0"),
        ([0], [20], -1, 2, "above 0"),
        ([0], [20], math.nan, 2, "above 0"),
        ([0], [math.nan], 5, 2, "finite"),
        ([math.inf], [20], 5, 2, "finite"),
        ([0], [20], 5, math.nan, "finite"),
    ],
)
def test_what_makes_no_sense_is_refused(weeks, scores, error, on, words):
    with pytest.raises(ValueError, match=words):
        level_on(weeks, scores, error, on)


def test_marks_must_match_the_scores():
    with pytest.raises(ValueError, match="differ in number"):
        level_on([0], [20], 5, 2, at_least=[True, False])
