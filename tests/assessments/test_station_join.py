"""A shared tablet joins a day as a place: by a code that is shown once, for that day, until it is ended."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from assessments.models import StationPass

pytestmark = pytest.mark.django_db


@pytest.fixture
def made(as_member, cast, programme):
    """The page on which a coach is shown a fresh code, and the address on it."""
    url = reverse("assessments:pass_create", args=[cast.day.code])
    text = as_member(cast.coach).post(url, {"label": "Blue"}).content.decode()
    link = re.search(r'value="http://testserver(/join/[^"]+)"', text).group(1)
    return text, link


def floor_of(cast):
    return reverse("assessments:floor", args=[cast.day.code])


def test_the_code_is_drawn_and_only_its_digest_is_kept(made, cast):
    text, link = made
    token = link.split("/")[2]
    kept = StationPass.objects.get(label="Blue")
    assert "<svg" in text and "qr" in text
    assert token not in str(vars(kept)) and kept.digest == StationPass.digest_of(token)


def test_a_tablet_that_joins_reaches_the_floor_and_nothing_else(made, cast):
    tablet = Client()
    answer = tablet.get(made[1])
    assert answer.url == floor_of(cast)
    assert tablet.cookies["station"]["httponly"]
    assert tablet.get(floor_of(cast)).status_code == 200
    assert tablet.get(reverse("assessments:day", args=[cast.day.code])).status_code == 302


def test_whoever_is_signed_in_is_asked_and_then_signed_out(made, as_member, cast):
    client = as_member(cast.coach)
    page = client.get(made[1])
    assert page.status_code == 200 and "Ines Marlow is signed in" in page.content.decode()
    assert "station" not in client.cookies
    client.post(made[1])
    assert client.get(reverse("assessments:day", args=[cast.day.code])).status_code == 302
    assert client.get(floor_of(cast)).status_code == 200


def test_an_ended_pass_joins_nothing_and_says_that_nothing_is_lost(made, as_member, cast):
    tablet = Client()
    tablet.get(made[1])
    found = StationPass.objects.get(label="Blue")
    assert (
        as_member(cast.other_coach).post(reverse("assessments:pass_end", args=[found.code])).status_code
        == 404
    )
    assert tablet.get(floor_of(cast)).status_code == 200
    as_member(cast.coach).post(reverse("assessments:pass_end", args=[found.code]))
    assert tablet.get(floor_of(cast)).status_code == 302
    answer = Client().get(made[1])
    assert answer.status_code == 410 and "Nothing that this tablet holds is lost" in answer.content.decode()


def test_a_tablet_leaves_by_putting_its_pass_down(made, cast):
    tablet = Client()
    tablet.get(made[1])
    assert "Leave the floor?" in tablet.get(reverse("assessments:station_leave")).content.decode()
    tablet.post(reverse("assessments:station_leave"))
    assert tablet.get(floor_of(cast)).status_code == 302


def test_the_floors_script_puts_a_pass_down_by_naming_it_and_another_sites_page_cannot(made, cast):
    leave = reverse("assessments:station_leave")
    for headers, status in (({}, 403), ({"X-Station-Pass": made[1].split("/")[2]}, 204)):
        tablet = Client(enforce_csrf_checks=True)
        tablet.get(made[1])
        assert tablet.post(leave, headers=headers).status_code == status
        assert tablet.get(floor_of(cast)).status_code == (200 if status == 403 else 302)
