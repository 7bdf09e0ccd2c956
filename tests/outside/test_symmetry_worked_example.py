"""Left and right: Bishop and others 2016, Strength Cond J 38(6):27, right 25 cm, left 20 cm (values READ-2).

The paper sets seven formulas side by side (80.00, 20.00, 11.11, 22.22, 7.04 ...); the app uses one of them, the signed
percentage difference, and shows both raw values. The others are not computed anywhere.
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
