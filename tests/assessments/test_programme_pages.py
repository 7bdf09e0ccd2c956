"""The pages of the programme: what they show, and who is turned away."""

from __future__ import annotations

import pytest
from django.urls import reverse

PAGES = {
    "programme": [],
    "programme_map": [],
    "programme_item": ["hollow_hold"],
    "programme_skill": ["wall_handstand"],
    "edition": [1],
}


@pytest.mark.parametrize("name", PAGES)
def test_staff_read_the_programme_and_families_do_not(cast, programme, as_member, name):
    address = reverse(f"assessments:{name}", args=PAGES[name])
    for member in (cast.director, cast.coach):
        assert as_member(member).get(address).status_code == 200
    assert as_member(cast.guardian).get(address).status_code == 403


@pytest.mark.parametrize("item", ["hollow_hold", "hip_side_lifts", "standing_long_jump", "hollow", "landing"])
def test_every_kind_of_item_has_its_page(cast, programme, as_member, item):
    page = as_member(cast.coach).get(reverse("assessments:programme_item", args=[item])).content.decode()
    assert "Benchmarks by age" in page
    assert "How sure a result is" in page


def test_the_overview_says_what_stands_behind_each_number(cast, programme, as_member):
    page = as_member(cast.coach).get(reverse("assessments:programme")).content.decode()
    for words in ("published", "common practice, no source", "placeholder: use your own repeat tests"):
        assert words in page
    assert "Take out the files" not in page


def test_an_unknown_item_is_not_found(cast, programme, as_member):
    client = as_member(cast.coach)
    assert client.get(reverse("assessments:programme_item", args=["moon"])).status_code == 404
    assert client.get(reverse("assessments:programme_skill", args=["moon"])).status_code == 404
    assert client.get(reverse("assessments:edition", args=[9])).status_code == 404


def test_without_a_programme_the_page_says_what_to_do(cast, as_member):
    page = as_member(cast.director).get(reverse("assessments:programme")).content.decode()
    assert "loadprogramme" in page
