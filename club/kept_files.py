"""Keeps an uploaded file on the server between its preview and its use, for one signed-in person only."""

from __future__ import annotations

import base64
import binascii
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from django.conf import settings
from django.http import HttpRequest

KEPT_SECONDS = 2 * 3600


@dataclass(frozen=True, slots=True)
class KeptFile:
    """A file that waits, and what its owner has said about it so far."""

    name: str
    content: bytes
    choices: dict[str, Any]


def keep(request: HttpRequest, purpose: str, *, name: str, content: bytes) -> None:
    """Keep a file for this person and purpose; an earlier one for the same purpose is dropped."""
    drop(request, purpose)
    # A session of its own: signed, expiring, shared by all server processes, and not loaded with every page.
    store = _store()
    store["file"] = {"name": name[:120], "content": base64.b64encode(content).decode("ascii"), "choices": {}}
    store.set_expiry(KEPT_SECONDS)
    store.create()
    request.session[_slot(purpose)] = store.session_key


def kept(request: HttpRequest, purpose: str) -> KeptFile | None:
    """The file that waits; None when there is none, or when it has expired."""
    body = _store(request.session.get(_slot(purpose))).get("file")
    try:
        return KeptFile(body["name"], base64.b64decode(body["content"]), dict(body["choices"]))
    except (TypeError, KeyError, binascii.Error):
        return None


def choose(request: HttpRequest, purpose: str, choices: dict[str, Any]) -> None:
    """Remember what the owner said about the file."""
    store = _store(request.session.get(_slot(purpose)))
    if body := store.get("file"):
        store["file"] = {**body, "choices": choices}
        store.save()


def drop(request: HttpRequest, purpose: str) -> None:
    """Forget the file."""
    if key := request.session.pop(_slot(purpose), None):
        _store().delete(key)


def _slot(purpose: str) -> str:
    return f"kept_file_{purpose}"


def _store(key: str | None = None) -> Any:
    return import_module(settings.SESSION_ENGINE).SessionStore(session_key=key)
