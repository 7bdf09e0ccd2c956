"""A new club: empty, with the starter programme, and a way in for its director."""

from __future__ import annotations

import re

import pytest
from django.core.management import CommandError, call_command

from assessments.models import ProgrammeEdition
from athletes.models import Athlete
from club.models import ClubProfile, Invitation, User


@pytest.fixture
def made(db, capsys):
    call_command("newclub", "Heron Lane Gym", "--director", "Lead@Heron.example")
    return capsys.readouterr().out


def test_it_is_empty_and_holds_the_programme(made):
    assert ClubProfile.objects.get().name == "Heron Lane Gym"
    assert ProgrammeEdition.objects.current().number == 1
    assert not Athlete.objects.exists() and not User.objects.exists()
    assert Invitation.objects.get().email == "lead@heron.example"


def test_the_printed_link_leads_in(made, client):
    path = re.search(r"http://127.0.0.1:8000(/\S+)", made).group(1)
    answer = client.post(path, {"name": "Lea Heron", "password": "flat backs and tall arms"}, follow=True)
    assert answer.status_code == 200
    assert User.objects.get().role == "director"
    assert "An empty gym" in answer.content.decode()


@pytest.mark.parametrize(
    ("name", "email", "words"),
    [
        ("Heron", "not-an-address", "not an e-mail"),
        ("  ", "a@b.example", "name"),
        ("Other", "a@b.example", "already holds"),
    ],
)
def test_a_wrong_call_changes_nothing(made, name, email, words):
    before = ClubProfile.objects.count(), Invitation.objects.count()
    with pytest.raises(CommandError, match=words):
        call_command("newclub", name, "--director", email)
    assert before == (ClubProfile.objects.count(), Invitation.objects.count())
