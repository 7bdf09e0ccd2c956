"""A tablet's pass: how far it reaches, when it ends, and what it never shows."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from assessments.models import Attendance, Result, StationPass
from athletes.models import RestNote
from club.middleware import STATION_URLS
from tests import factories
from tests.assessments.entry_making import body
from tests.club.attacking import send, signed_in, with_pass, words_of
from tests.things import addresses, things_of

REACHED = {
    "assessments:floor", "assessments:floor_data", "assessments:sync", "assessments:sync_reconcile",
    "assessments:sync_roll",
}  # fmt: skip


@pytest.fixture
def things(cast, programme):
    return things_of(cast, programme)


def carrying(token: str, how: str) -> tuple[Client, dict[str, dict[str, str]]]:
    """A tablet that shows its pass in the header or in the cookie."""
    client = Client()
    if how == "cookie":
        client.cookies["station"] = token
        return client, {}
    return client, {"headers": with_pass(token)}


def ask(client, row, url, extra):
    return getattr(client, row.method)(url, **extra)


def opened_by(token, how, things, *, among=None) -> set[str]:
    """Names of the addresses, not open to everybody, at which this pass is let in or at least heard."""
    found = set()
    for name, row, url in addresses(things):
        if row.of("nobody") & {200, 410} or (among is not None and name not in among):
            continue
        client, extra = carrying(token, how)
        answer = ask(client, row, url, extra)
        away = answer.status_code in (401, 404) or answer.headers.get("Location", "").startswith("/sign-in/")
        if not away:
            found.add(name)
    return found


def test_a_pass_in_a_cookie_reaches_the_short_list_of_all_addresses(cast, things):
    assert opened_by(cast.token, "cookie", things) == REACHED


@pytest.mark.parametrize("how", ["header", "cookie"])
def test_a_pass_reaches_nothing_once_it_is_over(cast, things, how):
    assert opened_by(cast.token, how, things, among=REACHED) == REACHED
    for change in (
        {"ended_at": factories.NOW},
        {"ended_at": None, "expires_at": factories.NOW},
        {"expires_at": factories.NOW - timedelta(minutes=1)},
    ):
        StationPass.objects.filter(pk=cast.tablet.pk).update(**change)
        assert opened_by(cast.token, how, things, among=REACHED) == set(), change


def test_the_short_list_holds_nothing_but_the_floor_and_its_doors():
    assert REACHED | {"assessments:station_join", "assessments:station_leave"} == STATION_URLS


@pytest.mark.parametrize("how", ["header", "cookie"])
def test_a_made_up_pass_opens_nothing(cast, things, how):
    for token in (
        "",
        "tigers-token ",
        "Tigers-Token",
        cast.tablet.digest,
        str(cast.tablet.code),
        "' or 1=1 --",
    ):
        assert opened_by(token, how, things, among=REACHED) == set(), token
    assert opened_by(cast.token, how, things, among=REACHED) == REACHED


@pytest.mark.parametrize("how", ["header", "cookie"])
def test_a_pass_of_another_day_opens_nothing_here(cast, things, how):
    other = factories.DayFactory(groups=[cast.tigers])
    factories.StationPassFactory(day=other, token="other-day")
    assert opened_by("other-day", how, things, among=REACHED) == set()
    client, extra = carrying("other-day", how)
    assert client.get(reverse("assessments:floor", args=[other.code]), **extra).status_code == 200


def test_a_pass_in_the_header_speaks_instead_of_whoever_is_signed_in(cast, things):
    """A dead pass on a coach's device must not record in the coach's name, nor the other way round."""
    client = signed_in(cast.director)
    url = reverse("athletes:athlete", args=[cast.mia.code])
    assert client.get(url).status_code == 200
    for token in (cast.token, "dead"):
        assert client.get(url, headers=with_pass(token)).status_code == 302
    data = reverse("assessments:floor_data", args=[cast.day.code])
    assert client.get(data, headers=with_pass("dead")).status_code == 401
    assert client.get(data, headers=with_pass(cast.token)).status_code == 200


def test_an_empty_pass_header_is_no_way_around_the_token(cast, things):
    client = signed_in(cast.coach, enforce_csrf_checks=True)
    answer = send(client, cast.day, [body(cast.day, cast.tom)], **with_pass(""))
    assert answer.json() == {"word": "token_old"}
    token = client.get(reverse("assessments:sync_token")).json()["token"]
    answer = send(client, cast.day, [body(cast.day, cast.tom)], **with_pass(""), **{"X-CSRFToken": token})
    assert words_of(answer) == ["stored"]


def test_a_tablet_hears_the_day_and_no_history(cast, things):
    earlier = factories.DayFactory(groups=[cast.tigers], held_on=factories.TODAY - timedelta(days=60))
    measure = factories.MeasureFactory()
    before = factories.ResultFactory(day=earlier, athlete=cast.mia, measure=measure, value=41.5)
    today = Result.objects.get(day=cast.day)
    RestNote.objects.filter(athlete=cast.mia).update(note="Fell on a hand.")
    told = (
        Client()
        .get(reverse("assessments:floor_data", args=[cast.day.code]), headers=with_pass(cast.token))
        .content.decode()
    )
    assert str(today.code) in told
    for secret in (
        str(before.code),
        "41.5",
        "Fell on",
        "Alder",
        "2020",
        str(cast.mia.born_on),
        "pat@",
        "Bea",
    ):
        assert secret not in told, secret
    asked = {"tablet": "t", "ids": [str(before.code)], "made": 1, "highest_seq": 1, "waiting": 0}
    answer = send(Client(), cast.day, asked, door="sync_reconcile", **with_pass(cast.token)).json()
    assert set(answer) == {"missing", "settled", "stored", "gaps", "now", "day"}


def test_a_tablet_records_in_no_members_name(cast, things):
    one = body(cast.day, cast.tom, judge=str(cast.coach.code), recorded_by=cast.director.pk)
    assert words_of(send(Client(), cast.day, [one], **with_pass(cast.token))) == ["stored"]
    row = Result.objects.get(code=one["id"])
    assert (row.recorded_by, row.judge, row.station_pass) == (None, cast.coach, cast.tablet)


def test_a_tablet_cannot_borrow_the_pass_of_another_day(cast, things):
    other = factories.StationPassFactory(day=factories.DayFactory(groups=[cast.bears]))
    one = body(cast.day, cast.tom, **{"pass": str(other.code)})
    send(Client(), cast.day, [one], **with_pass(cast.token))
    row = Result.objects.get(code=one["id"])
    assert row.station_pass == cast.tablet and "pass_unknown" in row.flags


def test_a_tablet_marks_nobody_outside_its_day(cast, things):
    lines = [
        {"child": str(child.code), "at": factories.NOW.isoformat(), "present": True}
        for child in (cast.bea, cast.mia)
    ]
    send(Client(), cast.day, {"lines": lines}, door="sync_roll", **with_pass(cast.token))
    assert list(Attendance.objects.values_list("athlete", flat=True)) == [cast.mia.pk]


def test_a_child_who_moved_to_another_group_is_gone_from_the_tablet_at_once(cast, things):
    url = reverse("assessments:floor_data", args=[cast.day.code])

    def names() -> list[str]:
        return [
            one["first_name"] for one in Client().get(url, headers=with_pass(cast.token)).json()["children"]
        ]

    assert names() == ["Mia", "Tom"]
    cast.tom.group = cast.bears
    cast.tom.save()
    assert names() == ["Mia"]


def test_the_page_of_the_floor_holds_no_child(cast, things):
    for client, extra in (carrying(cast.token, "cookie"), (signed_in(cast.coach), {})):
        page = client.get(reverse("assessments:floor", args=[cast.day.code]), **extra)
        text = page.content.decode()
        assert page.status_code == 200
        assert not any(word in text for word in ("Mia", "Alder", "Tom", str(cast.mia.code)))


def test_a_pass_token_is_kept_nowhere(cast, things):
    made = (
        signed_in(cast.coach)
        .post(reverse("assessments:pass_create", args=[cast.day.code]), {"label": "Tablet 7"})
        .content.decode()
    )
    token = made.split("/join/")[1].split("/")[0]
    row = StationPass.objects.get(label="Tablet 7")
    assert token not in str(StationPass.objects.filter(pk=row.pk).values()) and len(token) >= 32
    again = signed_in(cast.coach).get(reverse("assessments:day", args=[cast.day.code])).content.decode()
    assert token not in again and "Tablet 7" in again
