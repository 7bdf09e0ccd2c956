"""What must not leave: pages kept by a browser, words in logs and error pages, requests to other hosts."""

from __future__ import annotations

import logging
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import OperationalError
from django.template.loader import get_template
from django.test import Client
from django.urls import reverse

from club.models import AuditEntry, ClubProfile
from tests import factories
from tests.assessments.entry_making import body
from tests.club.attacking import send, signed_in, with_pass
from tests.things import addresses, things_of

ROOT = Path(__file__).resolve().parent.parent.parent
NAMES = ("Mia", "Alder", "Tom", "Birch", "Bea")


@pytest.fixture
def things(cast, programme):
    return things_of(cast, programme)


def test_no_page_of_anybody_is_kept_by_a_browser_or_a_proxy(cast, things):
    """Only the worker's script may be kept, and it is asked for again each time."""
    wrong = []
    for role in ("director", "guardian", "nobody"):
        client = Client() if role == "nobody" else signed_in(getattr(cast, role))
        for name, row, url in addresses(things):
            if row.method != "get" or name == "club:service_worker":
                continue
            kept = client.get(url).headers.get("Cache-Control", "")
            if "no-store" not in kept or "private" not in kept:
                wrong.append(f"{name} as {role}: {kept}")
    assert not wrong, "\n".join(wrong)


def test_answers_to_tablets_are_not_kept_either(cast, things):
    answer = send(Client(), cast.day, [body(cast.day, cast.tom)], **with_pass(cast.token))
    told = Client().get(
        reverse("assessments:floor_data", args=[cast.day.code]), headers=with_pass(cast.token)
    )
    assert [one.status_code for one in (answer, told)] == [200, 200]
    assert all("no-store" in one.headers["Cache-Control"] for one in (answer, told))


@pytest.mark.parametrize("page", ["service_worker", "manifest", "offline", "leaving", "health"])
def test_what_a_tablet_may_keep_names_no_child_and_no_day(cast, things, page):
    for client in (Client(), signed_in(cast.director), signed_in(cast.coach)):
        answer = client.get(reverse(f"club:{page}"))
        text = answer.content.decode()
        assert answer.status_code == 200
        assert not any(
            word in text for word in (*NAMES, "Tigers", str(cast.mia.code), str(cast.day.code), cast.token)
        )


def test_the_worker_keeps_only_its_list_and_pages_of_the_floor(client, db):
    text = client.get(reverse("club:service_worker")).content.decode()
    listed = re.search(r"const FILES = \[(.*?)\];", text, re.S).group(1)
    kept = [one for one in re.findall(r'"([^"]+)"', listed) if not one.startswith("/static/")]
    assert set(kept) == {reverse("club:leaving"), reverse("club:offline")}
    assert 'headers.get("X-Groundwork-Page") === "floor"' in text


def test_a_signed_out_browser_is_told_to_forget(cast):
    client = signed_in(cast.director)
    assert '"cache"' in client.post(reverse("club:sign_out")).headers["Clear-Site-Data"]


@pytest.mark.parametrize(
    ("name", "status"),
    [("athletes:athlete", 404), ("athletes:athlete_edit", 403), ("assessments:child", 404)],
)
def test_a_refusal_says_nothing_about_what_is_there(cast, things, name, status):
    there = signed_in(cast.other_coach).get(reverse(name, args=[cast.mia.code]))
    nowhere = signed_in(cast.other_coach).get(reverse(name, args=[things["nothing"]]))
    assert there.status_code == nowhere.status_code == status
    assert tokenless(there) == tokenless(nowhere)
    assert not any(word in there.content.decode() for word in NAMES)


def tokenless(answer) -> str:
    return re.sub(r'"[A-Za-z0-9]{64}"|&quot;[A-Za-z0-9]{64}&quot;', "", answer.content.decode())


def test_a_page_that_breaks_tells_the_visitor_nothing(cast, things, monkeypatch, caplog):
    client = signed_in(cast.coach)
    client.raise_request_exception = False
    url = reverse("athletes:athlete", args=[cast.mia.code])

    def broken(*_: object, **__: object) -> None:
        raise OperationalError("disk I/O error")

    assert client.get(url).status_code == 200
    monkeypatch.setattr("club.audit.note", broken)
    with caplog.at_level(logging.INFO):
        answer = client.get(url)
    assert answer.status_code == 500
    shown = answer.content.decode()
    assert "Something broke on our side" in shown
    assert not any(word in shown for word in (*NAMES, "Traceback", "OperationalError", "disk", "/athletes/"))
    assert "Internal Server Error" in caplog.text
    assert not any(word in caplog.text for word in NAMES)


def test_the_page_for_our_own_fault_opens_without_a_database(cast, monkeypatch):
    def broken(*_: object, **__: object) -> None:
        raise OperationalError("no database")

    client = signed_in(cast.coach)
    client.raise_request_exception = False
    monkeypatch.setattr(ClubProfile, "current", classmethod(broken))
    answer = client.get(reverse("club:account"))
    assert answer.status_code == 500 and b"Something broke on our side" in answer.content
    assert "no-store" in answer.headers["Cache-Control"]
    assert "{{ club" not in get_template("club/broken.html").template.source


def test_logs_hold_no_name_no_score_no_note_and_no_password(cast, things, caplog, settings):
    settings.AXES_ENABLED = True
    with caplog.at_level(logging.DEBUG):
        hurt = body(
            cast.day, cast.mia, outcome="stopped_for_pain", value=None, areas=["wrist"], note="Mia fell"
        )
        client = signed_in(cast.coach)
        send(client, cast.day, [body(cast.day, cast.tom, value=41.25, note="Tom wobbled"), hurt])
        send(client, cast.day, [body(cast.day, cast.tom, value=-41.25)])
        client.get(reverse("athletes:athlete", args=[cast.mia.code]))
        client.get(reverse("athletes:athlete", args=[cast.bea.code]))
        client.get(reverse("athletes:athlete_edit", args=[cast.mia.code]))
        client.get(reverse("athletes:athlete_list"), {"left": "1"})
        for _ in range(7):
            Client().post(
                reverse("club:sign_in"), {"username": cast.coach.email, "password": "swordfish-and-chips"}
            )
    words = "\n".join(
        record.getMessage()
        for record in caplog.records
        if record.name != "django.db.backends" and record.levelno >= 20
    )
    assert "login failure" in words and "Denied" in words
    for secret in (*NAMES, "41.25", "fell", "wobbled", "swordfish", cast.coach.email):
        assert secret not in words, secret


def test_a_denied_page_is_logged_with_codes_only(cast, things, caplog):
    url = reverse("athletes:athlete_edit", args=[cast.mia.code])
    assert signed_in(cast.director).get(url).status_code == 200
    assert "Denied" not in caplog.text
    assert signed_in(cast.guardian).get(url).status_code == 403
    assert f"Denied: athlete_edit to {cast.guardian.code}" in caplog.text
    assert "Pat" not in caplog.text and cast.guardian.email not in caplog.text


def test_what_is_noted_of_a_wrong_sign_in_holds_no_password(cast, settings):
    from axes.models import AccessAttempt

    settings.AXES_ENABLED = True
    Client().post(reverse("club:sign_in"), {"username": cast.coach.email, "password": "swordfish-and-chips"})
    row = AccessAttempt.objects.values().get()
    assert row["username"] == cast.coach.email and "swordfish" not in str(row)


AUDITED = {
    "athletes:athlete": "opened a child's details",
    "assessments:child": "opened a child's progress",
    "assessments:skill": "opened a child's skill",
    "assessments:child_map": "opened a child's skill map",
    "assessments:child_summary": "opened a child's progress in short",
    "assessments:skill_forecast": "opened a child's forecast",
    "assessments:result": "opened a child's result",
    "assessments:family_report_list": "opened a child's family notes",
    "assessments:result_list": "opened the results of a test day",
    "assessments:station_sheets": "opened the sheets of a test day",
    "assessments:group_map": "opened a group's skill map",
    "assessments:block_plan": "opened a group's block plan",
    "athletes:rest_note_list": "looked at who rests",
    "assessments:child_block_plan": "opened a child's block plan",
    "assessments:board": "opened a group's board",
    "assessments:board_print": "printed a group's board",
    "assessments:group_progress": "opened a group's progress",
    "athletes:athlete_export": "took out a child's data",
    "assessments:child_export": "took out a child's results",
    "assessments:group_export": "took out a group's results",
}


def test_opening_and_taking_out_a_childs_data_leaves_a_line(cast, things):
    client, rows = signed_in(cast.director), {name: url for name, _, url in addresses(things)}
    for name, verb in AUDITED.items():
        AuditEntry.objects.all().delete()
        assert client.get(rows[name]).status_code == 200, name
        line = AuditEntry.objects.get()
        assert (line.verb, line.actor) == (verb, cast.director)
        assert line.subject_code in (cast.mia.code, cast.tigers.code, cast.day.code, None)


def test_a_refused_look_leaves_no_line_that_says_it_was_opened(cast, things):
    rows = {name: url for name, _, url in addresses(things)}
    AuditEntry.objects.all().delete()
    for name in set(AUDITED) - {"athletes:rest_note_list"}:
        assert signed_in(cast.other_coach).get(rows[name]).status_code in (403, 404)
    assert not AuditEntry.objects.exists()
    signed_in(cast.coach).get(rows["athletes:athlete"])
    assert AuditEntry.objects.count() == 1


def test_the_trail_names_people_and_codes_and_no_score_or_note(cast, things):
    client = signed_in(cast.coach)
    correct = reverse("assessments:result_correct", args=[things["result"]])
    said = {
        "new_id": factories.uuid.uuid4(),
        "reason": "Mia wobbled",
        "outcome": "scored",
        "value": 41.25,
        "trial": 1,
    }
    assert client.post(correct, said).status_code == 302
    note = {"areas": ["wrist"], "note": "Mia fell", "opened_on": factories.TODAY.isoformat()}
    assert client.post(reverse("athletes:rest_note_open", args=[cast.mia.code]), note).status_code == 302
    end = {"ended_ground": "professional", "ended_adult": "Dr Grey", "ended_on": factories.TODAY.isoformat()}
    assert client.post(reverse("athletes:rest_note_end", args=[things["rest"]]), end).status_code == 302
    decide = reverse("assessments:skill_decide", args=[cast.mia.code, "bunny_hop"])
    taken = client.post(decide, {"word": "override", "reason": "Mia wobbled"})
    assert taken.status_code in (302, 422)
    assert (
        client.post(reverse("assessments:decision_take_back", args=[things["decision"]])).status_code == 302
    )
    made = client.post(reverse("assessments:pass_create", args=[cast.day.code]), {"label": "Tablet 9"})
    assert made.status_code == 200
    assert client.post(reverse("assessments:pass_end", args=[cast.tablet.code])).status_code == 302
    verbs = set(AuditEntry.objects.values_list("verb", flat=True))
    assert verbs >= {
        "corrected a result", "opened a rest note", "ended a rest note", "took back a decision about a skill",
        "made a station pass", "ended a station pass",
    }  # fmt: skip
    text = str(list(AuditEntry.objects.values("verb", "detail", "subject_type", "subject_code")))
    assert not any(word in text for word in (*NAMES, "41.25", "fell", "wobbled", "Grey"))


def test_publishing_restricting_and_people_leave_a_line(cast, things):
    client = signed_in(cast.director)
    AuditEntry.objects.all().delete()
    publish = {"reason": "The new season", "version": 1, "against": 1}
    assert (
        client.post(reverse("assessments:draft_publish", args=[things["draft"]]), publish).status_code == 302
    )
    client.post(reverse("athletes:athlete_restrict", args=[cast.mia.code]), {"restricted": "on"})
    client.post(reverse("athletes:guardian_revoke", args=[things["grant"]]))
    client.post(
        reverse("club:member", args=[cast.coach.code]), {"name": "Ines", "role": "coach", "is_active": "on"}
    )
    assert list(AuditEntry.objects.order_by("pk").values_list("verb", flat=True)) == [
        "published an edition of the programme", "restricted disclosure", "ended a guardian's access",
        "changed a member",
    ]  # fmt: skip


#: Names of formats, and what a citation links to; neither is ever fetched by a page.
SPOKEN_OF = re.compile(r"http://www\.w3\.org/|https://(?:dx\.)?doi\.org/")


def test_no_page_script_or_style_asks_another_host():
    wrong = []
    folders = [ROOT / "templates", *(ROOT / app / "static" for app in ("club", "assessments"))]
    files = [
        one
        for folder in folders
        for one in folder.rglob("*")
        if one.suffix in {".html", ".js", ".css", ".svg"}
    ]
    for path in files:
        for found in re.findall(
            r"(?:https?:|wss?:)?//[a-z0-9-]+\.[a-z0-9.-]+[^\s\"'<)]*", path.read_text(), re.I
        ):
            if not SPOKEN_OF.match(found):
                wrong.append(f"{path.relative_to(ROOT)}: {found}")
    assert len(files) > 100 and not wrong, "\n".join(wrong)


def test_the_check_before_a_launch_finds_nothing(tmp_path):
    done = subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        cwd=ROOT, capture_output=True, text=True, check=False,
        env={
            "PATH": "/usr/bin:/bin", "GROUNDWORK_DATA_DIR": str(tmp_path), "GROUNDWORK_BEHIND_PROXY": "yes",
            "GROUNDWORK_ALLOWED_HOSTS": "groundwork.example",
        },
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
