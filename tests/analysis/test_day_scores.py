"""Trials of a day become one score by the rule of the measure."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.analysis.scoring import EVIDENCE, day_scores, series_parts
from tests.analysis.small_club import MONDAY, frame, measure, programme, shown, trial

ON = MONDAY + timedelta(weeks=20)


def scores(*rows):
    return day_scores(frame(rows), programme(), on=ON)


def one(*rows):
    """The only score of these rows: value, at least, outcome, trials."""
    found = scores(*rows)
    assert len(found) == 1
    return found.value[0], bool(found.at_least[0]), EVIDENCE[found.outcome[0]], int(found.trials[0])


def test_best_takes_the_better_of_two():
    assert one(trial(12), trial(15, trial=2)) == (15, False, "scored", 2)


def test_first_takes_the_first_that_ended_in_a_value():
    rows = [trial(None, item="support", outcome="interrupted"), trial(9, item="support", trial=2)]
    assert one(*rows) == (9, False, "scored", 1)


def test_mean_takes_the_mean():
    assert one(trial(2, item="reach"), trial(5, item="reach", trial=2)) == (3.5, False, "scored", 2)


def test_sum_takes_the_sum():
    assert one(trial(4, item="landings")) == (4, False, "scored", 1)


def test_a_sum_with_a_trial_missing_is_no_evidence():
    two = programme(measures={"landings": measure("landings", combine="sum", attempts=2)})
    alone, both = trial(2, item="landings"), trial(1, item="landings", trial=2)
    assert len(day_scores(frame([alone]), two, on=ON)) == 0
    assert day_scores(frame([alone, both]), two, on=ON).value.tolist() == [3]


def test_a_third_good_try_never_makes_best_of_three():
    assert one(trial(12), trial(15, trial=2), trial(40, trial=3))[0] == 15


def test_a_lost_try_may_be_repeated():
    lost = trial(None, trial=2, outcome="interrupted")
    assert one(trial(12), lost, trial(40, trial=3)) == (40, False, "scored", 2)


@pytest.mark.parametrize("outcome", ["not_attempted", "stopped_for_pain", "interrupted"])
def test_what_did_not_end_in_a_value_is_no_evidence(outcome):
    assert len(scores(trial(None, outcome=outcome))) == 0
    assert one(trial(7), trial(None, trial=2, outcome=outcome))[0] == 7


def test_tried_and_could_not_start_is_zero():
    assert one(trial(None, outcome="could_not_start")) == (0, False, "could_not_start", 1)
    assert one(trial(None, outcome="could_not_start"), trial(6, trial=2))[:3] == (6, False, "scored")


def test_scored_without_a_value_is_no_evidence():
    assert len(scores(trial(None))) == 0
    assert len(scores(trial(float("nan")))) == 0
    assert len(scores(trial(float("inf")))) == 0


def test_reached_cap_is_at_least_the_cap():
    assert one(trial(60, outcome="reached_cap")) == (60, True, "reached_cap", 1)
    assert one(trial(None, outcome="reached_cap")) == (60, True, "reached_cap", 1)
    assert len(scores(trial(None, item="reach", outcome="reached_cap"))) == 0


def test_chose_to_stop_is_at_least_the_value_only_when_it_decides():
    assert one(trial(20, outcome="chose_to_stop"), trial(12, trial=2))[:3] == (20, True, "chose_to_stop")
    assert one(trial(20), trial(12, trial=2, outcome="chose_to_stop"))[:3] == (20, False, "scored")
    assert one(trial(20), trial(20, trial=2, outcome="chose_to_stop"))[:3] == (20, True, "chose_to_stop")


def test_a_mean_with_a_bound_in_it_is_a_bound():
    rows = [trial(2, item="reach"), trial(5, item="reach", trial=2, outcome="chose_to_stop")]
    assert one(*rows) == (3.5, True, "chose_to_stop", 2)


def test_an_unsettled_conflict_leaves_the_day_without_a_score():
    doubled = [trial(12, conflict=True), trial(20, conflict=True), trial(15, trial=2)]
    assert len(scores(*doubled)) == 0
    assert len(scores(*doubled, trial(9, week=1))) == 1
    both_lost = [trial(None, outcome="interrupted", conflict=True), trial(20, conflict=True)]
    assert len(scores(*both_lost)) == 0


def test_a_conflict_beyond_the_trials_that_count_does_no_harm():
    late = [trial(30, trial=3, conflict=True), trial(31, trial=3, conflict=True)]
    assert one(trial(12), trial(15, trial=2), *late)[0] == 15


def test_the_better_attempt_at_a_shape_stands_as_a_whole():
    found = scores(shown(2, 0, 1), shown(1, 2, 2, trial=2), shown(2, 2, 2, trial=3))
    assert found.value.tolist() == [9]
    assert found.levels[0]["chin"] == 1


def test_a_shape_with_a_criterion_not_seen_is_no_evidence():
    assert len(scores(shown(None))) == 0
    assert scores(shown(None), shown(1, trial=2)).value.tolist() == [9]


def test_a_second_look_is_kept_beside_and_never_scored():
    found = scores(shown(2), shown(0, 0, 0, second=True, judge="other"))
    assert found.value.tolist() == [10]
    assert found.second_levels[0]["chin"] == 0


@pytest.mark.parametrize(
    "look",
    [
        shown(second=True, judge="coach"),
        shown(second=True, judge="other", week=3),
        shown(second=True, judge="other", athlete="abe"),
        trial(None, item="tuck", second=True, judge="other", outcome="interrupted"),
        trial(9.0, item="tuck", second=True, judge="other"),
        shown(second=True, judge=""),
        shown(second=True, judge="other", conflict=True),
    ],
    ids=["same coach", "other day", "other child", "no value", "no levels", "unknown coach", "not settled"],
)
def test_a_second_look_that_cannot_be_matched_is_passed_over(look):
    assert scores(shown(), look).second_levels == {}


def test_a_second_look_counts_only_beside_a_first_coach_who_is_known():
    assert scores(shown(judge=""), shown(second=True, judge="other")).second_levels == {}


def test_of_several_second_looks_the_lowest_level_stands_in_any_order():
    looks = [shown(2, 1, second=True, judge="other"), shown(1, 2, second=True, judge="third")]
    unseen = shown(None, 2, second=True, judge="fourth")
    for order in (looks, looks[::-1]):
        found = scores(shown(), *order).second_levels[0]
        assert (found["chin"], found["round"], found["heels"]) == (1, 1, 2)
        assert scores(shown(), unseen, *order).second_levels[0]["chin"] is None


def test_looks_without_a_total_are_kept_apart_oldest_first():
    rows = [
        shown(),
        shown(None, 1, week=4),
        shown(None, 0, week=2),
        shown(None, 0, week=3, familiarisation=True),
        shown(None, 0, week=3, second=True, judge="other"),
        shown(None, 0, week=3, conflict=True),
        shown(None, 0, week=3, outcome="interrupted"),
        shown(None, 0, week=40),
        trial(None, item="tuck", week=3),
    ]
    (looks,) = scores(*rows).partial_looks.values()
    assert [(look.levels["chin"], look.levels["round"]) for look in looks] == [(None, 0), (None, 1)]


def test_a_stop_with_several_clocks_is_late_and_the_cap_is_not():
    """Mean lateness by the model of several clocks: 2.15 s with eight, 1.50 with four, 0.27 watched alone."""
    late = [
        round(float(scores(trial(20, at_once=clocks, **how)).late[0]), 2)
        for clocks, how in (
            (1, {}),
            (4, {}),
            (8, {}),
            (8, {"outcome": "chose_to_stop"}),
            (8, {"outcome": "reached_cap"}),
            (8, {"outcome": "could_not_start"}),
            (8, {"item": "landings"}),
        )
    ]
    assert late == [0, 1.23, 1.88, 1.88, 0, 0, 0]
    assert scores(trial(20, at_once=8)).held.tolist() == [pytest.approx(18.12)]
    assert scores(trial(20, at_once=8)).value.tolist() == [20]


def test_the_first_scored_day_of_each_series_is_a_first_look():
    found = scores(
        trial(3, week=0, familiarisation=True), trial(8, week=2), trial(9, week=4), trial(5, week=4, side="left"),
        trial(5, week=4, series="v1:tucked"), trial(5, week=6, athlete="abe", familiarisation=True),
    )  # fmt: skip
    rows = [(float(value), bool(first)) for value, first in zip(found.value, found.first_look, strict=True)]
    assert sorted(rows) == [(3, False), (5, False), (5, True), (5, True), (8, True), (9, False)]


def test_several_clocks_widen_the_error_of_holds_only():
    one_clock, eight = scores(trial(20)).sem[0], scores(trial(20, at_once=8)).sem[0]
    assert (one_clock, eight) == (5.0, pytest.approx((25 + 0.98**2 - 0.06**2) ** 0.5))
    assert scores(trial(4, item="landings", at_once=8)).sem[0] == pytest.approx(0.8)
    assert scores(trial(20, at_once=12)).sem[0] > eight
    assert scores(trial(20, at_once=0)).sem[0] == 5.0


def test_the_clocks_of_the_deciding_trial_count():
    assert scores(trial(20), trial(12, trial=2, at_once=8)).at_once.tolist() == [1]
    means = [trial(2, item="reach", at_once=2), trial(5, item="reach", trial=2, at_once=3)]
    assert scores(*means).at_once.tolist() == [3]


def test_days_after_the_reading_are_not_known_yet():
    rows = frame([trial(10), trial(20, week=2)])
    assert day_scores(rows, programme(), on=MONDAY + timedelta(days=13)).value.tolist() == [10]


def test_an_item_outside_the_edition_is_left_out():
    assert scores(trial(10, item="old_measure"), trial(12)).value.tolist() == [12]


@given(st.permutations(range(4)))
def test_the_order_of_rows_does_not_matter(order):
    rows = [
        trial(12),
        trial(15, trial=2),
        trial(9, week=1),
        trial(None, week=1, trial=2, outcome="interrupted"),
    ]
    found = scores(*(rows[place] for place in order))
    assert (found.value.tolist(), found.trials.tolist()) == ([15, 9], [2, 1])


@given(st.integers(0, 59), st.integers(0, 59))
def test_a_worse_second_trial_changes_nothing_but_the_count(first, second):
    worse, better = sorted((first, second))
    alone, both = one(trial(better)), one(trial(better), trial(worse, trial=2))
    assert both == (*alone[:3], 2)


@pytest.mark.parametrize(("text", "parts"), [("v1", (1, "")), ("v12:feet_high", (12, "feet_high"))])
def test_a_series_names_version_and_variant(text, parts):
    assert series_parts(text) == parts


@pytest.mark.parametrize("text", ["", "1", "v", "vx:tucked", "tucked"])
def test_a_series_written_otherwise_is_refused(text):
    with pytest.raises(ValueError, match="a series is written"):
        series_parts(text)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([trial(10, athlete=None)], "a trial without athlete"),
        ([trial(10, item=None)], "a trial without item"),
        ([trial(10, side="both")], "side is one of"),
        ([trial(10, trial=-1)], "a trial number"),
        ([trial(10, trial=1000)], "a trial number"),
        ([trial(10), trial(10, week=1, day="day 0")], "a day has one date"),
    ],
)
def test_a_frame_that_makes_no_sense_is_refused(rows, words):
    with pytest.raises(ValueError, match=words):
        scores(*rows)


def test_an_empty_frame_gives_no_scores():
    assert len(scores()) == 0


def test_marks_are_true_or_false_and_nothing_else():
    found = scores(trial(60, outcome="reached_cap"), trial(20, week=1))
    for marks in (found.at_least, found.first_look, found.familiarisation):
        assert marks.dtype == bool


def test_categories_and_plain_words_give_the_same():
    rows = [trial(12), trial(15, trial=2, form_break="low back"), shown(), trial(9, week=1, athlete="abe")]
    plain = frame(rows)
    coded = plain.astype(
        dict.fromkeys(("athlete", "item", "series", "side", "day", "outcome", "form_break"), "category")
    )
    a, b = (day_scores(one, programme(), on=ON) for one in (plain, coded))
    assert (a.athletes, a.value.tolist(), a.form_break.tolist()) == (
        b.athletes,
        b.value.tolist(),
        b.form_break.tolist(),
    )
