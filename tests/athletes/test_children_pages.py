"""The lists, the details and the forms about children, groups and guardians."""

from __future__ import annotations

import pytest
from django.urls import reverse

from athletes.models import Athlete, Coaching, Group, Guardian
from club.models import Invitation
from tests.factories import TODAY, AthleteFactory, RestNoteFactory


def page(client, name, *args, **query):
    return client.get(reverse(name, args=args), query)


def test_the_list_finds_by_any_part_of_a_name_and_by_group(cast, as_member):
    client = as_member(cast.director)
    assert "Mia Alder" in page(client, "athletes:athlete_list", q="alder mi").content.decode()
    found = page(client, "athletes:athlete_list", group=str(cast.bears.code)).content.decode()
    assert "Bea Cole" in found and "Mia Alder" not in found
    assert "Nobody by that name" in page(client, "athletes:athlete_list", q="zz").content.decode()


def test_a_search_by_htmx_answers_only_the_rows(cast, as_member):
    client = as_member(cast.coach)
    answer = client.get(reverse("athletes:athlete_list"), {"q": "mia"}, headers={"HX-Request": "true"})
    text = answer.content.decode()
    assert "Mia Alder" in text and "<html" not in text and "HX-Request" in answer["Vary"]


def test_the_list_costs_the_same_queries_for_more_children(cast, as_member, django_assert_max_num_queries):
    client = as_member(cast.director)
    page(client, "athletes:athlete_list")
    for child in AthleteFactory.create_batch(20, group=cast.tigers):
        RestNoteFactory(athlete=child)
    with django_assert_max_num_queries(10):
        page(client, "athletes:athlete_list")


def test_details_show_rests_and_hide_other_adults_addresses_from_coaches(cast, as_member):
    RestNoteFactory(athlete=cast.mia, note="Sore after bars.")
    url = reverse("athletes:athlete", args=[cast.mia.code])
    text = as_member(cast.coach).get(url).content.decode()
    assert "Sore after bars." in text and "pat@home.example</small>" not in text and "End access" not in text
    assert "End access" in as_member(cast.director).get(url).content.decode()
    assert as_member(cast.other_coach).get(url).status_code == 404


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"born_on": "2031-01-01"}, "future"),
        ({"born_on": "1990-01-01"}, "older than 18"),
        ({"joined_on": "2010-01-01"}, "before the child was born"),
        ({"left_on": "2024-01-01"}, "before the child joined"),
        ({"first_name": ""}, "required"),
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_saved(cast, as_member, change, words):
    good = {
        "first_name": "Noa",
        "last_name": "Ek",
        "born_on": "2020-05-01",
        "joined_on": "2026-01-01",
        "left_on": "",
    }
    client, url = as_member(cast.director), reverse("athletes:athlete_add")
    answer = client.post(url, good | change)
    assert answer.status_code == 422 and words in answer.content.decode()
    assert "Ek" in answer.content.decode()
    assert not Athlete.objects.filter(last_name="Ek").exists()
    assert client.post(url, good).status_code == 302
    assert Athlete.objects.get(last_name="Ek").born_on.isoformat() == "2020-05-01"


def test_a_group_gets_and_loses_a_coach(cast, as_member):
    client = as_member(cast.director)
    add = reverse("athletes:coaching_add", args=[cast.bears.code])
    client.post(add, {"coach": cast.coach.pk, "from_on": TODAY.isoformat()})
    turn = Coaching.objects.get(coach=cast.coach, group=cast.bears)
    client.post(reverse("athletes:coaching_end", args=[cast.bears.code, turn.pk]))
    assert not Coaching.objects.filter(coach=cast.coach, group=cast.bears).exists()
    assert as_member(cast.coach).post(add, {}).status_code == 403


def test_a_group_name_is_taken_once(cast, as_member):
    client = as_member(cast.director)
    answer = client.post(
        reverse("athletes:group_add"), {"name": "Bears", "block_minutes": 12, "is_active": "on"}
    )
    assert answer.status_code == 422 and Group.objects.filter(name="Bears").count() == 1


def test_a_guardian_without_an_account_is_invited_and_joined_on_acceptance(
    cast, as_member, client, mailoutbox
):
    director = as_member(cast.director)
    answer = director.post(
        reverse("athletes:guardian_add", args=[cast.tom.code]),
        {"name": "Kim Birch", "email": "Kim@Home.example", "may_read": "on"},
    )
    link = answer.context["link"]
    assert mailoutbox[0].to == ["kim@home.example"] and link in mailoutbox[0].body
    assert Invitation.objects.get().role == "guardian"
    grant = Guardian.objects.get(athlete=cast.tom)
    assert grant.member is None
    client.logout()
    client.post(link, {"name": "Kim Birch", "password": "tall arms and flat backs"})
    grant.refresh_from_db()
    assert grant.member is not None and grant.member.email == "kim@home.example"
    assert client.get(link).status_code in {302, 410}


def test_staff_cannot_be_made_guardians(cast, as_member):
    answer = as_member(cast.director).post(
        reverse("athletes:guardian_add", args=[cast.tom.code]), {"email": cast.coach.email, "may_read": "on"}
    )
    assert answer.status_code == 422 and not Guardian.objects.filter(athlete=cast.tom).exists()


def test_a_grant_ends_at_once(cast, as_member):
    grant = Guardian.objects.get(athlete=cast.mia)
    as_member(cast.director).post(reverse("athletes:guardian_revoke", args=[grant.code]))
    grant.refresh_from_db()
    assert grant.revoked_at is not None
