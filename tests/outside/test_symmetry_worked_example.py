"""Left and right: Bishop and others 2016, Strength Cond J 38(6):27, right 25 cm, left 20 cm (values READ-2).

The paper sets seven formulas side by side; the app uses one of them, the signed percentage difference, and shows both raw
values, from which each of the others follows. The others are not computed anywhere in the app.
"""

from __future__ import annotations

import math

import pytest

from assessments.analysis.symmetry import symmetry


def test_symmetry_bishop_25_20() -> None:
    found = symmetry(20, 25, sem_left=1, sem_right=1)
    assert found is not None
    assert found.percent == pytest.approx(20.00, abs=0.005)
    assert (found.left, found.right, found.lower) == (20, 25, "left")


def test_symmetry_swaps_sign() -> None:
    found = symmetry(25, 20, sem_left=1, sem_right=1)
    assert found is not None
    assert found.percent == pytest.approx(-20.00, abs=0.005)
    assert found.lower == "right"


OTHERS = {  # value to two places (READ-2), or to six (COMPUTED)
    "limb symmetry index, left involved": (lambda left, right: left / right * 100, 80.00),
    "limb symmetry index, right involved": (lambda left, right: right / left * 100, 125.00),
    "dominant side, right": (lambda left, right: (right - left) / right * 100, 20.00),
    "dominant side, left": (lambda left, right: (left - right) / left * 100, -25.00),
    "bilateral asymmetry index": (lambda left, right: (right - left) / (right + left) * 100, 11.11),
    "mean as reference": (lambda left, right: (right - left) / ((right + left) / 2) * 100, 22.22),
    "symmetry angle": (lambda left, right: (45 - math.degrees(math.atan(left / right))) / 90 * 100, 7.044657),
    "log ratio": (lambda left, right: 100 * math.log(right / left), 22.314355),
}


@pytest.mark.parametrize("name", OTHERS)
def test_every_other_formula_follows_from_the_two_values_that_are_shown(name: str) -> None:
    """The same two legs are 7 to 25 apart by the formula: a percentage alone says nothing, so both values stay beside it."""
    formula, expected = OTHERS[name]
    found = symmetry(20, 25, sem_left=1, sem_right=1)
    assert found is not None
    digits = 5e-7 if expected != round(expected, 2) else 0.005
    assert formula(found.left, found.right) == pytest.approx(expected, abs=digits)


def test_our_percentage_is_that_of_the_dominant_side_when_the_stronger_is_dominant() -> None:
    for left, right in ((20, 25), (25, 20), (3, 17)):
        found = symmetry(left, right, sem_left=1, sem_right=1)
        assert found is not None and found.percent is not None
        strong, weak = max(left, right), min(left, right)
        assert abs(found.percent) == pytest.approx((strong - weak) / strong * 100)
        assert abs(found.percent) == pytest.approx(100 - 100 * weak / strong)  # 100 less the symmetry index


@pytest.mark.parametrize(
    ("left", "right"), [(None, 25), (20, None), (None, None), (math.nan, 25), (20, math.nan)]
)
def test_symmetry_missing_limb(left: float | None, right: float | None) -> None:
    assert symmetry(left, right, sem_left=1, sem_right=1) is None


def test_symmetry_of_two_zeros_has_no_percentage() -> None:
    found = symmetry(0, 0, sem_left=1, sem_right=1)
    assert found is not None
    assert (found.percent, found.shown, found.lower) == (None, False, "")


@pytest.mark.parametrize(("right", "shown"), [(20 + 1.96 * 5 - 0.001, False), (20 + 1.96 * 5 + 0.001, True)])
def test_symmetry_is_shown_only_beyond_its_own_noise(right: float, shown: bool) -> None:
    found = symmetry(20, right, sem_left=3, sem_right=4)  # sqrt(9 + 16) = 5
    assert found is not None
    assert found.noise == pytest.approx(9.8)
    assert found.shown is shown


@pytest.mark.parametrize(
    ("left", "right", "sem"), [(math.inf, 5, 1), (5, -math.inf, 1), (5, 6, -1), (5, 6, math.nan)]
)
def test_sides_that_cannot_be_are_refused(left: float, right: float, sem: float) -> None:
    for sems in ((sem, 1), (1, sem)) if sem != 1 else ((1, 1),):
        with pytest.raises(ValueError):
            symmetry(left, right, sem_left=sems[0], sem_right=sems[1])


def test_a_reach_below_zero_has_a_difference_and_no_percentage() -> None:
    found = symmetry(-4, 2, sem_left=1, sem_right=1)
    assert found is not None
    assert (found.percent, found.difference, found.shown, found.lower) == (None, 6, True, "left")
