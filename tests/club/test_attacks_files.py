"""Files that are bombs, riddles or lies, at every door that takes a file."""

from __future__ import annotations

import io
import json
import zipfile

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from assessments.models import ProgrammeEdition, RefusedEntry, Result
from assessments.programme_yaml import FILES, texts_from_documents
from athletes.models import Athlete
from tests.assessments.entry_making import body
from tests.club.attacking import signed_in

GOOD_LIST = b"First name,Last name,Date of birth,Group\nKim,Vale,2019-05-04,Tigers\n"


@pytest.fixture(params=["athletes:roster", "assessments:results_import"])
def sheet_door(request, cast, programme):
    """A door that takes a spreadsheet, and the director in front of it."""
    client, url = signed_in(cast.director), reverse(request.param)

    def give(content: bytes, name: str = "list.xlsx"):
        return client.post(url, {"file": SimpleUploadedFile(name, content)})

    return give


def workbook(**members: bytes) -> dict[str, bytes]:
    """The parts of a small, good workbook, some of them replaced or added."""
    book, out = openpyxl.Workbook(), io.BytesIO()
    book.active.append(["First name", "Last name", "Date of birth", "Group"])
    book.active.append(["Kim", "Vale", "2019-05-04", "Tigers"])
    book.save(out)
    with zipfile.ZipFile(out) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    return parts | members


def packed(parts: dict[str, bytes], how: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", how) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return out.getvalue()


def entity(declared: str, used: str, encoding: str = "utf-8") -> bytes:
    """Shared words of a workbook that begin with a document type."""
    text = (
        f'<?xml version="1.0" encoding="{encoding}"?><!DOCTYPE sst [{declared}]>'
        '<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" count="1" uniqueCount="1">'
        f"<si><t>{used}</t></si></sst>"
    )
    return text.encode(encoding)


FILE_ENTITY = '<!ENTITY x SYSTEM "file:///etc/passwd">'
BOMB = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10)) + '<!ENTITY a0 "ha">'


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-16-be"])
@pytest.mark.parametrize(("declared", "used"), [(FILE_ENTITY, "&x;"), (BOMB, "&a9;")])
def test_entities_are_refused_in_any_letters(sheet_door, encoding, declared, used):
    trick = packed(workbook(**{"xl/sharedStrings.xml": entity(declared, used, encoding)}))
    answer = sheet_door(trick)
    assert answer.status_code == 422
    assert b"root:" not in answer.content and b"haha" not in answer.content
    assert sheet_door(packed(workbook())).status_code == 302


def test_a_document_type_is_refused_wherever_it_stands(sheet_door):
    parts = workbook()
    hidden = {name: content for name, content in parts.items() if "sheet1.xml" not in name}
    hidden["xl/worksheets/sheet1.bin"] = entity(FILE_ENTITY, "&x;")
    assert sheet_door(packed(hidden)).status_code == 422
    assert sheet_door(packed(parts)).status_code == 302


def test_what_unpacks_to_too_much_is_refused_before_it_is_unpacked(sheet_door):
    bomb = packed(workbook(**{"xl/worksheets/sheet2.xml": b"<a>" + b" " * (70 * 1024 * 1024)}))
    assert len(bomb) < 1024 * 1024
    answer = sheet_door(bomb)
    assert answer.status_code == 422 and b"unpacks to more than" in answer.content


@pytest.mark.parametrize(
    "how", [zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA, zipfile.ZIP_STORED]
)
def test_a_damaged_archive_is_said_to_be_so(sheet_door, how):
    content = bytearray(packed(workbook(), how))
    middle = len(content) // 3
    content[40:middle] = bytes(byte ^ 0x5A for byte in content[40:middle])
    assert sheet_door(bytes(content)).status_code == 422


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("list.xlsx", b"PK\x03\x04" + b"\x00" * 200),
        ("list.csv", b"\x00\x01\x02" * 500),
        ("list.csv", b'"' + b"a" * 200_000),
        ("list.csv", b"a" * 6_000_000),
        ("list.csv", b"," * 500 + b"\n" + b"x," * 500),
        ("list.csv", b"a,b\n" * 20_000),
        ("list.csv", b""),
    ],
)
def test_what_is_no_sheet_or_too_much_is_refused_in_words(sheet_door, name, content):
    assert sheet_door(content, name).status_code == 422
    assert sheet_door(GOOD_LIST, "list.csv").status_code == 302


@pytest.mark.parametrize(
    "date", ["²", "9" * 5_000, "１２", "0000-00-00", "=TODAY()", "2019-13-45", "-1", "1e9", "NaN"]
)
def test_a_date_that_is_none_is_named_and_breaks_nothing(cast, programme, date):
    client = signed_in(cast.director)
    for door, extra in (("athletes:roster", "Group\n"), ("assessments:results_import", "Hollow hold\n")):
        text = f"First name,Last name,Date of birth,Date,{extra}"
        text += f"Kim,Vale,{date},{date},20\nLu,Vale,2019-05-04,2026-03-04,20\n"
        assert (
            client.post(reverse(door), {"file": SimpleUploadedFile("x.csv", text.encode())}).status_code
            == 302
        )
        assert client.get(reverse(f"{door}_preview")).status_code == 200
    client.post(reverse("athletes:roster_apply"))
    assert set(Athlete.objects.filter(last_name="Vale").values_list("first_name", flat=True)) == {"Lu"}


@pytest.mark.parametrize("text", ["<html><script>alert(1)</script>", "=cmd|' /C calc'!A0,b\n1,2", "MZ"])
def test_what_is_only_text_is_shown_as_text(cast, programme, text):
    client = signed_in(cast.director)
    for door in ("athletes:roster", "assessments:results_import"):
        client.post(reverse(door), {"file": SimpleUploadedFile("list.xlsx", text.encode())})
        page = client.get(reverse(f"{door}_preview"))
        assert page.status_code == 200 and b"<script>alert" not in page.content
        client.post(reverse(f"{door}_apply"))
    assert Athlete.objects.count() == 3 and not Result.objects.exists()


@pytest.mark.parametrize(
    "name", ["../../etc/passwd.csv", "<script>alert(1)</script>.csv", "a\r\nX-Odd: 1.csv", "é" * 300]
)
def test_the_name_of_a_file_is_only_a_name(cast, programme, name):
    client, url = signed_in(cast.director), reverse("athletes:roster")
    given = client.post(url, {"file": SimpleUploadedFile("x.csv", GOOD_LIST)})
    assert given.status_code == 302
    file = SimpleUploadedFile("x.csv", GOOD_LIST)
    file._name = f"{name[:250]}.csv"
    assert client.post(url, {"file": file}).status_code in (302, 422)
    page = client.get(reverse("athletes:roster_preview"))
    assert page.status_code == 200 and b"<script>alert" not in page.content and "X-Odd" not in page.headers
    assert b"etc/passwd" not in page.content


def test_a_waiting_file_is_its_owners_alone(cast, programme):
    other = signed_in(cast.director)
    mine = signed_in(cast.director)
    mine.post(reverse("athletes:roster"), {"file": SimpleUploadedFile("x.csv", GOOD_LIST)})
    assert b"Vale" in mine.get(reverse("athletes:roster_preview")).content
    assert other.get(reverse("athletes:roster_preview")).status_code == 302
    assert other.post(reverse("athletes:roster_apply")).status_code == 302
    assert not Athlete.objects.filter(first_name="Kim").exists()
    mine.post(reverse("athletes:roster_apply"))
    assert Athlete.objects.filter(first_name="Kim").exists()


@pytest.fixture
def programme_door(cast, programme):
    """The door for the files of a programme, given one of them in other words."""
    client, url = signed_in(cast.director), reverse("assessments:programme_import")
    texts = texts_from_documents(programme.document)

    def give(measures: str | None = None, *, raw: bytes | None = None):
        files = {**texts, **({"measures": measures} if measures is not None else {})}
        if raw is not None:
            uploads = [SimpleUploadedFile("all.zip", raw)]
        else:
            uploads = [SimpleUploadedFile(f"{name}.yaml", files[name].encode()) for name in FILES]
        return client.post(url, {"upload": uploads, "title": "Attack"})

    return give


@pytest.mark.parametrize(
    "text",
    [
        'a: !!python/object/apply:os.system ["touch pwned"]', "a: !!python/name:os.system", "a: !!python/module:os",
        "a: &x [1]\nb: *x", "a: " + "[" * 100_000, "a: " + "{" * 100_000, "a: .nan", "a: 1\na: 2", "a: !!binary aGk=",
        "a: " + "9" * 5_000, "x" * 1_000_001, "- 1", "\x07", "a: 0x" + "F" * 6_000,
    ],
)  # fmt: skip
def test_a_programme_file_is_plain_data_or_is_refused(programme_door, text):
    answer = programme_door(text)
    assert answer.status_code == 422 or "0x" in text
    assert ProgrammeEdition.objects.drafts().count() == (answer.status_code == 302)
    assert programme_door().status_code == 302


@pytest.mark.parametrize("version", ["²", "9" * 5_000, "-1", "1/2"])
def test_a_draft_of_no_known_version_can_be_opened(cast, programme_door, version):
    assert programme_door(f"schema: measures/{version}").status_code == 302
    draft = ProgrammeEdition.objects.drafts().get()
    assert signed_in(cast.director).get(reverse("assessments:draft", args=[draft.code])).status_code == 200


def test_a_draft_with_a_number_beyond_all_bounds_can_be_opened_and_not_published(
    cast, programme_door, programme
):
    huge = "0x" + "F" * 400
    text = texts_from_documents(programme.document)["measures"].replace("cap: 60", f"cap: {huge}", 1)
    assert huge in text
    answer = programme_door(text)
    drafts = ProgrammeEdition.objects.drafts()
    assert answer.status_code in (302, 422) and drafts.count() == (answer.status_code == 302)
    client = signed_in(cast.director)
    for draft in drafts:
        for page in ("draft", "draft_compare"):
            assert client.get(reverse(f"assessments:{page}", args=[draft.code])).status_code == 200
        client.post(
            reverse("assessments:draft_publish", args=[draft.code]),
            {"reason": "x", "version": 1, "against": 1},
        )
    assert ProgrammeEdition.objects.current() == programme


@pytest.mark.parametrize("how", [zipfile.ZIP_DEFLATED, zipfile.ZIP_LZMA])
def test_a_bomb_among_the_programme_files_is_refused(programme_door, programme, how):
    texts = {f"{name}.yaml": text.encode() for name, text in texts_from_documents(programme.document).items()}
    bomb = packed({**texts, "measures.yaml": b"#" * 30_000_000}, how)
    assert len(bomb) < 200_000 and programme_door(raw=bomb).status_code == 422
    good = packed(texts, how)
    damaged = bytearray(good)
    damaged[60:400] = bytes(340)
    assert programme_door(raw=bytes(damaged)).status_code == 422
    outside = packed({**texts, "../../../evil.yaml": b"a: 1", "/etc/passwd": b"x"}, how)
    assert programme_door(raw=outside).status_code == 302


@pytest.mark.parametrize(
    "text",
    [
        "",
        "7",
        "{",
        "[" * 200_000,
        '{"entries": 3}',
        '{"entries": [[[[[[[[1]]]]]]]]}',
        "null",
        "[" + "1," * 10_001 + "1]",
    ],
)
def test_a_file_copy_that_is_none_is_refused_in_words(cast, programme, text):
    client, url = signed_in(cast.coach), reverse("assessments:outbox_import", args=[cast.day.code])
    answer = client.post(url, {"file": SimpleUploadedFile("copy.json", text.encode())})
    assert answer.status_code == (302 if "[[[[" in text and len(text) < 100 else 422)
    assert not Result.objects.exists()
    good = json.dumps({"entries": [body(cast.day, cast.mia)]}).encode()
    assert client.post(url, {"file": SimpleUploadedFile("copy.json", good)}).status_code == 302
    assert Result.objects.count() == 1


def test_a_file_copy_brings_in_no_child_of_another_group(cast, programme):
    url = reverse("assessments:outbox_import", args=[cast.day.code])
    both = json.dumps([body(cast.day, cast.bea), body(cast.day, cast.mia)]).encode()
    signed_in(cast.coach).post(url, {"file": SimpleUploadedFile("copy.json", both)})
    assert list(Result.objects.values_list("athlete", flat=True)) == [cast.mia.pk]
    assert RefusedEntry.objects.get().athlete is None


def test_a_form_with_too_many_fields_or_too_large_is_refused(cast, programme):
    client, url = signed_in(cast.coach), reverse("assessments:attendance", args=[cast.day.code])
    assert client.post(url, {f"f{n}": "1" for n in range(5_001)}).status_code == 400
    assert client.post(url, {"a": "x" * (7 * 1024 * 1024)}).status_code == 400
    assert client.post(url, {f"present_{cast.mia.code}": "yes"}).status_code == 302
