"""A forecast from a line that is known, so that every date, range and sentence can be worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from assessments.analysis import fit_pool, forecast, held_out, near_in_age
from assessments.analysis.coverage import Held
from assessments.analysis.forecast import Forecast, Point
from assessments.analysis.pool import Pool, age_of
from assessments.analysis.pooling import Trends
from assessments.analysis.records import DayScore, ErrorModel, Interpretation
from assessments.analysis.slope import predict

from .simulated import ERROR, TODAY, Club, day_score, history, simulate

WEEK = timedelta(weeks=1)
NO_NOISE = ErrorModel(0.0, 0.0)


def line_of(level: float, pace: float, *, sd: float = 2.0, floor: float | None = 0.0) -> Pool:
    """Mia's line, `level` today and `pace` more each week, known to `sd` at all times; ranges of 2 sd."""
    trends = Trends(
        children=("leo", "mia"),
        fixed=np.array([level, pace]),
        fixed_covariance=np.zeros((2, 2)),
        spread=np.zeros((2, 2)),
        residual=1.0,
        effects=np.array([[9.0, 9.0], [0.0, 0.0]]),
        known=np.array([np.diag([99.0, 9.0]), np.diag([sd**2, 0.0])]),
        pulled=np.zeros((2, 2, 2)),
        criterion=0.0,
        search=(0.0, 0.0, 0.0),
    )
    return Pool(TODAY, trends, NO_NOISE, None, floor, 7, 2.0, {"leo": 0.0, "mia": 0.0})


def mia(*days: tuple[float, float]) -> Interpretation:
    """Days of (weeks before TODAY, score)."""
    return history("mia", [day_score(value, TODAY - weeks * WEEK) for weeks, value in days])


OWN = mia((18, 11), (9, 15), (0, 20))


def told(found: Forecast) -> tuple[str, date | None, date | None, date | None]:
    return found.word, found.earliest_on, found.likely_on, found.latest_on


# --- dates -------------------------------------------------------------------------------------------------


def test_dates_are_those_on_which_the_range_and_the_line_reach_the_threshold() -> None:
    """25 from 20 and half a second a week: the line after 10 weeks, its ends of -/+ 4 after 2 and 18."""
    found = forecast(line_of(20, 0.5), OWN, 25)
    assert told(found) == ("within", TODAY + 2 * WEEK, TODAY + 10 * WEEK, TODAY + 18 * WEEK)
    assert (found.days, found.children) == (3, 7)
    assert found.reason == (
        "Most likely in about 10 weeks, from 3 test days of this child and the trends of 7 children of about this age."
    )
    assert found.pace is not None and found.pace.slope == pytest.approx(0.5)


def test_the_path_has_a_point_a_week_for_six_months() -> None:
    found = forecast(line_of(20, 0.5), OWN, 25)
    assert len(found.path) == 27
    for week, point in enumerate(found.path):
        level = 20 + 0.5 * week
        assert point == Point(TODAY + week * WEEK, level, level - 4, level + 4, "")


@pytest.mark.parametrize(
    ("threshold", "expected"),
    [
        (20, ("now", 0, 0, 8)),
        (16, ("now", 0, 0, 0)),
        (20.1, ("within", 0, 1, 9)),
        (24, ("within", 0, 8, 16)),
        (29, ("within", 10, 18, 26)),
        (29.1, ("within", 11, 19, None)),
        (33, ("within", 18, 26, None)),
        (33.1, ("later", 19, None, None)),
        (37, ("later", 26, None, None)),
        (37.1, ("later", None, None, None)),
    ],
)
def test_a_threshold_is_reached_on_the_line_itself(
    threshold: float, expected: tuple[str, int | None, int | None, int | None]
) -> None:
    found = forecast(line_of(20, 0.5), OWN, threshold)
    dates = tuple(None if weeks is None else TODAY + weeks * WEEK for weeks in expected[1:])
    assert told(found) == (expected[0], *dates)


@pytest.mark.parametrize(
    ("threshold", "begins"),
    [(12, "The level is expected there already"), (60, "Not expected within six months")],
)
def test_what_is_there_already_and_what_is_far_off_say_so(threshold: float, begins: str) -> None:
    found = forecast(line_of(20, 0.5), OWN, threshold)
    behind = "from 3 test days of this child and the trends of 7 children of about this age."
    assert found.reason == f"{begins}, {behind}"


def test_a_line_that_falls_is_cut_at_the_lowest_there_can_be_and_says_where() -> None:
    note = "cut at 2, the lowest there can be"
    found = forecast(line_of(16, -0.5, floor=2.0), OWN, 40)
    assert found.path[20] == Point(TODAY + 20 * WEEK, 6, 2, 10, "")
    assert found.path[21] == Point(TODAY + 21 * WEEK, 5.5, 2, 9.5, note)
    free = forecast(line_of(16, -0.5, floor=None), OWN, 40)
    assert free.path[21] == Point(TODAY + 21 * WEEK, 5.5, 1.5, 9.5, "")
    far = forecast(line_of(4, -0.5, floor=2.0), OWN, 40).path[26]
    assert (far.level, far.low, far.high) == (2, 2, 2)


# --- no forecast ---------------------------------------------------------------------------------------------


def nothing(word: str, reason: str, own: Interpretation, *, children: int = 7) -> Forecast:
    found = forecast(line_of(20, 0.5), own, 25)
    return Forecast(word, None, None, None, (), len(own.days), children, found.pace, reason)


def test_a_resting_child_has_no_forecast_and_keeps_the_pace() -> None:
    found = forecast(line_of(20, 0.5), OWN, 25, resting=True)
    assert found == nothing("resting", "No forecast while the child is resting.", OWN)
    assert found.pace is not None


def test_no_day_no_forecast() -> None:
    assert forecast(line_of(20, 0.5), mia(), 25) == nothing("no_evidence", "No test day counts yet.", mia())


def test_one_date_shows_no_direction() -> None:
    words = "Too soon to say: a first look and one more test day show no direction."
    for own in (mia((1, 20)), mia((1, 20), (1, 22))):
        assert forecast(line_of(20, 0.5), own, 25) == nothing("too_soon", words, own)


def test_a_child_outside_a_pool_without_a_line_of_its_own_is_too_soon_to_say() -> None:
    words = "Too soon to say: 7 children of about this age have two test days, and this one few."
    own = replace(OWN, athlete="new")
    found = forecast(line_of(20, 0.5), own, 25)
    assert found == nothing("too_soon", words, own)
    assert found.pace is not None and found.pace.slope == pytest.approx(0.5)
    empty = Pool(TODAY, None, ERROR, None, 0.0, 3, math.inf, {})
    assert forecast(empty, OWN, 25).reason == words.replace("7", "3")
    one = replace(empty, children=1)
    assert forecast(one, OWN, 25).reason == words.replace("7 children", "1 child").replace("have", "has")


@pytest.mark.parametrize(
    ("apart", "near"),
    [
        (0.0, "of about this age"),
        (1.0, "of about this age"),
        (1.01, "up to 2 years older or younger"),
        (2.0, "up to 2 years older or younger"),
        (2.01, "up to 3 years older or younger"),
    ],
)
def test_how_far_apart_in_age_the_others_are_is_said_in_whole_years(apart: float, near: str) -> None:
    """The child is 6.5 today; whoever is farthest from that, older or younger, says it."""
    for age in (6.5 + apart, 6.5 - apart):
        pool = replace(line_of(20, 0.5), ages={"leo": age, "mia": 6.5})
        assert forecast(pool, OWN, 25).reason.endswith(f"the trends of 7 children {near}.")


@pytest.mark.parametrize(("weeks", "fresh", "word"), [(16, 16, "within"), (3, 3, "within"), (0, 0, "within")])
def test_evidence_is_fresh_up_to_the_last_day(weeks: int, fresh: int, word: str) -> None:
    day = timedelta(days=1)
    for older, expected in ((0 * day, word), (day, "stale")):
        own = replace(OWN, days=tuple(replace(one, on=one.on - weeks * WEEK - older) for one in OWN.days))
        found = forecast(line_of(20, 0.5), own, 25, fresh_weeks=fresh)
        assert found.word == expected
    words = f"The newest test day that counts is more than {fresh} weeks old."
    assert found == nothing("stale", words, own)


def stop(weeks: float, value: float) -> DayScore:
    return day_score(value, TODAY - weeks * WEEK, at_least=True, outcome="chose_to_stop")


@pytest.mark.parametrize(("value", "word"), [(25, "within"), (24.9, "stale"), (40, "within")])
def test_only_a_stop_at_the_threshold_or_over_it_keeps_evidence_fresh(value: float, word: str) -> None:
    own = replace(OWN, days=(*(replace(one, on=one.on - 20 * WEEK) for one in OWN.days), stop(1, value)))
    assert forecast(line_of(20, 0.5), own, 25).word == word
    assert forecast(line_of(20, 0.5), replace(OWN, days=OWN.days[:1] + own.days[-1:]), 25).days == 2


def test_the_pace_leaves_out_what_is_only_at_least() -> None:
    own = replace(OWN, days=(*OWN.days[:2], stop(0, 55)))
    found = forecast(line_of(20, 0.5), own, 25)
    assert found.pace is not None
    assert (found.pace.slope, found.pace.points) == (pytest.approx(4 / 9), 2)
    assert forecast(line_of(20, 0.5), replace(own, days=(stop(9, 11), stop(0, 30))), 25).pace is None


# --- a club too small for a common trend ---------------------------------------------------------------------

SMALL = Pool(TODAY, None, ERROR, None, 0.0, 2, math.inf, {})
FIVE = mia((26, 12), (20, 13), (13, 18), (7, 17), (1, 22))


def test_the_childs_own_line_has_its_own_range_each_week() -> None:
    """The interval of a regression line, 80 % (checked against R in tests/outside): of the level, not of a new score."""
    found = forecast(SMALL, FIVE, 25)
    times, values = [-26, -20, -13, -7, -1], [12, 13, 18, 17, 22]
    slope, start = np.polyfit(times, values, 1)
    for week, point in enumerate(found.path):
        own = predict(times, values, week, level=0.80, new=False)
        assert point.on == TODAY + week * WEEK
        assert (point.level, point.low, point.high, point.note) == (
            pytest.approx(start + slope * week), own.low, own.high, "",
        )  # fmt: skip
    assert len(found.path) == 27
    weeks = math.ceil((25 - start) / slope)
    assert found.likely_on == TODAY + weeks * WEEK
    assert found.reason == f"Most likely in about {weeks} weeks, from 5 test days of this child alone."
    assert (found.children, found.days) == (0, 5)


@pytest.mark.parametrize(("floor", "low"), [(0.0, 0.0), (3.0, 3.0), (None, None)])
def test_the_childs_own_line_ends_at_the_lowest_there_can_be(floor: float | None, low: float | None) -> None:
    falling = mia((26, 12), (20, 14), (13, 9), (7, 7), (1, 8))
    last = forecast(replace(SMALL, floor=floor), falling, 25).path[26]
    if low is None:
        assert last.low < 0 and last.note == ""
    else:
        assert (last.low, last.note) == (low, f"cut at {low:g}, the lowest there can be")


@pytest.mark.parametrize("place", range(5))
def test_one_open_end_or_one_date_less_takes_the_own_line_away(place: int) -> None:
    day = FIVE.days[place]
    other = FIVE.days[place - 1]
    for changed in (replace(day, at_least=True, value=30.0), replace(day, on=other.on)):
        days = tuple(changed if n == place else one for n, one in enumerate(FIVE.days))
        assert forecast(SMALL, replace(FIVE, days=days), 25).word == "too_soon"


# --- newest days held out ------------------------------------------------------------------------------------


def plain_held(
    found: list[Interpretation], error: ErrorModel, cap: float | None, floor: float | None
) -> list[Held]:
    """Each child by itself: the pool as it stood the day before, and what came."""
    held = []
    for one in found:
        days = [day for day in one.days if not day.first_look]
        if len(days) < 3:
            continue
        before = days[-1].on - timedelta(days=1)
        near = near_in_age(found, age_of(days[:-1], before), before)
        pool = fit_pool(near, before, error=error, cap=cap, floor=floor)
        low, high = pool.score(one.athlete, 1 / 7, clocks=days[-1].clock_variance)
        held.append(
            Held(
                days[-1].band,
                low,
                high,
                days[-1].value - days[-1].late,
                stopped=days[-1].at_least and days[-1].outcome != "reached_cap",
                cut=low == floor or high == cap,
                athlete=one.athlete,
                on=days[-1].on,
            )
        )
    return held


@pytest.mark.parametrize(("cap", "floor"), [(24.0, 9.0), (None, 0.0), (None, None)])
def test_a_held_out_day_is_read_from_the_pool_of_the_day_before(
    cap: float | None, floor: float | None
) -> None:
    club = simulate(Club(children=9, test_days=4, missing=0, cap=None), seed=21, age=4)
    club = [
        replace(one, days=tuple(replace(day, on=day.on + timedelta(days=n % 2)) for day in one.days))
        for n, one in enumerate(club)
    ]
    newest = replace(club[0].days[-1], at_least=True, outcome="chose_to_stop")
    club[0] = replace(club[0], days=(*club[0].days[:-1], newest))
    club[1] = replace(club[1], days=club[1].days[:3])
    several_clocks = replace(club[2].days[-1], late=1.5, clock_variance=5.0)
    club[2] = replace(club[2], days=(*club[2].days[:-1], several_clocks))
    found = held_out(club, error=ERROR, cap=cap, floor=floor)
    assert list(found) == plain_held(club, ERROR, cap, floor)
    assert (len(found), [one.stopped for one in found].count(True)) == (8, 1)
    if cap is not None and floor is not None:
        assert min(one.low for one in found) == floor and max(one.high for one in found) == cap
        assert all(one.cut for one in found)
    if floor is None:
        assert not any(one.cut for one in found)


def test_a_held_out_day_of_a_small_club_is_read_a_day_ahead_on_the_own_line() -> None:
    six = mia((30, 11), *((float((TODAY - day.on).days // 7), day.value) for day in FIVE.days))
    (held,) = held_out([six], error=ERROR)
    times = [(day.on - (TODAY - 1 * WEEK)).days / 7 for day in six.days[:-1]]
    own = predict(times, [day.value for day in six.days[:-1]], 0, level=0.80, floor=0.0)
    newest = six.days[-1].on
    assert held == Held(
        "6", pytest.approx(own.low), pytest.approx(own.high), 22, athlete=six.athlete, on=newest
    )
    # The own line knows no cap: a range that reaches beyond it cannot be missed above either.
    assert [one.cut for one in held_out([six], error=ERROR, cap=held.high)] == [True]
    assert [one.cut for one in held_out([six], error=ERROR, cap=held.high + 0.1)] == [False]
