"""The newest day of every child predicted from all days before it, as a page would have forecast it."""

from __future__ import annotations

from assessments.analysis import forecast_coverage, held_out
from assessments.analysis.records import Interpretation

from .simulated import ERROR, Club, day_score, history, simulate
from .test_forecast import rising


def test_last_days_held_out_leave_short_histories_alone() -> None:
    held = held_out([rising(f"c{n}", days=2) for n in range(8)], error=ERROR)
    assert held == ()


def test_a_newest_day_held_out_is_predicted_by_the_children_of_about_that_age() -> None:
    """Children of four know little; what a child of eight will do is read from the children of eight alone."""
    young, old = simulate(Club(children=20), seed=3, age=4), simulate(Club(children=20), seed=4, age=8)
    both, alone = held_out([*young, *old], error=ERROR, cap=60), held_out(old, error=ERROR, cap=60)
    assert [one for one in both if one.group == "8"] == list(alone)


def test_a_newest_day_held_out_of_a_small_club_is_read_from_the_childs_own_line() -> None:
    held = held_out([rising(f"c{n}", days=6) for n in range(2)], error=ERROR)
    assert [round(one.value, 1) for one in held] == [28, 28]
    assert all(one.covered and one.high - one.low < 0.1 for one in held)
    assert held_out([rising(f"c{n}", days=5) for n in range(2)], error=ERROR) == ()


def test_a_child_who_chose_to_stop_is_neither_hit_nor_miss() -> None:
    club = simulate(Club(children=14), seed=2)
    plain = held_out(club, error=ERROR, cap=60)

    def ended(**facts: object) -> list[Interpretation]:
        newest = day_score(1, club[0].days[-1].on, age=club[0].days[-1].age, **facts)
        return [history(club[0].athlete, [*club[0].days[:-1], newest]), *club[1:]]

    missed = forecast_coverage(held_out(ended(), error=ERROR, cap=60))[0]
    left_out = forecast_coverage(
        held_out(ended(at_least=True, outcome="chose_to_stop"), error=ERROR, cap=60)
    )[0]
    assert (missed.count, missed.stopped) == (len(plain), 0)
    assert (left_out.count, left_out.stopped) == (len(plain) - 1, 1)
    assert left_out.covered == missed.covered


def test_a_newest_day_at_the_cap_is_a_hit_where_the_range_reaches_it() -> None:
    club = simulate(Club(children=14, rise=1.2), seed=5, age=8)
    held = held_out(club, error=ERROR, cap=60)
    capped = [one for one in held if one.value == 60]
    assert capped and not any(one.stopped for one in capped)
    assert all(one.covered == (one.high == 60) for one in capped)


def test_last_days_held_out_use_only_what_came_before() -> None:
    club = simulate(Club(children=14), seed=2)
    changed = [history(one.athlete, [*one.days[:-1], day_score(59, one.days[-1].on)]) for one in club]
    before, after = held_out(club, error=ERROR, cap=60), held_out(changed, error=ERROR, cap=60)
    assert [(one.low, one.high) for one in before] == [(one.low, one.high) for one in after]
    assert len(before) > 8
