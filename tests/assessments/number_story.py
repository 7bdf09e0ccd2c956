"""Hand-made results for the pages of numbers, handed in through the door."""

from __future__ import annotations

from datetime import timedelta

from assessments.recording import record
from tests import factories
from tests.assessments.entry_making import entry
from tests.conftest import viewer_of
from tests.factories import TODAY


def day_on(weeks_ago: float, *groups, **facts):
    """An open test day some weeks before today."""
    held_on = TODAY - timedelta(days=round(7 * weeks_ago))
    return factories.DayFactory(held_on=held_on, groups=groups, **facts)


def children_of(group, count: int, **facts):
    """Some children of a group."""
    return [factories.AthleteFactory(group=group, **facts) for _ in range(count)]


def hand_in(member, rows) -> None:
    """Record (day, child, fields) as a member; every entry must be taken."""
    answers = record([entry(day, child, **fields) for day, child, fields in rows], viewer_of(member))
    assert {(answer.word, answer.reason) for answer in answers} == {("stored", "")}


def judged(shape: str, levels, judge, *, second: bool = False, trial: int = 1):
    """Fields of a look at a shape; `levels` in the order of its criteria."""
    from assessments.programme import current_programme

    names = [one.id for one in current_programme().shapes[shape].criteria]
    return {
        "measure": shape, "variant": "", "value": None, "how": "rubric", "trial": trial, "second": second,
        "levels": dict(zip(names, levels, strict=True)), "judge": str(judge.code),
    }  # fmt: skip
