"""Which skills of a group rest, from when days count again, and which requirement of a risky skill still waits for a day."""

from __future__ import annotations

from datetime import timedelta

import pytest

from assessments.analysis.records import Requirement, RestSpell
from assessments.analysis.scoring import day_scores
from assessments.analysis.verdicts import SKILL_WORDS, verdicts
from tests.analysis.small_club import MONDAY, child, frame, programme, skill, trial

HOLD = skill("hold", Requirement("hollow_hold", 20))
LEAN = skill("lean", Requirement("support", 20))
EMPTY = skill("empty", loads=("wrist",))


def board(*rows, skills, rests=(), week=0.0):
    edition, on = programme(*skills), MONDAY + timedelta(days=round(7 * week))
    scores = day_scores(frame(rows), edition, on=on)
    return verdicts(skills, scores, programme=edition, children=(child(rests=rests), child("abe")), on=on)


def words(found, n=0):
    return [SKILL_WORDS[state] for state in found.state[n]]


ALL = [
    trial(40, athlete=name, item=item, week=week) for name in ("mia", "abe") for item in ("hollow_hold", "support")
    for week in (0, 1)
]  # fmt: skip


@pytest.mark.parametrize("skills", [(HOLD, LEAN), (LEAN, HOLD), (HOLD, EMPTY, LEAN), (EMPTY, LEAN, HOLD)])
def test_a_rest_touches_its_own_skills_wherever_they_stand(skills):
    """Wrists rest: what leans on the hands, and a skill without any test that loads them; the other child goes on."""
    wrist = (RestSpell(("wrist",), MONDAY),)
    found = board(*ALL, skills=skills, rests=wrist, week=2)
    rested = {one.id: word for one, word in zip(skills, words(found), strict=True)}
    assert rested == {one.id: "ready" if one is HOLD else "resting" for one in skills}
    assert found.resting.tolist() == [[one is not HOLD for one in skills], [False] * len(skills)]
    assert words(found, 1) == ["not_known" if one is EMPTY else "ready" for one in skills]


@pytest.mark.parametrize(("ended", "word"), [(14, "not_known"), (15, "resting"), (7, "ready"), (0, "ready")])
def test_days_count_again_from_the_day_on_which_a_rest_ended(ended, word):
    """Read on day 14, last tested on day 7: a rest that ended by then leaves the test, one that ended today none."""
    rest = (RestSpell(("wrist",), MONDAY - timedelta(days=30), MONDAY + timedelta(days=ended)),)
    assert words(board(*ALL, skills=(HOLD, LEAN), rests=rest, week=2)) == ["ready", word]


@pytest.mark.parametrize("order", [1, -1])
def test_a_risky_skill_waits_for_the_one_requirement_that_was_met_on_one_day_only(order):
    asked = (Requirement("hollow_hold", 20), Requirement("support", 20))[::order]
    risky = skill("risky", *asked, risk="high")
    assert words(board(*ALL, skills=(risky,), week=2)) == ["ready"]
    for once in ("hollow_hold", "support"):
        rows = [row for row in ALL if row["item"] != once] + [trial(60, item=once, week=1)]
        found = board(*rows, skills=(risky,), week=2)
        assert words(found) == ["nearly"]
        assert found.columns[found.deciding[0, 0]].requirement.item == once


def test_what_is_only_likely_decides_before_what_waits_for_a_second_day():
    """22 s of 20 with an error of 5 is likely; 60 s once is met and waits: the first is the weaker link."""
    risky = skill("risky", Requirement("hollow_hold", 20), Requirement("support", 20), risk="high")
    rows = [
        trial(60, item="hollow_hold", week=1),
        trial(22, item="support", week=0),
        trial(22, item="support", week=1),
    ]
    found = board(*rows, skills=(risky,), week=1)
    assert words(found) == ["nearly"]
    assert found.columns[found.deciding[0, 0]].requirement.item == "support"
