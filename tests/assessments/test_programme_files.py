"""A programme goes out as files and comes back the same; files that cannot be read say where and why."""

from __future__ import annotations

import io
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.urls import reverse

from assessments import programme as door
from assessments.models import Measure, ProgrammeEdition, Protocol, Skill
from assessments.programme_file import read, starter
from assessments.programme_writing import documents_of
from assessments.programme_yaml import FILES, documents_from_texts, texts_from_documents
from tests.assessments.programme_documents import entry, starter_documents


@pytest.fixture
def documents():
    return starter_documents()


def test_text_and_back_loses_nothing(documents):
    back, problems = documents_from_texts(texts_from_documents(documents))
    assert problems == ()
    assert back == documents


def test_record_and_back_loses_nothing(documents):
    assert documents_of(read(documents).partial) == documents
    assert read(documents_of(starter())).partial == read(documents).partial


def test_unknown_keys_survive_the_record(documents):
    entry(documents, "measures", "hollow_hold")["club_note"] = {"by": "Ines", "on": [1, 2]}
    entry(documents, "shapes", "hollow")["criteria"][0]["colour"] = None
    entry(documents, "skills", "cartwheel")["video"] = "shelf 3"
    documents["skills"]["rules"]["because"] = "we said so"
    documents["benchmarks"]["measures"]["hollow_hold"]["4"]["seen"] = 2026
    documents["benchmarks"]["measures"]["hollow_hold"]["club"] = "ours"
    documents["sources"]["sources"]["S11"]["shelf"] = 3
    documents["shapes"]["poster"] = {"a3": True}
    reading = read(documents)
    assert reading.refusals == ()
    assert documents_of(reading.partial) == documents


UNREADABLE = {
    "reference": ("a: &x [1]\nb: *x\n", "in line 2: a reference (*) is not allowed"),
    "name twice": ("a: 1\na: 2\n", "in line 2: 'a' stands here twice"),
    "not closed": ("a: [1\n", "cannot be read in line"),
    "a list": ("- 1\n", "should begin with names"),
    "not a number": ("a: .nan\n", "finite numbers"),
    "an object": ("a: !!python/object:os.system {}\n", "cannot be read"),
    "nul": ('a: "\\0"\n', "holds more than words"),
    "too long": ("#" * 1_000_001, "longer than"),
}


@pytest.mark.parametrize("case", UNREADABLE)
def test_an_unreadable_file_says_where_and_why(documents, case):
    text, words = UNREADABLE[case]
    texts = texts_from_documents(documents)
    assert documents_from_texts(texts)[1] == ()
    (problem,) = documents_from_texts(texts | {"skills": text})[1]
    assert problem.file == "skills"
    assert words in str(problem)


def test_a_date_stays_text():
    texts = texts_from_documents(starter_documents()) | {
        "sources": "schema: sources/1\non: 2026-03-04\n4: x\n"
    }
    assert documents_from_texts(texts)[0]["sources"] == {"schema": "sources/1", "on": "2026-03-04", "4": "x"}


def test_the_starter_is_edition_one_with_its_identities(db):
    edition = door.load()
    assert (edition.number, edition.reason) == (1, "Loaded from files")
    assert Measure.objects.filter(kind="shape").count() == 9
    assert Measure.objects.count() == Protocol.objects.count() == 31
    assert Skill.objects.count() == 26
    assert door.current_programme() == read(edition.document, edition=1).partial


def test_loading_twice_makes_no_second_edition(programme, capsys):
    call_command("loadprogramme")
    assert ProgrammeEdition.objects.count() == 1
    assert "Edition 1 is the club's programme." in capsys.readouterr().out


def write(folder, documents):
    for file, text in texts_from_documents(documents).items():
        (folder / f"{file}.yaml").write_text(text, encoding="utf-8")


def test_a_folder_becomes_the_next_edition_or_nothing(programme, documents, tmp_path):
    entry(documents, "measures", "hollow_hold")["cap"] = 45
    write(tmp_path, documents)
    call_command("loadprogramme", str(tmp_path))
    assert door.current_programme().edition == 2

    entry(documents, "skills", "bunny_hop")["requires"]["skills"] = ["moon"]
    write(tmp_path, documents)
    with pytest.raises(
        CommandError, match=r"skills.yaml, bunny_hop: comes after 'moon', which is not a skill"
    ):
        call_command("loadprogramme", str(tmp_path))
    assert door.current_programme().edition == 2


def test_a_folder_without_files_is_refused(programme, tmp_path):
    with pytest.raises(CommandError, match=r"measures.yaml: this file is missing"):
        call_command("loadprogramme", str(tmp_path))
    with pytest.raises(CommandError, match="is not a folder"):
        call_command("loadprogramme", str(tmp_path / "nowhere"))


def unpacked(content):
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name.removesuffix(".yaml"): archive.read(name).decode() for name in archive.namelist()}


def test_an_edition_taken_out_and_brought_in_is_the_same(cast, programme, as_member):
    client = as_member(cast.director)
    out = client.get(reverse("assessments:programme_export", args=[1]))
    assert set(unpacked(out.content)) == set(FILES)

    archive = SimpleUploadedFile("edition.zip", out.content)
    answer = client.post(reverse("assessments:programme_import"), {"upload": archive, "title": "Back"})

    draft = ProgrammeEdition.objects.drafts().get()
    assert answer["Location"] == reverse("assessments:draft", args=[draft.code])
    assert draft.document == programme.document
    assert (
        "No difference"
        in client.get(reverse("assessments:draft_compare", args=[draft.code])).content.decode()
    )


def test_single_files_may_be_brought_in(cast, programme, as_member, documents):
    uploads = [
        SimpleUploadedFile(f"{file}.yaml", text.encode())
        for file, text in texts_from_documents(documents).items()
    ]
    as_member(cast.director).post(reverse("assessments:programme_import"), {"upload": uploads})
    assert ProgrammeEdition.objects.drafts().get().document == documents


WRONG_UPLOADS = {
    "no archive": ([("edition.zip", b"junk")], "The archive cannot be opened."),
    "another file": ([("notes.yaml", b"a: 1")], "None of these is a file of a programme"),
    "not text": ([("skills.yaml", b"\xff\xfe\x00")], "is not written in UTF-8"),
    "one of five": ([("skills.yaml", b"schema: skills/1")], "measures.yaml: this file is missing"),
}


@pytest.mark.parametrize("case", WRONG_UPLOADS)
def test_a_wrong_upload_is_answered_in_words_and_makes_no_draft(cast, programme, as_member, case):
    files, words = WRONG_UPLOADS[case]
    uploads = [SimpleUploadedFile(name, content) for name, content in files]
    answer = as_member(cast.director).post(reverse("assessments:programme_import"), {"upload": uploads})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not ProgrammeEdition.objects.drafts().exists()


def test_files_of_a_newer_version_stay_a_draft_that_says_so(cast, programme, as_member, documents):
    documents["skills"]["schema"] = "skills/2"
    uploads = [
        SimpleUploadedFile(f"{file}.yaml", text.encode())
        for file, text in texts_from_documents(documents).items()
    ]
    answer = as_member(cast.director).post(
        reverse("assessments:programme_import"), {"upload": uploads}, follow=True
    )
    assert "written by a newer version of this program" in answer.content.decode()
    assert ProgrammeEdition.objects.drafts().get().document == documents


def test_only_directors_bring_files_in_or_take_them_out(cast, programme, as_member):
    for address in (
        reverse("assessments:programme_import"),
        reverse("assessments:programme_export", args=[1]),
    ):
        assert as_member(cast.director).get(address).status_code == 200
        assert as_member(cast.coach).get(address).status_code == 403
        assert as_member(cast.guardian).get(address).status_code == 403
