"""Sessions that should have ended: a coach's turn, a leaver, a closed account, a changed role, an old link."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.models import Coaching
from club.access import Role
from club.models import Invitation, User
from tests import factories
from tests.assessments.entry_making import body
from tests.club.attacking import send, signed_in, words_of
from tests.things import addresses, things_of

PASSWORD = "tall arms and flat backs"
WRONG = "long legs and loud shoes"
YESTERDAY = factories.TODAY - timedelta(days=1)


def sign_in(client, email, password, address="198.51.100.7", **extra):
    said = {"username": email, "password": password, **extra}
    return client.post(reverse("club:sign_in"), said, REMOTE_ADDR=address)


@pytest.fixture
def ines(cast):
    cast.coach.set_password(PASSWORD)
    cast.coach.save()
    return cast.coach


def test_a_coach_whose_turn_ended_yesterday_finds_nothing(cast, programme):
    client, found = signed_in(cast.coach), list(addresses(things_of(cast, programme)))
    about = [(name, row, url) for name, row, url in found if row.args and row.of("other_coach") == {404}]
    mia = reverse("athletes:athlete", args=[cast.mia.code])
    assert client.get(mia).status_code == 200 and len(about) > 40
    Coaching.objects.filter(coach=cast.coach).update(until_on=YESTERDAY)
    wrong = [name for name, row, url in about if getattr(client, row.method)(url).status_code != 404]
    assert not wrong
    shown = client.get(reverse("athletes:athlete_list")).content.decode()
    assert "Mia" not in shown and "Tom" not in shown
    assert words_of(send(client, cast.day, [body(cast.day, cast.mia)])) == ["refused"]


def test_a_turn_that_begins_tomorrow_shows_nothing_today(cast):
    client, url = signed_in(cast.coach), reverse("athletes:group", args=[cast.tigers.code])
    Coaching.objects.filter(coach=cast.coach).update(from_on=factories.TODAY + timedelta(days=1))
    assert client.get(url).status_code == 404
    Coaching.objects.filter(coach=cast.coach).update(from_on=factories.TODAY)
    assert client.get(url).status_code == 200


def test_a_child_who_left_is_gone_for_the_coach_and_stays_for_the_director(cast):
    url = reverse("athletes:athlete", args=[cast.tom.code])
    assert signed_in(cast.coach).get(url).status_code == 200
    cast.tom.left_on = YESTERDAY
    cast.tom.save()
    assert signed_in(cast.coach).get(url).status_code == 404
    assert (
        "Tom" not in signed_in(cast.coach).get(reverse("athletes:athlete_list"), {"left": 1}).content.decode()
    )
    assert signed_in(cast.director).get(url).status_code == 200


@pytest.mark.parametrize("who", ["director", "coach", "guardian"])
def test_a_closed_account_stops_at_once(cast, programme, who):
    member = getattr(cast, who)
    client = signed_in(member)
    account = reverse("club:account")
    assert client.get(account).status_code == 200
    User.objects.filter(pk=member.pk).update(is_active=False)
    assert client.get(account).headers["Location"].startswith("/sign-in/")
    assert send(client, cast.day, [body(cast.day, cast.mia)]).status_code == 401
    assert client.get(reverse("assessments:sync_token")).status_code == 401


def test_a_role_that_changes_holds_on_the_next_request(cast, programme):
    client = signed_in(cast.director)
    people, settings = reverse("club:member_list"), reverse("club:club_settings")
    assert [client.get(url).status_code for url in (people, settings)] == [200, 200]
    User.objects.filter(pk=cast.director.pk).update(role=Role.COACH)
    assert [client.get(url).status_code for url in (people, settings)] == [403, 403]
    assert client.get(reverse("athletes:athlete", args=[cast.mia.code])).status_code == 404
    User.objects.filter(pk=cast.director.pk).update(role=Role.GUARDIAN)
    assert client.get(reverse("assessments:day_list")).status_code == 403


def test_a_new_password_ends_the_sessions_on_other_devices(ines):
    here, there = Client(), Client()
    for client in (here, there):
        assert sign_in(client, ines.email, PASSWORD).status_code == 302
    said = {"old_password": PASSWORD, "new_password1": WRONG, "new_password2": WRONG}
    assert here.post(reverse("club:password_change"), said).status_code == 302
    assert here.get(reverse("club:account")).status_code == 200
    assert there.get(reverse("club:account")).status_code == 302


def test_signing_in_changes_the_session_key(ines, client):
    client.get(reverse("club:sign_in"))
    session = client.session
    session["planted"] = True
    session.save()
    before = session.session_key
    sign_in(client, ines.email, PASSWORD)
    assert client.session.session_key != before
    assert client.get(reverse("club:account")).status_code == 200


def test_a_second_invitation_does_not_open_an_account_that_was_closed(cast, client):
    """Two mails went out; the coach used one, was dismissed, and tries the other."""
    links = [
        reverse(
            "club:invitation_accept", args=[Invitation.issue(email=one, role="coach", now=factories.NOW)[1]]
        )
        for one in ("kai@fernleigh.example", "KAI@fernleigh.example")
    ]
    assert client.post(links[0], {"name": "Kai", "password": PASSWORD}).status_code == 302
    assert client.post(links[1], {"name": "Kai", "password": WRONG}).status_code == 410
    kai = User.objects.get(email="kai@fernleigh.example")
    assert kai.check_password(PASSWORD)
    _, token = Invitation.issue(email=kai.email, role="director", now=factories.NOW)
    member = reverse("club:member", args=[kai.code])
    assert signed_in(cast.director).post(member, {"name": "Kai", "role": "coach"}).status_code == 302
    later = reverse("club:invitation_accept", args=[token])
    assert client.post(later, {"name": "Kai", "password": WRONG}).status_code == 410
    kai.refresh_from_db()
    assert not kai.is_active and kai.role == Role.COACH


def test_an_invitation_sets_no_role_but_its_own(cast, client):
    _, token = Invitation.issue(email="kai@fernleigh.example", role="coach", now=factories.NOW)
    said = {"name": "Kai", "password": PASSWORD, "role": "director", "email": "dagny@fernleigh.example"}
    assert client.post(reverse("club:invitation_accept", args=[token]), said).status_code == 302
    assert User.objects.get(email="kai@fernleigh.example").role == Role.COACH


@pytest.mark.parametrize(
    "way",
    ["https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example", "javascript:alert(1)",
     "https:elsewhere.example", "\thttps://elsewhere.example", "http:///elsewhere.example"],
)  # fmt: skip
def test_no_way_back_leaves_the_club(ines, client, way):
    answer = client.post(
        f"{reverse('club:sign_in')}?next={way}", {"username": ines.email, "password": PASSWORD, "next": way}
    )
    assert answer.headers["Location"] == reverse("club:home")
    client.logout()
    good = reverse("athletes:athlete_list")
    assert sign_in(client, ines.email, PASSWORD, next=good).headers["Location"] == good


def test_the_way_to_sign_in_keeps_where_one_wanted_to_go_and_nothing_else(client, db):
    answer = client.get("/children/", {"q": "a&next=https://elsewhere.example"})
    where = answer.headers["Location"]
    assert where.startswith("/sign-in/?next=/children/") and "&next=" not in where


def test_a_request_for_a_new_password_tells_nothing_and_leads_home(ines, client, mailoutbox):
    url = reverse("club:password_reset")
    answers = [client.post(url, {"email": one}) for one in (ines.email, "nobody@fernleigh.example")]
    assert answers[0].status_code == answers[1].status_code == 302
    assert answers[0].headers["Location"] == answers[1].headers["Location"]
    assert [one.to for one in mailoutbox] == [[ines.email]]
    bad = client.post(url, {"email": ines.email}, HTTP_HOST="elsewhere.example")
    assert bad.status_code == 400 and len(mailoutbox) == 1


def test_a_closed_account_gets_no_link_for_a_new_password(ines, client, mailoutbox):
    User.objects.filter(pk=ines.pk).update(is_active=False)
    client.post(reverse("club:password_reset"), {"email": ines.email})
    assert mailoutbox == []


@pytest.fixture
def slowed(settings, monkeypatch):
    """Sign-in counts wrong tries, as it does outside the suite, by the clock that the suite goes by."""
    settings.AXES_ENABLED = True
    monkeypatch.setattr("axes.attempts.now", timezone.now)
    monkeypatch.setattr("axes.handlers.proxy.now", timezone.now)


def test_guessing_is_stopped_without_stopping_the_owner_elsewhere(ines, slowed):
    attacker, owner = "203.0.113.9", "198.51.100.7"
    for _ in range(6):
        last = sign_in(Client(), ines.email, WRONG, attacker)
    assert last.status_code == 429 and b"Wait a little" in last.content
    assert sign_in(Client(), ines.email, PASSWORD, attacker).status_code == 429
    assert sign_in(Client(), ines.email, PASSWORD, owner).status_code == 302


def test_writing_the_address_another_way_gives_no_more_tries(ines, slowed):
    for number in range(6):
        email = ines.email.upper() if number % 2 else f" {ines.email.title()} "
        sign_in(Client(), email, WRONG)
    assert sign_in(Client(), ines.email, PASSWORD).status_code == 429
    assert sign_in(Client(), "bo@fernleigh.example", WRONG).status_code == 200


def test_behind_a_proxy_each_caller_has_an_address_of_their_own(ines, slowed, settings):
    """The proxy adds the caller as the last address; what a caller wrote before it counts for nothing."""
    settings.AXES_CLIENT_IP_CALLABLE = "club.http.client_address"

    def tried(password: str, forwarded: str) -> int:
        said = {"username": ines.email, "password": password}
        return Client().post(reverse("club:sign_in"), said, HTTP_X_FORWARDED_FOR=forwarded).status_code

    for number in range(6):
        tried(WRONG, f"10.0.0.{number}, 203.0.113.9")
    assert tried(PASSWORD, "198.51.100.7, 203.0.113.9") == 429
    assert tried(PASSWORD, "198.51.100.7") == 302


def test_a_few_slips_lock_nobody(ines, slowed):
    for _ in range(5):
        assert sign_in(Client(), ines.email, WRONG).status_code == 200
    assert sign_in(Client(), ines.email, PASSWORD).status_code == 302
