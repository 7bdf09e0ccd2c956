"""When a requirement will be met: a range with reasons, or a plain 'too soon to say'."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest

from assessments.analysis import counting_from, fit_pool, forecast, near_in_age
from assessments.analysis.forecast import Forecast
from assessments.analysis.pool import Pool, usable_days
from assessments.analysis.records import DayScore, Interpretation

from .simulated import ERROR, TODAY, Club, day_score, history, simulate

WEEK = timedelta(weeks=1)


def rising(
    athlete: str, *, start: float = 10, rise: float = 0.4, days: int = 4, weeks_old: int = 1
) -> Interpretation:
    steps = [day_score(start, TODAY - (weeks_old + 9 * days) * WEEK, first_look=True)]
    for step in range(days):
        ago = weeks_old + 9 * (days - 1 - step)
        steps.append(day_score(start + rise * 9 * step, TODAY - ago * WEEK))
    return history(athlete, steps)


@pytest.fixture(scope="module")
def others() -> list[Interpretation]:
    return simulate(Club(children=16, rise=0.3, rise_spread=0.1), seed=11)


def run(own: Interpretation, others: list[Interpretation], threshold: float = 25, **more: bool) -> Forecast:
    pool = fit_pool([own, *others], TODAY, error=ERROR, cap=60)
    return forecast(pool, own, threshold, **more)


def test_a_rising_child_gets_a_range_of_dates(others: list[Interpretation]) -> None:
    found = run(rising("mia"), others)
    assert found.word == "within"
    assert found.earliest_on is not None and found.likely_on is not None
    assert TODAY <= found.earliest_on <= found.likely_on
    assert found.latest_on is None or found.latest_on >= found.likely_on
    assert found.days == 4
    assert "4 test days of this child" in found.reason


def test_the_likely_date_is_where_the_path_crosses(others: list[Interpretation]) -> None:
    found = run(rising("mia"), others)
    for on, line in (
        (found.earliest_on, lambda point: point.high),
        (found.likely_on, lambda point: point.level),
        (found.latest_on, lambda point: point.low),
    ):
        first = next((point.on for point in found.path if line(point) >= 25), None)
        assert on == first


def test_a_higher_threshold_is_met_later(others: list[Interpretation]) -> None:
    near, far = run(rising("mia"), others, 25), run(rising("mia"), others, 28)
    assert near.likely_on is not None and far.likely_on is not None
    assert near.likely_on < far.likely_on


def test_three_test_days_are_enough_for_a_wide_range(others: list[Interpretation]) -> None:
    found = run(rising("mia", days=2), others, 18)
    assert found.word == "within"
    short, long = (run(rising("mia", rise=0, days=days), others).path[20] for days in (2, 6))
    assert short.high - short.low > long.high - long.low


@pytest.mark.parametrize("days", [1, 0])
def test_one_day_is_too_soon_to_say(others: list[Interpretation], days: int) -> None:
    own = rising("mia", days=days)
    found = run(own, others)
    assert found.word == ("too_soon" if days else "no_evidence")
    assert (found.likely_on, found.earliest_on, found.latest_on, found.path) == (None, None, None, ())


def test_two_scores_of_one_date_are_one_day(others: list[Interpretation]) -> None:
    own = history("mia", [day_score(10, TODAY - WEEK), day_score(12, TODAY - WEEK)])
    assert run(own, others).word == "too_soon"


def test_a_resting_child_has_no_forecast(others: list[Interpretation]) -> None:
    own = rising("mia")
    assert run(own, others).word == "within"
    found = run(own, others, resting=True)
    assert (found.word, found.likely_on, found.path) == ("resting", None, ())


@pytest.mark.parametrize(("weeks_old", "word"), [(16, "within"), (17, "stale")])
def test_old_evidence_has_no_forecast(others: list[Interpretation], weeks_old: int, word: str) -> None:
    assert run(rising("mia", weeks_old=weeks_old), others, 30).word == word


def test_a_stop_under_the_threshold_is_no_evidence_and_refreshes_none(others: list[Interpretation]) -> None:
    stop = day_score(12, TODAY, at_least=True, outcome="chose_to_stop")
    assert run(history("mia", [stop]), others).word == "no_evidence"
    old = history("mia", [*rising("mia", weeks_old=17).days, stop])
    assert run(old, others, 30).word == "stale"
    assert run(old, others, 11).word != "stale"


def test_nothing_is_said_beyond_six_months(others: list[Interpretation]) -> None:
    found = run(rising("mia"), others, 55)
    assert (found.word, found.likely_on) == ("later", None)
    assert found.path[-1].on == TODAY + 26 * WEEK
    assert "Not expected within six months" in found.reason


def test_a_level_that_is_there_already_is_said(others: list[Interpretation]) -> None:
    found = run(rising("mia"), others, 12)
    assert (found.word, found.likely_on) == ("now", TODAY)


def test_a_small_club_is_too_soon_to_say(others: list[Interpretation]) -> None:
    found = run(rising("mia"), others[:3])
    assert found.word == "too_soon"
    assert "4 children of about this age" in found.reason


def test_in_a_small_club_five_own_days_stand_alone(others: list[Interpretation]) -> None:
    found = run(rising("mia", days=5), others[:2], 35)
    assert (found.word, found.children, found.days) == ("within", 0, 5)
    assert found.reason.endswith("from 5 test days of this child alone.")
    assert found.path[0].level == pytest.approx(24.4 + 0.4)  # on its line, a week after the newest day


def test_own_days_that_are_only_at_least_do_not_stand_alone(others: list[Interpretation]) -> None:
    days = list(rising("mia", days=6).days)
    days[-1] = day_score(30, days[-1].on, at_least=True, outcome="chose_to_stop")
    assert run(history("mia", days), others[:2]).word == "too_soon"


def test_a_child_outside_the_pool_is_too_soon_to_say(others: list[Interpretation]) -> None:
    pool = fit_pool(others, TODAY, error=ERROR)
    assert pool.trends is not None
    assert forecast(pool, rising("mia"), 25).word == "too_soon"


def test_ranges_are_cut_at_zero_and_say_so(others: list[Interpretation]) -> None:
    found = run(rising("mia", start=8, rise=-0.35), others)
    assert min(point.low for point in found.path) == 0
    assert any(point.note == "cut at 0, the lowest there can be" for point in found.path)


def test_own_pace_is_the_robust_slope(others: list[Interpretation]) -> None:
    found = run(rising("mia", rise=0.4, days=5), others)
    assert found.pace is not None
    assert found.pace.slope == pytest.approx(0.4)
    assert found.pace.interval is not None
    assert run(rising("mia", days=1), others).pace is None


@pytest.mark.parametrize(
    "odd",
    [
        {"familiarisation": True},
        {"first_look": True},
        {"outcome": "interrupted"},
        {"outcome": "not_attempted"},
    ],
)
def test_days_that_are_no_progress_do_not_enter(odd: dict[str, object]) -> None:
    kept = day_score(10, TODAY)
    assert usable_days([kept, day_score(50, TODAY, **odd)], TODAY) == (kept,)


def test_blanks_and_days_to_come_do_not_enter() -> None:
    kept = day_score(10, TODAY)
    assert usable_days([kept, day_score(math.nan, TODAY), day_score(20, TODAY + WEEK)], TODAY) == (kept,)


def test_the_order_of_days_does_not_matter(others: list[Interpretation]) -> None:
    own = rising("mia")
    backwards = history("mia", list(own.days)[::-1])
    assert run(backwards, others).path == run(own, others).path


def test_a_value_that_is_at_least_never_lowers_the_level(others: list[Interpretation]) -> None:
    days = list(rising("mia").days)
    plain = run(history("mia", days), others).path[0].level
    for value in (60.0, 5.0):
        capped = day_score(value, TODAY - 2 * timedelta(days=1), at_least=True, outcome="chose_to_stop")
        assert run(history("mia", [*days, capped]), others).path[0].level >= plain - 0.2


def test_capped_days_count_for_more_than_their_value(others: list[Interpretation]) -> None:
    def with_last(at_least: bool) -> float:
        days = [*rising("mia").days, day_score(24, TODAY, at_least=at_least, outcome="chose_to_stop")]
        return run(history("mia", days), others).path[0].level

    assert with_last(True) > with_last(False)


def test_a_child_appears_once_in_a_pool(others: list[Interpretation]) -> None:
    with pytest.raises(ValueError):
        fit_pool([*others, others[0]], TODAY, error=ERROR)


def test_all_capped_children_are_still_a_pool() -> None:
    def capped(name: str) -> Interpretation:
        days: list[DayScore] = [
            day_score(60, TODAY - week * WEEK, at_least=True, outcome="reached_cap") for week in (18, 9, 1)
        ]
        return history(name, days)

    pool = fit_pool([capped(f"c{n}") for n in range(6)], TODAY, error=ERROR, cap=60)
    found = forecast(pool, capped("c0"), 55)
    assert found.word == "now"
    assert found.pace is None


def test_bounds_under_the_level_show_no_direction() -> None:
    def stopped(name: str) -> Interpretation:
        low = day_score(5, TODAY - WEEK, at_least=True, outcome="chose_to_stop")
        return history(name, [day_score(20, TODAY - 10 * WEEK), low])

    pool = fit_pool([stopped(f"c{n}") for n in range(6)], TODAY, error=ERROR, cap=60)
    assert forecast(pool, stopped("c0"), 25).word == "too_soon"


@pytest.mark.parametrize("children", [24, 12])
def test_looking_back_leaves_children_out_whose_earlier_days_say_nothing(children: int) -> None:
    def odd(name: str) -> Interpretation:
        first = [
            day_score(0, TODAY - week * WEEK, at_least=True, outcome="chose_to_stop") for week in (19, 10)
        ]
        return history(name, [*first, day_score(50, TODAY - WEEK)])

    club = [
        *simulate(Club(children=children, missing=0), seed=6, age=8),
        *(odd(f"odd-{n}") for n in range(5)),
    ]
    pool = fit_pool(club, TODAY, error=ERROR, cap=60)
    assert forecast(pool, odd("odd-0"), 30).word in ("within", "now", "later")


def test_looking_back_is_left_out_where_only_the_newest_days_show_a_direction() -> None:
    def late(name: str) -> Interpretation:
        bounds = [
            day_score(2, TODAY - week * WEEK, at_least=True, outcome="chose_to_stop") for week in (19, 18)
        ]
        return history(name, [day_score(20, TODAY - 28 * WEEK), *bounds, day_score(28, TODAY - WEEK)])

    pool = fit_pool([late(f"c{n}") for n in range(16)], TODAY, error=ERROR, cap=60)
    assert pool.trends is not None
    assert forecast(pool, late("c0"), 40).word in ("within", "later")


def test_near_in_age_widens_until_there_are_twelve() -> None:
    def aged(name: str, age: float) -> Interpretation:
        return history(name, [day_score(10, TODAY, age=age)])

    close, farther, far = ([aged(f"{age}-{n}", age) for n in range(8)] for age in (6.5, 8.2, 9.4))
    everyone = [*close, *farther, *far, history("none", [])]
    assert {one.athlete[:3] for one in near_in_age(everyone, 6.5, TODAY)} == {"6.5", "8.2"}
    assert {one.athlete[:3] for one in near_in_age([*close, *close], 6.5, TODAY)} == {"6.5"}
    assert len(near_in_age([*close, *far], 6.5, TODAY)) == 16
    assert len(near_in_age(close, 6.5, TODAY)) == 8  # a small club has no more, however far one looks
    assert len(near_in_age(everyone, 6.5, TODAY + timedelta(days=365))) == 16  # everybody is a year older


def test_a_pool_of_nobody_has_no_trend() -> None:
    pool: Pool = fit_pool([], TODAY, error=ERROR)
    assert (pool.trends, pool.children) == (None, 0)


def test_days_before_a_rest_ended_are_left_out() -> None:
    own = rising("mia")
    third = own.days[2].on
    assert counting_from(own, None) is own
    assert counting_from(own, third).days == own.days[2:]
    assert counting_from(own, TODAY + WEEK).days == ()
