"""Much at once, and a server that is killed while it writes."""

from __future__ import annotations

import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.request
import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.conf import settings
from django.db import connection

from assessments.models import Result
from tests.browser.law import check_law, stored_ids
from tests.browser.tablet import Tablet

_MANY = """async ([number, children]) => {
  const { add } = await import("/static/assessments/outbox.js");
  const made = Array.from({ length: number }, (_, index) => ({
    child: children[index % children.length], measure: "double_heel_raises", variant: "feet_together",
    trial: 1 + Math.floor(index / children.length) % 90, how: "counted", value: index % 20,
  }));
  for (let start = 0; start < number; start += 250) await add(made.slice(start, start + 250));
}"""


def post_many(url: str, day: str, tablet: str, children: list[str], number: int) -> int:
    """One more tablet's batch, as the wire carries it."""
    entries = [
        {
            "id": str(uuid.uuid4()), "tablet": tablet, "seq": place + 1, "schema": 1, "day": day,
            "child": children[place % len(children)], "measure": "double_heel_raises",
            "variant": "feet_together", "trial": 1, "value": 5, "outcome": "scored", "how": "counted",
            "t_wall": int(time.time() * 1000),
        }
        for place in range(number)
    ]  # fmt: skip
    request = urllib.request.Request(
        f"{url}/days/{day}/sync/",
        data=json.dumps({"tablet": tablet, "entries": entries}).encode(),
        headers={
            "Content-Type": "application/json",
            "X-Groundwork-Protocol": "1",
            "X-Station-Pass": "floor-token",
        },
    )
    with urllib.request.urlopen(request, timeout=60) as answer:
        return sum(one["word"] in {"stored", "conflict"} for one in json.load(answer)["answers"])


def test_f24_two_thousand_waiting_and_forty_tablets_return_together(tablet, floor_day, live_server):
    one = tablet()
    children = [str(child.code) for child in floor_day.children]
    one.offline()
    one.page.evaluate(_MANY, [2000, children])
    one.says("On this tablet 2000")
    with ThreadPoolExecutor(40) as others:
        one.offline(False)
        day = str(floor_day.day.code)
        sent = [
            others.submit(post_many, live_server.url, day, f"tablet-{number}", children, 20)
            for number in range(39)
        ]
        assert sum(future.result() for future in sent) == 39 * 20
    one.page.locator("#sync-words").get_by_text("All 2000 saved at the club").wait_for(timeout=120_000)
    club = stored_ids()
    assert len(club) == len(set(club)) == 2000 + 39 * 20
    assert {record["id"] for record in one.records()} <= {str(code) for code in club}


def test_f25_a_full_disk_at_the_club_loses_nothing(tablet):
    one = tablet()
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE TRIGGER disk_full BEFORE INSERT ON assessments_result "
            "BEGIN SELECT RAISE(ABORT, 'database or disk is full'); END"
        )
    try:
        one.count(4)
        one.count(6)
        one.page.wait_for_timeout(1500)
        assert stored_ids() == []
    finally:
        with connection.cursor() as cursor:
            cursor.execute("DROP TRIGGER disk_full")
    check_law(one, made=2)


class OwnServer:
    """A server in its own process on a copy of the database, so that it can be killed."""

    def __init__(self, path: str) -> None:
        self.path = path
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        environment = {**os.environ, "GROUNDWORK_DATABASE": self.path, "GROUNDWORK_LOCAL": "yes"}
        command = [sys.executable, "manage.py", "runserver", "--noreload", f"127.0.0.1:{self.port}"]
        self.process = subprocess.Popen(
            command,
            cwd=settings.BASE_DIR,
            env=environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for _ in range(200):
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.1)
        raise AssertionError("the server did not start")

    def kill(self) -> None:
        assert self.process is not None
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def ids(self) -> list[str]:
        with sqlite3.connect(self.path) as database:
            return [str(uuid.UUID(row[0])) for row in database.execute("SELECT code FROM assessments_result")]


@pytest.fixture
def own_server(floor_day, tmp_path):
    path = str(tmp_path / "club.sqlite3")
    connection.ensure_connection()
    copy = sqlite3.connect(path)
    connection.connection.backup(copy)
    copy.close()
    server = OwnServer(path)
    server.start()
    yield server
    server.kill()


def test_f25_a_server_killed_while_it_writes_tells_no_lie(own_server, new_context, floor_day):
    context = new_context(base_url=own_server.url, has_touch=True)
    context.add_cookies([{"name": "station", "value": floor_day.token, "url": own_server.url}])
    one = Tablet(context, floor_day)
    one.open()
    children = [str(child.code) for child in floor_day.children]
    one.page.evaluate(_MANY, [600, children])
    for _ in range(3):
        one.page.wait_for_timeout(400)
        own_server.kill()
        club = set(own_server.ids())
        shown = {one_id for one_id, state in one.states().items() if state in {"stored", "conflict"}}
        assert shown <= club, "shown as at the club, but lost with the server"
        own_server.start()
        one.send_now()
    one.page.locator("#sync-words").get_by_text("All 600 saved at the club").wait_for(timeout=90_000)
    club_now = own_server.ids()
    assert len(club_now) == len(set(club_now)) == 600
    assert not Result.objects.exists()  # all of it went to the other server
