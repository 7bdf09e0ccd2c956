"""What a forecast makes of days timed with several clocks, and of days long ago."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from assessments.analysis import fit_pool, forecast, held_out
from assessments.analysis.clocks import clock_bias, clock_error
from assessments.analysis.records import Interpretation

from .simulated import ERROR, TODAY, Club, simulate

LATE = float(clock_bias(8) - clock_bias(1))
SCATTER = float(clock_error(8) ** 2)


def timed(one: Interpretation, *, late: float, scatter: float = 0.0) -> Interpretation:
    """The same line with every value that much later, and known to be."""
    days = [replace(day, value=day.value + late, late=late, clock_variance=scatter) for day in one.days]
    return replace(one, days=tuple(days), latest=days[-1])


@pytest.fixture(scope="module")
def club() -> list[Interpretation]:
    return list(simulate(Club(children=14), seed=6))


def test_known_lateness_changes_no_forecast(club: list[Interpretation]) -> None:
    late = [timed(one, late=LATE) for one in club]
    pools = [fit_pool(lines, TODAY, error=ERROR) for lines in (club, late)]
    for own, same in zip(club, late, strict=True):
        for week in (0, 9, 26):
            assert pools[1].level(own.athlete, week) == pytest.approx(
                pools[0].level(own.athlete, week), rel=1e-3
            )
        there, here = forecast(pools[1], same, 30.0), forecast(pools[0], own, 30.0)
        assert (there.word, there.likely_on, there.days) == (here.word, here.likely_on, here.days)


def test_known_lateness_changes_no_hit_and_no_miss(club: list[Interpretation]) -> None:
    alone, late = (held_out(lines, error=ERROR) for lines in (club, [timed(one, late=LATE) for one in club]))
    assert [one.covered for one in alone] == [one.covered for one in late]
    assert [(one.low, one.high) for one in late] == [
        pytest.approx((one.low, one.high), rel=1e-3) for one in alone
    ]


def test_scatter_of_several_clocks_widens_the_range_of_such_a_day(club: list[Interpretation]) -> None:
    pool = fit_pool(club, TODAY, error=ERROR)
    mean, spread = pool.spread(club[0].athlete, 3)
    again, wider = pool.spread(club[0].athlete, 3, clocks=SCATTER)
    assert again == mean and wider == pytest.approx((spread**2 + SCATTER) ** 0.5)
    low, high = pool.score(club[0].athlete, 3, clocks=SCATTER)
    assert low < pool.score(club[0].athlete, 3)[0] < pool.score(club[0].athlete, 3)[1] < high


def test_a_club_timed_with_several_clocks_is_less_sure(club: list[Interpretation]) -> None:
    scattered = [timed(one, late=0.0, scatter=4 * ERROR.sem(20) ** 2) for one in club]
    spreads = [
        sum(fit_pool(lines, TODAY, error=ERROR).level(one.athlete, 0)[1] for one in lines)
        for lines in (club, scattered)
    ]
    assert spreads[1] < 2 * spreads[0]  # the noise is fitted too
    one_noisy = [scattered[0], *club[1:]]
    sure, unsure = (
        fit_pool(lines, TODAY, error=ERROR).level(club[0].athlete, 0)[1] for lines in (club, one_noisy)
    )
    assert unsure > 1.2 * sure


def test_days_of_over_a_year_ago_change_no_forecast(club: list[Interpretation]) -> None:
    old = [
        replace(day, on=day.on - timedelta(weeks=80), day=f"old {day.day}", value=60.0)
        for day in club[0].days
    ]
    longer = [replace(club[0], days=(*old, *club[0].days)), *club[1:]]
    pools = [fit_pool(lines, TODAY, error=ERROR) for lines in (club, longer)]
    assert pools[1].level(club[0].athlete, 9) == pools[0].level(club[0].athlete, 9)
    assert pools[1].children == pools[0].children


def test_the_sentence_says_how_far_apart_in_age_the_children_are(club: list[Interpretation]) -> None:
    def years_more(one: Interpretation, years: float) -> Interpretation:
        return replace(one, days=tuple(replace(day, age=day.age + years) for day in one.days))

    for years, near in ((0.0, "of about this age"), (1.0, "up to 2 years older or younger")):
        lines = [club[0], *(years_more(one, years) for one in club[1:])]
        pool = fit_pool(lines, TODAY, error=ERROR)
        found = forecast(pool, club[0], 30.0)
        apart = max(abs(age - pool.ages[club[0].athlete]) for age in pool.ages.values())
        assert years <= apart <= years + 1 and found.near == near
        assert f"14 children {near}" in found.reason
