"""What a guardian can read: own child, released notes, plain words; nothing that staff alone see."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.urls import reverse

from assessments.models import FamilyReport
from club.models import AuditEntry
from tests import factories
from tests.assessments.read_story import days_of, judge, steady_rise


@pytest.fixture
def story(cast, programme, as_member):
    """Mia has two seasons behind her, a wrist that rests, and a draft that her coach wrote through the page."""
    cast.days = days_of(cast.tigers)
    steady_rise(cast.mia, cast.days)
    judge(
        cast.mia, cast.days[-4], "front_support", (1, 1, 1, 1, 1)
    )  # "can now" takes two looks beside the first
    factories.RestNoteFactory(athlete=cast.mia, areas=["wrist"], note="Fell on Tuesday")
    as_member(cast.coach).post(reverse("assessments:family_report_write", args=[cast.mia.code]))
    cast.note = FamilyReport.objects.get(athlete=cast.mia)
    cast.url = reverse("assessments:family_report", args=[cast.note.code])
    return cast


def release(story, as_member):
    return as_member(story.coach).post(reverse("assessments:family_report_approve", args=[story.note.code]))


def withdraw(story, as_member):
    return as_member(story.coach).post(reverse("assessments:family_report_withdraw", args=[story.note.code]))


def words_of(answer):
    html = re.sub(r"<(script|style).*?</\1>", " ", answer.content.decode(), flags=re.S)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_a_draft_is_seen_by_staff_alone(story, as_member):
    assert as_member(story.coach).get(story.url).status_code == 200
    assert as_member(story.guardian).get(story.url).status_code == 404
    assert "No note yet" in words_of(as_member(story.guardian).get(reverse("assessments:family")))


def test_a_released_note_is_read_by_the_childs_own_guardian(story, as_member):
    release(story, as_member)
    home = words_of(as_member(story.guardian).get(reverse("assessments:family")))
    told = words_of(as_member(story.guardian).get(story.url))
    assert "Mia" in home and "Tom" not in home and "Bea" not in home
    assert "In the front support, Mia can now keep both arms straight with no reminder." in told
    assert "Mia is resting from some of our tests for now. Please talk to us." in told


def test_a_note_that_was_taken_back_disappears_and_is_logged(story, as_member):
    release(story, as_member)
    withdraw(story, as_member)
    assert as_member(story.guardian).get(story.url).status_code == 404
    assert "No note yet" in words_of(as_member(story.guardian).get(reverse("assessments:family")))
    assert as_member(story.coach).get(story.url).status_code == 200
    verbs = list(AuditEntry.objects.filter(subject_code=story.mia.code).values_list("verb", flat=True))
    assert {"wrote a family note", "released a family note", "took back a family note"} <= set(verbs)


def test_a_guardian_reads_no_rank_chance_state_score_or_rest_note(story, as_member):
    release(story, as_member)
    told = words_of(as_member(story.guardian).get(story.url)).lower()
    for never in (
        "%",
        "percent",
        "rank",
        "ready to try",
        "nearly",
        "not yet",
        "wrist",
        "fell on",
        "average",
        "29 s",
    ):
        assert never not in told, never
    assert not re.search(r"\b\d+ (s|of)\b", told)


def test_reading_is_written_down_for_guardians(story, as_member):
    release(story, as_member)
    as_member(story.guardian).get(story.url)
    entry = AuditEntry.objects.latest("pk")
    assert (entry.actor, entry.verb, entry.subject_code) == (
        story.guardian,
        "read a family note",
        story.mia.code,
    )


def test_a_revoked_guardian_and_a_restricted_child_close_at_once(story, as_member):
    release(story, as_member)
    client = as_member(story.guardian)
    grant = story.mia.guardians.get()
    story.mia.restricted = True
    story.mia.save()
    assert client.get(story.url).status_code == 404
    grant.named = True
    grant.save()
    assert client.get(story.url).status_code == 200
    story.mia.restricted = False
    story.mia.save()
    grant.revoked_at = factories.NOW
    grant.save()
    assert client.get(story.url).status_code == 404


@pytest.mark.parametrize("who", ["other_coach", "outsider"])
def test_others_are_told_that_there_is_nothing(story, as_member, who):
    release(story, as_member)
    assert as_member(getattr(story, who)).get(story.url).status_code == 404


def test_staff_pages_of_a_child_are_closed_to_its_guardian(story, as_member):
    client = as_member(story.guardian)
    for name in (
        "assessments:child",
        "assessments:child_summary",
        "assessments:family_report_list",
        "athletes:athlete",
    ):
        assert client.get(reverse(name, args=[story.mia.code])).status_code == 403


def test_the_page_is_light_and_needs_no_script(story, as_member):
    release(story, as_member)
    html = as_member(story.guardian).get(story.url).content.decode()
    scripts = re.findall(r'<script[^>]*src="/static/([^"]+)"', html)
    sheets = re.findall(r'<link[^>]*rel="stylesheet"[^>]*href="/static/([^"]+)"', html)
    files = [Path(finders.find(name)) for name in scripts + sheets]
    assert "plotly" not in html and all("defer" in tag for tag in re.findall(r"<script[^>]*>", html))
    assert len(html) + sum(path.stat().st_size for path in files) <= 80_000
    assert "with no reminder" in words_of(as_member(story.guardian).get(story.url))


def test_a_guardian_without_a_child_gets_a_page_that_says_so(story, as_member):
    assert "Nothing to read yet" in words_of(as_member(story.outsider).get(reverse("assessments:family")))


def test_queries_do_not_grow_with_children_and_notes(story, as_member, django_assert_max_num_queries):
    release(story, as_member)
    client = as_member(story.guardian)
    url = reverse("assessments:family")
    client.get(url)
    with django_assert_max_num_queries(15) as few:
        client.get(url)
    for number in range(4):
        child = factories.AthleteFactory(first_name=f"Sibling{number}", group=story.tigers)
        factories.GuardianFactory(athlete=child, member=story.guardian, email=story.guardian.email)
        factories.FamilyReportFactory(athlete=child, approved=True, body={"title": "A", "lead": "B"})
    with django_assert_max_num_queries(len(few.captured_queries)):
        assert "Sibling3" in client.get(url).content.decode()
