"""What the attack tests share: a browser of one person, a tablet, and whole pages as text."""

from __future__ import annotations

import json

from django.test import Client
from django.urls import reverse


def signed_in(user, **options) -> Client:
    """A browser in which this member is signed in."""
    client = Client(**options)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def send(client, day, data, *, door="sync", **headers):
    """What a tablet posts to one of its addresses; `data` may be text that is no JSON."""
    text = data if isinstance(data, str) else json.dumps(data)
    url = reverse(f"assessments:{door}", args=[day.code])
    return client.post(url, text, content_type="application/json", headers=headers)


def with_pass(token: str) -> dict[str, str]:
    """The header by which a station proves itself."""
    return {"X-Station-Pass": token}


def words_of(answer) -> list[str]:
    """The final word about each entry that was sent."""
    return [one["word"] for one in answer.json()["answers"]]
