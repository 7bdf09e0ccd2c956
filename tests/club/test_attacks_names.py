"""Names and words that are code, formulas, endless, or written from right to left, on every page and in every file."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest
from django.urls import reverse
from django.utils.html import escape

from assessments.models import AssessmentDay, Result, StationPass
from athletes.models import Athlete, Group
from club.models import User
from tests import factories
from tests.assessments.entry_making import body
from tests.club.attacking import send, signed_in, words_of
from tests.things import addresses, things_of

SCRIPT = "<script>alert(1)</script>"
ODD = {
    "code": (f"</script>{SCRIPT}", '"><img src=x onerror=alert(1)>'),
    "formula": ('=HYPERLINK("https://elsewhere.example";"Mia")', "+1+1"),
    "endless": ("W" * 60, "M" * 60),
    "right to left": ("\u202eaiM", "שרה"),
    "pictures": ("👩‍👩‍👧‍👦Mia🏽", "Ünïçødé & Söhne"),
    "template": ("{{ viewer }}{% url 'club:home' %}", "%s%(name)s${7*7}"),
}


@pytest.fixture
def odd(cast, programme):
    """A group in which everybody is called something odd; Mia, with results, notes and a day, carries code."""
    things = things_of(cast, programme)
    cast.named = {}
    for kind, (first, last) in ODD.items():
        child = cast.mia if kind == "code" else factories.AthleteFactory(group=cast.tigers)
        Athlete.objects.filter(pk=child.pk).update(first_name=first, last_name=last)
        cast.named[str(child.code)] = (first, last)
        note = body(
            cast.day, child, trial=2, note=first, reason=last, form_break=first, judge=str(cast.coach.code)
        )
        assert words_of(send(signed_in(cast.coach), cast.day, [note])) == ["stored"]
    first, last = ODD["code"]
    Group.objects.filter(pk=cast.tigers.pk).update(name=first)
    User.objects.filter(pk=cast.coach.pk).update(name=first)
    User.objects.filter(pk=cast.guardian.pk).update(name=last)
    AssessmentDay.objects.filter(pk=cast.day.pk).update(title=first)
    StationPass.objects.filter(pk=cast.tablet.pk).update(label=first)
    factories.RestNoteFactory(
        athlete=cast.mia, note=first, ended_on=factories.TODAY, ended_ground="no_symptoms", ended_adult=last
    )
    cast.things = things
    return cast


def scripts_of(page: str) -> list[str]:
    """What stands between script tags on a page."""
    return re.findall(r"<script\b[^>]*>(.*?)</script>", page, re.S | re.I)


def test_every_page_shows_odd_names_as_text(odd):
    wrong = []
    for role in ("director", "coach", "guardian"):
        client = signed_in(getattr(odd, role))
        for name, row, url in addresses(odd.things):
            if row.method != "get" or row.of(role) != frozenset({200, 204}):
                continue
            answer = client.get(url)
            if answer.status_code >= 400:
                wrong.append(f"{name} as {role}: {answer.status_code}")
            if "html" not in answer.headers["Content-Type"]:
                continue
            page = answer.content.decode()
            if SCRIPT in page or "<img src=x" in page:
                wrong.append(f"{name} as {role}: not escaped")
            wrong += [f"{name} as {role}: script holds {one[:40]}" for one in scripts_of(page) if "<" in one]
            wrong += [f"{name}: a link of a name" for one in re.findall(r'(?:href|src|action)="([^"]*)"', page)
                      if "elsewhere.example" in one or one.lower().startswith("javascript")]  # fmt: skip
    assert not wrong, "\n".join(wrong)


def test_the_page_names_the_child_as_it_is_written(odd):
    for code, (first, last) in odd.named.items():
        page = signed_in(odd.coach).get(reverse("athletes:athlete", args=[code])).content.decode()
        assert escape(first) in page and escape(last) in page


def test_data_in_pages_and_for_tablets_is_the_name_and_no_markup(odd):
    answer = signed_in(odd.coach).get(reverse("assessments:floor_data", args=[odd.day.code]))
    assert answer.headers["Content-Type"] == "application/json"
    told = {one["code"]: one["first_name"] for one in answer.json()["children"]}
    assert {code: told[code] for code in odd.named} == {code: first for code, (first, _) in odd.named.items()}
    page = signed_in(odd.coach).get(reverse("assessments:child", args=[odd.mia.code])).content.decode()
    found = re.findall(r'<script id="[^"]*" type="application/json">(.*?)</script>', page, re.S)
    assert found and all(json.loads(one) for one in found)


def test_no_cell_of_a_file_begins_a_formula(odd):
    answer = signed_in(odd.director).get(reverse("assessments:group_export", args=[odd.tigers.code]))
    rows = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"), newline="")))
    assert len(rows) > len(ODD) and {len(row) for row in rows} == {16}
    for cell in (cell for row in rows for cell in row):
        assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n")), cell
    shown = "\n".join(row[1] for row in rows)
    assert all(first in shown and last in shown for first, last in odd.named.values())


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r=", "\n=", "＝", "＋", "－", "＠"])
def test_whatever_a_spreadsheet_would_run_is_written_as_text(cast, programme, start):
    formula = f'{start}HYPERLINK("https://elsewhere.example")'
    measure = factories.MeasureFactory()
    Athlete.objects.filter(pk=cast.mia.pk).update(first_name=formula)
    factories.ResultFactory(day=cast.day, athlete=cast.mia, measure=measure, form_break=formula)
    factories.ResultFactory(day=cast.day, athlete=cast.tom, measure=measure, form_break="hips sank")
    answer = signed_in(cast.director).get(reverse("assessments:group_export", args=[cast.tigers.code]))
    text = answer.content.decode("utf-8-sig")
    rows = {row[15]: row for row in csv.reader(io.StringIO(text, newline=""))}
    hers = rows[str(Result.objects.get(athlete=cast.mia).code)]
    assert hers[1].startswith("'") and hers[11] == f"'{formula}"
    assert rows[str(Result.objects.get(athlete=cast.tom).code)][11] == "hips sank"


def test_the_file_of_one_child_is_plain_data(odd):
    answer = signed_in(odd.director).get(reverse("athletes:athlete_export", args=[odd.mia.code]))
    assert answer.headers["Content-Type"] == "application/json"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.json()["child"]["first_name"] == ODD["code"][0]
    assert answer.headers["Content-Disposition"].startswith("attachment")


def test_an_odd_name_can_be_typed_and_is_kept_as_it_is(cast, programme):
    """A long name that does not fit is refused in words; nothing is cut silently."""
    url = reverse("athletes:athlete_edit", args=[cast.mia.code])
    said = {"last_name": "Alder", "born_on": "2020-03-14", "joined_on": "2025-09-01", "group": cast.tigers.pk}
    client = signed_in(cast.director)
    for first, expected in ((SCRIPT, 302), ("א" * 60, 302), ("W" * 61, 422), ("Mi\x00a", 422), ("   ", 422)):
        assert client.post(url, {**said, "first_name": first}).status_code == expected, first
    cast.mia.refresh_from_db()
    assert cast.mia.first_name == "א" * 60
