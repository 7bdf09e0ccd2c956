"""Second thoughts through the pages: a correction, a taking back, a move, a settled conflict. History keeps it all."""

from __future__ import annotations

import uuid

import pytest
from django.urls import reverse

from assessments.models import RefusedEntry, Result
from assessments.recording import record
from club.models import AuditEntry
from tests import factories
from tests.assessments.entry_making import entry, shape_levels
from tests.conftest import viewer_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def stored(cast, programme):
    """Record an entry as the coach, and give its row."""

    def take(child=None, **fields):
        one = entry(cast.day, child or cast.mia, **fields)
        record([one], viewer_of(cast.coach))
        return Result.objects.get(code=one.id)

    return take


def page(name, *args):
    return reverse(f"assessments:{name}", args=args)


def standing():
    return list(Result.objects.current().order_by("pk"))


def test_a_correction_is_a_new_row_with_author_and_reason(as_member, cast, stored):
    first, new_id = stored(value=20), uuid.uuid4()
    said = {
        "new_id": new_id,
        "outcome": "scored",
        "value": "25",
        "trial": 1,
        "reason": "read the wrong clock",
    }
    client = as_member(cast.coach)
    for _ in range(2):
        answer = client.post(page("result_correct", first.code), said)
        assert answer.url == page("result", new_id)
    [row] = standing()
    assert (row.value, row.reason, row.recorded_by, row.replaces) == (
        25,
        "read the wrong clock",
        cast.coach,
        first.code,
    )
    assert Result.objects.count() == 2
    text = " ".join(client.get(answer.url).content.decode().split())
    assert "Corrected: 25" in text and "Entered: 20" in text
    assert AuditEntry.objects.filter(verb="corrected a result").exists()


@pytest.mark.parametrize("value", ["999", "", "61"])
def test_an_impossible_correction_changes_nothing(as_member, cast, stored, value):
    first = stored(value=20)
    said = {"new_id": uuid.uuid4(), "outcome": "scored", "value": value, "trial": 1, "reason": "slip"}
    assert as_member(cast.coach).post(page("result_correct", first.code), said).status_code == 422
    assert standing() == [first]


def test_a_shape_is_corrected_criterion_by_criterion(as_member, cast, stored):
    first = stored(measure="hollow", variant="", value=None, how="rubric", levels=shape_levels(2))
    levels = {f"level_{name}": "1" for name in shape_levels()} | {"level_head": ""}
    said = {"new_id": uuid.uuid4(), "outcome": "scored", "trial": 1, "reason": "second thought", **levels}
    as_member(cast.coach).post(page("result_correct", first.code), said)
    assert standing()[0].levels == {**shape_levels(1), "head": None}


def test_taking_back_needs_a_reason(as_member, cast, stored):
    first, client = stored(), as_member(cast.coach)
    assert client.post(page("result_take_back", first.code), {"new_id": uuid.uuid4()}).status_code == 422
    assert standing() == [first]
    client.post(page("result_take_back", first.code), {"new_id": uuid.uuid4(), "reason": "never happened"})
    assert standing() == []
    assert Result.objects.count() == 2


def test_a_result_moves_to_another_child_of_the_circle_only(as_member, cast, stored):
    first, client = stored(value=20), as_member(cast.coach)
    said = {"new_id": uuid.uuid4(), "athlete": cast.bea.code, "reason": "wrong tile"}
    assert client.post(page("result_move", first.code), said).status_code == 422
    assert standing() == [first]
    client.post(page("result_move", first.code), {**said, "athlete": cast.tom.code})
    [row] = standing()
    assert (row.athlete, row.value, row.reason) == (cast.tom, 20, "wrong tile")


def test_a_result_does_not_move_to_a_child_who_rests(as_member, cast, stored):
    first = stored(value=20)
    factories.RestNoteFactory(athlete=cast.tom, areas=["general"])
    said = {"new_id": uuid.uuid4(), "athlete": cast.tom.code, "reason": "wrong tile"}
    answer = as_member(cast.coach).post(page("result_move", first.code), said)
    assert answer.status_code == 422 and "rests" in answer.content.decode()
    assert standing() == [first]


def test_the_lead_settles_a_conflict_and_another_coach_of_the_group_does_not(as_member, cast, stored):
    rows = [stored(value=20), stored(value=25, tablet="tablet-b")]
    colleague = factories.UserFactory()
    factories.CoachingFactory(coach=colleague, group=cast.tigers)
    assert as_member(colleague).post(page("conflict_settle", rows[1].code)).status_code == 403
    assert len(standing()) == 2
    client = as_member(cast.coach)
    assert "20" in client.get(page("day_unsettled", cast.day.code)).content.decode()
    client.post(page("conflict_settle", rows[1].code))
    assert standing() == [rows[1]]
    assert not Result.objects.contested().exists()


def test_a_refused_entry_is_tried_again_or_put_aside(as_member, cast, stored):
    note = factories.RestNoteFactory(athlete=cast.mia, areas=["general"])
    one = entry(cast.day, cast.mia)
    record([one, entry(cast.day, cast.mia, trial=2)], viewer_of(cast.coach))
    first, second = RefusedEntry.objects.order_by("received_at", "pk")
    client = as_member(cast.coach)
    client.post(page("refused_settle", first.code), {"act": "take"})
    assert RefusedEntry.objects.waiting().count() == 2
    note.delete()
    client.post(page("refused_settle", first.code), {"act": "take"})
    client.post(page("refused_settle", second.code), {"act": "aside"})
    assert not RefusedEntry.objects.waiting().exists()
    assert [row.code for row in standing()] == [first.entry]
    assert RefusedEntry.objects.count() == 2


def test_an_entry_of_no_known_day_waits_for_the_director(as_member, cast, programme):
    record([entry(cast.day, cast.mia, day=str(uuid.uuid4()))], viewer_of(cast.coach))
    words = "This test day is not known here"
    assert words in as_member(cast.director).get(page("day_list")).content.decode()
    assert words not in as_member(cast.coach).get(page("day_list")).content.decode()
    refused = RefusedEntry.objects.get()
    assert (
        as_member(cast.coach).post(page("refused_settle", refused.code), {"act": "aside"}).status_code == 404
    )
    as_member(cast.director).post(page("refused_settle", refused.code), {"act": "aside"})
    assert not RefusedEntry.objects.waiting().exists()
