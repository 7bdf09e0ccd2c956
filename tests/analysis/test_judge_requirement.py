"""One requirement of one child: what is known, how sure, and why."""

from __future__ import annotations

from datetime import timedelta

import pytest

from assessments.analysis import interpret, judge
from assessments.analysis.records import ErrorModel, Requirement, RestSpell
from tests.analysis.small_club import BORN, MEASURES, MONDAY, child, frame, programme, shown, skill, trial

HOLLOW = Requirement("hollow_hold", 20)
SHAPE = Requirement("tuck", 7, "shape", must_have=("chin", "round"))
SIDES = Requirement("one_leg", 8, both_sides=True)


def state_of(requirement, *rows, week=1.0, risk="medium", edition=None, **facts):
    """The state of one requirement of Mia, so many weeks after MONDAY."""
    one = skill("skill", requirement, risk=risk, loads=facts.pop("loads", ()))
    plain = programme(one)
    edition = plain if edition is None else edition(plain)
    on = MONDAY + timedelta(days=round(7 * week))
    read = interpret(frame(rows), programme=edition, born_on={"mia": BORN, "abe": BORN}, on=on)
    (found,) = judge([one], read, programme=edition, child=child(**facts), on=on)
    return found.requirements[0]


@pytest.mark.parametrize(
    ("value", "word"), [(26, "met"), (25, "likely"), (20, "likely"), (19, "not_yet"), (0, "not_yet")]
)
def test_a_score_is_met_likely_or_not_yet(value, word):
    assert state_of(HOLLOW, trial(value), week=0).word == word


@pytest.mark.parametrize(("risk", "least"), [("low", 24), ("medium", 26), ("high", 27)])
def test_more_risk_asks_for_more_certainty(risk, least):
    assert state_of(HOLLOW, trial(least), week=0, risk=risk).word == "met"
    assert state_of(HOLLOW, trial(least - 1), week=0, risk=risk).word == "likely"


def test_the_error_is_that_of_a_child_at_the_threshold():
    def steep(plain):
        from dataclasses import replace

        return replace(plain, measures={"hollow_hold": replace(MEASURES[0], error=ErrorModel(2, 0.25))})

    assert state_of(HOLLOW, trial(26), week=0, edition=steep).probability == pytest.approx(0.8849, abs=5e-5)


def test_whole_counts_have_a_half_step():
    three = state_of(Requirement("landings", 3), trial(3, item="landings"), week=0)
    assert three.probability == pytest.approx(0.7340, abs=5e-5)


def test_the_state_carries_its_evidence():
    found = state_of(HOLLOW, trial(25), trial(26, week=1), week=3)
    assert (found.value, found.on, found.weeks_old, found.days, found.series, found.confidence) == (
        26.0, MONDAY + timedelta(weeks=1), 2.0, 2, "v1", 0.85,
    )  # fmt: skip
    assert found.reason == "Hollow hold asks for 20 s; 26 s on 9 Mar 2026, 91 % sure, 85 % asked for."
    assert found.one_more == "Next test: 21 s or more would keep it met."


def test_a_familiarisation_day_is_no_evidence():
    found = state_of(HOLLOW, trial(50, familiarisation=True))
    assert (found.word, found.value, found.reason) == (
        "not_known",
        None,
        "Hollow hold asks for 20 s; not seen yet.",
    )
    assert found.one_more == "A test would start it: 26 s or more would be enough."


def test_another_protocol_version_is_no_evidence():
    assert state_of(HOLLOW, trial(50, series="v2")).word == "not_known"


@pytest.mark.parametrize(
    ("variant", "word"), [("knees", "not_known"), ("toes", "met"), ("feet_high", "met"), ("odd", "not_known")]
)
def test_the_variant_asked_for_or_a_harder_one_counts(variant, word):
    asked = Requirement("support", 20, variant="toes")
    assert state_of(asked, trial(40, item="support", series=f"v1:{variant}")).word == word


def test_without_a_variant_asked_for_the_best_series_counts():
    rows = [trial(10, item="support", series="v1:feet_high"), trial(40, item="support", series="v1:knees")]
    found = state_of(Requirement("support", 20), *rows)
    assert (found.word, found.series) == ("met", "v1:knees")


def test_a_variant_the_measure_does_not_know_is_never_met():
    assert (
        state_of(
            Requirement("support", 20, variant="gone"), trial(40, item="support", series="v1:toes")
        ).value
        is None
    )


@pytest.mark.parametrize(("days", "word"), [(112, "likely"), (113, "not_known")])
def test_evidence_expires_after_sixteen_weeks(days, word):
    found = state_of(HOLLOW, trial(26), week=days / 7)
    assert found.word == word
    assert ("is more than 16 weeks old" in found.reason) == (word == "not_known")


@pytest.mark.parametrize(
    ("loads", "risk", "days", "word"),
    [
        (("wrist",), "high", 56, "likely"),
        (("wrist",), "high", 57, "not_known"),
        (("neck",), "high", 57, "not_known"),
        (("knee",), "high", 57, "likely"),
        (("wrist",), "medium", 57, "met"),
    ],
)
def test_careful_skills_ask_for_fresher_evidence(loads, risk, days, word):
    assert state_of(HOLLOW, trial(27), week=days / 7, risk=risk, loads=loads).word == word


def left(value, **changes):
    return trial(value, item="one_leg", side="left", **changes)


def right(value, **changes):
    return trial(value, item="one_leg", side="right", **changes)


def test_the_weaker_side_decides():
    found = state_of(SIDES, left(30), right(9), week=0)
    assert (found.word, found.side, found.value) == ("likely", "right", 9)
    assert "9 s on 2 Mar 2026, right side" in found.reason


def test_one_side_alone_is_not_known():
    found = state_of(SIDES, left(30), week=0)
    assert found.word == "not_known"
    assert found.reason.endswith("left side counts, but the other side has no score that still does.")


def test_an_old_side_makes_the_pair_not_known():
    assert state_of(SIDES, left(30), right(30, week=16), week=17).word == "not_known"


def test_the_sides_of_different_variants_are_never_a_pair():
    rows = [left(30, series="v1:open"), right(30, series="v1:closed")]
    assert state_of(SIDES, *rows, week=0).word == "not_known"


def test_without_both_sides_asked_for_the_better_side_counts():
    found = state_of(Requirement("one_leg", 8), left(4), right(30), week=0)
    assert (found.word, found.side) == ("met", "right")


@pytest.mark.parametrize(
    ("rows", "word"),
    [
        ([shown(), shown(week=1)], "met"),
        ([shown()], "likely"),
        ([shown(1), shown(week=1)], "likely"),
        ([shown(), shown(1, week=1)], "not_yet"),
        ([shown(week=1), shown(week=1, second=True, judge="other")], "met"),
        ([shown(week=1), shown(1, week=1, second=True, judge="other")], "likely"),
        ([shown(week=1), shown(week=1, second=True, judge="coach")], "likely"),
        ([shown(), shown(None, week=1)], "likely"),
    ],
)
def test_must_haves_take_two_days_or_two_coaches(rows, word):
    assert state_of(SHAPE, *rows).word == word


@pytest.mark.parametrize("names", [("a", "b"), ("b", "a")])
def test_of_two_days_on_one_date_both_have_to_show_the_must_haves(names):
    """Equal totals, and the names of days are chance."""
    whole, lacking = shown(2, 2, 1, day=names[0]), shown(2, 1, 2, day=names[1])
    lacking["levels"] |= {"still": 0}
    lacking["value"] = whole["value"] = 7.0
    assert state_of(SHAPE, whole, lacking).word == "not_yet"
    assert state_of(SHAPE, shown(day=names[0]), shown(day=names[1])).word == "likely", "one date is one day"
    assert state_of(SHAPE, shown(week=-2), whole, lacking, shown(week=1)).word == "likely"


def test_must_haves_say_what_is_missing():
    once, gone = state_of(SHAPE, shown()), state_of(SHAPE, shown(), shown(1, week=1))
    assert once.reason.endswith("Chin, Round on their own once; it takes two days or two coaches.")
    assert once.one_more == "Wanted on their own once more: Chin, Round."
    assert gone.reason.endswith("Chin, Round not yet on their own.")
    assert gone.one_more == "Wanted on their own on two days: Chin, Round."


def test_a_low_total_is_not_yet_whatever_the_must_haves():
    low = [shown(2, 2, 0), shown(2, 2, 0, week=1)]
    assert state_of(SHAPE, *low).word == "not_yet"


def test_advice_never_decides_but_is_shown():
    soft = Requirement("hollow_hold", 20, soft_under=7)
    found = state_of(soft, trial(5))
    assert (found.word, found.one_more) == ("advice", "")
    assert "Advice only under 7" in found.reason
    assert state_of(soft, trial(5), born_on=BORN.replace(year=2018)).word == "not_yet"


def test_a_rest_note_on_what_the_measure_loads_pauses_it():
    resting = RestSpell(("lower_back",), MONDAY)
    found = state_of(HOLLOW, trial(40), rests=(resting,))
    assert (found.word, found.one_more) == ("resting", "")
    assert found.reason.endswith("Paused by a rest note.")
    assert state_of(HOLLOW, trial(40), rests=(RestSpell(("wrist",), MONDAY),)).word == "met"
    assert state_of(HOLLOW, trial(40), rests=(RestSpell(("head",), MONDAY),)).word == "resting"


def test_what_was_measured_before_a_rest_ended_does_not_count():
    rest = RestSpell(("lower_back",), MONDAY, MONDAY + timedelta(days=6))
    before = state_of(HOLLOW, trial(40), rests=(rest,))
    assert (before.word, before.value) == ("not_known", 40)
    assert "was before the rest that ended on 8 Mar 2026" in before.reason
    after = state_of(HOLLOW, trial(40), trial(21, week=1), rests=(rest,))
    assert (after.word, after.days) == ("likely", 1)
    elsewhere = RestSpell(("wrist",), MONDAY, MONDAY + timedelta(days=6))
    assert state_of(HOLLOW, trial(40), rests=(elsewhere,)).word == "met"


@pytest.mark.parametrize(("ended", "word"), [(6, "met"), (7, "met"), (8, "resting")])
def test_the_day_on_which_a_rest_ends_is_free_again(ended, word):
    rest = RestSpell(("lower_back",), MONDAY, MONDAY + timedelta(days=ended))
    assert state_of(HOLLOW, trial(40, week=1), rests=(rest,), week=1).word == word


def test_a_rest_that_has_not_begun_changes_nothing():
    rest = RestSpell(("lower_back",), MONDAY + timedelta(weeks=2))
    assert state_of(HOLLOW, trial(40), rests=(rest,)).word == "met"


def test_reaching_the_cap_counts_as_at_least_the_cap():
    found = state_of(HOLLOW, trial(60, outcome="reached_cap"))
    assert (found.word, found.at_least) == ("met", True)
    assert "at least 60 s" in found.reason


def test_choosing_to_stop_under_the_line_says_nothing():
    found = state_of(HOLLOW, trial(6, outcome="chose_to_stop"))
    assert (found.word, found.days) == ("not_known", 0)
    assert "at least 6 s on 2 Mar 2026 may have been more, so it says nothing yet" in found.reason


def test_choosing_to_stop_never_undoes_what_was_seen():
    before = state_of(HOLLOW, trial(26))
    after = state_of(HOLLOW, trial(26), trial(3, week=1, outcome="chose_to_stop"))
    assert after == before


def test_choosing_to_stop_does_not_keep_old_evidence_fresh():
    stopped = trial(3, week=16, outcome="chose_to_stop")
    found = state_of(HOLLOW, trial(26), stopped, week=17)
    assert (found.word, found.value) == ("not_known", 26)


def test_choosing_to_stop_over_the_line_helps():
    alone = state_of(HOLLOW, trial(22))
    helped = state_of(HOLLOW, trial(22), trial(30, week=1, outcome="chose_to_stop"))
    assert helped.probability > alone.probability


def test_close_to_the_line_with_many_clocks_asks_for_a_single_try():
    found = state_of(HOLLOW, trial(21, at_once=6), week=0)
    assert found.one_more == "Timed with 5 others and close to the line: take it once alone."
    assert state_of(HOLLOW, trial(21, at_once=4), week=0).one_more.startswith("Next test:")
    assert state_of(HOLLOW, trial(24, at_once=6), week=0).one_more.startswith("Next test:")


def test_several_clocks_make_the_state_less_sure():
    alone, many = (state_of(HOLLOW, trial(26, at_once=n), week=0).probability for n in (1, 8))
    assert many < alone


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (25, "Next test: 23 s or more would meet it."),
        (18, "Next test: 30 s or more would meet it."),
        (2, "One more test will hardly settle it; it takes several."),
        (30, "Next test: 18 s or more would keep it met."),
        (60, "Next test: any score would keep it met."),
    ],
)
def test_one_more_test_is_spelt_out(value, words):
    assert state_of(HOLLOW, trial(value), week=0).one_more == words


def test_what_one_more_test_promises_comes_true():
    promised = state_of(HOLLOW, trial(22), week=4).one_more
    least = int(promised.removeprefix("Next test: ").split(" s")[0])
    assert state_of(HOLLOW, trial(22), trial(least, week=4), week=4).word == "met"
    assert state_of(HOLLOW, trial(22), trial(least - 1, week=4), week=4).word == "likely"


def test_one_more_test_may_not_be_enough():
    short = state_of(Requirement("landings", 4), trial(0, item="landings"), week=0)
    assert short.one_more == "One more test will hardly settle it; it takes several."
    unseen = state_of(Requirement("landings", 5), week=0)
    assert unseen.one_more == "A test would start it: it would take more than one."


def test_a_score_that_stands_exactly_on_the_line_is_likely():
    assert state_of(HOLLOW, trial(20), week=12).probability == 0.5
    assert state_of(HOLLOW, trial(20), week=12).word == "likely"
