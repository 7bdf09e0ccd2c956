"""What the service worker keeps on a tablet, and the version by which a new one is told from the old."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.templatetags.static import static

#: Every script of the floor and of the page that a tablet is left from.
MODULES = (
    "board",
    "bychild",
    "care",
    "countin",
    "counter",
    "day",
    "dom",
    "drafts",
    "floor",
    "hold",
    "holdings",
    "keypad",
    "leaving",
    "outbox",
    "panels",
    "queue",
    "ready",
    "roll",
    "rubric",
    "sender",
    "settings",
    "stopwatch",
    "store",
    "tablet",
    "tiles",
    "turn",
    "updates",
    "words",
)
SHELL = (
    "club/groundwork.css",
    "assessments/floor.css",
    "club/icon.svg",
    *(f"assessments/{name}.js" for name in MODULES),
)


def shell() -> list[str]:
    """Addresses of everything that the floor needs besides its page."""
    return [static(name) for name in SHELL]


def version() -> str:
    """Changes whenever a file of the shell changes."""
    # While files are edited their names stay the same, so their content is read each time.
    return _version() if not settings.DEBUG else _version.__wrapped__()


@lru_cache
def _version() -> str:
    digest = hashlib.sha256()
    for name in SHELL:
        found = finders.find(name)
        digest.update(name.encode() + (Path(found).read_bytes() if found else b""))
    return digest.hexdigest()[:12]
