"""Every address x every role. A new address breaks this test until somebody says who may open it."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from tests import factories
from tests.access_table import TABLE
from tests.test_house import views

ROLES = ("director", "coach", "other_coach", "guardian", "outsider", "station", "nobody")


@pytest.fixture
def things(cast, programme):
    """Rows that the addresses point at: all belong to the Tigers and to Mia."""
    from assessments.models import FamilyReport, ProgrammeEdition

    measure = factories.MeasureFactory()
    result = factories.ResultFactory(day=cast.day, athlete=cast.mia, measure=measure)
    draft = ProgrammeEdition.objects.create(document=programme.document, title="Next season", based_on=programme)
    return {
        "child": cast.mia.code,
        "group": cast.tigers.code,
        "day": cast.day.code,
        "result": result.code,
        "rest": factories.RestNoteFactory(athlete=cast.mia).code,
        "grant": cast.mia.guardians.get().code,
        "member": cast.coach.code,
        "pass": cast.tablet.code,
        "station": factories.StationFactory(day=cast.day, measure=measure).code,
        "draft": draft.code,
        "edition": programme.code,
        "note": factories.FamilyReportFactory(athlete=cast.mia, approved=True).code,
        "draft_note": factories.FamilyReportFactory(athlete=cast.mia, status=FamilyReport.Status.DRAFT).code,
        "decision": factories.SkillDecisionFactory(athlete=cast.mia, decided_by=cast.coach).code,
        "nothing": uuid.uuid4(),
    }


def clients(cast) -> dict[str, tuple[Client, dict[str, str]]]:
    """A client of each role; the station carries its pass in the header."""
    found: dict[str, tuple[Client, dict[str, str]]] = {}
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
    seats = clients(cast)
    for name, row in TABLE.items():
        url = reverse(name, args=[things.get(a, a) for a in row.args])
        for role, (client, extra) in seats.items():
            answer = getattr(client, row.method)(url, **extra)
            expected = row.of(role)
            if answer.status_code not in expected:
                wrong.append(f"{name} as {role}: {answer.status_code}, not {sorted(expected)}")
        if name == "club:sign_out":
            seats = clients(cast)
    assert not wrong, "\n".join(wrong)
