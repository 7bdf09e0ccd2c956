"""Scores of several children and days side by side: what was seen of one is never laid to another."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from assessments.analysis.scoring import day_scores
from tests.analysis.small_club import MEASURES, MONDAY, frame, measure, programme, shown, trial

ON = MONDAY + timedelta(weeks=3)


def scores(*rows, on=ON, edition=None):
    return day_scores(frame(rows), edition or programme(), on=on)


def test_a_look_without_a_total_is_told_of_its_own_child_and_up_to_the_date():
    rows = [shown(None, athlete=name, week=week) for name in ("abe", "mia") for week in (0, 2, 3, 4)]
    found = scores(*rows)
    assert {
        found.athletes[athlete]: [look.on for look in looks]
        for (athlete, _, _), looks in found.partial_looks.items()
    } == {name: [MONDAY + timedelta(weeks=week) for week in (0, 2, 3)] for name in ("abe", "mia")}


@pytest.mark.parametrize("order", [1, -1])
def test_a_second_look_at_nothing_hides_no_other(order):
    """A second coach also looked at a child whom nobody else had judged that day."""
    rows = [
        shown(1, athlete="mia", second=True, judge="other"), shown(1, athlete="abe", second=True, judge="other"),
        shown(1, athlete="zoe", second=True, judge="other"), shown(2, athlete="mia"),
    ]  # fmt: skip
    found = scores(*rows[::order])
    assert len(found) == 1 and list(found.second_levels) == [0]
    assert found.second_levels[0]["chin"] == 1


@pytest.mark.parametrize(("item", "clocks"), [("landings", 6), ("reach", 6), ("hollow_hold", 2)])
def test_a_sum_and_a_mean_were_watched_as_the_busiest_of_their_tries(item, clocks):
    """Of a best try it is the number of clocks of that try alone."""
    both = programme(measures={one.id: replace(one, attempts=2) for one in MEASURES})
    found = scores(trial(4, item=item, at_once=2), trial(1, item=item, trial=2, at_once=6), edition=both)
    assert found.at_once.tolist() == [clocks]


def test_every_child_item_series_side_and_day_has_a_score_of_its_own():
    rows = [
        trial(10 * n + k, item="one_leg", athlete=name, side=side, week=week, series=series)
        for n, name in enumerate(("abe", "mia"))
        for k, (side, week, series) in enumerate(
            (side, week, series) for side in ("left", "right") for week in (0, 1) for series in ("v1", "v2")
        )
    ]
    found = scores(*rows[::-1])
    assert sorted(found.value.tolist()) == sorted(row["value"] for row in rows)
    assert set(found.trials.tolist()) == {1}


@pytest.mark.parametrize("number", [0, 1, 999])
def test_a_try_may_have_any_number_up_to_the_highest(number):
    found = scores(trial(12, trial=number), trial(15, trial=number, week=1))
    assert found.value.tolist() == [12, 15]


def test_the_highest_number_of_one_day_stays_in_its_day():
    """Each day has its first two tries by number."""
    rows = [
        trial(value, trial=number, week=week)
        for week in (0, 1)
        for value, number in ((10, 1), (12, 2), (50, 999))
    ]
    assert scores(*rows).value.tolist() == [12, 12]


@pytest.mark.parametrize("number", [-1, 1000])
def test_a_number_beyond_is_refused(number):
    assert len(scores(trial(12, trial=1), edition=programme(measures={"hollow_hold": measure()}))) == 1
    with pytest.raises(ValueError):
        scores(trial(12, trial=number))
