"""A member of the staff, signed in and malicious, who speaks to the tablets' addresses by hand."""

from __future__ import annotations

import json
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from assessments.models import AssessmentDay, RefusedEntry, Result
from athletes.models import RestNote
from club.models import AuditEntry
from tests import factories
from tests.assessments.entry_making import body
from tests.club.attacking import send, signed_in, with_pass, words_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def hall(cast, programme):
    return cast


def text_of(entry: dict, **raw: str) -> str:
    """One entry as a line of JSON, with some values written by hand: NaN, 1e999, a number of 4000 digits."""
    marked = {**entry, **{name: f"@{name}@" for name in raw}}
    text = json.dumps({"entries": [marked]})
    for name, value in raw.items():
        text = text.replace(f'"@{name}@"', value)
    return text


def test_an_entry_stands_in_the_name_of_whoever_sent_it(hall):
    one = body(
        hall.day, hall.mia, recorded_by=hall.director.pk, recorded_by_id=hall.director.pk, received_at="2020-01-01",
        late=False, flags=[], judge=str(hall.other_coach.code),
    )  # fmt: skip
    assert words_of(send(signed_in(hall.coach), hall.day, [one])) == ["stored"]
    row = Result.objects.get()
    assert row.recorded_by == hall.coach and row.judge == hall.other_coach
    assert row.received_at == factories.NOW


@pytest.mark.parametrize("who", ["guardian", "nobody", "no code"])
def test_a_judge_who_is_no_coach_is_not_believed(hall, who):
    judge = {"guardian": str(hall.guardian.code), "nobody": str(uuid.uuid4()), "no code": "Ines"}[who]
    answer = send(signed_in(hall.coach), hall.day, [body(hall.day, hall.mia, judge=judge)])
    assert words_of(answer) == ["refused" if who == "no code" else "stored"]
    for row in Result.objects.all():
        assert row.judge is None and "judge_unknown" in row.flags


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity", "1e308", "-1e308", "1e999", "9" * 4000, "-1", '"20"',
                                   "true", "[20]", '{"a": 1}', "0.1e-320", "1e15"])  # fmt: skip
def test_a_value_beyond_the_possible_is_refused_in_words(hall, value):
    answer = send(signed_in(hall.coach), hall.day, text_of(body(hall.day, hall.mia), value=value))
    assert answer.status_code == 200
    expected = "stored" if value == "0.1e-320" else "refused"
    assert words_of(answer) == [expected]
    assert Result.objects.count() == (expected == "stored")
    assert RefusedEntry.objects.count() == (expected == "refused")


@pytest.mark.parametrize(
    ("field", "raw"),
    [
        ("seq", "-1"), ("seq", "2147483648"), ("seq", "1.5"), ("seq", "9" * 400), ("seq", "NaN"), ("seq", "null"),
        ("trial", "0"), ("trial", "-3"), ("trial", "100000"), ("at_once", "0"), ("at_once", "1000"),
        ("schema", "0"), ("schema", "9" * 400), ("t_wall", '"9999-12-31T23:59:59+00:00"'), ("t_wall", "1e300"),
        ("t_wall", '"0001-01-01T00:00:00+14:00"'), ("t_wall", "-1"), ("t_wall", "[]"), ("t_mono_start", "NaN"),
        ("id", '"not-a-code"'), ("id", "null"), ("id", "7"), ("day", '"x"'), ("child", "{}"), ("replaces", '"1"'),
        ("side", '"up"'), ("outcome", '"won"'), ("how", '"guessed"'), ("variant", '"../../etc"'), ("measure", "[1]"),
        ("levels", '{"a": 3}'), ("levels", '{"a": NaN}'), ("tablet", '""'), ("tablet", f'"{"t" * 500}"'),
    ],
)  # fmt: skip
def test_a_field_that_makes_no_sense_is_refused_and_the_rest_of_the_list_is_taken(hall, field, raw):
    bad = json.loads(text_of(body(hall.day, hall.mia)))["entries"][0]
    text = text_of(bad, **{field: raw})
    good = json.dumps(body(hall.day, hall.tom))
    answer = send(signed_in(hall.coach), hall.day, text[:-2] + f", {good}]}}")
    assert answer.status_code == 200
    assert words_of(answer) == ["refused", "stored"]
    assert list(Result.objects.values_list("athlete", flat=True)) == [hall.tom.pk]
    assert RefusedEntry.objects.get().reason


def test_a_day_that_has_not_come_takes_nothing(hall):
    later = factories.DayFactory(groups=[hall.tigers], held_on=factories.TODAY.replace(year=2090))
    answer = send(signed_in(hall.coach), later, [body(later, hall.mia), body(hall.day, hall.mia)])
    assert words_of(answer) == ["refused", "stored"]


def test_a_clock_far_ahead_does_not_put_what_was_seen_into_the_future(hall):
    pain = body(
        hall.day,
        hall.mia,
        outcome="stopped_for_pain",
        value=None,
        areas=["wrist"],
        t_wall="2199-12-31T00:00:00Z",
    )
    assert words_of(send(signed_in(hall.coach), hall.day, [pain])) == ["stored"]
    note = RestNote.objects.get()
    assert note.opened_at == factories.NOW and note.opened_on == hall.day.held_on


@pytest.mark.parametrize(
    "sent_at",
    ["9999-12-31T23:59:59Z", "0001-01-01T00:00:00Z", "-1", "NaN", "", "x" * 10_000, "2026-11-25T16:00:00"],
)
def test_a_senseless_clock_of_the_sender_is_no_clock(hall, sent_at):
    one = body(hall.day, hall.mia, t_wall="1970-01-02T00:00:00Z")
    two = body(hall.day, hall.tom, t_wall="2199-12-01T00:00:00Z")
    answer = send(signed_in(hall.coach), hall.day, {"sent_at": sent_at, "entries": [one, two]})
    assert words_of(answer) == ["stored", "stored"]
    assert set(Result.objects.values_list("offset_s", flat=True)) == {None}


@pytest.mark.parametrize("at", ["0001-01-01T00:00:00+14:00", "0001-01-01", "9999-12-31T23:59:59-14:00", "1969-01-01",
                                "NaN", "", "[]", "2026-11-25T99:00"])  # fmt: skip
def test_a_line_of_the_roll_with_a_senseless_moment_is_left_out(hall, at):
    lines = [{"child": str(child.code), "at": moment, "sore": "yes", "areas": ["wrist", "everything", 7, None]}
             for child, moment in ((hall.mia, at), (hall.tom, factories.NOW.isoformat()))]  # fmt: skip
    answer = send(signed_in(hall.coach), hall.day, {"lines": [*lines, 3, None, [], "x"]}, door="sync_roll")
    assert answer.status_code == 200 and answer.json()["known"] == [str(hall.tom.code)]
    assert RestNote.objects.get().areas == ["wrist"]
    assert signed_in(hall.director).get(reverse("assessments:day", args=[hall.day.code])).status_code == 200


def test_long_and_odd_words_are_kept_short_and_do_no_harm(hall):
    odd = "\x00\x1b[31m\u202egnirts\u202c" + "n" * 5_000
    one = body(hall.day, hall.mia, note=odd, reason=odd, form_break=odd)
    assert words_of(send(signed_in(hall.coach), hall.day, [one])) == ["stored"]
    row = Result.objects.get()
    assert len(row.note) == 200 and len(row.reason) == 120 and "\x00" not in row.note + row.reason
    page = signed_in(hall.director).get(reverse("assessments:result", args=[row.code]))
    assert page.status_code == 200


def test_the_same_id_twice_is_taken_once_and_never_changed(hall):
    client, one = signed_in(hall.coach), body(hall.day, hall.mia)
    other = {**one, "value": 59}
    assert words_of(send(client, hall.day, [one, one, other])) == ["stored", "already_here", "refused"]
    stolen = {**one, "child": str(hall.tom.code)}
    assert words_of(send(client, hall.day, [stolen])) == ["refused"]
    assert list(Result.objects.values_list("athlete", "value")) == [(hall.mia.pk, 20.0)]


def test_an_id_of_another_group_cannot_be_taken_over(hall):
    hers = body(factories.DayFactory(groups=[hall.bears]), hall.bea)
    send(signed_in(hall.other_coach), AssessmentDay.objects.get(code=hers["day"]), [hers])
    answer = send(signed_in(hall.coach), hall.day, [{**body(hall.day, hall.mia), "id": hers["id"]}])
    assert words_of(answer) == ["refused"]
    assert Result.objects.get().athlete == hall.bea


def test_anothers_number_does_not_push_out_what_was_there(hall):
    mine, yours = body(hall.day, hall.mia, seq=7), body(hall.day, hall.tom, seq=7)
    send(Client(), hall.day, [mine], **with_pass(hall.token))
    assert words_of(send(signed_in(hall.coach), hall.day, [yours])) == ["stored"]
    assert set(Result.objects.values_list("code", flat=True)) == {
        uuid.UUID(mine["id"]),
        uuid.UUID(yours["id"]),
    }
    assert "number_reused" in Result.objects.get(code=yours["id"]).flags


@pytest.mark.parametrize("asked", [
    {"ids": ["x", 7, None, {}, []], "made": -1, "highest_seq": 10**400, "waiting": "many", "tablet": {"a": 1}},
    {"ids": {"a": 1}, "made": 2**31, "highest_seq": 2**31 - 1, "tablet": "t" * 10_000, "label": "\x00" * 50},
    {"ids": [str(uuid.UUID(int=n)) for n in range(20_000)], "tablet": "t"},
])  # fmt: skip
def test_a_senseless_comparison_is_answered_calmly(hall, asked):
    answer = send(signed_in(hall.coach), hall.day, asked, door="sync_reconcile")
    assert answer.status_code == 200 and len(answer.json()["gaps"]) <= 100
    assert signed_in(hall.coach).get(reverse("assessments:day", args=[hall.day.code])).status_code == 200


def test_a_deep_or_broad_body_is_answered_calmly(hall):
    deep = "[" * 900 + "]" * 900
    broad = json.dumps({f"name{n}": "v" * 50 for n in range(5_000)})
    client = signed_in(hall.coach)
    for text in (f'{{"entries": [{deep}, {broad}]}}', '{"entries": [null, true, 1, "x", [], {}]}'):
        answer = send(client, hall.day, text)
        assert answer.status_code == 200 and set(words_of(answer)) == {"refused"}
    assert all(len(json.dumps(row.body)) < 30_000 for row in RefusedEntry.objects.all())
    assert client.get(reverse("assessments:day_list")).status_code == 200
    assert signed_in(hall.director).get(reverse("assessments:day_list")).status_code == 200


def test_a_body_whose_length_is_a_lie_is_answered_calmly(hall):
    answer = signed_in(hall.coach).post(
        reverse("assessments:sync", args=[hall.day.code]),
        "[]",
        content_type="application/json",
        CONTENT_LENGTH="many",
    )
    assert (answer.status_code, answer.json()) == (400, {"word": "unreadable"})


def test_a_rest_note_from_the_floor_stands_in_the_trail_with_its_sender(hall):
    pain = body(hall.day, hall.mia, outcome="stopped_for_pain", value=None, areas=["wrist"])
    lines = [{"child": str(hall.tom.code), "at": factories.NOW.isoformat(), "sore": "yes", "areas": ["knee"]}]
    for _ in range(2):
        send(Client(), hall.day, [pain], **with_pass(hall.token))
        send(signed_in(hall.coach), hall.day, {"lines": lines}, door="sync_roll")
    found = AuditEntry.objects.filter(verb="opened a rest note").order_by("pk")
    assert list(found.values_list("subject_code", "actor_name")) == [
        (hall.mia.code, "Station Tablet 1"), (hall.tom.code, "Ines Marlow"),
    ]  # fmt: skip
