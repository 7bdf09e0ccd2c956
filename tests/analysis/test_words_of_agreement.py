"""Few second looks: what is counted is still named, and the sentences say for whom."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from assessments.analysis import coach_bias, shape_agreement, wilson
from assessments.analysis.agreement import SecondLook
from assessments.analysis.concordance import alpha_interval, krippendorff_alpha

NAMES = ("chin", "round", "heels", "hands", "still")


def look(child, first, second, judges=("ana", "ben")):
    levels = [dict(zip(NAMES, five, strict=True)) for five in (first, second)]
    return SecondLook(f"child-{child}", "hollow", date(2026, 3, 2), *judges, *levels)


def test_a_few_looks_are_counted_under_the_name_of_each_criterion():
    looks = [look(1, (0, 1, 2, 2, 1), (0, 1, 2, 1, 1)), look(2, (1, None, 2, 0, 2), (2, 1, 2, 0, 2))]
    found = shape_agreement(looks, "hollow")
    assert (found.item, found.children, found.complete) == ("hollow", 2, 1)
    counted = {one.criterion: (one.children, one.same) for one in found.criteria}
    assert counted == {"chin": (2, 1), "hands": (2, 1), "heels": (2, 2), "round": (1, 1), "still": (2, 2)}
    assert found.criteria[0].same_interval == wilson(1, 2)
    assert all((one.kappa, one.kappa_interval) == (None, None) for one in found.criteria)


@pytest.mark.parametrize(("looks", "whom"), [(0, "0 children"), (1, "1 child")])
def test_too_few_totals_say_of_how_many_children(looks, whom):
    found = shape_agreement([look(n, (1,) * 5, (2,) * 5) for n in range(looks)], "hollow")
    assert (found.item, found.complete, found.sem, found.alarm) == ("hollow", looks, None, "")
    assert found.reason == f"{whom} with two complete totals: too few to say how well coaches agree."


def test_one_child_seen_twice_has_a_difference_and_no_verdict():
    found = {one.coach: one for one in coach_bias([look(1, (1,) * 5, (2, 2, 1, 1, 1))])}
    assert {coach: one.mean for coach, one in found.items()} == {"ana": -2.0, "ben": 2.0}
    for one in found.values():
        assert (one.children, one.interval, one.alarm) == (1, None, "")
        assert one.reason == "One child seen twice says nothing about a habit."


@pytest.mark.parametrize("raters", [2, 3, 4])
def test_the_narrowest_interval_of_alpha_is_alpha_itself(raters):
    """The F interval shrinks to the point as the confidence goes to 0, whatever the formula that carries it."""
    random = np.random.default_rng(raters)
    level = random.normal(0, 2, 12)
    table = level + random.normal(0, 2.5, (raters, 12))
    low, high = alpha_interval(table, confidence=0.0002)
    alpha = krippendorff_alpha(table, scale="interval")
    assert (low, high) == (pytest.approx(alpha), pytest.approx(alpha, abs=0.02))
    wide = alpha_interval(table)
    assert wide[0] < low < high < wide[1]


@pytest.mark.parametrize(("by", "words"), [(1, "higher"), (-1, "lower")])
def test_a_coach_is_said_to_score_higher_or_lower_than_others(by, words):
    """Ana's totals lie two points beside Ben's on each of three children."""
    ana, ben = ((2, 2, 1, 1, 1), (1,) * 5) if by > 0 else ((1,) * 5, (2, 2, 1, 1, 1))
    found = {one.coach: one for one in coach_bias([look(n, ana, ben) for n in range(3)])}
    low, high = found["ana"].interval
    assert found["ana"].mean == 2 * by == -found["ben"].mean
    assert found["ana"].reason == (
        f"2.0 points of 10 {words} than others on the same children "
        f"(between {low:+.1f} and {high:+.1f}), 3 children seen twice."
    )
    assert f"2.0 points of 10 {'lower' if by > 0 else 'higher'} than others" in found["ben"].reason


def test_coaches_who_score_alike_lie_nothing_apart():
    found = coach_bias([look(n, (1,) * 5, (1,) * 5) for n in range(3)])
    assert [(one.coach, one.mean, one.alarm) for one in found] == [("ana", 0, ""), ("ben", 0, "")]
