"""Blocks and rotations: amounts from results, what rests has something in its place, all of it fits the time."""

from __future__ import annotations

from itertools import pairwise

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments.blocks import child_block, group_block
from assessments.models import Measure
from assessments.reports import athlete_report, day_sheet, group_report
from assessments.rotations import rotation_of
from tests import factories
from tests.assessments.number_story import children_of, day_on, hand_in
from tests.factories import TODAY

SUPPORT = {"measure": "front_support_hold", "variant": "flat_hands"}
RAISES = {"measure": "double_heel_raises", "variant": "feet_together", "how": "counted"}


@pytest.fixture
def club(cast, programme):
    """Mia: hollow 20 s, front support 9 s, 12 heel raises. Tom: hollow could not start. Tom's wrist rests."""
    cast.held = day_on(2, cast.tigers, edition=programme)
    hand_in(
        cast.director,
        [
            (cast.held, cast.mia, {"value": 20}),
            (cast.held, cast.mia, SUPPORT | {"value": 9}),
            (cast.held, cast.mia, RAISES | {"value": 12}),
            (cast.held, cast.tom, {"value": 0, "outcome": "could_not_start"}),
            (cast.held, cast.tom, SUPPORT | {"value": 20}),
        ],
    )
    factories.RestNoteFactory(athlete=cast.tom, areas=["wrist"])
    return cast


def group_plan(cast, minutes=12):
    return group_block(group_report(cast.tigers.athletes.all(), TODAY), minutes=minutes)


def cells(plan, child):
    return {step.spec.id: step.children[str(child.code)] for step in plan.steps}


def test_each_child_has_an_amount_of_their_own(club):
    plan = group_plan(club)
    mia, tom = cells(plan, club.mia), cells(plan, club.tom)
    # Six tenths of 20; not under 10 unless that is more than eight tenths of the best; the same for counts.
    assert (mia["hollow_hold"].amount, mia["front_support_hold"].amount) == ("12 s", "7 s")
    assert (mia["double_heel_raises"].amount, mia["hollow_hold"].variant) == ("9 times", "Arms by the sides")
    assert tom["hollow_hold"].dose is None and tom["hollow_hold"].variant
    assert tom["front_support_hold"].instead_names[0] == "Hollow hold"
    assert tom["double_heel_raises"].variant == "" and tom["double_heel_raises"].dose is None


def test_the_block_fits_the_groups_minutes_and_a_wish(club, as_member):
    for minutes in (5, 12, 15):
        plan = group_plan(club, minutes)
        assert plan.steps and plan.seconds <= 60 * minutes
    club.tigers.block_minutes = 10
    club.tigers.save()
    url = reverse("assessments:block_plan", args=[club.tigers.code])
    client = as_member(club.coach)
    assert "of 10 minutes" in client.get(url).content.decode()
    assert "of 20 minutes" in client.get(url, {"minutes": 20}).content.decode()
    assert client.get(url, {"minutes": 90}).status_code == 422


def test_the_page_says_what_is_common_practice_and_what_to_do_instead(club, as_member):
    page = (
        as_member(club.coach).get(reverse("assessments:block_plan", args=[club.tigers.code])).content.decode()
    )
    for words in (
        "Common practice, no source",
        "instead: hollow hold",
        "an easier version first",
        "12 s",
        "not tested",
    ):
        assert words in page
    assert as_member(club.other_coach).get(
        reverse("assessments:block_plan", args=[club.tigers.code])
    ).status_code == 404  # fmt: skip


def test_a_childs_plan_names_what_rests_and_shows_only_that_child(club, as_member):
    url = reverse("assessments:child_block_plan", args=[club.tom.code])
    page = as_member(club.coach).get(url).content.decode()
    assert "Resting" in page and "instead hollow hold or forearm plank hold" in page
    assert "Mia" not in page
    for member, status in ((club.other_coach, 404), (club.guardian, 403)):
        assert as_member(member).get(url).status_code == status


def test_what_decides_for_the_nearest_skill_comes_into_the_block_first(club):
    plan = child_block(athlete_report(club.mia, TODAY), minutes=1)
    assert [step.spec.id for step in plan.steps] == ["front_support_hold"]
    assert set(plan.left_out) == {"Hollow hold", "Heel raises, two feet"}


def test_a_child_without_results_gets_a_normal_answer(club, as_member):
    url = reverse("assessments:child_block_plan", args=[club.bea.code])
    assert "No dose yet" in as_member(club.director).get(url).content.decode()


def test_queries_do_not_grow_with_the_children(club):
    with CaptureQueriesContext(connection) as few:
        group_plan(club)
    for child in children_of(club.tigers, 8):
        hand_in(club.director, [(club.held, child, {"value": 15})])
        factories.RestNoteFactory(athlete=child)
    with CaptureQueriesContext(connection) as many:
        assert len(group_plan(club).children) == 10
    assert len(many) == len(few)


@pytest.fixture
def planned(club):
    for order, slug in enumerate(("front_support_hold", "hollow_hold", "standing_long_jump")):
        factories.StationFactory(day=club.held, measure=Measure.objects.get(slug=slug), order=order)
    return club


def rotation(cast, *, places=None, seen=None):
    sheet = day_sheet(cast.held)
    codes = {one.child.code for one in sheet.children}
    return rotation_of(sheet, minutes=60, places=places or {}, seen=codes if seen is None else seen)


def test_everybody_goes_round_without_meeting_at_a_station(planned):
    children_of(planned.tigers, 4)
    plan = rotation(planned)
    assert len(plan.children) == 6
    for station in plan.stations:
        times = [(going.begins, going.ends) for going in station.goings]
        assert len(times) == (5 if station.spec.id == "front_support_hold" else 6)
        assert all(end <= begin for (_, end), (begin, _) in pairwise(times))
    tom = next(row for row in plan.children if row.child.name == "Tom B.")
    assert tom.left_out == (("Front support hold, straight arms", "resting: wrist"),)


def test_away_children_are_left_out_and_more_places_end_sooner(planned):
    factories.AttendanceFactory(day=planned.held, athlete=planned.tom, present=False)
    children_of(planned.tigers, 6)
    alone = rotation(planned)
    assert "Tom B." not in {row.child.name for row in alone.children}
    four = rotation(planned, places={"hollow_hold": 4, "front_support_hold": 4})
    minutes = [int(plan.needed.split(":")[0]) for plan in (four, alone)]
    assert minutes[0] < minutes[1]


def test_the_rotation_page_takes_minutes_and_places_and_hides_from_the_other_coach(planned, as_member):
    url = reverse("assessments:day_rotation", args=[planned.held.code])
    client = as_member(planned.coach)
    assert "By station" in client.get(url).content.decode()
    short = client.get(url, {"minutes": 10, "at_hollow_hold": 4})
    assert short.status_code == 200 and "of 10 minutes" in short.content.decode()
    assert client.get(url, {"minutes": "soon"}).status_code == 422
    assert as_member(planned.other_coach).get(url).status_code == 404


def test_a_coach_sees_the_same_times_without_names_of_another_group(planned, as_member):
    planned.held.groups.add(planned.bears)
    url = reverse("assessments:day_rotation", args=[planned.held.code])
    mine = as_member(planned.coach).get(url).content.decode()
    assert "Mia A." in mine and "Bea C." not in mine and "a child of another group" in mine
    assert "Bea C." in as_member(planned.director).get(url).content.decode()


def test_a_day_without_stations_says_what_is_missing(club, as_member):
    page = as_member(club.coach).get(reverse("assessments:day_rotation", args=[club.held.code]))
    assert "Nothing to plan yet" in page.content.decode()
