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


def test_skills_are_counted_apart() -> None:
    found = counted(followed(1, "ready", weeks=3), Followed("c1", "roll", "nearly", LONG_AGO, None))
    assert (found["nearly"], found["ready"]) == ((0, 1, 0), (1, 1, 0))


def improving(child: int, *, ready: float = 2, weeks: float | None = 6) -> list[Followed]:
    """Nearly, `ready` weeks later ready, and the skill `weeks` after the beginning."""
    got = None if weeks is None else LONG_AGO + timedelta(weeks=weeks)
    turned = LONG_AGO + timedelta(weeks=ready)
    return [
        Followed(f"c{child}", "cartwheel", word, on, got)
        for word, on in (("nearly", LONG_AGO), ("ready", turned), ("ready", turned + timedelta(weeks=3)))
    ]


def test_a_child_who_moved_from_nearly_to_ready_got_the_skill_as_ready() -> None:
    """A perfect rule: all thirty are nearly, then ready, then have it. No success counts for both states."""
    ready, nearly, *_ = outcomes_by_state([one for n in range(30) for one in improving(n)], ON)
    assert (ready.consistent, ready.followed, ready.moved) == (30, 30, 0)
    assert (nearly.consistent, nearly.followed, nearly.moved, nearly.share) == (0, 0, 30, None)


def test_the_weeks_of_a_state_end_when_another_is_suggested() -> None:
    """By hand: of two nearly, one moves on after two weeks, the other has it in the fifth: 1 of the 1 still there."""
    nearly = outcomes_by_state([*improving(1), followed(2, "nearly", weeks=5)], ON)[1]
    assert (nearly.consistent, nearly.followed, nearly.moved, nearly.share) == (1, 1, 1, 1.0)
    nearly = outcomes_by_state(
        [*improving(1, ready=7, weeks=None), followed(2, "nearly", weeks=5), followed(3, "nearly")], ON
    )[1]
    assert (nearly.consistent, nearly.followed, nearly.moved) == (1, 2, 1)
    assert nearly.share == pytest.approx(1 / 3)


@pytest.mark.parametrize(
    ("ready", "weeks", "nearly", "later"),
    [
        (4, 4, (1, 1, 0), (0, 0, 0)),  # the word of the day of the change: the state before
        (4, 3.9, (1, 1, 0), (0, 0, 0)),
        (4, 4.2, (0, 0, 1), (1, 1, 0)),
        (8, 9, (0, 1, 0), (1, 1, 0)),  # the weeks were over
    ],
)
def test_a_success_counts_once_for_the_state_that_stood(
    ready: float, weeks: float, nearly: tuple[int, int, int], later: tuple[int, int, int]
) -> None:
    found = outcomes_by_state(improving(1, ready=ready, weeks=weeks), ON)
    assert [(one.consistent, one.followed, one.moved) for one in found[:2]] == [later, nearly]


def test_a_state_that_comes_back_counts_by_its_first_time() -> None:
    back = [
        followed(1, word, on=LONG_AGO + timedelta(weeks=n))
        for n, word in enumerate(("ready", "nearly", "ready"))
    ]
    ready, nearly, *_ = outcomes_by_state(back, ON)
    assert (ready.moved, ready.followed) == (nearly.moved, nearly.followed) == (1, 0)


def test_where_nobody_stayed_without_the_skill_to_the_end_no_share_is_known() -> None:
    """Nine moved on after three weeks: what would have come from the fourth to the eighth nobody has seen."""
    moved = [one for n in range(9) for one in improving(n, ready=3, weeks=None)]
    nearly = outcomes_by_state([*moved, followed(9, "nearly", weeks=1)], ON)[1]
    assert (nearly.consistent, nearly.followed, nearly.moved, nearly.share) == (1, 1, 9, None)
    stayed = outcomes_by_state([*moved, followed(9, "nearly", weeks=1), followed(10, "nearly")], ON)[1]
    assert stayed.share == pytest.approx(1 / 11)


def skills(children: range, each: int, word: SkillWord, weeks: float | None) -> list[Followed]:
    got = None if weeks is None else LONG_AGO + timedelta(weeks=weeks)
    return [Followed(f"c{n}", f"s{skill}", word, LONG_AGO, got) for n in children for skill in range(each)]


def test_the_interval_counts_children_and_not_their_skills() -> None:
    ready = outcomes_by_state(skills(range(3), 8, "ready", 4), ON)[0]
    assert (ready.followed, ready.children, ready.share) == (24, 3, 1.0)
    assert ready.interval == wilson(3, 3)


def test_one_child_with_many_skills_weighs_down_what_is_known() -> None:
    """By hand, after Kish 1965: nine children with one skill and one with eight are 17^2 / (9 + 64) = 3.96 children."""
    found = [*skills(range(9), 1, "ready", 4), *skills(range(9, 10), 8, "ready", None)]
    ready = outcomes_by_state(found, ON)[0]
    assert (ready.followed, ready.children, ready.share) == (17, 10, pytest.approx(9 / 17))
    worth = 17**2 / (9 + 64)
    assert ready.interval == pytest.approx(wilson(9 / 17 * worth, worth))


@pytest.mark.parametrize("each", [2, 5])
def test_an_interval_is_never_as_from_more_than_the_different_children(each: int) -> None:
    """Also where some left and some moved on: never narrower than the plain share of so many children."""
    found = [
        *skills(range(6), each, "nearly", 3),
        *skills(range(6, 12), each, "nearly", None),
        *(one for n in range(12, 15) for one in improving(n)),
        *(followed(n, "nearly", left=3) for n in range(15, 18)),
    ]
    nearly = outcomes_by_state(found, ON)[1]
    assert nearly.share is not None and nearly.interval is not None
    low, high = nearly.interval
    plain = wilson(18 * nearly.share, 18)
    assert plain is not None and low < plain[0] < plain[1] < high


def test_many_who_moved_on_at_once_do_not_make_one_child_more_than_one() -> None:
    many = [
        *skills(range(1), 10, "nearly", 3),
        *(Followed("c0", f"t{n}", "nearly", LONG_AGO, None) for n in range(10)),
    ]
    moved = [one for n in range(1, 31) for one in improving(n, ready=0.2)]
    nearly = outcomes_by_state([*many, *moved], ON)[1]
    assert (nearly.share, nearly.children, nearly.moved) == (pytest.approx(0.5), 1, 30)
    assert nearly.interval == pytest.approx(wilson(0.5, 1), abs=0.01)


def test_a_child_whose_many_skills_moved_on_at_once_hides_no_others() -> None:
    moved = [
        Followed("c9", f"s{n}", word, LONG_AGO + timedelta(days=day), None)
        for n in range(20)
        for word, day in (("nearly", 0), ("ready", 1))
    ]
    stayed = [followed(1, "nearly", weeks=4), followed(2, "nearly"), followed(3, "nearly")]
    nearly = outcomes_by_state([*moved, *stayed], ON)[1]
    assert (nearly.children, nearly.moved, nearly.share) == (3, 20, pytest.approx(1 / 3))
    assert nearly.interval == pytest.approx(wilson(1, 3))


def test_two_children_are_two_also_where_all_is_known_early() -> None:
    """Ten skills each; half come in the first week, the others move on in the second, one stays."""
    came = skills(range(2), 5, "nearly", 1)
    moved = [
        Followed(f"c{n}", f"t{skill}", word, LONG_AGO + timedelta(weeks=week), None)
        for n in range(2)
        for skill in range(5)
        for word, week in (("nearly", 0), ("ready", 2))
    ]
    nearly = outcomes_by_state([*came, *moved[:-1]], ON)[1]
    assert (nearly.followed, nearly.moved, nearly.share) == (11, 9, pytest.approx(0.5))
    low, high = nearly.interval or (0, 0)
    plain = wilson(1, 2)
    assert plain is not None and low <= plain[0] and plain[1] <= high


TOO_FEW = (
    "Not enough followed yet to compare ‘ready’ with ‘nearly’: it takes 10 different children in each ({})."
)
MORE = "Children called ready got the skill more often than those called nearly, beyond chance."
LESS = "Children called ready got the skill less often than those called nearly: look at the thresholds."
OVERLAP = "The ranges of ‘ready’ and ‘nearly’ overlap: the difference may be chance."


def outcomes(ready: tuple[int, int], nearly: tuple[int, int], each: int = 1) -> list[StateOutcome]:
    pairs: list[tuple[SkillWord, tuple[int, int]]] = [("ready", ready), ("nearly", nearly)]
    return [
        StateOutcome(word, of, of // each, met, 0, 0, 0, met / of if of else None, wilson(met, of))
        for word, (met, of) in pairs
    ]


@pytest.mark.parametrize(
    ("ready", "nearly", "words"),
    [
        ((0, 0), (5, 19), TOO_FEW.format("0 in ‘ready’")),
        ((15, 19), (0, 0), TOO_FEW.format("0 in ‘nearly’")),
        ((9, 9), (0, 9), TOO_FEW.format("9 in ‘ready’, 9 in ‘nearly’")),
        ((10, 10), (0, 10), MORE),
        ((38, 40), (10, 40), MORE),
        ((10, 40), (38, 40), LESS),
        ((6, 10), (5, 10), OVERLAP),
    ],
)
def test_one_sentence_compares_ready_with_nearly(
    ready: tuple[int, int], nearly: tuple[int, int], words: str
) -> None:
    assert says_something(outcomes(ready, nearly)) == words


def test_six_children_with_eight_skills_each_are_six_children() -> None:
    assert says_something(outcomes((24, 24), (0, 24), each=8)) == TOO_FEW.format(
        "3 in ‘ready’, 3 in ‘nearly’"
    )
    found = [*skills(range(3), 8, "ready", 4), *skills(range(3, 6), 8, "nearly", None)]
    assert says_something(outcomes_by_state(found, ON)) == TOO_FEW.format("3 in ‘ready’, 3 in ‘nearly’")


def test_every_child_whose_weeks_are_not_over_is_waiting() -> None:
    recent = ON - timedelta(weeks=3)
    assert counted(*(followed(n, on=recent) for n in range(3)), followed(4))["ready"] == (0, 1, 3)
