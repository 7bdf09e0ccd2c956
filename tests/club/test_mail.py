"""Mail goes out over a real SMTP connection, and a dead mail server stops nobody."""

from __future__ import annotations

import socket
from email import message_from_bytes, policy

import pytest
from aiosmtpd.controller import Controller
from django.core import mail
from django.urls import reverse


class Box:
    """Keeps what arrives."""

    def __init__(self):
        self.letters = []

    async def handle_DATA(self, server, session, envelope):
        self.letters.append((envelope.rcpt_tos, message_from_bytes(envelope.content, policy=policy.default)))
        return "250 OK"


def free_port():
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return found.getsockname()[1]


@pytest.fixture
def over_smtp(settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", free_port()
    return settings


@pytest.fixture
def post_office(over_smtp):
    box = Box()
    controller = Controller(box, hostname="127.0.0.1", port=over_smtp.EMAIL_PORT)
    controller.start()
    yield box
    controller.stop()


def invite(client):
    return client.post(
        reverse("club:member_invite"), {"name": "Zoë Ek", "email": "zoe@fernleigh.example", "role": "coach"}
    )


def test_an_invitation_arrives_with_a_link_that_works(cast, as_member, post_office, client):
    link = invite(as_member(cast.director)).context["link"]
    to, letter = post_office.letters[0]
    assert to == ["zoe@fernleigh.example"] and "Fernleigh Gymnastics" in letter["Subject"]
    assert link in letter.get_content()
    client.logout()
    assert client.get(link).status_code == 200


def test_a_forgotten_password_is_answered_alike_and_mailed_once(cast, client, post_office):
    cast.coach.set_password("an old password of mine")
    cast.coach.save()
    for email in (cast.coach.email, "nobody@fernleigh.example"):
        answer = client.post(reverse("club:password_reset"), {"email": email})
        assert answer.status_code == 302
    assert [to for to, _ in post_office.letters] == [[cast.coach.email]]


def test_without_a_mail_server_the_link_is_still_shown(cast, as_member, over_smtp):
    answer = invite(as_member(cast.director))
    assert answer.status_code == 200 and answer.context["link"] in answer.content.decode()
    assert mail.outbox == []
