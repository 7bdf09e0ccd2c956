"""What a tablet hears from the club: JSON with the protocol header, a word for every refusal, never a redirect."""

from __future__ import annotations

import json
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from assessments.models import Result
from tests.assessments.entry_making import body

pytestmark = pytest.mark.django_db


@pytest.fixture
def address(cast, programme):
    return reverse("assessments:sync", args=[cast.day.code])


def post(client, url, data, **headers):
    text = data if isinstance(data, str) else json.dumps(data)
    return client.post(url, text, content_type="application/json", headers=headers)


def signed_in(user, **options):
    client = Client(**options)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_a_station_sends_with_its_pass(cast, address):
    one = body(cast.day, cast.mia)
    answer = post(
        Client(enforce_csrf_checks=True), address, {"entries": [one]}, **{"X-Station-Pass": cast.token}
    )
    assert answer.status_code == 200
    assert answer.headers["X-Groundwork-Protocol"] == "1"
    assert answer.json()["answers"] == [{"id": one["id"], "word": "stored", "reason": ""}]
    assert answer.json()["day"] == {"code": str(cast.day.code), "status": "open"}
    assert Result.objects.get().station_pass == cast.tablet


@pytest.mark.parametrize("header", ["", "another-token"])
def test_without_a_pass_in_force_nothing_is_taken_and_nothing_redirects(cast, address, header):
    answer = post(Client(), address, [body(cast.day, cast.mia)], **{"X-Station-Pass": header})
    assert (answer.status_code, answer.json()) == (401, {"word": "sign_in"})
    assert answer.headers["X-Groundwork-Protocol"] == "1"
    assert not Result.objects.exists()


def test_an_ended_pass_is_asked_to_sign_in_and_a_coach_can_send_what_waits(cast, address):
    one = body(cast.day, cast.mia, **{"pass": str(cast.tablet.code)})
    cast.tablet.ended_at = cast.tablet.created_at
    cast.tablet.save()
    assert post(Client(), address, [one], **{"X-Station-Pass": cast.token}).status_code == 401
    answer = post(signed_in(cast.coach), address, [one])
    assert answer.json()["answers"][0]["word"] == "stored"
    row = Result.objects.get()
    assert row.station_pass == cast.tablet
    assert "pass_ended" in row.flags


def test_a_member_needs_a_fresh_token(cast, address):
    client = signed_in(cast.coach, enforce_csrf_checks=True)
    one = body(cast.day, cast.mia)
    assert post(client, address, [one], **{"X-CSRFToken": "old"}).json() == {"word": "token_old"}
    fresh = client.get(reverse("assessments:sync_token")).json()
    assert fresh["member"] == str(cast.coach.code)
    answer = post(client, address, [one], **{"X-CSRFToken": fresh["token"]})
    assert answer.json()["answers"][0]["word"] == "stored"


def test_a_pass_in_a_cookie_alone_needs_a_token_too(cast, address):
    client = Client(enforce_csrf_checks=True)
    client.cookies["station"] = cast.token
    assert post(client, address, [body(cast.day, cast.mia)]).status_code == 403


def test_a_guardian_may_not_record(cast, address):
    answer = post(signed_in(cast.guardian), address, [body(cast.day, cast.mia)])
    assert (answer.status_code, answer.json()) == (403, {"word": "not_allowed"})


def test_a_coach_of_another_group_learns_nothing(cast, address):
    answer = post(signed_in(cast.other_coach), address, [body(cast.day, cast.mia)])
    unknown = post(
        signed_in(cast.other_coach), address, [{**body(cast.day, cast.mia), "day": str(uuid.uuid4())}]
    )
    assert answer.json()["answers"][0]["reason"] == unknown.json()["answers"][0]["reason"]
    assert answer.json()["day"]["status"] == ""


def test_a_pass_speaks_for_its_own_day_only(cast, address, programme):
    other = reverse("assessments:sync", args=[uuid.uuid4()])
    assert post(Client(), other, [], **{"X-Station-Pass": cast.token}).status_code == 401


@pytest.mark.parametrize(
    ("text", "status"),
    [
        ("not json", 400),
        ("7", 400),
        ("[" * 50_000, 400),
        ('{"entries": 3}', 200),
        ("[" + " " * 1_100_000 + "]", 413),
    ],
)
def test_what_is_no_list_of_entries_is_said_to_be_so(cast, address, text, status):
    answer = post(Client(), address, text, **{"X-Station-Pass": cast.token})
    assert answer.status_code == status
    assert answer.headers["X-Groundwork-Protocol"] == "1"


def test_the_tablets_clock_is_kept_beside_ours_and_never_corrected(cast, address):
    one = body(cast.day, cast.mia, t_wall="2026-11-25T14:00:00+00:00")
    post(
        Client(),
        address,
        {"sent_at": "2026-11-25T14:30:00Z", "entries": [one]},
        **{"X-Station-Pass": cast.token},
    )
    row = Result.objects.get()
    assert row.t_wall.isoformat() == "2026-11-25T14:00:00+00:00"
    assert row.offset_s == 7200
