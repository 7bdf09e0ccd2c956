"""Numbers on the way in: which are taken, and which are sent back with what is wrong."""

from __future__ import annotations

import math

import numpy as np
import pytest

from assessments.analysis.samples import NotEnough, grid, normal_factor, pairs, sample, t_factor

PAIR_OF_TWO, PAIR_OF_ONE = "{} needs at least 2 numbers and has 1.", "{} needs at least 1 numbers and has 0."


def said(call) -> tuple[type, str]:
    with pytest.raises(ValueError, match=r".") as caught:
        call()
    return type(caught.value), str(caught.value)


def test_a_row_is_taken_as_numbers():
    row = sample([1, 2], "x", at_least=2)
    assert row.dtype == np.float64 and row.tolist() == [1.0, 2.0]
    assert sample([3], "x").tolist() == [3.0]


@pytest.mark.parametrize(
    ("values", "least", "error"),
    [
        ([], 1, (NotEnough, "Scores needs at least 1 numbers and has 0.")),
        ([1, 2], 3, (NotEnough, "Scores needs at least 3 numbers and has 2.")),
        ([[1, 2]], 1, (ValueError, "Scores must be one row of numbers.")),
        (
            [1, math.nan],
            1,
            (ValueError, "Scores holds a blank or an infinite number; leave blanks out first."),
        ),
        (
            [1, math.inf],
            1,
            (ValueError, "Scores holds a blank or an infinite number; leave blanks out first."),
        ),
    ],
)
def test_a_row_that_no_formula_takes_is_named(values, least, error):
    assert said(lambda: sample(values, "Scores", at_least=least)) == error


def test_pairs_are_two_rows_of_one_length():
    one, two = pairs([1, 2], [3, 4])
    assert (one.tolist(), two.tolist()) == ([1, 2], [3, 4])
    assert [row.tolist() for row in pairs([1], [3], at_least=1)] == [[1], [3]]


@pytest.mark.parametrize(
    ("first", "second", "least", "error"),
    [
        ([1], [1, 2], 2, (NotEnough, PAIR_OF_TWO.format("first"))),
        ([1, 2], [1], 2, (NotEnough, PAIR_OF_TWO.format("second"))),
        ([], [1], 1, (NotEnough, PAIR_OF_ONE.format("first"))),
        ([1], [], 1, (NotEnough, PAIR_OF_ONE.format("second"))),
        ([1, 2, 3], [1, 2], 2, (ValueError, "Pairs need as many second values (2) as first values (3).")),
    ],
)
def test_pairs_that_do_not_match_are_named(first, second, least, error):
    assert said(lambda: pairs(first, second, at_least=least)) == error


def test_a_table_is_taken_as_numbers():
    table = grid([[1, 2], [3, 4]], "x")
    assert table.dtype == np.float64 and table.tolist() == [[1, 2], [3, 4]]


@pytest.mark.parametrize(
    ("rows", "error"),
    [
        ([1, 2], (ValueError, "Marks must be a table of rows and columns.")),
        ([[1, 2]], (NotEnough, "Marks needs at least two rows and two columns and is 1 x 2.")),
        ([[1], [2], [3]], (NotEnough, "Marks needs at least two rows and two columns and is 3 x 1.")),
        (
            [[1, 2], [3, math.nan]],
            (ValueError, "Marks holds a blank; leave out the rows that are not complete."),
        ),
    ],
)
def test_a_table_that_no_formula_takes_is_named(rows, error):
    assert said(lambda: grid(rows, "Marks")) == error


def test_factors_are_those_of_the_tables():
    # The 95th and 97.5th percentiles of the normal curve and of t with 10 degrees of freedom, as printed in any table.
    assert normal_factor(0.90) == pytest.approx(1.6449, abs=5e-5)
    assert normal_factor(0.95) == pytest.approx(1.9600, abs=5e-5)
    assert t_factor(0.90, 10) == pytest.approx(1.8125, abs=5e-5)
    assert t_factor(0.95, 1) == pytest.approx(12.706, abs=5e-4)


@pytest.mark.parametrize("confidence", [0, 1, -0.1, 1.1, math.nan])
def test_a_confidence_lies_between_the_ends(confidence):
    wrong = (ValueError, f"A confidence lies between 0 and 1, not {confidence}.")
    assert said(lambda: normal_factor(confidence)) == wrong
    assert said(lambda: t_factor(confidence, 5)) == wrong


@pytest.mark.parametrize("df", [0, -1])
def test_without_degrees_of_freedom_nothing_is_judged(df):
    assert said(lambda: t_factor(0.9, df)) == (
        NotEnough, "No degrees of freedom are left to judge the noise.",
    )  # fmt: skip
    assert t_factor(0.9, 0.5) > t_factor(0.9, 1)
