"""Forecasts and amounts for one day promise nothing: what the state says stands beside them, and must-haves decide."""

from __future__ import annotations

from dataclasses import replace

import pytest
from django.urls import reverse

from assessments import numbers as door
from assessments.analysis import Forecast
from assessments.analysis.records import RequirementState
from assessments.number_pages import forecast_line
from assessments.number_words import forecast_words
from assessments.numbers import RequirementForecast
from assessments.programme_file import starter
from assessments.progress_page import skill_card
from assessments.reports import athlete_report
from tests.assessments.number_story import children_of, day_on, hand_in, judged
from tests.factories import TODAY

EDITION = starter()


@pytest.fixture
def club(cast, programme):
    """Mia and eight others: tuck 8 of 10 on four days, the chin never, and hollow about 21 s; 20 s is asked."""
    days = [day_on(weeks, cast.tigers, edition=programme) for weeks in (24, 16, 8, 1)]
    names = [one.id for one in EDITION.shapes["tuck"].criteria]
    levels = [0 if name == "chin" else 2 for name in names]
    rows = []
    for place, child in enumerate([cast.mia, *children_of(cast.tigers, 8)]):
        for turn, day in enumerate(days):
            rows.append((day, child, judged("tuck", levels, cast.coach)))
            rows.append((day, child, {"value": 20 + (place + turn) % 3}))
    hand_in(cast.director, rows)
    return cast


def expected(child, skill, item):
    found = door.skill_forecasts(athlete_report(child, TODAY), skill)
    return next(forecast_line(one) for one in found if one.requirement.item == item)


def test_a_level_that_is_there_already_says_what_the_state_says_and_promises_nothing(club):
    line = expected(club.mia, "back_hip_circle", "hollow_hold")
    assert line.found.found.word == "now"
    state = line.found.state
    assert 0.5 < state.probability < state.confidence
    assert line.words.startswith("Hollow hold, 20 s: the level is expected there already. Now: ")
    assert f"{round(100 * state.probability)} % sure, 90 % asked for." in line.words
    assert line.words.endswith(state.one_more) and state.one_more


def test_where_a_must_have_is_missing_it_decides_whatever_the_total(club):
    line = expected(club.mia, "candlestick", "tuck")
    assert (line.found.found.word, line.found.state.word) == ("now", "not_yet")
    assert line.found.state.probability > line.found.state.confidence
    assert line.words.startswith(
        "Tuck, 7 of 10: the total is expected there already. A must-have decides. Now: 8 of 10 on "
    )
    assert "not yet on their own." in line.words and "Wanted on their own on two days" in line.words


def test_no_page_says_that_one_day_makes_it_sure(club, as_member):
    for skill in ("back_hip_circle", "candlestick"):
        url = reverse("assessments:skill_forecast", args=[club.mia.code, skill])
        page = as_member(club.coach).get(url, headers={"HX-Request": "true"}).content.decode()
        assert "expected there already" in page and "make it sure" not in page


def test_a_must_have_seen_once_decides_over_a_total_that_is_sure():
    spec = EDITION.shapes["tuck"]
    asked = next(one for one in EDITION.skills["candlestick"].requirements if one.item == "tuck")
    now = Forecast("now", TODAY, TODAY, TODAY, (), 5, 9, None, "")
    for word, chance, decides in (("likely", 0.9, True), ("likely", 0.7, False), ("not_yet", 0.4, False)):
        state = RequirementState(
            asked, word, chance, 0.75, 8, "", TODAY, 0, 3, False, "Tuck asks for 7; seen.", ""
        )
        assert ("A must-have decides." in forecast_words(spec, state, now)) is decides


def test_a_date_for_a_total_is_no_date_for_its_must_haves(club):
    one = expected(club.mia, "candlestick", "tuck").found
    later = Forecast("within", TODAY, TODAY, None, (), 5, 9, None, "")
    words = forecast_line(replace(one, found=later)).words
    names = ", ".join(c.name for c in EDITION.shapes["tuck"].criteria if c.id in ("chin", "round"))
    assert words.endswith(f" That is the total alone: {names} must be there on their own too.")
    hollow = expected(club.mia, "back_hip_circle", "hollow_hold").found
    assert "alone" not in forecast_line(RequirementForecast(hollow.spec, hollow.state, later)).words


# --- what one test day alone would need ----------------------------------------------------------------


def one_day(club, skill, item):
    report = athlete_report(club.mia, TODAY)
    card = skill_card(report, report.skill(skill))
    return next(one.one_day for one in card.requirements if one.state.requirement.item == item)


def test_a_low_risk_measure_needs_one_day(club):
    """By hand: 8 s, error 2 s, 75 %: 8 + 0.6745 * 2 = 9.3 s."""
    assert one_day(club, "candlestick", "hollow_hold") == (
        "One day alone needs 10 s: 8 s and a margin for the test’s noise."
    )


def test_a_high_risk_skill_takes_two_days(club):
    """By hand: 20 s, error 4 s, 90 %: 20 + 1.2816 * 4 = 25.1 s."""
    assert one_day(club, "back_hip_circle", "hollow_hold") == (
        "One day alone is never enough: it needs 26 s (20 s and a margin for the test’s noise), and another day with 20 s "
        "or more that keeps it so, 7 or more days apart."
    )


def test_must_haves_take_two_days_or_two_coaches(club):
    said = one_day(club, "candlestick", "tuck")
    names = ", ".join(c.name for c in EDITION.shapes["tuck"].criteria if c.id in ("chin", "round"))
    assert said == (
        f"One day alone needs 8 of 10 (7 of 10 and a margin for the test’s noise) and two coaches who see this on "
        f"their own: {names}. With one coach it takes two days."
    )


def test_both_at_once_take_two_days(club):
    """By hand: 7 of 10 is a line at 6.5, error 1, 90 %: 6.5 + 1.2816 = 7.8."""
    assert one_day(club, "back_hip_circle", "hollow") == (
        "One day alone is never enough: it needs 8 of 10 (7 of 10 and a margin for the test’s noise), and another day with "
        "7 of 10 or more that keeps it so, 7 or more days apart. On both days, or for two coaches, this on their own: "
        "Lower back on the mat."
    )


def test_an_error_of_the_clubs_own_takes_students_t(club):
    """From 15 children t(0.90, 14) = 1.345 in place of 1.282: 20 + 1.345 * 4 = 25.4 s; from 3 children 1.886: 27.5 s."""
    report = athlete_report(club.mia, TODAY)
    spec = report.programme.measures["hollow_hold"]
    for children, needs in ((15, "26 s"), (3, "28 s")):
        own = replace(spec, error=replace(spec.error, support="derived", children=children))
        edition = replace(report.programme, measures={**report.programme.measures, "hollow_hold": own})
        card = skill_card(replace(report, programme=edition), report.skill("back_hip_circle"))
        said = next(one.one_day for one in card.requirements if one.state.requirement.item == "hollow_hold")
        assert f"it needs {needs} (20 s" in said
