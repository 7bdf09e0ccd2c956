"""The club's own error of measurement: what its repeat tests say, and that only a draft takes it over."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments import numbers as door
from assessments.models import ProgrammeEdition
from assessments.programme import current_programme
from tests import factories
from tests.assessments.number_story import children_of, day_on, hand_in
from tests.conftest import viewer_of
from tests.factories import TODAY

URL = "assessments:numbers_error"


@pytest.fixture
def club(cast, programme):
    """Sixteen Tigers held hollow twice in a week: half 18 s then 22 s, half 22 s then 18 s. Plank: fourteen."""
    cast.children = children_of(cast.tigers, 16)
    cast.days = [day_on(weeks, cast.tigers, edition=programme) for weeks in (9, 3, 2)]
    twice(cast, cast.children)
    return cast


def twice(cast, children):
    rows = []
    for place, child in enumerate(children):
        pair = (18, 22) if place % 2 else (22, 18)
        for day, value in zip(cast.days, (15, *pair), strict=True):
            rows.append((day, child, {"value": value}))
            if place < 14:
                rows.append((day, child, {"measure": "forearm_plank_hold", "variant": "", "value": value}))
    hand_in(cast.director, rows)


def test_own_noise_stands_beside_the_starters_with_its_range_and_its_children(club, as_member):
    page = as_member(club.director).get(reverse(URL)).content.decode()
    # SD of the differences (+4 and -4) / sqrt(2) = 2.92 s; the starter says 20 % of 20 s.
    assert "At 20 s: 2.9 s (between 2.3 and 4.2); the starter says 4.0." in page
    assert "‘Really changed’ would begin at 6.8 s there; now it is 9.3 s." in page
    assert "Your own repeat tests say how noisy 1 of 31 measures and shapes are" in page
    assert "Hopkins 2000" in page


def test_fourteen_children_are_shown_and_cannot_be_taken_over(club, as_member):
    page = as_member(club.director).get(reverse(URL)).content.decode()
    assert "14 of 15 children" in page
    assert 'value="hollow_hold"' in page and 'value="forearm_plank_hold"' not in page


def test_taking_over_makes_a_draft_and_changes_nothing_that_counts(club, as_member):
    before = current_programme()
    answer = as_member(club.director).post(
        reverse("assessments:numbers_error_draft"), {"item": ["hollow_hold", "forearm_plank_hold"]}
    )
    draft = ProgrammeEdition.objects.drafts().get()
    assert as_member(club.director).get(answer.url).status_code == 200
    assert answer.url == reverse("assessments:draft", args=[draft.code])
    models = {one["id"]: one.get("error_model") for one in draft.document["measures"]["measures"]}
    assert models["hollow_hold"] == {
        "a": 1.46, "b": 0.146, "support": "derived", "note": "From repeat tests of 16 children of this club.",
    }  # fmt: skip
    assert models["forearm_plank_hold"]["support"] == "derived" and models["forearm_plank_hold"]["b"] == 0.35
    assert current_programme() is before


def test_nothing_ticked_makes_no_draft_and_a_coach_may_not_even_look(club, as_member):
    answer = as_member(club.director).post(reverse("assessments:numbers_error_draft"), {}, follow=True)
    assert "Not enough children were measured twice" in answer.content.decode()
    for method, name in (("get", URL), ("post", "assessments:numbers_error_draft")):
        answer = getattr(as_member(club.coach), method)(reverse(name), {"item": "hollow_hold"})
        assert answer.status_code == 403
    assert not ProgrammeEdition.objects.drafts().exists()


def test_an_empty_club_is_told_what_to_do(cast, programme, as_member):
    page = as_member(cast.director).get(reverse(URL)).content.decode()
    assert "Every error is still the starter’s." in page
    assert "15 children need two test days of the same measure within two weeks" in page
    assert "Make a draft" not in page


def test_older_protocols_and_what_is_only_at_least_do_not_enter(club):
    evidence = door.club_evidence(TODAY, items=["hollow_hold"])
    line = next(one for one in door.error_lines(evidence) if one.spec.id == "hollow_hold")
    assert line.found.children == 16
    child = factories.AthleteFactory(group=club.tigers)
    hand_in(
        club.director,
        [(day, child, {"value": 60, "outcome": "reached_cap"}) for day in club.days],
    )
    evidence = door.club_evidence(TODAY, items=["hollow_hold"])
    line = next(one for one in door.error_lines(evidence) if one.spec.id == "hollow_hold")
    assert line.found.children == 16


def test_queries_do_not_grow_with_the_children(club):
    with CaptureQueriesContext(connection) as few:
        door.error_lines(door.club_evidence(TODAY))
    twice(club, children_of(club.tigers, 16))
    with CaptureQueriesContext(connection) as many:
        lines = door.error_lines(door.club_evidence(viewer_of(club.director).today))
    assert {line.spec.id: line.found.children for line in lines}["hollow_hold"] == 32
    assert len(many) == len(few) <= 10
