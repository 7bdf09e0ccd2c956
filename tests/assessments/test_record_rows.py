"""What is kept of an entry, column by column: of one that was taken, and of one that was refused."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.db import DataError, IntegrityError, connection
from django.forms.models import model_to_dict

from assessments import recording
from assessments.entries import Unreadable, body_hash, content_hash, entry_from_json, entry_to_json
from assessments.models import RefusedEntry, Result
from assessments.recording import record
from tests import factories
from tests.assessments.entry_making import changed, entry, shape_levels, words
from tests.conftest import station_viewer, viewer_of

pytestmark = pytest.mark.django_db
WOULD_NOT = "The club's database would not take this entry."


@pytest.fixture
def coach(cast, programme):
    return viewer_of(cast.coach)


class Refusing:
    """The database objects to inserting one entry, `times` over."""

    def __init__(self, code: uuid.UUID, error: type[Exception], times: int) -> None:
        self.code, self.error, self.times = code.hex, error, times

    def __call__(self, execute, sql, params, many, context):
        if sql.startswith('INSERT INTO "assessments_result"') and self.code in params and self.times:
            self.times -= 1
            raise self.error("objected")
        return execute(sql, params, many, context)


def test_every_column_of_a_row_is_what_was_said(cast, programme):
    one = entry(
        cast.day, cast.mia,
        tablet="tablet-b", seq=12, schema=2, measure="single_leg_stance", variant="", side="left", trial=2, value=12.5,
        outcome="chose_to_stop", form_break="hip", reminder=True, how="typed", at_once=3, second=True,
        judge=str(cast.other_coach.code), t_wall=(factories.NOW - timedelta(minutes=9)).isoformat(),
        t_mono_start=5.5, t_mono_stop=18.25, offline=True, replaces=str(cast.tom.code), reason="tired", note="left leg",
    )  # fmt: skip
    assert words(record([one], station_viewer(cast.tablet), offset_s=2.5)) == ["stored"]
    row = Result.objects.get()
    said = model_to_dict(row)
    for name in ("id", "flags", "protocol", "measure"):
        said.pop(name)
    assert said == {
        "code": one.id, "tablet": "tablet-b", "seq": 12, "schema": 2, "day": cast.day.pk, "athlete": cast.mia.pk,
        "variant": "", "side": "left", "trial": 2, "value": 12.5, "levels": None, "outcome": "chose_to_stop",
        "form_break": "hip", "reminder": True, "how": "typed", "at_once": 3, "second": True,
        "judge": cast.other_coach.pk, "recorded_by": None, "station_pass": cast.tablet.pk, "t_wall": one.t_wall,
        "t_mono_start": 5.5, "t_mono_stop": 18.25, "offset_s": 2.5, "offline": True, "late": False,
        "replaces": cast.tom.code, "reason": "tired", "note": "left leg", "content_hash": content_hash(one),
        "received_at": factories.NOW,
    }  # fmt: skip
    assert (row.measure.slug, row.protocol.measure.slug, row.protocol.version) == (
        "single_leg_stance", "single_leg_stance", 1,
    )  # fmt: skip


def test_a_judged_shape_keeps_what_was_seen_of_each_criterion(cast, coach):
    levels = {**shape_levels(1), "head": None}
    record(
        [entry(cast.day, cast.mia, measure="hollow", variant="", value=None, how="rubric", levels=levels)],
        coach,
    )
    row = Result.objects.get()
    assert (row.levels, row.recorded_by, row.station_pass, row.offset_s) == (levels, cast.coach, None, None)


def test_a_total_that_came_with_the_levels_is_not_kept_beside_them(cast, coach):
    one = entry(
        cast.day, cast.mia, measure="hollow", variant="", value=10, how="rubric", levels=shape_levels(2)
    )
    assert words(record([one], coach)) == ["stored"]
    row = Result.objects.get()
    assert (row.value, row.levels) == (None, shape_levels(2))


def test_a_conflict_says_that_both_are_kept(cast, coach):
    one, other = entry(cast.day, cast.mia, value=20), entry(cast.day, cast.mia, value=25)
    first, second = record([one], coach)[0], record([other], coach)[0]
    assert (first.id, first.word, first.reason) == (str(one.id), "stored", "")
    both = "Another entry stands in the same place. Both are kept."
    assert (second.id, second.word, second.reason) == (str(other.id), "conflict", both)


def test_an_imported_day_is_never_late(cast, coach):
    old = factories.DayFactory(closed=True, imported=True, groups=[cast.tigers])
    shut = factories.DayFactory(closed=True, groups=[cast.tigers])
    record([entry(day, cast.mia) for day in (old, shut, cast.day)], coach)
    late = {day.pk: day == shut for day in (old, shut, cast.day)}
    assert dict(Result.objects.values_list("day", "late")) == late


def test_a_refused_entry_is_kept_whole_and_once(cast, coach):
    one = entry(cast.day, cast.mia, value=999)
    answers = [record([one, one], coach), record([one], coach)]
    assert words(answers[0] + answers[1]) == ["refused"] * 3
    row = RefusedEntry.objects.get()
    assert (row.entry, row.day, row.athlete) == (one.id, cast.day, cast.mia)
    assert (row.body, row.body_hash) == (entry_to_json(one), content_hash(one))
    assert (row.reason, row.received_at, row.settled_at) == (answers[0][0].reason, factories.NOW, None)


@pytest.mark.parametrize(
    ("fields", "day", "child"),
    [
        ({"measure": "weight"}, True, True),
        ({"child": str(uuid.UUID(int=7))}, True, False),
        ({"day": str(uuid.UUID(int=7))}, False, False),
    ],
)
def test_a_refused_entry_is_kept_with_the_day_and_child_that_are_known(cast, coach, fields, day, child):
    assert words(record([entry(cast.day, cast.mia, **fields)], coach)) == ["refused"]
    row = RefusedEntry.objects.get()
    assert (row.day, row.athlete) == (cast.day if day else None, cast.mia if child else None)


def test_what_nobody_could_read_is_kept_under_its_id_or_one_made_from_its_body(cast, coach):
    code = str(uuid.UUID(int=5))
    bad = [entry_from_json({"id": code, "seq": "x"}), entry_from_json({"id": "no code", "seq": 1})]
    assert all(isinstance(one, Unreadable) for one in bad)
    answers = record([*bad, bad[1]], coach)
    assert [(a.id, a.reason) for a in answers] == [(one.id, one.reason) for one in (*bad, bad[1])]
    rows = {row.body_hash: row for row in RefusedEntry.objects.all()}
    assert set(rows) == {body_hash(one.body) for one in bad}
    first, second = (rows[body_hash(one.body)] for one in bad)
    assert (first.entry, first.body, first.day, first.athlete) == (uuid.UUID(code), bad[0].body, None, None)
    assert (first.reason, second.reason) == (bad[0].reason, bad[1].reason)
    assert second.entry.version == 5
    record([entry_from_json({"id": "no code", "seq": 2})], coach)
    assert RefusedEntry.objects.values("entry").distinct().count() == 3


def test_a_reason_is_kept_to_its_length(cast, coach):
    record([Unreadable("", {}, "y" * 300)], coach)
    assert RefusedEntry.objects.get().reason == "y" * 200


def test_an_edited_entry_is_refused_and_kept_with_its_child(cast, coach):
    one = entry(cast.day, cast.mia, value=20)
    edited = changed(one, value=21)
    answers = record([one, edited], coach)
    assert words(answers) == ["stored", "refused"]
    assert [answer.id for answer in answers] == [str(one.id)] * 2
    assert answers[1].reason == "This id already stands for another entry. Both are kept."
    row = RefusedEntry.objects.get()
    assert (row.entry, row.day, row.athlete, row.body["value"]) == (one.id, cast.day, cast.mia, 21)


def test_a_refusal_is_settled_by_the_same_body_only_and_by_whom_it_came(cast, coach):
    one = entry(cast.day, cast.mia, value=20)
    other, impossible = entry(cast.day, cast.tom), changed(one, value=999)
    record([one, impossible, other], viewer_of(cast.other_coach))
    assert RefusedEntry.objects.waiting().count() == 3
    record([one], coach)
    settled = RefusedEntry.objects.get(settled_at__isnull=False)
    assert (settled.body["value"], settled.settled_at, settled.settled_by) == (20, factories.NOW, cast.coach)
    waiting = RefusedEntry.objects.waiting().values_list("entry", "body__value")
    assert set(waiting) == {(one.id, 999.0), (other.id, 20.0)}


@pytest.mark.parametrize("error", [DataError, IntegrityError])
def test_what_the_database_objects_to_is_refused_and_the_rest_is_taken(cast, coach, error):
    good, bad = entry(cast.day, cast.mia), entry(cast.day, cast.tom)
    with connection.execute_wrapper(Refusing(bad.id, error, times=2)):
        answers = record([bad, good], coach)
    assert [(a.word, a.reason) for a in answers] == [("refused", WOULD_NOT), ("stored", "")]
    assert Result.objects.get().code == good.id
    row = RefusedEntry.objects.get()
    assert (row.entry, row.reason, row.athlete) == (bad.id, WOULD_NOT, cast.tom)


def test_the_same_number_on_another_tablet_is_no_number_used_twice(cast, coach):
    other, bad = entry(cast.day, cast.mia, seq=4, tablet="tablet-b"), entry(cast.day, cast.tom, seq=4)
    record([other], coach)
    with connection.execute_wrapper(Refusing(bad.id, IntegrityError, times=2)):
        assert words(record([bad], coach)) == ["refused"]
    assert Result.objects.get().code == other.id


def test_a_number_used_twice_keeps_both_under_names_that_fit(cast, coach):
    first, second = (
        entry(cast.day, child, seq=4, tablet="t" * 40, schema=2) for child in (cast.mia, cast.tom)
    )
    assert words(record([first], coach)) == ["stored"]
    assert words(record([second], coach)) == ["stored"]
    row = Result.objects.get(code=second.id)
    assert row.tablet == "t" * 31 + "#" + second.id.hex[:8]
    assert row.flags == [*Result.objects.get(code=first.id).flags, "number_reused"]


@pytest.mark.parametrize(("value", "word"), [(20, "already_here"), (21, "refused")])
def test_what_arrived_between_the_look_and_the_insert_is_answered_from_the_row(
    cast, coach, monkeypatch, value, word
):
    one, beside = entry(cast.day, cast.mia, value=20), entry(cast.day, cast.tom)
    look = recording.facts_for

    def arriving(*given, **more):
        monkeypatch.undo()
        found = look(*given, **more)
        record([changed(one, value=value)], coach)
        return found

    monkeypatch.setattr(recording, "facts_for", arriving)
    assert words(record([one, beside], coach)) == [word, "stored"]
    assert set(Result.objects.values_list("code", "value")) == {(one.id, value), (beside.id, 20)}


def test_rows_go_in_in_the_order_of_their_codes(cast, coach):
    codes = [str(uuid.UUID(int=n)) for n in (9, 2, 7, 4)]
    record([entry(cast.day, cast.mia, id=code, trial=n + 1) for n, code in enumerate(codes)], coach)
    record(
        [entry(cast.day, cast.mia, id=code.replace("0000", "1111", 1), value=999) for code in codes], coach
    )
    for rows, name in ((Result, "code"), (RefusedEntry, "entry")):
        found = list(rows.objects.order_by("pk").values_list(name, flat=True))
        assert found == sorted(found) and len(found) == 4
