"""How wide the ranges of a pool are: the newest days of its children, predicted from the days before them.

The rule of split conformal prediction (Vovk and others 2005): of n misses ranked upwards, the one of rank
ceil(0.8 (n + 1)) would have held four of five. The rest, 15 children and the bounds, is common practice without a source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import pytest
from scipy import stats

from assessments.analysis import fit_pool
from assessments.analysis.pool import Pool
from assessments.analysis.records import ErrorModel, Interpretation

from .simulated import ERROR, TODAY, Club, day_score, history, simulate
from .test_pool import line

FLAT = ErrorModel(2.0, 0.0)


def club(children: int, *, seed: int = 1, noise: float = 1.0) -> list[Interpretation]:
    """Children of three test days, all of which count."""
    found = simulate(
        Club(children=children, test_days=3, cap=None, missing=0, rise_spread=0.1, noise=noise), seed=seed
    )
    return [replace(one, days=tuple(replace(day, first_look=False) for day in one.days)) for one in found]


def newest_is(one: Interpretation, value: float, outcome: str = "scored") -> Interpretation:
    last = replace(one.days[-1], value=value, outcome=outcome, at_least=outcome != "scored")
    return replace(one, days=(*one.days[:-1], last))


def earlier(found: Sequence[Interpretation]) -> list[Interpretation]:
    """The same children without their newest day; whoever has two days keeps both."""
    return [replace(one, days=one.days[:-1]) if len(one.days) > 2 else one for one in found]


def widened(pool: Pool) -> float:
    """Standard errors in the interval over those of Student's t alone."""
    return pool.factor / float(stats.t.ppf(0.9, pool.children - 2))


def expected(found: Sequence[Interpretation], left_out: Sequence[str] = ()) -> float:
    before = fit_pool(earlier(found), TODAY, error=ERROR)
    misses = []
    for one in found:
        if len(one.days) < 3 or one.athlete in left_out:
            continue
        newest = one.days[-1]
        mean, spread = before.spread(one.athlete, (newest.on - TODAY).days / 7)
        spread = math.sqrt(spread**2 + newest.clock_variance)
        gap = newest.value - newest.late - mean
        misses.append((max(gap, 0.0) if newest.at_least else abs(gap)) / spread)
    n = len(misses)
    needed = sorted(misses)[math.ceil(0.8 * (n + 1)) - 1]
    alone = needed / float(stats.t.ppf(0.9, len(found) - 2))
    drawn = (n * alone + 15 * 1.0) / (n + 15)
    return min(max(drawn, 0.75), 1.75)


def agrees(found: Sequence[Interpretation], left_out: Sequence[str] = ()) -> None:
    factor = expected(found, left_out)
    assert 0.75 < factor < 1.75, "the example lies at a bound"
    assert widened(fit_pool(found, TODAY, error=ERROR)) == pytest.approx(factor, rel=2e-3)


@pytest.mark.parametrize(("children", "seed"), [(15, 1), (16, 12), (19, 3), (24, 4)])
def test_the_factor_would_have_held_four_of_five_newest_days(children: int, seed: int) -> None:
    agrees(club(children, seed=seed))


def test_newest_days_of_other_dates_are_predicted_to_their_own_date() -> None:
    agrees(
        [
            replace(one, days=(*one.days[:-1], replace(one.days[-1], on=TODAY - timedelta(weeks=n % 7))))
            for n, one in enumerate(club(18, seed=5))
        ]
    )


def test_children_of_two_days_are_leant_on_and_not_looked_back_at() -> None:
    found = club(18, seed=6)
    found = [*found[:3], *(replace(one, days=one.days[1:]) for one in found[3:6]), *found[6:]]
    assert sum(len(one.days) > 2 for one in found) == 15
    agrees(found)


def test_the_cap_is_missed_only_by_a_range_under_it() -> None:
    """Stopped by the clock: what came is at least the cap, so a range above it is no miss."""
    found = club(18, seed=7)
    agrees(
        [
            newest_is(one, 55.0 if n == 4 else 1.0, "reached_cap") if n < 5 else one
            for n, one in enumerate(found)
        ]
    )


def test_how_far_a_cap_lies_over_what_was_expected_is_counted_in_standard_errors() -> None:
    agrees([newest_is(one, one.days[-1].value + 6, "reached_cap") for one in club(18, seed=7)])


def test_a_newest_day_with_several_clocks_is_late_and_less_sure() -> None:
    found = club(18, seed=9)
    agrees(
        [
            replace(one, days=(*one.days[:-1], replace(one.days[-1], late=2.0, clock_variance=6.0)))
            if n % 2
            else one
            for n, one in enumerate(found)
        ]
    )


def test_whoever_chose_to_stop_is_neither_hit_nor_miss() -> None:
    found = club(18, seed=8)
    found = [newest_is(one, 55.0, "chose_to_stop") if n < 3 else one for n, one in enumerate(found)]
    agrees(found, [one.athlete for one in found[:3]])


# --- the ends ------------------------------------------------------------------------------------------


def straight(children: int) -> list[Interpretation]:
    """Every newest day lies exactly where it was expected."""
    return [line(f"c{n:02d}", (18, 10 + n), (9, 13 + n), (0, 16 + n)) for n in range(children)]


def test_ranges_are_never_narrower_than_three_quarters() -> None:
    """Misses of nothing drawn to 1 as by 15 children: 15 / (15 + 15) and 15 / (15 + 30), both under 0.75."""
    for children in (15, 30):
        assert widened(fit_pool(straight(children), TODAY, error=FLAT)) == pytest.approx(0.75)


def test_what_lies_on_its_line_is_no_miss_on_whatever_date_it_came() -> None:
    """Three seconds more a week, the newest day up to fourteen weeks ago."""
    found = [
        line(f"c{n:02d}", *((weeks, 100 + n - 3 * weeks) for weeks in (30 - n, 22 - n, 14 - n)))
        for n in range(15)
    ]
    assert widened(fit_pool(found, TODAY, error=FLAT)) == pytest.approx(0.75)


def test_a_cap_that_lies_on_the_line_is_no_miss() -> None:
    found = [newest_is(one, one.days[-1].value, "reached_cap") for one in straight(15)]
    assert widened(fit_pool(found, TODAY, error=ErrorModel(0.5, 0.0))) == pytest.approx(0.75)


def test_ranges_are_never_wider_than_one_and_three_quarters() -> None:
    found = [newest_is(one, one.days[-1].value + 60 * (-1) ** n) for n, one in enumerate(straight(30))]
    assert widened(fit_pool(found, TODAY, error=FLAT)) == pytest.approx(1.75)


def test_under_fifteen_newest_days_the_range_is_that_of_students_t() -> None:
    assert widened(fit_pool(straight(14), TODAY, error=FLAT)) == pytest.approx(1)
    two_days = [line(f"two {n}", (9, 13 + n), (0, 16 + n)) for n in range(4)]
    assert widened(fit_pool([*straight(14), *two_days], TODAY, error=FLAT)) == pytest.approx(1)
    stopped = newest_is(straight(15)[-1], 31, "chose_to_stop")
    assert widened(fit_pool([*straight(14), stopped], TODAY, error=FLAT)) == pytest.approx(1)
    capped = newest_is(straight(15)[-1], 30, "reached_cap")
    assert widened(fit_pool([*straight(14), capped], TODAY, error=FLAT)) == pytest.approx(0.75)


def test_a_child_whose_earlier_days_say_nothing_is_not_looked_back_at() -> None:
    """Stops at 0 before a first score: nothing was known of this child the day before."""
    silent = history(
        "silent",
        [
            *(
                day_score(0, TODAY - timedelta(weeks=weeks), at_least=True, outcome="chose_to_stop")
                for weeks in (18, 9)
            ),
            day_score(50, TODAY),
        ],
    )
    assert widened(fit_pool([*straight(14), silent], TODAY, error=FLAT)) == pytest.approx(1)
    assert widened(fit_pool([*straight(15), silent], TODAY, error=FLAT)) == pytest.approx(0.75, abs=0.01)


def test_where_only_the_newest_days_show_a_direction_there_is_nothing_to_look_back_with() -> None:
    """A first score, two stops far under it and a second score: without the last, one day of each child speaks."""
    found = [
        line(f"c{n:02d}", (28, 20 + n % 3), (19, 2), (18, 2), (1, 28 + n % 4), at_least=[1, 2])
        for n in range(16)
    ]
    assert widened(fit_pool(found, TODAY, error=ERROR)) == pytest.approx(1)
