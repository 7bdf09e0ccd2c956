"""A second look pairs with the first one at the same try, and with nothing else."""

from __future__ import annotations

import pytest

from assessments.analysis import second_looks
from tests.analysis.small_club import MONDAY, frame, shown, trial

FIRST = shown(2, judge="ines")
AGAIN = shown(1, judge="bao", second=True)


def test_two_coaches_at_one_try_are_a_pair():
    (found,) = second_looks(frame([FIRST, AGAIN, trial(20)]))
    assert (found.athlete, found.item, found.on) == ("mia", "tuck", MONDAY)
    assert (found.judge, found.second_judge) == ("ines", "bao")
    assert (found.first["chin"], found.second["chin"]) == (2, 1)


@pytest.mark.parametrize(
    "rows",
    [
        [FIRST],
        [AGAIN],
        [FIRST, AGAIN | {"judge": "ines"}],  # one coach twice
        [FIRST, AGAIN | {"judge": ""}],  # nobody knows who
        [FIRST, AGAIN | {"trial": 2}],
        [FIRST, AGAIN | {"day": "another"}],
        [FIRST, AGAIN | {"athlete": "abe"}],
        [FIRST | {"conflict": True}, AGAIN],
        [],
    ],
)
def test_whatever_else_is_no_pair(rows):
    assert second_looks(frame(rows)) == ()


def test_of_several_tries_a_day_the_earliest_counts_and_every_day_has_its_own():
    later = [FIRST | {"trial": 2}, AGAIN | {"trial": 2, "judge": "cleo"}]
    other = [shown(2, judge="ines", week=3), shown(2, judge="bao", second=True, week=3)]
    found = second_looks(frame([*later, FIRST, AGAIN, *other]))
    assert [(one.on > MONDAY, one.second_judge) for one in found] == [(False, "bao"), (True, "bao")]
