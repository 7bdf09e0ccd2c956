"""A coach writes, changes, releases and takes back a note; what is refused, and what is only pointed out."""

from __future__ import annotations

import pytest
from django.urls import reverse

from assessments.family_reports import season_words
from assessments.models import FamilyReport
from athletes.models import Consent
from tests import factories
from tests.assessments.read_story import days_of, steady_rise

TODAY = factories.TODAY


@pytest.fixture
def story(cast, programme, as_member):
    """A draft about Mia, written through the page."""
    steady_rise(cast.mia, days_of(cast.tigers))
    as_member(cast.coach).post(reverse("assessments:family_report_write", args=[cast.mia.code]))
    cast.note = FamilyReport.objects.get(athlete=cast.mia)
    return cast


def address(story, act="_edit"):
    return reverse(f"assessments:family_report{act}", args=[story.note.code])


def edited(story, **changes):
    texts = {name: story.note.body[name] for name in ("title", "lead", "grew", "next_step", "home")}
    return texts | changes


def again(story):
    return FamilyReport.objects.get(pk=story.note.pk)


def test_the_draft_knows_who_wrote_it_under_which_edition(story, programme):
    assert (story.note.status, story.note.written_by, story.note.edition) == ("draft", story.coach, programme)
    assert story.note.title == "Autumn 2026"


def test_the_coachs_own_words_are_kept(story, as_member):
    answer = as_member(story.coach).post(
        address(story), edited(story, lead="Mia hopped like a happy hare today.")
    )
    assert answer.status_code == 302
    assert again(story).body["lead"] == "Mia hopped like a happy hare today."
    assert again(story).body["shape"] == story.note.body["shape"]


@pytest.mark.parametrize(
    "text", ["Mia is weak in the hollow.", "Mia is in the top 10 % now.", "Better than other children!"]
)
def test_judging_and_comparing_words_are_refused(story, as_member, text):
    answer = as_member(story.coach).post(address(story), edited(story, lead=text))
    assert answer.status_code == 422
    assert "Families are not given these words" in answer.content.decode()
    assert again(story).body == story.note.body


def test_a_sentence_that_is_too_long_is_refused(story, as_member):
    long = "Mia " + "and then jumped " * 9 + "home."
    answer = as_member(story.coach).post(address(story), edited(story, grew=long))
    assert answer.status_code == 422 and "longer than 25 words" in answer.content.decode()


def test_hard_words_and_other_names_are_pointed_out_before_release(story, as_member):
    client = as_member(story.coach)
    hard = "Mia demonstrates extraordinary coordination alongside Tom."
    client.post(address(story), edited(story, lead=hard, grew=hard, next_step=hard, home=""))
    html = client.get(address(story, "")).content.decode()
    assert "Reads like school year" in html and "It says Tom." in html


def test_a_released_note_can_no_longer_be_changed(story, as_member):
    client = as_member(story.coach)
    client.post(address(story, "_approve"))
    assert client.get(address(story)).status_code == 302
    client.post(address(story), edited(story, lead="Something else."))
    assert again(story).body == story.note.body


def test_releasing_and_taking_back_twice_changes_nothing_more(story, as_member):
    client = as_member(story.coach)
    client.post(address(story, "_approve"))
    first = again(story).approved_at
    client.post(address(story, "_approve"))
    assert again(story).approved_at == first
    client.post(address(story, "_withdraw"))
    client.post(address(story, "_approve"))
    assert again(story).status == "withdrawn"


def test_a_withdrawn_yes_of_the_family_stops_the_release(story, as_member):
    consent = Consent.objects.create(
        athlete=story.mia, purpose="family_notes", given_on=TODAY, given_by="Pat Alder", withdrawn_on=TODAY
    )
    client = as_member(story.coach)
    answer = client.post(address(story, "_approve"), follow=True)
    assert "withdrew its yes" in answer.content.decode() and again(story).status == "draft"
    consent.withdrawn_on = None
    consent.save()
    client.post(address(story, "_approve"))
    assert again(story).status == "approved"


def test_the_list_shows_what_became_of_each_note(story, as_member):
    factories.FamilyReportFactory(athlete=story.mia, title="Spring 2026", status="withdrawn")
    html = (
        as_member(story.coach)
        .get(reverse("assessments:family_report_list", args=[story.mia.code]))
        .content.decode()
    )
    assert "draft" in html and "taken back" in html and "Spring 2026" in html


@pytest.mark.parametrize(
    ("who", "status"),
    [("director", 302), ("coach", 302), ("other_coach", 404), ("guardian", 403), ("outsider", 403)],
)
def test_only_staff_of_the_circle_release(story, as_member, who, status):
    assert as_member(getattr(story, who)).post(address(story, "_approve")).status_code == status
    assert again(story).status == ("approved" if status == 302 else "draft")


@pytest.mark.parametrize(("who", "status"), [("other_coach", 404), ("guardian", 403), ("outsider", 403)])
def test_nobody_else_writes_or_takes_back(story, as_member, who, status):
    client = as_member(getattr(story, who))
    assert (
        client.post(reverse("assessments:family_report_write", args=[story.mia.code])).status_code == status
    )
    assert client.post(address(story, "_withdraw")).status_code == status
    assert FamilyReport.objects.count() == 1 and again(story).status == "draft"


@pytest.mark.parametrize(
    ("month", "day", "words"),
    [(11, 25, "Autumn 2026"), (12, 1, "Winter 2026"), (2, 1, "Winter 2025"), (3, 1, "Spring 2026")],
)
def test_a_note_is_named_after_its_season(month, day, words):
    assert season_words(TODAY.replace(month=month, day=day)) == words
