"""Ten shared examples: a coach beside the agreed totals, a proposal, and a director who says yes or no."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments import coach_calibration as door
from club.models import AuditEntry, Calibration, ExampleSet
from tests import factories
from tests.conftest import viewer_of
from tests.factories import TODAY

AGREED = [3, 3, 4, 5, 6, 7, 7, 6, 5, 6]
CLOSE = [3, 3, 4, 5, 6, 7, 6, 6, 7, 5]
FAR = [total + 2 for total in AGREED]
YEAR_ON = TODAY.replace(year=TODAY.year + 1)


def at(name, row=None):
    return reverse(f"assessments:{name}", args=[row.code] if row is not None else [])


def typed(totals, **more):
    return {f"total_{number}": str(total) for number, total in enumerate(totals, 1)} | more


@pytest.fixture
def club(cast, programme):
    cast.ten = factories.ExampleSetFactory(title="Drawings, autumn", made_by=cast.director)
    return cast


def scored(club, coach, totals, **facts):
    return factories.CalibrationFactory(examples=club.ten, coach=coach, totals=totals, **facts)


def text(answer):
    return answer.content.decode()


# --- what is typed --------------------------------------------------------------------------------------


def test_ten_agreed_totals_then_a_coachs_own_then_both_side_by_side(club, as_member):
    director = as_member(club.director)
    answer = director.post(at("examples_add"), typed(AGREED, shape="tuck", title="Live, May"))
    made = ExampleSet.objects.get(shape="tuck")
    assert (made.agreed, made.agreed_on, made.made_by) == (AGREED, TODAY, club.director)
    assert answer.url == at("examples_score", made)
    answer = director.post(answer.url, typed(CLOSE, coach=str(club.coach.code)))
    row = Calibration.objects.get()
    assert (row.examples, row.coach, row.totals, row.word) == (made, club.coach, CLOSE, "waiting")
    page = text(director.get(answer.url))
    assert "7 of 10 the same, 9 within one point." in page
    # Differences -1, 2, -1: mean 0, SD sqrt(6 / 9), t = 1.833.
    assert "On average as agreed (between −0.5 and +0.5)" in page
    assert (
        "with a spread of 0.8. Close is an average within 0.7 and a spread within 1.0 points." in page
        and "Live, May" in page
    )
    assert "calibrated until 25 November 2027?" in page


def test_a_coach_neither_looks_nor_writes(club, as_member):
    row, coach = scored(club, club.coach, CLOSE), as_member(club.coach)
    for name, about in (
        ("calibration_list", None), ("examples_add", None), ("examples_score", club.ten), ("calibration", row),
    ):  # fmt: skip
        assert coach.get(at(name, about)).status_code == 403, name
    for name, about in (
        ("examples_add", None), ("examples_score", club.ten), ("calibration_decide", row), ("examples_remove", club.ten),
    ):  # fmt: skip
        told = typed(CLOSE, coach=str(club.coach.code), shape="tuck", title="Mine", word="confirm")
        assert coach.post(at(name, about), told).status_code == 403, name
    assert (ExampleSet.objects.count(), Calibration.objects.count()) == (1, 1)
    club.coach.refresh_from_db()
    assert club.coach.calibrated_until is None
    assert as_member(club.director).get(at("calibration", row)).status_code == 200


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("", "Example 4 has no total yet."),
        ("11", "Example 4: between 0 and 10."),
        ("-1", "Example 4: between 0 and 10."),
        ("5.5", "Example 4: a whole number."),
        ("six", "Example 4: a whole number."),
    ],
)
@pytest.mark.parametrize("name", ["examples_add", "examples_score"])
def test_an_error_names_the_example_and_nothing_typed_is_lost(club, as_member, name, wrong, said):
    about = club.ten if name == "examples_score" else None
    more = {"coach": str(club.coach.code)} if about else {"shape": "tuck", "title": "Live, May"}
    answer = as_member(club.director).post(
        at(name, about), typed(CLOSE, **more) | {"total_4": wrong, "total_7": "9"}
    )
    assert answer.status_code == 422
    page = text(answer)
    assert said in page and page.count('aria-invalid="true"') == 1
    assert 'name="total_7" value="9"' in page
    assert (f'value="{club.coach.code}" selected' if about else 'value="Live, May"') in page
    assert (ExampleSet.objects.count(), Calibration.objects.count()) == (1, 0)


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (typed(CLOSE, shape="hollow", title="Drawings, autumn"), "ten examples of that name already"),
        (typed([6] * 10, shape="hollow", title="All alike"), "All ten totals are the same"),
        (typed(CLOSE, shape="nothing", title="Odd"), "Select a valid choice"),
        (typed(CLOSE, shape="hollow", title=""), "This field is required"),
    ],
)
def test_examples_that_cannot_be_are_refused(club, as_member, told, said):
    answer = as_member(club.director).post(at("examples_add"), told)
    assert answer.status_code == 422 and said in text(answer)
    assert ExampleSet.objects.count() == 1
    told |= typed(CLOSE, shape="tuck", title="Fine")
    assert as_member(club.director).post(at("examples_add"), told).status_code == 302


def test_only_staff_can_be_the_coach_and_the_agreed_totals_stay_hidden_until_then(club, as_member):
    page = text(as_member(club.director).get(at("examples_score", club.ten)))
    assert "Ines Marlow" in page and "Dagny Ferris" in page and "Pat Alder" not in page
    assert "Agreed</th>" not in page and "so that nobody leans on them" in page
    told = typed(CLOSE, coach=str(club.guardian.code))
    answer = as_member(club.director).post(at("examples_score", club.ten), told)
    assert answer.status_code == 422 and "Choose a coach." in text(answer)
    told["coach"] = str(club.coach.code)
    assert as_member(club.director).post(at("examples_score", club.ten), told).status_code == 302


def test_a_set_may_go_while_nobody_has_scored_it(club, as_member):
    director = as_member(club.director)
    unscored = factories.ExampleSetFactory(title="Typed wrong")
    scored(club, club.coach, CLOSE)
    assert "Remove these ten" in text(director.get(at("examples_score", unscored)))
    assert "Remove these ten" not in text(director.get(at("examples_score", club.ten)))
    director.post(at("examples_remove", unscored))
    page = text(director.post(at("examples_remove", club.ten), follow=True))
    assert "they stay as they are" in page
    assert list(ExampleSet.objects.all()) == [club.ten]


# --- the director's word --------------------------------------------------------------------------------


def test_nothing_is_adopted_until_the_director_confirms(club, as_member):
    row, director = scored(club, club.coach, CLOSE), as_member(club.director)
    director.get(at("calibration", row))
    club.coach.refresh_from_db()
    assert club.coach.calibrated_until is None
    director.post(at("calibration_decide", row), {})
    row.refresh_from_db()
    assert row.word == "waiting", "no button, no word"
    director.post(at("calibration_decide", row), {"word": "confirm"})
    row.refresh_from_db(), club.coach.refresh_from_db()
    assert (row.word, row.until, row.decided_by) == ("confirmed", YEAR_ON, club.director)
    assert club.coach.calibrated_until == YEAR_ON
    assert AuditEntry.objects.about(club.coach.code).filter(verb="calibrated a coach").count() == 1
    page = text(director.get(at("calibration", row)))
    assert "Confirmed until 25 November 2027, said by Dagny Ferris." in page
    assert "Confirm until" not in page


def test_declined_leaves_the_day_as_it_was_and_stays_in_the_history(club, as_member):
    row, director = scored(club, club.coach, CLOSE), as_member(club.director)
    director.post(at("calibration_decide", row), {"word": "decline"})
    club.coach.refresh_from_db()
    assert club.coach.calibrated_until is None
    page = text(director.get(at("calibration_list")))
    assert "Not taken over" in page and "Nothing waits for your word." in page
    page = text(director.post(at("calibration_decide", row), {"word": "confirm"}, follow=True))
    assert "This was decided already: not taken over." in page
    club.coach.refresh_from_db()
    assert club.coach.calibrated_until is None


def test_a_later_day_that_stands_already_stays(club, as_member):
    later = YEAR_ON + timedelta(days=90)
    club.coach.calibrated_until = later
    club.coach.save()
    row = scored(club, club.coach, CLOSE)
    assert "A later day stands already" in text(as_member(club.director).get(at("calibration", row)))
    door.decide(row, viewer_of(club.director), confirm=True)
    club.coach.refresh_from_db()
    assert club.coach.calibrated_until == later


@pytest.mark.parametrize(
    ("facts", "why"),
    [
        ({"totals": FAR}, "not close enough yet"),
        ({"totals": CLOSE, "scored_on": TODAY - timedelta(days=366)}, "its year is over"),
        ({"totals": CLOSE}, "entered again since"),
    ],
)
def test_what_cannot_be_confirmed_is_not_proposed(club, as_member, facts, why):
    row = scored(club, club.coach, **facts)
    if why == "entered again since":
        scored(club, club.coach, CLOSE)
    director = as_member(club.director)
    assert "Confirm until" not in text(director.get(at("calibration", row)))
    page = text(director.post(at("calibration_decide", row), {"word": "confirm"}, follow=True))
    assert f"There is nothing to confirm: {why}." in page
    club.coach.refresh_from_db()
    assert club.coach.calibrated_until is None
    assert text(director.get(at("calibration_list"))).lower().count(why) == 1


def test_a_day_without_a_yes_and_a_yes_without_a_day_cannot_be_stored(club):
    for wrong in ({"word": "waiting", "until": TODAY}, {"word": "confirmed"}, {"word": "maybe"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            scored(club, club.coach, CLOSE, **wrong)
    scored(club, club.coach, CLOSE, word="confirmed", until=TODAY)


# --- all coaches, and the history -----------------------------------------------------------------------


def test_all_coaches_on_the_same_ten_are_compared_from_two_on_and_the_newest_totals_count(club, as_member):
    director = as_member(club.director)
    assert "Nobody has scored them yet." in text(director.get(at("calibration_list")))
    scored(club, club.coach, FAR)
    page = text(director.get(at("calibration_list")))
    assert "cannot be said yet. It takes 2 coaches to compare." in page
    scored(club, club.coach, AGREED)
    scored(club, club.other_coach, AGREED)
    page = text(director.get(at("calibration_list")))
    assert "2 coaches agree with one another to 1.00 (between 0." in page and "and 1.00), where 1 is" in page
    assert "A total may come from any of them." in page
    scored(club, club.other_coach, [4, 3, 5, 4, 6, 8, 6, 6, 4, 7])
    assert "Ten examples cannot say yet" in text(director.get(at("calibration_list")))
    scored(club, club.other_coach, AGREED[::-1])
    assert "It matters who judges: judge together." in text(director.get(at("calibration_list")))


def test_the_history_stands_by_coach_and_shape_the_newest_first_and_never_by_size(club, as_member):
    other = factories.ExampleSetFactory(shape="arch", title="Arches")
    for coach, ten, days, totals in (
        (club.coach, club.ten, 400, FAR), (club.coach, club.ten, 3, CLOSE), (club.coach, other, 30, AGREED),
        (club.other_coach, club.ten, 10, FAR),
    ):  # fmt: skip
        factories.CalibrationFactory(
            coach=coach, examples=ten, scored_on=TODAY - timedelta(days=days), totals=totals
        )
    found = door.calibration_page(TODAY)
    assert [(one.row.coach.first_name, one.shape, (TODAY - one.row.scored_on).days) for one in found.history] == [
        ("Bo", "Hollow", 10), ("Ines", "Arch", 30), ("Ines", "Hollow", 3), ("Ines", "Hollow", 400),
    ]  # fmt: skip
    assert [one.outcome_words for one in found.history] == [
        "not close enough yet", "waits for your word", "waits for your word", "entered again since",
    ]  # fmt: skip
    assert found.sentence == "2 results wait for your word."
    assert "on average 2.0 points higher than agreed (between +1.8 and +2.2)" in text(
        as_member(club.director).get(at("calibration_list"))
    )


def test_an_empty_club_is_told_what_to_do_and_finds_the_way_from_agreement(cast, programme, as_member):
    director = as_member(cast.director)
    page = text(director.get(at("calibration_list")))
    assert "Ten examples, agreed on once" in page and at("examples_add") in page
    assert at("calibration_list") in text(director.get(at("numbers_agreement")))


def test_a_shape_that_the_edition_holds_no_more_keeps_its_history(club, as_member):
    gone = factories.ExampleSetFactory(shape="old_bridge", title="Bridges", agreed=[*AGREED[:9], 12])
    row = factories.CalibrationFactory(examples=gone, coach=club.coach, totals=[*AGREED[:9], 12])
    director = as_member(club.director)
    assert "Ines Marlow: Old bridge" in text(director.get(at("calibration", row)))
    assert "Old bridge: Bridges" in text(director.get(at("calibration_list")))
    assert "each 0 to 12" in text(director.get(at("examples_score", gone)))


def test_queries_do_not_grow_with_the_coaches(club):
    scored(club, club.coach, CLOSE)
    door.calibration_page(TODAY)  # reads the programme once
    with CaptureQueriesContext(connection) as few:
        door.calibration_page(TODAY)
    for _ in range(9):
        scored(club, factories.UserFactory(), CLOSE)
        factories.CalibrationFactory(coach=club.coach)
    with CaptureQueriesContext(connection) as many:
        assert len(door.calibration_page(TODAY).history) == 19
    assert len(many) == len(few) == 3
