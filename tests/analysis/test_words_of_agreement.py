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
