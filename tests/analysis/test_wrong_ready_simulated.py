"""Children with a known true level, tested with the error model, judged by the rule: how often is 'ready' wrong?

Fixed seeds; margins are three standard errors of the simulated share.
"""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import pytest

from assessments.analysis.records import ChildFacts, Requirement
from assessments.analysis.scoring import day_scores
from assessments.analysis.verdicts import MET, READY, verdicts
from tests.analysis.small_club import BORN, MONDAY, frame, measure, programme, skill, trial

CHILDREN = 4000
LINE = 20.0
ERROR = 5.0
CONFIDENCE = {"low": 0.75, "medium": 0.85, "high": 0.90}


def margin(share):
    return 3 * math.sqrt(share * (1 - share) / CHILDREN)


def verdict_on(values, risk, *, weeks):
    """Verdicts on children (rows) tested in these weeks (columns), read on the last of them."""
    one = skill("skill", Requirement("hollow_hold", LINE), risk=risk)
    edition = programme(one, measures={"hollow_hold": measure(cap=None)})
    names = [f"child {n}" for n in range(len(values))]
    rows = [
        trial(float(value), week=week, athlete=name)
        for name, scores in zip(names, values, strict=True)
        for week, value in zip(weeks, scores, strict=True)
    ]
    on = MONDAY + timedelta(weeks=max(weeks))
    children = [ChildFacts(name, BORN) for name in names]
    return verdicts(
        [one], day_scores(frame(rows), edition, on=on), programme=edition, children=children, on=on
    )


def draws(level, days, seed):
    return np.random.default_rng(seed).normal(level, ERROR, (CHILDREN, days))


@pytest.mark.parametrize("risk", ["low", "medium", "high"])
def test_at_the_threshold_one_day_is_wrong_no_more_often_than_allowed(risk):
    found = verdict_on(draws(LINE, 1, seed=20), risk, weeks=[0])
    wrong, allowed = float((found.word == MET).mean()), 1 - CONFIDENCE[risk]
    assert abs(wrong - allowed) <= margin(allowed)


@pytest.mark.parametrize("risk", ["low", "medium", "high"])
def test_under_the_threshold_it_is_rarer_still(risk):
    found = verdict_on(draws(LINE - 3, 1, seed=21), risk, weeks=[0])
    assert float((found.word == MET).mean()) < 1 - CONFIDENCE[risk] - margin(0.1)


@pytest.mark.parametrize("weeks", [[0, 1], [0, 3, 6], [0, 8, 16, 24, 32, 40]])
@pytest.mark.parametrize("risk", ["low", "medium", "high"])
def test_more_days_do_not_make_it_likelier_on_the_last(risk, weeks):
    found = verdict_on(draws(LINE, len(weeks), seed=22), risk, weeks=weeks)
    allowed = 1 - CONFIDENCE[risk]
    assert float((found.word == MET).mean()) <= allowed + margin(allowed)


def test_high_risk_is_rarer_than_its_confidence_because_two_days_confirm_it():
    found = verdict_on(draws(LINE, 2, seed=23), "high", weeks=[0, 2])
    assert float((found.state == READY).mean()) <= 0.10
    assert (verdict_on(draws(LINE, 1, seed=23), "high", weeks=[0]).state != READY).all()


def test_many_looks_raise_the_share_that_was_ever_called_ready_and_the_filter_holds_it():
    """Six looks eight weeks apart at the threshold, counting a child once ready on any of them.

    Measured here: 0.30 ever met by the filter and 0.21 ever ready, against 0.47 if the best day so far were taken.
    """
    weeks = [8 * look for look in range(6)]
    values = draws(LINE, 6, seed=24)
    met, ready = np.zeros(CHILDREN, dtype=bool), np.zeros(CHILDREN, dtype=bool)
    for look in range(1, 7):
        found = verdict_on(values[:, :look], "high", weeks=weeks[:look])
        met |= found.word[:, 0] == MET
        ready |= found.state[:, 0] == READY
    best_day = float((values.max(axis=1) >= LINE + 1.2815516 * ERROR).mean())
    assert best_day == pytest.approx(1 - 0.9**6, abs=margin(0.47))
    assert float(met.mean()) == pytest.approx(0.30, abs=margin(0.30))
    assert float(ready.mean()) == pytest.approx(0.21, abs=margin(0.21))


def test_a_child_well_over_the_line_is_called_ready():
    found = verdict_on(draws(LINE + 4 * ERROR, 2, seed=25), "high", weeks=[0, 2])
    assert float((found.state == READY).mean()) > 0.99
