"""Every form wants the club's own token, and takes nothing that it did not ask for."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from athletes.models import Athlete, Coaching, Guardian
from club.access import Role
from club.models import AuditEntry, ClubProfile, User
from tests import factories
from tests.club.attacking import signed_in
from tests.things import addresses, things_of

#: Tablets speak JSON: their addresses answer a missing token in a word instead of a page.
JSON = {f"assessments:{name}" for name in ("sync", "sync_reconcile", "sync_roll", "sync_token", "floor_data")}


def test_every_post_without_the_token_is_refused(cast, programme):
    things = things_of(cast, programme)
    client = signed_in(cast.director, enforce_csrf_checks=True)
    wrong, asked = [], 0
    for name, _, url in addresses(things):
        answer = client.post(url)
        if answer.status_code == 405:
            continue
        asked += 1
        good = (
            answer.json() == {"word": "token_old"} if name in JSON else b"open for too long" in answer.content
        )
        if answer.status_code != 403 or not good:
            wrong.append(f"{name}: {answer.status_code}")
    assert not wrong, "\n".join(wrong)
    assert asked > 60
    assert client.get(reverse("club:account")).status_code == 200


def test_a_form_with_the_token_of_its_page_is_taken(cast):
    client = signed_in(cast.director, enforce_csrf_checks=True)
    url = reverse("club:club_settings")
    token = client.get(url).context["csrf_token"]
    said = {
        "name": "Fernleigh", "season_start_month": 9, "emergency_number": "112", "contact_email": "a@b.example",
    }  # fmt: skip
    assert client.post(url, said).status_code == 403
    assert client.post(url, {**said, "csrfmiddlewaretoken": str(token)}).status_code == 302
    foreign = client.post(
        url, {**said, "csrfmiddlewaretoken": str(token)}, HTTP_ORIGIN="https://elsewhere.example"
    )
    assert foreign.status_code == 403


def test_nothing_changes_by_asking_for_a_page(cast, programme):
    """A picture or a link on another site can make a browser GET; that must never change anything."""
    things = things_of(cast, programme)
    client = signed_in(cast.director)
    posts = [(name, url) for name, row, url in addresses(things) if row.method == "post"]
    wrong = [name for name, url in posts if client.get(url).status_code not in (404, 405)]
    assert len(posts) > 25 and not wrong, wrong


def test_a_pages_answer_cannot_be_framed_read_or_sniffed(cast):
    for client, url in (
        (signed_in(cast.coach), reverse("athletes:athlete", args=[cast.mia.code])),
        (Client(), reverse("club:sign_in")),
        (signed_in(cast.guardian), reverse("assessments:family")),
    ):
        headers = client.get(url, headers={"Origin": "https://elsewhere.example"}).headers
        assert (
            headers["X-Frame-Options"] == "DENY"
            and "frame-ancestors 'none'" in headers["Content-Security-Policy"]
        )
        assert headers["Referrer-Policy"] == "same-origin" and headers["X-Content-Type-Options"] == "nosniff"
        assert not [name for name in headers if name.lower().startswith("access-control")]


@pytest.fixture
def child_form(cast):
    return {
        "first_name": "Mia", "last_name": "Alder", "born_on": "2020-03-14", "joined_on": "2025-09-01",
        "group": cast.tigers.pk,
    }  # fmt: skip


def test_a_childs_form_sets_nothing_that_it_does_not_show(cast, child_form):
    more = {
        "restricted": "on",
        "restricted_reference": "X",
        "code": str(cast.tom.code),
        "id": cast.tom.pk,
        "pk": 1,
    }
    code = cast.mia.code
    answer = signed_in(cast.director).post(
        reverse("athletes:athlete_edit", args=[code]), {**child_form, **more}
    )
    assert answer.status_code == 302
    cast.mia.refresh_from_db()
    assert (cast.mia.code, cast.mia.restricted) == (code, False)
    assert Athlete.objects.count() == 3


def test_a_coachs_own_pages_give_no_new_rights(cast):
    client = signed_in(cast.coach)
    said = {"name": "Ines", "role": "director", "is_active": "on", "coach": cast.coach.pk, "from_on": "2026-01-01",
            "email": "ines@fernleigh.example", "may_read": "on"}  # fmt: skip
    for name, args in (
        ("club:member", [cast.coach.code]), ("club:member_invite", []), ("athletes:coaching_add", [cast.bears.code]),
        ("athletes:guardian_add", [cast.mia.code]), ("athletes:group_edit", [cast.tigers.code]),
        ("club:club_settings", []), ("athletes:athlete_edit", [cast.mia.code]),
    ):  # fmt: skip
        assert client.post(reverse(name, args=args), said).status_code == 403, name
    assert User.objects.get(pk=cast.coach.pk).role == Role.COACH
    assert not Coaching.objects.filter(coach=cast.coach, group=cast.bears).exists()
    assert Guardian.objects.count() == 1
    answer = signed_in(cast.director).post(reverse("athletes:coaching_add", args=[cast.bears.code]), said)
    assert answer.status_code == 302
    assert Coaching.objects.filter(coach=cast.coach, group=cast.bears).exists()


def test_a_guardian_cannot_be_given_a_group(cast):
    said = {"coach": cast.guardian.pk, "from_on": "2026-01-01"}
    signed_in(cast.director).post(reverse("athletes:coaching_add", args=[cast.bears.code]), said)
    assert not Coaching.objects.filter(coach=cast.guardian).exists()
    said["coach"] = cast.coach.pk
    signed_in(cast.director).post(reverse("athletes:coaching_add", args=[cast.bears.code]), said)
    assert Coaching.objects.filter(coach=cast.coach, group=cast.bears).exists()


def test_words_in_mail_cannot_become_headers(cast, mailoutbox):
    ClubProfile.objects.update(name="Fernleigh\r\nBcc: everybody@elsewhere.example")
    client = signed_in(cast.director)
    said = {"name": "Kai\r\nBcc: x@elsewhere.example", "email": "kai@fernleigh.example", "role": "coach"}
    assert client.post(reverse("club:member_invite"), said).status_code == 200
    Client().post(
        reverse("club:password_reset"), {"email": "kai@fernleigh.example\nBcc: x@elsewhere.example"}
    )
    assert len(mailoutbox) == 1
    message = mailoutbox[0].message()
    assert message["Bcc"] is None and message["To"] == "kai@fernleigh.example"
    assert "\n" not in str(message["Subject"])


def test_a_name_in_a_file_never_becomes_a_header(cast, programme):
    odd = 'Mia"\r\nSet-Cookie: a=b; x="../../etc/passwd'
    Athlete.objects.filter(pk=cast.mia.pk).update(first_name=odd)
    cast.tigers.name = "Tigers\r\nX-Odd: 1"
    cast.tigers.save()
    client = signed_in(cast.director)
    for name, code in (
        ("athletes:athlete_export", cast.mia.code), ("assessments:child_export", cast.mia.code),
        ("assessments:group_export", cast.tigers.code),
    ):  # fmt: skip
        answer = client.get(reverse(name, args=[code]))
        assert answer.status_code == 200 and "X-Odd" not in answer.headers and not answer.cookies
        kept = answer.headers["Content-Disposition"]
        assert str(code) in kept and "passwd" not in kept and "Mia" not in kept


def test_a_search_in_the_trail_is_only_words(cast):
    client, url = signed_in(cast.director), reverse("club:audit_trail")
    factories.UserFactory()
    for words in ("' OR 1=1 --", "%", "\\", "<script>alert(1)</script>", "\x00", "a" * 5_000):
        answer = client.get(url, {"q": words})
        assert answer.status_code == 200 and b"<script>alert" not in answer.content
    assert AuditEntry.objects.count() == 0
