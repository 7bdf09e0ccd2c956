"""Coming in, invitations, roles, and what an attacker tries."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from club.models import AuditEntry, Invitation, User
from tests.factories import NOW, UserFactory

PASSWORD = "tall arms and flat backs"


@pytest.fixture
def ines(cast):
    cast.coach.set_password(PASSWORD)
    cast.coach.save()
    return cast.coach


def sign_in(client, email, password, **extra):
    return client.post(reverse("club:sign_in"), {"username": email, "password": password, **extra})


def test_a_member_signs_in_with_any_case_of_the_address(ines, client):
    assert sign_in(client, "INES@Fernleigh.example", PASSWORD).status_code == 302


@pytest.mark.parametrize(
    ("email", "password"), [("ines@fernleigh.example", "wrong"), ("nobody@x.example", PASSWORD)]
)
def test_a_wrong_pair_is_answered_alike(ines, client, email, password):
    answer = sign_in(client, email, password)
    assert answer.status_code == 200 and b"do not go together" in answer.content


def test_a_closed_account_stays_out(ines, client):
    User.objects.filter(pk=ines.pk).update(is_active=False)
    assert b"do not go together" in sign_in(client, ines.email, PASSWORD).content


def test_the_way_back_never_leads_to_another_host(ines, client):
    answer = sign_in(client, ines.email, PASSWORD, next="https://elsewhere.example/")
    assert answer["Location"] == reverse("club:home")


def test_signing_out_needs_a_post_and_clears_what_the_browser_kept(ines, client):
    sign_in(client, ines.email, PASSWORD)
    assert client.get(reverse("club:sign_out")).status_code == 405
    answer = client.post(reverse("club:sign_out"))
    assert "cache" in answer["Clear-Site-Data"]
    assert client.get(reverse("club:home")).status_code == 302


@pytest.mark.parametrize("state", ["open", "used", "withdrawn", "expired"])
def test_an_invitation_works_once_and_in_time(cast, client, state):
    row, token = Invitation.issue(email="new@fernleigh.example", role="coach", now=NOW)
    change = {
        "open": {}, "used": {"used_at": NOW}, "withdrawn": {"withdrawn_at": NOW},
        "expired": {"expires_at": NOW - timedelta(minutes=1)},
    }[state]  # fmt: skip
    Invitation.objects.filter(pk=row.pk).update(**change or {"email": row.email})
    link = reverse("club:invitation_accept", args=[token])
    answer = client.post(link, {"name": "New Coach", "password": PASSWORD})
    assert User.objects.filter(email="new@fernleigh.example").exists() == (state == "open")
    assert answer.status_code == (302 if state == "open" else 410)
    if state == "open":
        client.logout()
        assert client.post(link, {"name": "Again", "password": PASSWORD}).status_code == 410


def test_the_token_is_not_kept(cast):
    row, token = Invitation.issue(email="new@fernleigh.example", role="coach", now=NOW)
    assert token not in str(Invitation.objects.filter(pk=row.pk).values())


@pytest.mark.parametrize("password", ["short", "password123", "new@fernleigh.example"])
def test_a_feeble_password_is_refused(cast, client, password):
    _, token = Invitation.issue(email="new@fernleigh.example", role="coach", now=NOW)
    answer = client.post(
        reverse("club:invitation_accept", args=[token]), {"name": "New", "password": password}
    )
    assert answer.status_code == 422 and not User.objects.filter(email="new@fernleigh.example").exists()


def test_the_last_director_stays(cast, as_member):
    client, url = as_member(cast.director), reverse("club:member", args=[cast.director.code])
    change = {"name": "Dagny", "role": "coach", "is_active": "on"}
    assert client.post(url, change).status_code == 422
    UserFactory(role="director")
    assert client.post(url, change).status_code == 302


def test_a_coach_cannot_make_directors(cast, as_member):
    url = reverse("club:member", args=[cast.coach.code])
    change = {"name": "Ines", "role": "director", "is_active": "on"}
    assert as_member(cast.coach).post(url, change).status_code == 403
    cast.coach.refresh_from_db()
    assert cast.coach.role == "coach"
    assert as_member(cast.director).post(url, change).status_code == 302


def test_an_invited_colleague_appears_and_can_be_taken_back(cast, as_member, mailoutbox):
    client = as_member(cast.director)
    client.post(
        reverse("club:member_invite"), {"name": "Kai", "email": "kai@fernleigh.example", "role": "coach"}
    )
    row = Invitation.objects.get()
    assert "kai@fernleigh.example" in client.get(reverse("club:member_list")).content.decode()
    client.post(reverse("club:invitation_withdraw", args=[row.code]))
    row.refresh_from_db()
    assert row.withdrawn_at is not None
    assert AuditEntry.objects.filter(verb="withdrew an invitation").exists()


def test_the_trail_can_be_searched(cast, as_member):
    client = as_member(cast.director)
    client.get(reverse("athletes:athlete", args=[cast.mia.code]))
    url = reverse("club:audit_trail")
    assert "opened a child" in client.get(url, {"q": "dagny"}).content.decode()
    assert "opened a child" not in client.get(url, {"q": "nobody"}).content.decode()


def test_every_page_carries_the_strict_policy(cast, client):
    answer = client.get(reverse("club:sign_in"))
    policy = answer["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "unsafe" not in policy and "http" not in policy
    assert answer["X-Frame-Options"] == "DENY" and answer["X-Content-Type-Options"] == "nosniff"
    assert "no-store" in answer["Cache-Control"]
