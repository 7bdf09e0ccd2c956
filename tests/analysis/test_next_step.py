"""A score that is asked for is one that can be written down: a multiple of the measure's step, rounded upwards."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assessments.analysis import interpret, judge
from assessments.analysis.records import Requirement
from tests.analysis.small_club import BORN, MEASURES, MONDAY, child, frame, programme, skill, trial


def state_of(*rows, step=1.0, minimum=20.0):
    one = skill("skill", Requirement("hollow_hold", minimum))
    measures = {m.id: replace(m, precision=step) for m in MEASURES}
    edition = programme(one, measures=measures)
    read = interpret(frame(rows), programme=edition, born_on={"mia": BORN}, on=MONDAY)
    return judge([one], read, programme=edition, child=child(), on=MONDAY)[0].requirements[0]


@pytest.mark.parametrize(
    ("step", "words"),
    [
        # By hand: 25 + 2 * (20 + 1.0364 * 5 / sqrt(2) - 25) = 22.33 s brings the level to 85 % (z = 1.0364).
        (1.0, "Next test: 23 s or more would meet it."),
        (0.5, "Next test: 22.5 s or more would meet it."),
        (0.1, "Next test: 22.4 s or more would meet it."),
        (5.0, "Next test: 25 s or more would meet it."),
    ],
)
def test_the_score_to_reach_is_rounded_up_to_the_step(step, words):
    assert state_of(trial(25), step=step).one_more == words


@pytest.mark.parametrize(("minimum", "least"), [(20, "26 s"), (21, "27 s")])
def test_a_first_test_that_would_be_enough_is_a_whole_step(minimum, least):
    assert f"{least} or more would be enough" in state_of(minimum=minimum).one_more


def test_what_was_never_seen_has_no_value_no_date_and_no_rest_before_it():
    found = state_of()
    assert (found.word, found.value, found.on, found.weeks_old, found.probability) == (
        "not_known", None, None, None, None,
    )  # fmt: skip
    assert (found.days, found.at_least, found.series, found.side, found.since) == (0, False, "", "", None)
    assert state_of(trial(25)).since is None
