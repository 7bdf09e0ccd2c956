"""Rows that addresses point at, and every address of the app filled in with them."""

from __future__ import annotations

import uuid
from collections.abc import Iterator

from django.urls import reverse

from tests import factories
from tests.access_table import TABLE, Row


def things_of(cast, programme) -> dict[str, object]:
    """One row of each kind: all belong to the Tigers and to Mia."""
    from assessments.models import FamilyReport, ProgrammeEdition

    measure = factories.MeasureFactory()
    result = factories.ResultFactory(day=cast.day, athlete=cast.mia, measure=measure)
    draft = ProgrammeEdition.objects.create(
        document=programme.document, title="Next season", based_on=programme
    )
    scored = factories.CalibrationFactory(coach=cast.coach)
    return {
        "child": cast.mia.code,
        "examples": scored.examples.code,
        "calibration": scored.code,
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
    }  # fmt: skip


def addresses(things) -> Iterator[tuple[str, Row, str]]:
    """Every address of the table: its name, its row, and where it is."""
    for name, row in TABLE.items():
        yield name, row, reverse(name, args=[things.get(part, part) for part in row.args])
