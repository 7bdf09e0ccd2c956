"""A test database for each process: a mutation run tries several changes at once, and each has to begin on empty tables."""

from __future__ import annotations

import os
from pathlib import Path


def pytest_configure() -> None:
    """Name the test database after the process, before any test asks for it."""
    from django.db import connections

    for connection in connections.all():
        named = connection.settings_dict["TEST"]
        if connection.vendor == "sqlite" and named["NAME"]:
            named["NAME"] = str(Path(named["NAME"]).with_name(f"suite-{os.getpid()}.sqlite3"))
