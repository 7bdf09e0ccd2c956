"""A pool of children against a plain fit written apart, and its levels and ranges by hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy import stats

from assessments.analysis import fit_pool
from assessments.analysis.pool import Pool
from assessments.analysis.pooling import Trends
from assessments.analysis.records import DayScore, ErrorModel, Interpretation

from .plain_pool import plain_trends
from .simulated import ERROR, TODAY, Club, day_score, history, simulate

WEEK = timedelta(weeks=1)
FLAT = ErrorModel(2.0, 0.0)


def line(athlete: str, *days: tuple[float, float], at_least: Sequence[int] = ()) -> Interpretation:
    """A child with days of (weeks before TODAY, score); `at_least` names the days that are only that."""
    return history(
        athlete,
        [
            day_score(
                value,
                TODAY - weeks * WEEK,
                at_least=place in at_least,
                outcome="chose_to_stop" if place in at_least else "scored",
            )
            for place, (weeks, value) in enumerate(days)
        ],
    )


def plain_club(children: int = 7, *, seed: int = 3) -> list[Interpretation]:
    """Scores alone, no day that does not count."""
    found = simulate(Club(children=children, test_days=4, cap=None, missing=0), seed=seed)
    return [replace(one, days=tuple(replace(day, first_look=False) for day in one.days)) for one in found]


SOME_BOUNDS = [
    line("high stop", (20, 14), (11, 16), (2, 30), at_least=[2]),
    line("low stop", (20, 22), (11, 25), (2, 8), at_least=[2]),
    line("only stops", (16, 40), (3, 12), at_least=[0, 1]),
    line("one stop", (4, 21), at_least=[0]),
    line("one score", (5, 18)),
    line("stop at the mean", (20, 20), (11, 24), (2, 22), at_least=[2]),
]
FAR_APART = [line(f"far {n}", (20, 40 * n), (11, 40 * n + 3), (2, 40 * n + 4 + n % 3)) for n in range(6)] + [
    line("bound", (9, 150), at_least=[0]),
    line("two bounds", (9, 90), (2, 95), at_least=[0, 1]),
]
SEVERAL_CLOCKS = [
    replace(
        one,
        days=tuple(
            replace(day, late=1.5 + n, clock_variance=3.0 + 9 * n) if n % 2 else day
            for n, day in enumerate(one.days)
        ),
    )
    for one in [*plain_club(), *SOME_BOUNDS]
]


@pytest.mark.parametrize(
    ("club", "error", "near"),
    [
        (plain_club(), ERROR, 1e-5),
        ([*plain_club(), line("one day", (4, 33))], ERROR, 1e-5),
        ([*plain_club(), *SOME_BOUNDS], ERROR, 1e-5),
        ([*plain_club(6, seed=8), *SOME_BOUNDS[:3]], FLAT, 1e-5),
        (FAR_APART, ErrorModel(0.5, 0.0), 1e-3),
        (SEVERAL_CLOCKS, ERROR, 1e-5),
    ],
    ids=[
        "scores",
        "a child of one day",
        "some only at least",
        "flat error",
        "children far apart",
        "several clocks",
    ],
)
def test_a_pool_is_that_of_a_plain_fit(club: list[Interpretation], error: ErrorModel, near: float) -> None:
    found, plain = fit_pool(club, TODAY, error=error), plain_trends(club, TODAY, error)
    assert found.trends is not None
    assert found.trends.children == plain.children
    for child in (*plain.children, None):
        for weeks in (-12.0, 0.0, 10.0):
            assert found.trends.at(child, weeks) == pytest.approx(plain.at(child, weeks), rel=near)
    assert found.trends.residual == pytest.approx(plain.residual, rel=near)


def test_a_bound_that_is_met_anyway_changes_nothing() -> None:
    club = plain_club()
    with_bound = [line("mia", (20, 24), (11, 26), (4, 1), at_least=[2]), *club]
    alone = [line("mia", (20, 24), (11, 26)), *club]
    found, plain = (fit_pool(one, TODAY, error=ERROR).level("mia", -2) for one in (with_bound, alone))
    assert found[0] == pytest.approx(plain[0], rel=5e-3)


def test_the_starter_noise_is_worth_fourteen_children() -> None:
    """Scores without noise: with nothing left over the noise factor is 14 / (days - 2 + 14), and it is little more."""
    club = [line(f"c{n}", (20, 10 + n), (11, 13 + n), (2, 16 + n)) for n in range(8)]
    found = fit_pool(club, TODAY, error=FLAT).trends
    assert found is not None
    assert 14 / (24 - 2 + 14) < found.residual < 0.5


@pytest.mark.parametrize("club", [[*plain_club(), *SOME_BOUNDS], FAR_APART], ids=["near", "far apart"])
def test_another_zero_moves_every_level_alike(club: list[Interpretation]) -> None:
    """With one error for all scores, a hundred more on each is a hundred more on each level."""
    moved = [
        replace(one, days=tuple(replace(day, value=day.value + 100) for day in one.days)) for one in club
    ]
    here, there = (fit_pool(one, TODAY, error=FLAT).trends for one in (club, moved))
    assert here is not None and there is not None
    assert here.children == there.children
    for child in (*here.children, None):
        mean, variance = here.at(child, 0)
        assert there.at(child, 0) == (pytest.approx(mean + 100, rel=1e-4), pytest.approx(variance, rel=0.01))


# --- levels and ranges by hand -----------------------------------------------------------------------


def by_hand(**changes: object) -> Pool:
    """Mia's line: 20 today and half a second more each week; the level known to 2 s, the pace not in doubt."""
    nothing = np.zeros((1, 2))
    trends = Trends(
        children=("mia",),
        fixed=np.array([18.0, 0.5]),
        fixed_covariance=np.zeros((2, 2)),
        spread=np.diag([9.0, 0.0]),
        residual=1.5,
        effects=nothing + np.array([2.0, 0.0]),
        known=np.array([[[4.0, 0.0], [0.0, 0.0]]]),
        pulled=np.zeros((1, 2, 2)),
        criterion=0.0,
        search=(0.0, 0.0, 0.0),
    )
    pool = Pool(
        TODAY,
        trends,
        ErrorModel(2.0, 0.2),
        cap=None,
        floor=None,
        children=9,
        factor=1.5,
        newest={"mia": -8.0},
    )
    return replace(pool, **changes)


@pytest.mark.parametrize(
    ("weeks", "level", "sem", "since"), [(0, 20, 4, 8), (10, 25, 5, 18), (-8, 16, 3.2, 0), (-20, 10, 2, 0)]
)
def test_what_is_not_known_of_a_level_grows_from_the_newest_day_on(
    weeks: float, level: float, sem: float, since: float
) -> None:
    """Variance 4 of the line and, each week since the newest day, a 48th of the noise variance at the level."""
    pool = by_hand()
    assert pool.level("mia", weeks) == pytest.approx((level, math.sqrt(4 + since * sem**2 / 48)))
    assert pool.spread("mia", weeks) == pytest.approx(
        (level, math.sqrt(4 + since * sem**2 / 48 + 1.5 * sem**2))
    )


@pytest.mark.parametrize(
    ("floor", "cap", "cut"),
    [
        (None, None, (False, False)),
        (0.0, 60.0, (False, False)),
        (15.0, None, (True, False)),
        (None, 25.0, (False, True)),
        (15.0, 25.0, (True, True)),
    ],
)
def test_the_range_of_a_score_ends_where_the_measure_does(
    floor: float | None, cap: float | None, cut: tuple[bool, bool]
) -> None:
    """1.5 standard errors either way of 20: sqrt(4 + 8 * 16 / 48 + 1.5 * 16) = 5.538 s, from 11.7 to 28.3."""
    reach = 1.5 * math.sqrt(4 + 8 * 16 / 48 + 24)
    low, high = by_hand(floor=floor, cap=cap).score("mia", 0)
    assert (low, high) == pytest.approx((15 if cut[0] else 20 - reach, 25 if cut[1] else 20 + reach))


def test_a_variance_of_less_than_nothing_is_nothing() -> None:
    """Rounding may leave a hair below zero."""
    trends = by_hand().trends
    assert trends is not None
    pool = by_hand(trends=replace(trends, known=np.array([[[-1e-12, 0.0], [0.0, 0.0]]])))
    assert pool.level("mia", -8) == (16, 0)


# --- what a pool says of itself ------------------------------------------------------------------------


def ages(club: Sequence[Interpretation]) -> dict[str, float]:
    newest = {one.athlete: one.days[-1] for one in club if one.days}
    return {name: day.age + (TODAY - day.on).days / 365.25 for name, day in newest.items()}


def test_two_days_a_child_are_counted_and_give_the_degrees_of_freedom() -> None:
    two_of_one_date = line("twin", (3, 20), (3, 22))
    club = [*plain_club(6), line("one day", (4, 20)), two_of_one_date, history("nobody", [])]
    pool = fit_pool(club, TODAY, error=ERROR, cap=60, floor=1)
    assert pool.trends is not None
    assert (pool.on, pool.error, pool.cap, pool.floor, pool.children) == (TODAY, ERROR, 60, 1, 6)
    assert pool.factor == pytest.approx(stats.t.ppf(0.9, 4))
    assert set(pool.newest) == {*(one.athlete for one in plain_club(6)), "one day", "twin"}
    assert pool.ages == pytest.approx(ages(club))
    assert (pool.newest["child-6-000"], pool.newest["one day"], pool.newest["twin"]) == (0, -4, -3)


def test_four_children_make_no_trend() -> None:
    club = [*plain_club(4), line("one day", (4, 20))]
    found = fit_pool(club, TODAY, error=ERROR, cap=60, floor=1)
    assert found == Pool(TODAY, None, ERROR, 60, 1, 4, math.inf, {}, ages(club))
    assert fit_pool(plain_club(5), TODAY, error=ERROR).trends is not None


def test_days_that_say_nothing_make_no_trend_either() -> None:
    """Each second day is a stop far under the first: six children with two dates and no direction."""
    club = [line(f"c{n}", (10, 20), (1, 5), at_least=[1]) for n in range(6)]
    found = fit_pool(club, TODAY, error=ERROR, cap=60, floor=1)
    assert found == Pool(TODAY, None, ERROR, 60, 1, 6, math.inf, {}, ages(club))


def test_a_child_of_two_series_is_refused_even_without_a_day() -> None:
    club = plain_club()
    assert fit_pool([*club, history("mia", [])], TODAY, error=ERROR).trends is not None
    for twice in ([*club, club[0]], [*club, history("mia", []), history("mia", [])]):
        with pytest.raises(ValueError, match=r"^A child appears twice: pool one series and one side\.$"):
            fit_pool(twice, TODAY, error=ERROR)


def test_a_pool_reads_days_up_to_its_date_and_counts_weeks_from_it() -> None:
    club = plain_club()
    early = fit_pool(club, TODAY - 5 * WEEK, error=ERROR)
    cut: list[DayScore] = [day for day in club[0].days if day.on <= TODAY - 5 * WEEK]
    again = fit_pool(
        [history(one.athlete, list(one.days[:3])) for one in club], TODAY - 5 * WEEK, error=ERROR
    )
    assert len(cut) == 3
    assert early.trends is not None and again.trends is not None
    assert early.level("child-6-000", 3) == again.level("child-6-000", 3)
    assert early.newest["child-6-000"] == -4
