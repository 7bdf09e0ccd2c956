"""The 80 % range holds 75 to 85 % of what came, for all children and in each age band.

Children are drawn with known levels and rises; the newest day is predicted from the days before. Seeds are fixed. The
margin of a band's share is about 2 percentage points (one standard error), of all together 1.
"""

from __future__ import annotations

import pytest

from assessments.analysis.coverage import Coverage, Held, kupiec
from assessments.analysis.forecast import forecast_coverage, held_out

from .simulated import ERROR, Club, simulate

AGES = (4, 5, 6, 7, 8)
CLUBS_A_BAND = 12


def run(club: Club, clubs: int = CLUBS_A_BAND) -> tuple[tuple[Coverage, ...], list[Held]]:
    held: list[Held] = []
    for age in AGES:
        for seed in range(clubs):
            held += held_out(simulate(club, 1000 * age + seed, age=age), error=ERROR, cap=club.cap)
    return forecast_coverage(held), held


@pytest.fixture(scope="module")
def plain() -> tuple[tuple[Coverage, ...], list[Held]]:
    return run(Club())


def test_ranges_hold_their_word_overall(plain: tuple[tuple[Coverage, ...], list[Held]]) -> None:
    overall = plain[0][0]
    assert overall.count > 1000
    assert 0.75 <= overall.share <= 0.85
    assert kupiec(overall.count - overall.covered, overall.count, 0.20).fits


def test_ranges_hold_their_word_in_each_age_band(plain: tuple[tuple[Coverage, ...], list[Held]]) -> None:
    bands = plain[0][1:]
    assert [band.group for band in bands] == [str(age) for age in AGES]
    for band in bands:
        assert band.count > 200
        assert 0.75 <= band.share <= 0.85, band


def test_ranges_are_narrower_than_saying_nothing(plain: tuple[tuple[Coverage, ...], list[Held]]) -> None:
    """Beside the trivial range 'between the lowest and highest 10 % of the band's scores'."""
    overall, held = plain[0][0], plain[1]
    values = sorted(one.value for one in held)
    low, high = values[len(values) // 10], values[-len(values) // 10]
    trivial = forecast_coverage([Held(one.group, low, high, one.value) for one in held])[0]
    assert overall.score < 0.8 * trivial.score


def test_ranges_hold_their_word_when_levels_wander() -> None:
    found = run(Club(drift=1 / 12), 5)[0][0]
    assert 0.75 <= found.share <= 0.85


def test_small_groups_still_get_honest_ranges() -> None:
    found = run(Club(children=10, test_days=4), 8)[0][0]
    assert found.count > 150
    assert found.share >= 0.75 - 0.03  # three standard errors of about 200 are 8 points; none below 72 %
