"""What a guardian can reach by guessing, and what restricted disclosure stops at once."""

from __future__ import annotations

import json

import pytest
from django.urls import reverse

from assessments.models import FamilyReport
from athletes.models import Guardian
from club.access import Role
from club.models import AuditEntry, Invitation, User
from tests import factories
from tests.club.attacking import signed_in
from tests.things import addresses, things_of

SECRET = "Sore wrist since Tuesday"


@pytest.fixture
def notes(cast):
    """A note about Mia in every state, and a released one about Tom."""
    cast.released = factories.FamilyReportFactory(
        athlete=cast.mia, approved=True, body={"title": "Long arms"}
    )
    cast.draft = factories.FamilyReportFactory(athlete=cast.mia, body={"title": "Draft words"})
    cast.gone = factories.FamilyReportFactory(
        athlete=cast.mia,
        status=FamilyReport.Status.WITHDRAWN,
        approved_at=factories.NOW,
        body={"title": "Gone words"},
    )
    cast.toms = factories.FamilyReportFactory(athlete=cast.tom, approved=True, body={"title": "Toms words"})
    factories.RestNoteFactory(athlete=cast.mia, note=SECRET)
    return cast


def page(note) -> str:
    return reverse("assessments:family_report", args=[note.code])


def statuses(user, *found) -> list[int]:
    client = signed_in(user)
    return [client.get(page(note)).status_code for note in found]


def titles(user) -> str:
    return signed_in(user).get(reverse("assessments:family")).content.decode()


def test_a_guardian_reads_the_released_notes_of_their_own_child_and_no_other(notes):
    assert statuses(notes.guardian, notes.released, notes.draft, notes.gone, notes.toms) == [
        200,
        404,
        404,
        404,
    ]
    shown = titles(notes.guardian)
    assert "Long arms" in shown
    assert not any(word in shown for word in ("Draft words", "Gone words", "Toms words", "Tom", SECRET))
    assert statuses(notes.outsider, notes.released, notes.toms) == [404, 404]


def test_a_note_that_is_taken_back_is_gone_on_the_next_request(notes):
    client = signed_in(notes.guardian)
    assert client.get(page(notes.released)).status_code == 200
    signed_in(notes.coach).post(reverse("assessments:family_report_withdraw", args=[notes.released.code]))
    assert client.get(page(notes.released)).status_code == 404


def test_a_guardian_opens_no_page_of_the_staff_about_any_child(notes, programme):
    client, wrong = signed_in(notes.guardian), []
    for name, row, url in addresses(things_of(notes, programme)):
        if not row.args or row.of("guardian") != frozenset({403}):
            continue
        answer = getattr(client, row.method)(url)
        if answer.status_code != 403 or b"Alder" in answer.content:
            wrong.append(f"{name}: {answer.status_code}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("change", ["revoked", "contact only", "other child"])
def test_reading_ends_with_the_grant_on_the_next_request(notes, change):
    client = signed_in(notes.guardian)
    assert client.get(page(notes.released)).status_code == 200
    grant = Guardian.objects.filter(member=notes.guardian)
    {
        "revoked": lambda: grant.update(revoked_at=factories.NOW),
        "contact only": lambda: grant.update(may_read=False),
        "other child": lambda: grant.update(athlete=notes.bea),
    }[change]()
    assert client.get(page(notes.released)).status_code == 404
    assert "Long arms" not in client.get(reverse("assessments:family")).content.decode()


def test_a_restriction_stops_all_but_named_adults_on_the_next_request(notes):
    other = factories.UserFactory(role=Role.GUARDIAN)
    factories.GuardianFactory(athlete=notes.mia, member=other, email=other.email, named=True)
    client = signed_in(notes.guardian)
    assert client.get(page(notes.released)).status_code == 200
    restrict = reverse("athletes:athlete_restrict", args=[notes.mia.code])
    director = signed_in(notes.director)
    director.post(restrict, {"restricted": "on", "restricted_reference": "SG-7"})
    assert client.get(page(notes.released)).status_code == 404
    assert "Mia" not in client.get(reverse("assessments:family")).content.decode()
    assert statuses(other, notes.released) == [200]
    director.post(restrict, {"restricted_reference": ""})
    assert client.get(page(notes.released)).status_code == 200
    verbs = list(AuditEntry.objects.about(notes.mia.code).values_list("verb", flat=True))
    assert verbs.count("restricted disclosure") == 1 and verbs.count("lifted a restriction") == 1


@pytest.mark.parametrize("who", ["coach", "guardian"])
def test_only_a_director_restricts_lifts_and_names(notes, who):
    client = signed_in(getattr(notes, who))
    grant = notes.mia.guardians.get()
    assert (
        client.post(
            reverse("athletes:athlete_restrict", args=[notes.mia.code]), {"restricted": "on"}
        ).status_code
        == 403
    )
    assert client.post(reverse("athletes:guardian_name", args=[grant.code])).status_code == 403
    grant.refresh_from_db()
    notes.mia.refresh_from_db()
    assert not grant.named and not notes.mia.restricted


def test_a_restriction_stops_every_file_and_warns_the_staff(notes, programme):
    measure = factories.MeasureFactory()
    for child, value in ((notes.mia, 31.25), (notes.tom, 32.5)):
        factories.ResultFactory(day=notes.day, athlete=child, measure=measure, value=value)
    director = signed_in(notes.director)
    files = [
        reverse("athletes:athlete_export", args=[notes.mia.code]),
        reverse("assessments:child_export", args=[notes.mia.code]),
    ]
    group = reverse("assessments:group_export", args=[notes.tigers.code])
    assert [director.get(url).status_code for url in files] == [200, 200]
    assert "31.25" in director.get(group).content.decode()
    notes.mia.restricted = True
    notes.mia.save()
    for url in files:
        answer = director.get(url)
        assert answer.status_code == 302 and "attachment" not in answer.headers.get("Content-Disposition", "")
    text = director.get(group).content.decode()
    assert "31.25" not in text and "Mia" not in text and "32.5" in text
    for name in ("assessments:child", "athletes:athlete"):
        shown = signed_in(notes.coach).get(reverse(name, args=[notes.mia.code])).content.decode()
        assert "heck with the director" in shown


def test_a_file_names_no_other_adult_by_address(notes, programme):
    factories.GuardianFactory(athlete=notes.mia, email="second@home.example", name="Sky Alder")
    data = signed_in(notes.director).get(reverse("athletes:athlete_export", args=[notes.mia.code]))
    text = data.content.decode()
    assert json.loads(text)["child"]["first_name"] == "Mia"
    assert not any(word in text for word in ("@", "Ines", "Marlow", "Tom", "Birch"))


def test_mail_to_a_guardian_names_no_child(notes, mailoutbox):
    added = signed_in(notes.director).post(
        reverse("athletes:guardian_add", args=[notes.mia.code]),
        {"name": "Sky", "email": "Sky@Home.example", "may_read": "on"},
    )
    assert added.status_code == 200 and [one.to for one in mailoutbox] == [["sky@home.example"]]
    sent = mailoutbox[0].subject + mailoutbox[0].body
    assert not any(word in sent for word in ("Mia", "Alder", str(notes.mia.code), "Tigers"))


def test_knowing_a_childs_name_and_birthday_gives_nobody_access(notes, mailoutbox):
    _row, token = Invitation.issue(
        email="pat2@home.example", role=Role.GUARDIAN, now=factories.NOW, name="Pat"
    )
    said = {
        "name": "Pat Alder", "password": "tall arms and flat backs", "email": notes.guardian.email,
        "role": "director", "athlete": str(notes.mia.code), "is_active": "on",
    }  # fmt: skip
    client = signed_in(notes.outsider)
    client.post(reverse("club:invitation_accept", args=[token]), said)
    made = User.objects.get(email="pat2@home.example")
    assert made.role == Role.GUARDIAN and not made.guardianships.exists()
    assert client.get(page(notes.released)).status_code == 404


def test_an_address_of_the_staff_cannot_become_a_guardian(notes):
    answer = signed_in(notes.director).post(
        reverse("athletes:guardian_add", args=[notes.mia.code]),
        {"email": "INES@fernleigh.example", "may_read": "on"},
    )
    assert answer.status_code == 422 and not Guardian.objects.filter(email__startswith="ines").exists()


def test_erasing_a_child_ends_the_invitations_of_its_parents(notes):
    _, token = Invitation.issue(email="sky@home.example", role=Role.GUARDIAN, now=factories.NOW)
    factories.GuardianFactory(athlete=notes.tom, email="sky@home.example")
    link = reverse("club:invitation_accept", args=[token])
    assert signed_in(notes.outsider).get(link).status_code == 200
    erase = reverse("athletes:athlete_erase", args=[notes.tom.code])
    assert signed_in(notes.director).post(erase, {"confirm": "Tom"}).status_code == 302
    assert signed_in(notes.outsider).get(link).status_code == 410
