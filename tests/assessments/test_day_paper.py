"""Paper and files: the sheet prints the slots, the grid types them in, a tablet's file copy comes through the door."""

from __future__ import annotations

import json
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from assessments.entries import entry_to_json
from assessments.models import Attendance, Measure, RefusedEntry, Result
from assessments.recording import record
from athletes.models import RestNote
from tests import factories
from tests.assessments.entry_making import body, entry
from tests.conftest import viewer_of
from tests.factories import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def station(cast, programme):
    """A station of the day by item and version."""

    def make(item="hollow_hold", variant="arms_by_side"):
        return factories.StationFactory(day=cast.day, measure=Measure.objects.get(slug=item), variant=variant)

    return make


@pytest.fixture
def grid(as_member, cast):
    """Type into a station's grid: grid(station, {(child, 'both_1'): '23'})."""

    def send(station, typed, user=None):
        client = as_member(user or cast.coach)
        url = reverse("assessments:station_grid", args=[cast.day.code, station.code])
        page = re.search(r'name="page" value="([^"]+)"', client.get(url).content.decode()).group(1)
        cells = {f"{child.code.hex}_{slot}": text for (child, slot), text in typed.items()}
        data = {"page": page, "judge": str(cast.coach.code), **cells}
        return client, url, data, client.post(url, data)

    return send


def test_the_sheet_prints_a_line_a_child_and_a_box_a_try(as_member, cast, station):
    station("single_leg_stance", "")
    factories.AttendanceFactory(day=cast.day, athlete=cast.tom, present=False)
    text = (
        as_member(cast.coach)
        .get(reverse("assessments:station_sheets", args=[cast.day.code]))
        .content.decode()
    )
    assert "Mia A." in text and "Tom B." not in text
    assert text.count("write-line") == 2 + 4  # timed at once, the judge, and two tries on two sides
    assert "anything sore, ill or new?" in text


def test_a_sheet_is_typed_in_through_the_door(cast, station, grid):
    typed = {(cast.mia, "both_1"): "23", (cast.mia, "both_2"): "60+", (cast.tom, "both_1"): "could not"}
    client, url, data, _ = grid(station(), typed)
    client.post(url, data)  # sent twice
    rows = Result.objects.order_by("athlete__first_name", "trial")
    assert [(r.athlete, r.trial, r.value, r.outcome) for r in rows] == [
        (cast.mia, 1, 23, "scored"),
        (cast.mia, 2, 60, "reached_cap"),
        (cast.tom, 1, 0, "could_not_start"),
    ]
    assert {(r.how, r.judge, r.variant) for r in rows} == {("typed", cast.coach, "arms_by_side")}
    assert "60+" in client.get(url).content.decode()


def test_one_cell_that_cannot_be_read_keeps_the_whole_page_back(cast, station, grid):
    typed = {(cast.mia, "both_1"): "23", (cast.tom, "both_1"): "quite long"}
    *_, answer = grid(station(), typed)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="23"' in text and 'value="quite long" ' in text and "aria-invalid" in text
    assert not Result.objects.exists()


def test_a_shape_is_typed_in_by_criterion(cast, station, grid):
    typed = {(cast.mia, f"both_1_{name}"): level for name, level in [("low_back", "2"), ("head", "0")]}
    grid(station("hollow", ""), typed)
    assert Result.objects.get().levels == {
        "low_back": 2, "shoulder_blades": None, "head": 0, "legs": None, "breathing": None,
    }  # fmt: skip


def test_what_stands_already_is_shown_and_not_asked_again(cast, station, grid):
    record([entry(cast.day, cast.mia, value=41)], viewer_of(cast.coach))
    client, url, _, answer = grid(station(), {(cast.mia, "both_1"): "50"})
    assert answer.status_code == 302
    assert Result.objects.get().value == 41
    text = client.get(url).content.decode()
    assert ">41<" in text and f'name="{cast.mia.code.hex}_both_1"' not in text


def test_how_many_were_timed_at_once_is_said_once_a_sheet_and_counts_for_holds(cast, station, grid):
    client, url, data, _ = grid(station(), {})
    client.post(url, {**data, f"{cast.mia.code.hex}_both_1": "23", "at_once": "4"})
    client.post(url, {**data, f"{cast.tom.code.hex}_both_1": "24", "at_once": "99"})
    assert list(Result.objects.order_by("value").values_list("value", "at_once")) == [(23, 4), (24, 1)]
    jump = station("standing_long_jump", "")
    assert "timed at once" not in client.get(grid(jump, {})[1]).content.decode()
    client.post(grid(jump, {})[1], {"judge": "", f"{cast.mia.code.hex}_both_1": "120", "at_once": "4"})
    assert Result.objects.get(measure__slug="standing_long_jump").at_once == 1


def test_a_day_of_two_groups_prints_a_sheet_for_each(as_member, cast, station):
    station()
    sheets = reverse("assessments:station_sheets", args=[cast.day.code])
    assert as_member(cast.director).get(sheets).content.decode().count("<h1>") == 1
    cast.day.groups.add(cast.bears)
    text = as_member(cast.director).get(sheets).content.decode()
    assert text.count("<h1>") == 2
    bears, tigers = text.split("page-break")
    assert "Bea C." in bears and "Bears" in bears and "Mia A." not in bears
    assert "Mia A." in tigers and "Tigers" in tigers and "Bea C." not in tigers


def upload(client, day, content):
    text = content if isinstance(content, str) else json.dumps(content)
    file = SimpleUploadedFile("tablet.json", text.encode(), content_type="application/json")
    return client.post(reverse("assessments:outbox_import", args=[day.code]), {"file": file})


def test_a_file_copy_gives_the_same_rows_as_sending(as_member, cast, programme):
    entries = [entry(cast.day, cast.mia, trial=n) for n in (1, 2)]
    record(entries[:1], viewer_of(cast.coach))
    sent = Result.objects.values_list("code", "value", "trial", "tablet", "seq", "content_hash").get()
    copy = {"format": "groundwork-entries", "schema": 1, "entries": [entry_to_json(one) for one in entries]}
    client = as_member(cast.coach)
    for _ in range(2):
        assert upload(client, cast.day, copy).status_code == 302
    rows = Result.objects.values_list("code", "value", "trial", "tablet", "seq", "content_hash")
    assert rows.get(code=entries[0].id) == sent
    assert rows.count() == 2


def test_the_roll_in_a_file_copy_comes_in_too(as_member, cast, programme):
    yes = {"day": str(cast.day.code), "child": str(cast.mia.code), "at": NOW.isoformat(), "sore": "yes"}
    lines = [{**yes, "areas": ["wrist"]}, {**yes, "day": "none"}, "nonsense"]
    upload(as_member(cast.coach), cast.day, {"entries": [], "roll": lines})
    assert Attendance.objects.get().sore == "yes"
    assert RestNote.objects.get().areas == ["wrist"]


def test_an_entry_that_the_tablet_could_not_number_comes_in_with_the_copy(as_member, cast, programme):
    loose = [body(cast.day, cast.mia, seq=0, trial=n) for n in (1, 2, 3)]
    upload(as_member(cast.coach), cast.day, loose)
    assert Result.objects.count() == 3


@pytest.mark.parametrize("content", ["not json", '{"entries": 5}', "[" * 30_000, '"text"'])
def test_another_file_is_said_to_be_none(as_member, cast, programme, content):
    answer = upload(as_member(cast.coach), cast.day, content)
    assert answer.status_code == 422
    assert "not the file copy of a tablet" in answer.content.decode()
    assert not RefusedEntry.objects.exists()
