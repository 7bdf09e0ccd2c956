"""Every address x every role. A new address breaks this test until somebody says who may open it."""

from __future__ import annotations

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from tests.access_table import TABLE
from tests.test_house import views
from tests.things import addresses, things_of

ROLES = ("director", "coach", "other_coach", "guardian", "outsider", "station", "nobody")
#: Leaving leads everybody to the sign-in page; elsewhere only strangers are sent there.
LEAVING = ("club:sign_out", "assessments:station_leave")


@pytest.fixture
def things(cast, programme):
    return things_of(cast, programme)


def clients(cast) -> dict[str, tuple[Client, dict[str, dict[str, str]]]]:
    """A client of each role; the station carries its pass in the header."""
    found: dict[str, tuple[Client, dict[str, dict[str, str]]]] = {}
    for role in ROLES:
        client, extra = Client(), {}
        if role == "station":
            extra = {"headers": {"X-Station-Pass": cast.token}}
        elif role != "nobody":
            client.force_login(getattr(cast, role), backend="django.contrib.auth.backends.ModelBackend")
        found[role] = (client, extra)
    return found


def test_every_address_is_in_the_table():
    names = {name for name, _ in views()}
    assert names - set(TABLE) == set(), "say who may open these"
    assert set(TABLE) - names == set(), "these addresses are gone"


def test_every_role_gets_what_the_table_says(cast, things):
    wrong = []
    sign_in, seats = reverse("club:sign_in"), clients(cast)
    for name, row, url in addresses(things):
        for role, (client, extra) in seats.items():
            # What one role changes, the next one does not meet.
            before = transaction.savepoint()
            answer = getattr(client, row.method)(url, **extra)
            transaction.savepoint_rollback(before)
            expected = row.of(role)
            asked = answer.headers.get("Location", "").startswith(sign_in)
            stranger = role in ("station", "nobody")
            if answer.status_code not in expected or (asked and not stranger and name not in LEAVING):
                shown = "sent to sign in" if asked else answer.status_code
                wrong.append(f"{name} as {role}: {shown}, not {sorted(expected)}")
        if name == "club:sign_out":
            seats = clients(cast)
    assert not wrong, "\n".join(wrong)
