"""The chance that a level is at least a threshold, and the score that is enough."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t as student

from assessments.analysis import acceptance_limit, probability_met

numbers = st.floats(-50, 300)
errors = st.floats(0.1, 40)


@given(numbers, numbers, errors)
def test_the_chances_of_meeting_and_missing_add_up(score, threshold, error):
    over, under = probability_met(score, threshold, error), probability_met(-score, -threshold, error)
    assert over + under == pytest.approx(1)


@given(numbers, numbers, numbers, errors)
def test_a_better_score_is_never_less_likely(first, second, threshold, error):
    worse, better = sorted((first, second))
    assert probability_met(worse, threshold, error) <= probability_met(better, threshold, error)


@given(numbers, errors, st.floats(0.5, 0.99), st.booleans())
def test_the_limit_is_where_the_confidence_is_reached(threshold, error, confidence, whole):
    limit = acceptance_limit(threshold, error, confidence, whole=whole)
    assert probability_met(limit, threshold, error, whole) == pytest.approx(confidence)


@pytest.mark.parametrize("wrong", [math.nan, math.inf])
def test_a_score_or_threshold_that_is_no_number_is_refused(wrong):
    for score, threshold in ((wrong, 20), (20, wrong)):
        with pytest.raises(ValueError, match="finite"):
            probability_met(score, threshold, 5)


@pytest.mark.parametrize("error", [0, -1, math.nan, math.inf])
def test_an_error_must_be_above_nothing(error):
    with pytest.raises(ValueError, match="above 0"):
        probability_met(20, 20, error)
    with pytest.raises(ValueError, match="above 0"):
        acceptance_limit(20, error, 0.9)


@pytest.mark.parametrize("confidence", [0.49, 1.0, math.nan])
def test_a_confidence_lies_between_a_half_and_one(confidence):
    with pytest.raises(ValueError, match="a confidence lies"):
        acceptance_limit(20, 5, confidence)


@pytest.mark.parametrize(("whole", "line"), [(False, 20.0), (True, 19.5)])
@pytest.mark.parametrize("df", [3, 14, 200])
def test_the_limit_of_an_error_from_few_children_goes_by_students_t(df, whole, line):
    """Quantiles of Student's t from scipy."""
    limit = acceptance_limit(20, 5, 0.85, whole=whole, df=df)
    assert limit == pytest.approx(line + 5 * student.ppf(0.85, df))
    assert limit > acceptance_limit(20, 5, 0.85, whole=whole)
