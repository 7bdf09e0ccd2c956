"""Whether 'ready to try' means anything: later outcomes counted for each state."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from assessments.analysis import outcomes_by_state, says_something, wilson
from assessments.analysis.calibration import Followed, StateOutcome
from assessments.analysis.records import SkillWord

ON = date(2026, 6, 1)
LONG_AGO = ON - timedelta(weeks=20)


def followed(
    child: int,
    word: SkillWord = "ready",
    *,
    on: date = LONG_AGO,
    weeks: float | None = None,
    left: float | None = None,
) -> Followed:
    got, gone = (None if one is None else on + timedelta(days=round(7 * one)) for one in (weeks, left))
    return Followed(f"c{child}", "cartwheel", word, on, got, gone)


def counted(*found: Followed, on: date = ON) -> dict[str, tuple[int, int, int]]:
    return {one.word: (one.consistent, one.followed, one.waiting) for one in outcomes_by_state(found, on)}


def test_states_stand_in_order_ready_first() -> None:
    assert [one.word for one in outcomes_by_state([], ON)] == [
        "ready",
        "nearly",
        "not_yet",
        "not_known",
        "resting",
    ]


def test_nobody_followed_has_no_share() -> None:
    for one in outcomes_by_state([], ON):
        assert (one.share, one.interval, one.followed) == (None, None, 0)


def test_counts_shares_and_intervals() -> None:
    found = outcomes_by_state([followed(n, weeks=4 if n < 14 else None) for n in range(18)], ON)[0]
    assert (found.consistent, found.followed, found.share) == (14, 18, pytest.approx(14 / 18))
    assert found.interval == wilson(14, 18)


@pytest.mark.parametrize(("weeks", "consistent"), [(0.2, 1), (8, 1), (8.2, 0)])
def test_eight_weeks_are_followed(weeks: float, consistent: int) -> None:
    assert counted(followed(1, weeks=weeks))["ready"] == (consistent, 1, 0)


@pytest.mark.parametrize(("age_weeks", "expected"), [(8, (0, 1, 0)), (7, (0, 0, 1))])
def test_a_child_whose_weeks_are_not_over_is_waiting(age_weeks: int, expected: tuple[int, int, int]) -> None:
    assert counted(followed(1, on=ON - timedelta(weeks=age_weeks)))["ready"] == expected


def test_a_child_who_got_it_early_counts_at_once() -> None:
    assert counted(followed(1, on=ON - timedelta(weeks=3), weeks=2))["ready"] == (1, 1, 0)


def test_what_comes_after_the_reading_is_not_known_yet() -> None:
    assert counted(followed(1, on=ON - timedelta(weeks=3), weeks=4))["ready"] == (0, 0, 1)
    assert counted(followed(1, on=ON + timedelta(weeks=1), weeks=4))["ready"] == (0, 0, 0)


def test_a_skill_that_was_there_already_is_left_out() -> None:
    assert counted(followed(1, weeks=0), followed(2, weeks=-3))["ready"] == (0, 0, 0)


def test_a_child_looked_at_every_week_counts_once() -> None:
    looks = [followed(1, on=LONG_AGO + timedelta(weeks=week)) for week in range(6)]
    assert counted(*looks)["ready"] == (0, 1, 0)
    assert counted(*looks[::-1])["ready"] == (0, 1, 0)


def test_the_first_look_of_a_state_decides_its_weeks() -> None:
    first = Followed("c1", "cartwheel", "ready", LONG_AGO, LONG_AGO + timedelta(weeks=10))
    later = Followed(
        "c1", "cartwheel", "ready", LONG_AGO + timedelta(weeks=5), LONG_AGO + timedelta(weeks=10)
    )
    assert counted(later, first)["ready"] == (0, 1, 0)


def test_a_child_who_left_counts_for_as_long_as_it_was_there() -> None:
    """By hand, after Kaplan & Meier 1958: at 2 weeks 1 of 4 (S = 3/4), then one leaves, at 6 weeks 1 of 2 (S = 3/8)."""
    rows = [followed(1, weeks=2), followed(2, left=3), followed(3, weeks=6), followed(4)]
    found = outcomes_by_state(rows, ON)[0]
    assert (found.consistent, found.followed, found.left, found.waiting) == (2, 3, 1, 0)
    assert found.share == pytest.approx(1 - 3 / 8)
    assert found.interval is not None and found.interval[0] < 1 - 3 / 8 < found.interval[1]
    # Greenwood: S^2 (1 / (4 * 3) + 1 / (2 * 1)), so S (1 - S) / variance = 2.857 children.
    low, high = wilson(5 / 8 * 20 / 7, 20 / 7) or (0, 0)
    assert found.interval == pytest.approx((low, high))


def test_who_left_before_the_first_week_lowers_no_share_and_who_left_after_the_weeks_was_followed() -> None:
    stayed = [followed(n, weeks=4 if n < 5 else None) for n in range(10)]
    left = [followed(n, left=0.2) for n in range(10, 16)]
    found = outcomes_by_state([*stayed, *left], ON)[0]
    assert (found.share, found.left, found.followed) == (pytest.approx(0.5), 6, 10)
    late = outcomes_by_state([followed(1, left=9)], ON)[0]
    assert (late.left, late.followed, late.share) == (0, 1, 0.0)


def test_who_left_with_the_skill_has_it_and_who_had_left_already_is_no_case() -> None:
    assert counted(followed(1, weeks=3, left=5))["ready"] == (1, 1, 0)
    assert counted(followed(1, weeks=5, left=3))["ready"] == (0, 0, 0)
    assert counted(followed(1, left=0))["ready"] == (0, 0, 0)


def test_all_who_were_seen_to_the_end_had_it() -> None:
    found = outcomes_by_state([followed(1, weeks=2), followed(2, weeks=5), followed(3, left=4)], ON)[0]
    assert (found.share, found.interval) == (1.0, wilson(2, 2))


def test_states_and_skills_are_counted_apart() -> None:
    found = counted(
        followed(1, "nearly"), followed(1, "ready", weeks=3), Followed("c1", "roll", "nearly", LONG_AGO, None)
    )
    assert found["nearly"] == (0, 2, 0)
    assert found["ready"] == (1, 1, 0)


TOO_FEW = "Not enough followed yet to compare ‘ready’ with ‘nearly’."
MORE = "Children called ready got the skill more often than those called nearly, beyond chance."
LESS = "Children called ready got the skill less often than those called nearly: look at the thresholds."
OVERLAP = "The ranges of ‘ready’ and ‘nearly’ overlap: the difference may be chance."


def outcomes(ready: tuple[int, int], nearly: tuple[int, int]) -> list[StateOutcome]:
    pairs: list[tuple[SkillWord, tuple[int, int]]] = [("ready", ready), ("nearly", nearly)]
    return [
        StateOutcome(word, of, met, 0, 0, met / of if of else None, wilson(met, of))
        for word, (met, of) in pairs
    ]


@pytest.mark.parametrize(
    ("ready", "nearly", "words"),
    [
        ((0, 0), (5, 9), TOO_FEW),
        ((5, 9), (0, 0), TOO_FEW),
        ((38, 40), (10, 40), MORE),
        ((10, 40), (38, 40), LESS),
        ((6, 10), (5, 10), OVERLAP),
    ],
)
def test_one_sentence_compares_ready_with_nearly(
    ready: tuple[int, int], nearly: tuple[int, int], words: str
) -> None:
    assert says_something(outcomes(ready, nearly)) == words


def test_every_child_whose_weeks_are_not_over_is_waiting() -> None:
    recent = ON - timedelta(weeks=3)
    assert counted(*(followed(n, on=recent) for n in range(3)), followed(4))["ready"] == (0, 1, 3)
