"""The shape guide: every shape of the edition, its must-haves first, its faults drawn, one page a shape on paper."""

from __future__ import annotations

import pytest
from django.urls import reverse

from assessments import programme as door
from assessments.models import ProgrammeEdition
from assessments.shape_guide import guide
from tests.assessments.programme_documents import entry, starter_documents
from tests.conftest import viewer_of


@pytest.fixture
def shown(programme):
    return guide(door.current_programme())


def test_must_haves_come_first_and_each_level_is_said(as_member, cast, shown):
    page = as_member(cast.coach).get(reverse("assessments:shape", args=["front_support"])).content.decode()
    order = [
        page.index(name)
        for name in ("Elbows straight", "No sag in the middle", "Hands flat, fingers forward")
    ]
    assert order == sorted(order)
    assert page.count(">must-have<") == 2
    for words in ("The elbows bend.", "Straight after the cue", "“Tuck your tail.”", "Hips sagged"):
        assert words in page


def test_faults_are_drawn_beside_their_criterion_and_what_cannot_be_drawn_says_so(as_member, cast, shown):
    page = as_member(cast.coach).get(reverse("assessments:shape", args=["hollow"])).content.decode()
    assert page.count('class="fault"') == 4, "one ring for each fault that can be drawn"
    assert page.count("not to be drawn") == 1, "a held breath"


def test_a_fault_without_a_criterion_of_its_own_is_shown_too(shown):
    assert shown.shape("front_support").also_seen == (("piked", "Hips piked"),)


def test_what_hangs_on_a_shape_is_named(shown):
    hollow = shown.shape("hollow")
    assert [one.id for one in hollow.held_by] == ["hollow_hold"]
    assert ("Handstand facing the wall", 7.0) in hollow.asked_by
    assert dict(shown.shape("handstand_line").benchmarks)["4"] is None
    assert {band: row.aim for band, row in hollow.benchmarks if row} == {
        "4": 6, "5": 6, "6": 7, "7": 8, "8-9": 8,
    }  # fmt: skip


def test_the_wall_has_one_page_a_shape_or_one_shape_alone(as_member, cast, shown):
    client = as_member(cast.coach)
    every = client.get(reverse("assessments:shape_wall")).content.decode()
    assert every.count('<article class="wall') == len(shown.shapes)
    assert every.count("page-break") == len(shown.shapes) - 1
    alone = client.get(reverse("assessments:shape_wall"), {"shape": "tuck"}).content.decode()
    assert alone.count('<article class="wall') == 1
    assert client.get(reverse("assessments:shape_wall"), {"shape": "no_such"}).status_code == 404


def test_the_guide_follows_the_edition_and_hides_from_families(as_member, cast, shown):
    url = reverse("assessments:shape_guide")
    assert "Handstand line" in as_member(cast.coach).get(url).content.decode()
    documents = starter_documents()
    entry(documents, "shapes", "tuck")["name"] = "Small ball"
    viewer = viewer_of(cast.director)
    door.publish(door.begin_draft(viewer, documents=documents), viewer, "A name of our own")
    assert "Small ball" in as_member(cast.coach).get(url).content.decode()
    assert as_member(cast.guardian).get(url).status_code == 403
    assert as_member(cast.coach).get(reverse("assessments:shape", args=["no_such"])).status_code == 404


def test_without_an_edition_there_is_no_guide_and_no_crash(as_member, cast):
    assert not ProgrammeEdition.objects.exists()
    assert as_member(cast.coach).get(reverse("assessments:shape_guide")).status_code == 404
