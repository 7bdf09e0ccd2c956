"""Much at once, a disk that is full, and a server that is killed while it writes."""

from __future__ import annotations

import sys
from collections.abc import Iterator

import pytest
from django.core.signals import got_request_exception, request_started
from django.db import connection

from assessments.models import Result
from tests.browser.law import check_law, stored_ids, until
from tests.browser.many import add_many, return_together
from tests.browser.tablet import Tablet


def test_f24_two_thousand_waiting_and_forty_tablets_return_together(tablet, floor_day, live_server):
    one = tablet()
    one.offline()
    mine = add_many(one, 2000)
    one.says("On this tablet 2000")
    others, _ = return_together(one, live_server.url)
    assert len(mine) == 2000 and len(others) == 39 * 20
    club = stored_ids()
    assert len(club) == len(set(club))
    assert {str(code) for code in club} == {*mine, *others}
    assert sorted(one.states()) == mine
    assert set(one.states().values()) <= {"stored", "conflict"}


class Disk:
    """The disk of the club's computer, which can be full: the database may grow by no page."""

    def __init__(self) -> None:
        self.full = False
        self.said: list[str] = []

    def on_request(self, **_: object) -> None:
        """In the server's own thread, on the connection that the request will write by."""
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA page_count")
            most = cursor.fetchone()[0] if self.full else 2**30
            cursor.execute(f"PRAGMA max_page_count = {most}")

    def on_exception(self, *, sender: object, request: object, **_: object) -> None:
        """What the server's log would say."""
        self.said.append(str(sys.exc_info()[1]))


@pytest.fixture
def disk(transactional_db: None) -> Iterator[Disk]:
    if connection.vendor != "sqlite":
        pytest.skip("only SQLite can be told how many pages it may have")
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")  # pages that an earlier test left free would be room
    found = Disk()
    request_started.connect(found.on_request)
    got_request_exception.connect(found.on_exception)
    yield found
    request_started.disconnect(found.on_request)
    got_request_exception.disconnect(found.on_exception)


def test_f25_a_full_disk_at_the_club_loses_nothing(disk, tablet, floor_day):
    one = tablet()
    one.offline()
    mine = add_many(one, 400)
    disk.full = True
    one.offline(False)
    until(lambda: any("full" in said for said in disk.said), seconds=60)
    until(lambda: len(disk.said) > 2, seconds=60)
    check_law(one, made=400)
    disk.full = False
    one.send_now()
    one.page.locator("#sync-words").get_by_text("All 400 saved at the club").wait_for(timeout=120_000)
    assert sorted(str(code) for code in stored_ids()) == mine
    check_law(one, made=400)


def test_f25_a_server_killed_while_it_writes_tells_no_lie(own_server, own_tablet):
    one: Tablet = own_tablet
    one.open()
    mine = add_many(one, 600)
    for _ in range(3):
        one.page.wait_for_timeout(400)
        own_server.kill()
        club = set(own_server.ids())
        shown = {code for code, state in one.states().items() if state in {"stored", "conflict"}}
        assert shown <= club, "shown as at the club, but lost with the server"
        own_server.start()
        one.send_now()
    one.page.locator("#sync-words").get_by_text("All 600 saved at the club").wait_for(timeout=90_000)
    assert sorted(own_server.ids()) == mine
    assert not Result.objects.exists()  # all of it went to the other server
