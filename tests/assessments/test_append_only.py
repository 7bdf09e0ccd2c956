"""The database itself refuses to change a result; what may end is the link to an account or a pass."""

from __future__ import annotations

import pytest
from django.db import DatabaseError, connection, transaction

from assessments.models import Result
from assessments.recording import record
from athletes.privacy import erase
from tests.assessments.entry_making import entry
from tests.conftest import station_viewer, viewer_of


@pytest.fixture
def result(cast, programme):
    one = entry(cast.day, cast.mia, judge=cast.coach.code)
    assert [answer.word for answer in record([one], station_viewer(cast.tablet))] == ["stored"]
    return Result.objects.get(code=one.id)


@pytest.mark.parametrize(
    ("column", "value"),
    [("value", 59.0), ("outcome", "interrupted"), ("trial", 3), ("note", "better"), ("received_at", None),
     ("levels", {"hips": 2}), ("flags", ["away"]), ("replaces", "0199b8a4-0000-7000-8000-000000000001")],
)  # fmt: skip
def test_no_column_that_was_seen_can_be_changed(result, cast, column, value):
    was = Result.objects.filter(pk=result.pk).values(column).get()
    if column == "received_at":
        value = result.received_at.replace(year=2025)
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        Result.objects.filter(pk=result.pk).update(**{column: value})
    assert Result.objects.filter(pk=result.pk).values(column).get() == was


def test_a_child_cannot_be_changed_by_plain_sql(result, cast):
    with (
        pytest.raises(DatabaseError, match="never changed"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute("UPDATE assessments_result SET athlete_id = %s", [cast.tom.pk])
    assert Result.objects.get().athlete_id == cast.mia.pk


def test_an_account_or_a_pass_may_go_and_the_result_stays(result, cast):
    assert (result.judge_id, result.station_pass_id) == (cast.coach.pk, cast.tablet.pk)
    cast.tablet.delete()
    Result.objects.filter(pk=result.pk).update(judge=None, value=result.value)
    after = Result.objects.get(pk=result.pk)
    assert (after.judge_id, after.station_pass_id, after.value) == (None, None, result.value)


def test_results_leave_with_an_erased_child(result, cast):
    erase(cast.mia, viewer_of(cast.director))
    assert not Result.objects.exists()
