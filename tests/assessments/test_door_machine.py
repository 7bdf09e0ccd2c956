"""Three tablets, one club, and a history that nobody planned. The machine sees only what a tablet sees.

The law, by ids, once everything has been sent: made = stored once + refused in view; nothing is at the club that was
not made; nothing told to be at the club is missing; what stands is what the entries say, in whatever order they came.
"""

from __future__ import annotations

import json
import os
import uuid
from datetime import timedelta

import hypothesis.strategies as st
import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, settings
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from assessments.models import AssessmentDay, Attendance, RefusedEntry, Result
from athletes.models import Athlete, RestNote
from tests import factories

HISTORIES = int(os.environ.get("GROUNDWORK_HISTORIES", "50"))
NOON = factories.NOW.replace(hour=12)
TABLETS = ("blue", "green", "red")
HERE = ("stored", "already_here", "conflict")


class Tablet:
    """What one tablet holds: entries in order, and the club's last word about each."""

    def __init__(self, name: str, token: str) -> None:
        self.name, self.token = name, token
        self.seq = 0
        self.made: dict[str, dict] = {}
        self.word: dict[str, str] = {}

    def waiting(self) -> list[str]:
        return [code for code in self.made if code not in self.word]


class Door(RuleBasedStateMachine):
    """`world` is the cast of one test; each history is rolled back."""

    world = None

    @initialize()
    def begin(self):
        self.block = transaction.atomic()
        self.block.__enter__()
        self.client, self.lead = Client(), Client()
        self.lead.force_login(self.world.coach, backend="django.contrib.auth.backends.ModelBackend")
        self.children = [str(self.world.mia.code), str(self.world.tom.code)]
        self.gone: set[str] = set()
        self.tablets = {}
        for name in TABLETS:
            factories.StationPassFactory(day=self.world.day, token=f"token-{name}", label=name)
            self.tablets[name] = Tablet(name, f"token-{name}")
        self.backup: set[uuid.UUID] = set()
        self.restored = False
        self.minute = 0

    def teardown(self):
        if not hasattr(self, "block"):
            return
        try:
            self.send_everything()
            self.check_the_law()
        finally:
            transaction.set_rollback(True)
            self.block.__exit__(None, None, None)

    # --- on a tablet -------------------------------------------------------------------------------------------

    def make(self, tablet: Tablet, **fields) -> str:
        tablet.seq += 1
        self.minute += 1
        code = str(uuid.uuid4())
        tablet.made[code] = {
            "id": code, "tablet": tablet.name, "seq": tablet.seq, "schema": 1, "day": str(self.world.day.code),
            "measure": "hollow_hold", "variant": "arms_by_side", "side": "", "trial": 1, "value": 20.0,
            "outcome": "scored", "how": "timed", "t_wall": (NOON + timedelta(seconds=self.minute)).isoformat(),
            "replaces": None, **fields,
        }  # fmt: skip
        return code

    @rule(
        name=st.sampled_from(TABLETS),
        child=st.integers(0, 1),
        trial=st.integers(1, 2),
        value=st.integers(0, 60),
    )
    def tap(self, name, child, trial, value):
        self.make(self.tablets[name], child=self.children[child], trial=trial, value=float(value))

    @rule(name=st.sampled_from(TABLETS), child=st.integers(0, 1))
    def impossible(self, name, child):
        self.make(self.tablets[name], child=self.children[child], value=999.0)

    def any_made(self, draw_from: str, which: int) -> dict | None:
        made = list(self.tablets[draw_from].made.values())
        return made[which % len(made)] if made else None

    @rule(
        name=st.sampled_from(TABLETS),
        of=st.sampled_from(TABLETS),
        which=st.integers(0, 50),
        undo=st.booleans(),
    )
    def think_again(self, name, of, which, undo):
        old = self.any_made(of, which)
        if old is not None:
            fields = {"value": None, "outcome": "withdrawn"} if undo else {"value": 33.0, "outcome": "scored"}
            self.make(
                self.tablets[name], child=old["child"], trial=old["trial"], replaces=old["id"], **fields
            )

    @rule(name=st.sampled_from(TABLETS), child=st.integers(0, 1))
    def pain(self, name, child):
        self.make(self.tablets[name], child=self.children[child], value=None, outcome="stopped_for_pain")

    # --- between tablet and club -------------------------------------------------------------------------------

    def post(self, tablet: Tablet, name: str, body: dict, *, as_lead: bool = False):
        headers = {} if as_lead else {"X-Station-Pass": tablet.token}
        url = reverse(f"assessments:{name}", args=[self.world.day.code])
        client = self.lead if as_lead else self.client
        return client.post(url, json.dumps(body), content_type="application/json", headers=headers)

    def deliver(self, tablet: Tablet, codes: list[str], *, heard: bool = True, as_lead: bool = False) -> None:
        answer = self.post(
            tablet, "sync", {"entries": [tablet.made[code] for code in codes]}, as_lead=as_lead
        )
        if answer.status_code == 401:
            return
        answers = answer.json()["answers"]
        assert [one["id"] for one in answers] == codes
        if heard:
            tablet.word.update((one["id"], one["word"]) for one in answers)

    @rule(
        name=st.sampled_from(TABLETS), order=st.randoms(use_true_random=False), most=st.integers(1, 6),
        again=st.booleans(), heard=st.booleans(),
    )  # fmt: skip
    def send(self, name, order, most, again, heard):
        """Some of what waits, in any order, perhaps with things sent before, perhaps without hearing the answer."""
        tablet = self.tablets[name]
        codes = (
            [code for code in tablet.made if tablet.word.get(code) != "refused"]
            if again
            else tablet.waiting()
        )
        order.shuffle(codes)
        self.deliver(tablet, codes[:most], heard=heard)

    @rule(name=st.sampled_from(TABLETS), at=st.integers(1, 25))
    def send_into_a_broken_database(self, name, at):
        tablet, calls = self.tablets[name], []

        def break_it(execute, sql, params, many, context):
            calls.append(sql)
            if len(calls) == at:
                raise DatabaseError("broken")
            return execute(sql, params, many, context)

        codes = tablet.waiting()
        before = set(Result.objects.values_list("code", flat=True))
        try:
            with connection.execute_wrapper(break_it):
                self.deliver(tablet, codes)
        except DatabaseError:
            # Broken on the way in, nothing is here; broken on the way out, all is here and only the answer is lost.
            if set(Result.objects.values_list("code", flat=True)) != before:
                self.deliver(tablet, codes)
                assert not {"stored", "conflict"} & {tablet.word.get(code) for code in codes}

    @rule()
    def send_all_that_waits(self):
        for tablet in self.tablets.values():
            self.deliver(tablet, tablet.waiting())

    def told_to_be_here(self) -> list[dict]:
        made = [(code, body, t) for t in self.tablets.values() for code, body in t.made.items()]
        told = [body for code, body, t in made if t.word.get(code) in HERE and body["child"] not in self.gone]
        return [body for body in told if Result.objects.filter(code=body["id"]).exists()]

    @rule(which=st.integers(0, 50))
    def send_an_edited_entry(self, which):
        told = self.told_to_be_here()
        if not told:
            return
        old = told[which % len(told)]
        tablet = self.tablets[old["tablet"]]
        edited = {**old, "trial": old["trial"] + 7}
        answer = self.post(tablet, "sync", {"entries": [edited]}, as_lead=True)
        assert answer.json()["answers"][0]["word"] == "refused"
        assert Result.objects.get(code=old["id"]).trial == old["trial"]
        assert RefusedEntry.objects.filter(entry=old["id"], body__trial=old["trial"] + 7).exists()

    # --- at the club: everything that goes wrong is one rule, so that histories are mostly work ------------------

    @precondition(lambda self: self.minute > 4)
    @rule(
        what=st.sampled_from(["closed", "open", "end_pass", "back_up", "restore", "erase"]),
        name=st.sampled_from(TABLETS),
    )
    def trouble(self, what, name):
        if what in ("closed", "open"):
            AssessmentDay.objects.filter(pk=self.world.day.pk).update(status=what)
        elif what == "end_pass":
            self.world.day.passes.filter(label=name).update(ended_at=factories.NOW)
        elif what == "back_up":
            self.backup = set(Result.objects.values_list("code", flat=True))
        elif what == "restore" and self.backup:
            self.restore_last_nights_copy()
        elif what == "erase":
            Athlete.objects.filter(code=self.children[1]).delete()
            self.gone.add(self.children[1])

    def restore_last_nights_copy(self):
        Result.objects.exclude(code__in=self.backup).delete()
        RefusedEntry.objects.all().delete()
        self.restored = True
        RestNote.objects.filter(athlete__in=[self.world.mia, self.world.tom]).delete()
        Attendance.objects.filter(day=self.world.day).delete()

    # --- the law -------------------------------------------------------------------------------------------------

    @invariant()
    def nothing_is_here_that_was_not_made_and_nothing_is_here_twice(self):
        if not hasattr(self, "tablets"):
            return
        made = {uuid.UUID(code) for tablet in self.tablets.values() for code in tablet.made}
        here = list(Result.objects.filter(day=self.world.day).values_list("code", flat=True))
        assert set(here) <= made
        assert len(here) == len(set(here))

    def send_everything(self):
        """Quiet at last: whoever leads the day signs in, each tablet sends what waits and compares what it holds."""
        for tablet in self.tablets.values():
            self.deliver(tablet, tablet.waiting(), as_lead=True)
        for tablet in self.tablets.values():
            missing = self.lacked_of(tablet)
            if missing:
                self.deliver(tablet, missing, as_lead=True)
                assert all(tablet.word[code] == "refused" for code in self.lacked_of(tablet))

    def lacked_of(self, tablet: Tablet) -> list[str]:
        """What the club says that it lacks of what the tablet believes to be there."""
        held = [code for code, word in tablet.word.items() if word in HERE]
        if not held:
            return []
        body = {
            "tablet": tablet.name,
            "ids": held,
            "made": len(held),
            "highest_seq": tablet.seq,
            "waiting": 0,
        }
        return self.post(tablet, "sync_reconcile", body, as_lead=True).json()["missing"]

    def deserves_refusal(self, body: dict, made: dict) -> bool:
        """An impossible value, an erased child, or a score after that child's pain."""
        hurt = [
            b["t_wall"]
            for b in made.values()
            if b["outcome"] == "stopped_for_pain" and b["child"] == body["child"]
        ]
        return (
            body["value"] == 999
            or body["child"] in self.gone
            or (body["outcome"] == "scored" and any(moment < body["t_wall"] for moment in hurt))
        )

    def check_the_law(self):
        rows = {str(row.code): row for row in Result.objects.filter(day=self.world.day)}
        made = {code: body for tablet in self.tablets.values() for code, body in tablet.made.items()}
        words = {code: word for tablet in self.tablets.values() for code, word in tablet.word.items()}
        assert words.keys() == made.keys()
        for code, body in made.items():
            if words[code] in HERE:
                assert code in rows, f"told {words[code]}, not here"
                assert (rows[code].value, rows[code].trial) == (body["value"], body["trial"])
            else:
                assert code not in rows, "told refused, and here"
                assert self.deserves_refusal(body, made), "refused without a reason"
                # An erased child's bodies are erased with it, and last night's copy is older than some.
                excused = self.restored or body["child"] in self.gone
                assert excused or RefusedEntry.objects.filter(entry=code).exists()
        replaced = {(b["replaces"], b["child"]) for c, b in made.items() if c in rows and b["replaces"]}
        standing = {
            c for c in rows if made[c]["outcome"] != "withdrawn" and (c, made[c]["child"]) not in replaced
        }
        assert {str(c) for c in Result.objects.current().values_list("code", flat=True)} == standing


@pytest.mark.django_db
def test_no_history_loses_or_doubles_an_entry(cast, programme):
    Door.world = cast
    run_state_machine_as_test(
        Door,
        settings=settings(
            max_examples=HISTORIES,
            stateful_step_count=25,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
