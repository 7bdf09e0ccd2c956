"""The skill map of a child and of a group: whose it is, what stands on it, and who is turned away."""

from __future__ import annotations

import pytest
from django.urls import reverse

from assessments import programme as door
from assessments.models import Skill
from tests import factories
from tests.conftest import viewer_of


@pytest.fixture
def tigers(cast, programme):
    """Mia is consistent in the tuck rock and rests a wrist; Tom has shown nothing yet."""
    skill = Skill.objects.get(slug="tuck_rock")
    factories.SkillDecisionFactory(athlete=cast.mia, skill=skill, word="consistent")
    factories.RestNoteFactory(athlete=cast.mia, areas=["wrist"])
    return cast


def marks(page):
    return {node.id: node.mark for node in page.context["map"].nodes}


def test_a_child_has_the_coachs_word_and_rest_above_all(tigers, as_member):
    page = as_member(tigers.coach).get(reverse("assessments:child_map", args=[tigers.mia.code]))
    found = marks(page)
    assert found["tuck_rock"].word == "consistent"
    assert found["bunny_hop"].word == "resting"
    assert found["lunge_lever"].word == "not_known"
    assert len(found) == 26
    assert "Tuck rock: consistent" in page.content.decode()


def test_a_group_is_counted_and_nobody_is_named(tigers, as_member):
    page = as_member(tigers.coach).get(reverse("assessments:group_map", args=[tigers.tigers.code]))
    found = marks(page)
    assert found["tuck_rock"].counts == (("not_known", 1), ("consistent", 1))
    assert found["bunny_hop"].text == "1 not known · 1 resting"
    assert all(sum(count for _, count in mark.counts) == 2 for mark in found.values())
    assert "Mia" not in page.content.decode() and "Tom" not in page.content.decode()


@pytest.mark.parametrize(("name", "thing"), [("child_map", "mia"), ("group_map", "tigers")])
def test_other_coaches_and_families_are_turned_away(tigers, as_member, name, thing):
    address = reverse(f"assessments:{name}", args=[getattr(tigers, thing).code])
    assert as_member(tigers.director).get(address).status_code == 200
    assert as_member(tigers.other_coach).get(address).status_code == 404
    assert as_member(tigers.guardian).get(address).status_code == 403


def test_the_list_says_what_the_drawing_says(tigers, as_member):
    page = as_member(tigers.coach).get(reverse("assessments:programme_map"))
    text = page.content.decode()
    for node in page.context["map"].nodes:
        assert text.count(f">{node.name}</a></th>") == 1
    assert len(page.context["map"].edges) == 31


def test_a_draft_with_a_ring_is_drawn_and_says_so(tigers, as_member):
    draft = door.begin_draft(viewer_of(tigers.director))
    skills = draft.document["skills"]["skills"]
    next(one for one in skills if one["id"] == "bunny_hop")["requires"]["skills"] = ["wall_handstand"]
    door.save_draft(draft, draft.document, seen_version=1, viewer=viewer_of(tigers.director))
    client = as_member(tigers.director)
    drawn = client.get(reverse("assessments:draft_map", args=[draft.code]))
    assert 'class="edge ring"' in drawn.content.decode()
    assert (
        "comes after itself" in client.get(reverse("assessments:draft", args=[draft.code])).content.decode()
    )


def test_queries_do_not_grow_with_the_children(tigers, as_member, django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client = as_member(tigers.coach)
    address = reverse("assessments:group_map", args=[tigers.tigers.code])
    client.get(address)
    with CaptureQueriesContext(
        connection,
    ) as few:
        client.get(address)
    factories.AthleteFactory.create_batch(6, group=tigers.tigers)
    with django_assert_num_queries(len(few)):
        client.get(address)
