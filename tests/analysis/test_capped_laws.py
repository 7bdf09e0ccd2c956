"""Values cut at a cap: units make no difference, the errors are those of the likelihood, and refusals say of what."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from assessments.analysis.censored import capped_normal, capped_regression, survival
from assessments.analysis.samples import NotEnough

random = np.random.default_rng(20261126)
AGE = np.round(random.uniform(-3, 3, 60), 2)
TRUE = 40 + 6 * AGE + random.normal(0, 12, 60)
VALUES, CAPPED = np.minimum(TRUE, 55.0), TRUE >= 55.0


def on_a_line(age, values=VALUES):
    return capped_regression(np.column_stack([np.ones(60), age]), values, CAPPED)


PLAIN = on_a_line(AGE)


@pytest.mark.parametrize("unit", [1e-6, 1.0, 52.0, 1e6])
def test_the_unit_of_an_explaining_column_makes_no_difference(unit):
    found = on_a_line(AGE * unit)
    assert found.coefficients[1] * unit == pytest.approx(PLAIN.coefficients[1], rel=1e-4)
    assert found.errors[1] * unit == pytest.approx(PLAIN.errors[1], rel=1e-4)
    assert (found.sigma, found.log_likelihood) == pytest.approx((PLAIN.sigma, PLAIN.log_likelihood), rel=1e-4)


def test_a_column_around_nought_fits_as_one_that_is_not():
    around, far = on_a_line(AGE - AGE.mean()), on_a_line(AGE + 10)
    for found in (around, far):
        assert found.coefficients[1] == pytest.approx(PLAIN.coefficients[1], rel=1e-4)
        assert found.sigma == pytest.approx(PLAIN.sigma, rel=1e-4)


def test_the_errors_are_those_of_the_curved_likelihood():
    """Second differences of the likelihood as scipy's normal distribution gives it, in mean and spread."""
    found = capped_normal(VALUES, CAPPED)
    at = np.array([found.coefficients[0], found.sigma])

    def likelihood(mean, sigma):
        return norm.logpdf(VALUES[~CAPPED], mean, sigma).sum() + norm.logsf(VALUES[CAPPED], mean, sigma).sum()

    h = 0.01
    steps = h * np.eye(2)
    curve = [
        [
            sum(a * b * likelihood(*(at + a * one + b * other)) for a in (1, -1) for b in (1, -1))
            for other in steps
        ]
        for one in steps
    ]
    spread = np.linalg.inv(-np.array(curve) / (4 * h * h))
    assert found.errors == (pytest.approx(math.sqrt(spread[0, 0]), rel=1e-4),)
    assert found.log_likelihood == pytest.approx(likelihood(*at))


@pytest.mark.parametrize("scale", [1.0, 1e-3, 1e6])
def test_values_that_follow_the_design_exactly_have_no_spread(scale):
    """By rounding the fit of two groups leaves 4e-16 of values that are alike in each."""
    groups = [[1, 0], [0, 1], [1, 0], [0, 1]]
    with pytest.raises(NotEnough, match="no spread to fit"):
        capped_regression(groups, np.array([2, 4, 2, 4]) * scale, [False] * 4)
    found = capped_regression(groups, np.array([2, 4, 2.2, 4]) * scale, [False] * 4)
    assert found.coefficients == pytest.approx((2.1 * scale, 4 * scale), rel=1e-6)


def test_the_last_step_of_a_curve_counts_and_has_no_interval():
    last = survival([5, 8, 8], [True, True, True])[-1]
    assert (last.time, last.at_risk, last.stopped, last.share) == (8, 2, 2, 0)
    assert all(math.isnan(one) for one in (last.error, last.low, last.high))


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: survival([math.nan], [True]), "times"),
        (lambda: capped_normal([math.nan], [True]), "values"),
        (lambda: capped_regression([[1.0]], [math.nan], [True]), "values"),
    ],
)
def test_a_refusal_names_what_it_refuses(call, name):
    with pytest.raises(ValueError, match=rf"\b{name}\b"):
        call()
