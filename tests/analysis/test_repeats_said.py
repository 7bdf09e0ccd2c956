"""What repeat tests are said to show: the whole answer for a few pairs, and the sentences a director reads."""

from __future__ import annotations

from datetime import timedelta

import pytest

from assessments.analysis import estimate_error, repeat_pair
from assessments.analysis.records import ErrorModel
from assessments.analysis.reliability import sem_interval
from assessments.analysis.repeats import ErrorEstimate, RepeatPair

from .simulated import TODAY, day_score

FLAT = ErrorModel(3.0, 0.0)


def pair(child: int, first: float, second: float) -> RepeatPair:
    return RepeatPair(f"c{child:02d}", first, second, TODAY, TODAY + timedelta(days=7))


def wide(children: int, shift: float = 0.0) -> list[RepeatPair]:
    """Differences of 6 s up and down beside a common shift."""
    return [pair(n, 20, 20 + shift + 6 * (-1) ** n) for n in range(children)]


def test_a_pair_says_who_what_and_when() -> None:
    later = TODAY + timedelta(days=5)
    found = repeat_pair("mia", [day_score(10, TODAY), day_score(12, later)])
    assert found == RepeatPair("mia", 10, 12, TODAY, later, 0.0)


def test_the_answer_of_a_few_pairs_in_full() -> None:
    """Four pairs of -/+ 6: SD of the differences sqrt(48), over sqrt(2) 4.899; over the starter's 3 it is 1.633."""
    found = estimate_error(wide(4), FLAT, needed=6, days_apart=9)
    scale = 24**0.5 / 3
    spread = sem_interval(scale, 3, confidence=0.90)
    reach = 2.3534 * scale * 3 * 2**0.5 / 2  # Student's t of 90 % on 3 degrees of freedom, any table
    near = lambda *ends: pytest.approx(ends, rel=1e-4)  # noqa: E731
    assert found == ErrorEstimate(
        4, 6, 9, False, FLAT, pytest.approx(scale), near(spread.low, spread.high), None,
        near(20, scale * 3, spread.low * 3, spread.high * 3), pytest.approx(0, abs=1e-9), near(-reach, reach),
        "4 of 6 children measured twice within 9 days: too few to take over.",
    )  # fmt: skip


def test_exactly_as_many_as_are_needed_may_be_taken_over() -> None:
    found = estimate_error(wide(15), FLAT)
    assert found.enough and found.model is not None
    assert found.reason == "15 children measured twice within 14 days."
    assert found.model.note == "From repeat tests of 15 children of this club."


@pytest.mark.parametrize("children", [2, 15])
def test_pairs_without_a_difference_are_as_unsure_as_rounding(children: int) -> None:
    """The standard deviation of rounding to whole seconds, sqrt(1 / 12), in terms of the starter's 3 s."""
    found = estimate_error([pair(n, 10, 10) for n in range(children)], FLAT)
    least = sem_interval((1 / 12) ** 0.5 / 3, children - 1, confidence=0.90)
    assert found.scale_interval == (0, pytest.approx(least.high))


@pytest.mark.parametrize(("children", "taken"), [(15, False), (14, False)])
def test_a_second_day_that_was_lower_throughout_is_said_in_full(children: int, taken: bool) -> None:
    found = estimate_error(wide(children, shift=-9.0), FLAT)
    assert found.confirming and (found.model is not None) is taken
    assert found.reason == (
        "15 children measured twice within 14 days. The second day was lower: these look like confirmations asked for "
        "after a good day, which make the noise look too small. Not to be taken over."
        if children == 15
        else "14 of 15 children measured twice within 14 days: too few to take over."
    )
