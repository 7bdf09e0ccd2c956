"""The believed level of a child in words on the drawn card, for staff: fresh evidence only, and 'at least' said as such."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from assessments.progress_page import item_card
from assessments.reports import athlete_report
from tests import factories
from tests.assessments.number_story import day_on, hand_in
from tests.factories import TODAY

STOPPED = {"outcome": "chose_to_stop"}


@pytest.fixture
def club(cast, programme):
    cast.day = lambda weeks: day_on(weeks, cast.tigers, edition=programme)
    return cast


def held(club, *given, item="hollow_hold", variant="arms_by_side", **fields):
    """Mia's scores: (weeks ago, value) or (weeks ago, value, more fields)."""
    rows = [
        (club.day(weeks), club.mia, {"measure": item, "variant": variant, "value": value, **fields, **dict(*more)})
        for weeks, value, *more in given
    ]  # fmt: skip
    hand_in(club.director, rows)


def level(club, item="hollow_hold", on=TODAY):
    report = athlete_report(club.mia, on)
    return item_card(report, report.programme.item(item)).level


def test_two_days_make_one_level_that_stands_in_words(club, as_member):
    """By hand: the error at the mean of 23 s is 4.6 s. v = 21.16, eight weeks later 35.27, K = 0.625: 23.75 s, v = 13.2;
    a week later v = 15.0, so 3.9 s to each side."""
    held(club, (9, 20), (1, 26))
    assert level(club) == "Believed level today: about 24 s, likely between 20 and 28."
    url = reverse("assessments:child", args=[club.mia.code]) + "?item=hollow_hold"
    page = as_member(club.coach).get(url).content.decode()
    assert "Believed level today: about 24 s, likely between 20 and 28." in page
    assert "/guide/numbers/#level" in page
    assert as_member(club.guardian).get(url).status_code == 403
    assert as_member(club.other_coach).get(url).status_code == 404


def test_a_family_never_reads_a_level(club, as_member):
    held(club, (9, 20), (1, 26))
    for url in (reverse("club:home"), reverse("assessments:family_report_list", args=[club.mia.code])):
        assert "level today" not in as_member(club.guardian).get(url, follow=True).content.decode()


@pytest.mark.parametrize(("weeks", "shown"), [(16, True), (16.3, False)])
def test_evidence_that_is_too_old_is_no_level_of_today(club, weeks, shown):
    held(club, (weeks, 26))
    assert level(club).startswith("Believed level today: about 26 s") is shown
    assert shown or level(club) == ""


def test_nothing_tested_has_no_level(club):
    held(club, (2, 26))
    assert level(club, "front_support_hold") == ""


def test_days_at_the_cap_are_said_as_at_least(club):
    cap = {"outcome": "reached_cap"}
    top = athlete_report(club.mia, TODAY).programme.measures["hollow_hold"].cap
    held(club, (9, top, cap), (1, top, cap))
    assert level(club).startswith(f"Believed level today: {top:.0f} s or more, likely not under ")
    assert "between" not in level(club)


def test_five_of_five_is_all_there_is(club):
    five = {"outcome": "reached_cap"}
    held(club, (9, 5, five), (1, 5, five), item="stick_landings", variant="")
    assert level(club, "stick_landings").startswith("Believed level today: about 5 of 5, likely between ")
    assert level(club, "stick_landings").endswith("and 5.")


def test_a_stop_under_the_level_says_nothing_and_one_above_leaves_the_upper_end_open(club):
    held(club, (9, 20), (1, 26))
    plain = level(club)
    held(club, (0.5, 12, STOPPED))
    assert level(club).startswith("Believed level today: about 24 s, likely between ") and plain
    held(club, (0.3, 40, STOPPED))
    assert " s or more, likely not under " in level(club)


def test_a_fresh_stop_makes_no_old_day_fresh(club):
    held(club, (40, 30), (1, 8, STOPPED))
    assert level(club) == ""


def test_days_before_a_rest_ended_are_no_level(club):
    held(club, (9, 40), (1, 26))
    note = {"athlete": club.mia, "areas": ["lower_back"], "ended": True}
    ended = TODAY - timedelta(weeks=4)
    factories.RestNoteFactory(**note, opened_on=ended - timedelta(weeks=2), ended_on=ended)
    assert level(club).startswith("Believed level today: about 26 s"), "the newest day alone"
    factories.RestNoteFactory(**note, opened_on=TODAY - timedelta(days=2), ended_on=TODAY)
    assert level(club) == ""


def test_while_it_rests_there_is_no_level_of_today(club):
    held(club, (9, 20), (1, 26))
    factories.RestNoteFactory(athlete=club.mia, areas=["wrist"], opened_on=TODAY)
    assert level(club), "hollow hold loads no wrist"
    factories.RestNoteFactory(athlete=club.mia, areas=["lower_back"], opened_on=TODAY)
    assert level(club) == ""


def test_each_side_has_its_own(club):
    for side, value in (("left", 12), ("right", 20)):
        held(club, (2, value), item="single_leg_stance", variant="", side=side)
    said = level(club, "single_leg_stance")
    assert said.startswith("Believed level today: left about 12 s, likely between ")
    assert "; right about 20 s, likely between " in said


def test_of_several_versions_the_newest_is_named(club):
    held(club, (9, 50), variant="tucked")
    held(club, (1, 20))
    assert level(club).startswith("Believed level today, arms by the sides: about 20 s, likely between ")


def test_a_second_with_eight_clocks_is_no_level_below_nothing(club):
    """1 s less the lateness of eight clocks, 1.9 s, would be below 0."""
    held(club, (1, 1, {"at_once": 8}))
    assert level(club).startswith("Believed level today: about 0 s, likely between 0 and ")


def test_or_more_is_rounded_down(club):
    """30 s when the child stopped, then 10 s: the level lies under 20 s, and 'or more' claims no more than it."""
    held(club, (3, 30, STOPPED), (0, 10))
    words = level(club)
    assert "or more" in words and "20 s or more" not in words
