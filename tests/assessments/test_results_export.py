"""Results as a file: every entry that stands, no formula, restricted children left out, written down."""

from __future__ import annotations

import csv
import io

import pytest
from django.urls import reverse

from club.models import AuditEntry
from tests import factories
from tests.assessments.read_story import days_of, judge, score


@pytest.fixture
def story(cast, programme):
    """Two children with results; one name that a spreadsheet would run."""
    cast.days = days_of(cast.tigers)
    cast.tom.first_name, cast.tom.last_name = "=HYPERLINK(1)", ""
    cast.tom.save()
    cast.first = score(cast.mia, cast.days[0], "hollow_hold", 12, variant="arms_by_side")
    score(cast.mia, cast.days[0], "pike_reach", -4)
    judge(cast.mia, cast.days[1], "hollow", (2, None, 1, 0, 2))
    score(cast.tom, cast.days[1], "hollow_hold", 20.0, outcome="reached_cap")
    return cast


def rows(answer):
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/csv")
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def child(client, athlete):
    return client.get(reverse("assessments:child_export", args=[athlete.code]))


def test_each_entry_that_stands_is_one_row(story, as_member):
    score(story.mia, story.days[0], "hollow_hold", 15, variant="arms_by_side", replaces=story.first.code)
    found = rows(child(as_member(story.director), story.mia))
    assert [(row["Day"], row["Measure"], row["Value"]) for row in found] == [
        ("2025-11-20", "hollow_hold", "15"), ("2025-11-20", "pike_reach", "-4"), ("2026-01-22", "hollow", ""),
    ]  # fmt: skip
    assert found[2]["Criteria"] == "low_back 2; shoulder_blades not seen; head 1; legs 0; breathing 2"


def test_a_text_that_looks_like_a_formula_is_made_harmless(story, as_member):
    found = rows(child(as_member(story.director), story.tom))
    assert found[0]["Child"] == "'=HYPERLINK(1)"
    assert found[0]["Outcome"] == "reached_cap"


def test_a_groups_file_leaves_out_children_whose_disclosure_is_restricted(story, as_member):
    client = as_member(story.director)
    url = reverse("assessments:group_export", args=[story.tigers.code])
    assert {row["Child"] for row in rows(client.get(url))} == {"Mia Alder", "'=HYPERLINK(1)"}
    story.mia.restricted = True
    story.mia.save()
    assert {row["Child"] for row in rows(client.get(url))} == {"'=HYPERLINK(1)"}
    assert child(client, story.mia).status_code == 302


def test_taking_out_is_written_down(story, as_member):
    child(as_member(story.director), story.mia)
    entry = AuditEntry.objects.latest("pk")
    assert (entry.verb, entry.subject_code) == ("took out a child's results", story.mia.code)


def test_the_file_holds_no_rest_note_and_no_staff(story, as_member):
    factories.RestNoteFactory(athlete=story.mia, note="Sore since Monday")
    text = child(as_member(story.director), story.mia).content.decode()
    assert "Sore" not in text and "Ines" not in text


@pytest.mark.parametrize(
    ("who", "status"),
    [("director", 200), ("coach", 403), ("other_coach", 403), ("guardian", 403), ("outsider", 403)],
)
def test_only_a_director_takes_results_out(story, as_member, who, status):
    client = as_member(getattr(story, who))
    assert child(client, story.mia).status_code == status
    assert client.get(reverse("assessments:group_export", args=[story.tigers.code])).status_code == status
