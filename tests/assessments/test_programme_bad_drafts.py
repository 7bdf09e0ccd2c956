"""Half-finished and broken drafts: every page still opens, nothing is lost, and the reason is said."""

from __future__ import annotations

import copy

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from assessments import programme as door
from assessments.models import ProgrammeEdition
from assessments.programme_editing import put, put_benchmarks, put_top, take_away
from assessments.programme_yaml import texts_from_documents
from tests.assessments.programme_documents import starter_documents
from tests.conftest import viewer_of

JUNK = {
    "no skills": lambda documents: documents.pop("skills"),
    "skills are words": lambda documents: documents.update(skills="later"),
    "skills are no list": lambda documents: documents["skills"].update(skills={"a": 1}),
    "an entry is a number": lambda documents: documents["skills"]["skills"].append(7),
    "an entry without an id": lambda documents: documents["measures"]["measures"].append({"name": "Later"}),
    "an id that is a number": lambda documents: documents["shapes"]["shapes"].append({"id": 3}),
    "benchmarks are a list": lambda documents: documents.update(benchmarks=[]),
    "benchmarks of measures are a number": lambda documents: documents["benchmarks"].update(measures=3),
    "a zone is a number": lambda documents: documents["benchmarks"]["measures"]["hollow_hold"].update(
        {"4": 5}
    ),
    "no rules": lambda documents: documents["skills"].update(rules="none"),
    "a measure without anything": lambda documents: documents["measures"]["measures"].append({"id": "later"}),
    "no body areas": lambda documents: documents["measures"].pop("defaults"),
}


@pytest.fixture
def director(cast, programme):
    return viewer_of(cast.director)


@pytest.mark.parametrize("case", JUNK)
def test_every_page_of_a_broken_draft_opens_and_says_what_is_wrong(cast, director, as_member, case):
    documents = starter_documents()
    JUNK[case](documents)
    draft = door.begin_draft(director, documents=documents)
    client = as_member(cast.director)
    for name, more in {
        "draft": (), "draft_map": (), "draft_compare": (), "draft_rules": (), "draft_shape": ("hollow",),
        "draft_measure": ("arch_hold",), "draft_benchmark": ("arch_hold",),
    }.items():  # fmt: skip
        answer = client.get(reverse(f"assessments:{name}", args=[draft.code, *more]))
        assert answer.status_code == 200, name
    assert (
        "to put right before publishing"
        in client.get(reverse("assessments:draft", args=[draft.code])).content.decode()
    )
    with pytest.raises(door.Refused):
        door.publish(draft, director, "Now.")
    assert ProgrammeEdition.objects.get(pk=draft.pk).document == documents


@pytest.mark.parametrize("case", JUNK)
def test_edits_of_a_broken_draft_keep_everything_else(case):
    documents = starter_documents()
    JUNK[case](documents)
    before = copy.deepcopy(documents)
    put(documents, "skills", "new_one", {"name": "New"})
    put_top(documents, "skills", {"rules": {}})
    put_benchmarks(documents, "measures", "hollow_hold", zones={"4": {"from": 1, "aim": 2}}, about={})
    take_away(documents, "measures", "arch_hold")
    assert documents == before, "edits work on a copy"


def test_a_club_without_a_programme_brings_in_its_first_edition(cast, as_member):
    client = as_member(cast.director)
    assert client.post(reverse("assessments:draft_begin"), follow=True).status_code == 200
    assert not ProgrammeEdition.objects.exists()
    texts = texts_from_documents(starter_documents())
    uploads = [SimpleUploadedFile(f"{file}.yaml", text.encode()) for file, text in texts.items()]
    client.post(reverse("assessments:programme_import"), {"upload": uploads})
    draft = ProgrammeEdition.objects.drafts().get()
    page = client.get(reverse("assessments:draft_compare", args=[draft.code]))
    assert "The first edition" in page.content.decode()
    sent = {"reason": "We begin.", "version": page.context["form"]["version"].value()}
    client.post(reverse("assessments:draft_publish", args=[draft.code]), sent)
    assert door.current_programme().edition == 1


def test_a_published_draft_has_no_editor_any_more(cast, director, as_member):
    draft = door.begin_draft(director)
    address = reverse("assessments:draft_measure", args=[draft.code, "hollow_hold"])
    client = as_member(cast.director)
    assert client.get(address).status_code == 200
    door.publish(draft, director, "As it is.")
    assert client.get(address).status_code == 404
    assert client.post(address, {}).status_code == 404
    assert client.get(reverse("assessments:draft", args=[draft.code]))["Location"] == reverse(
        "assessments:edition", args=[2]
    )
