"""Three tablets with real profiles, four real workers, and no mercy: servers and browsers are killed, the network goes.

The verdict is by ids, in the words of a ledger: made on a tablet, acknowledged to a tablet, at the club at the end;
lost, doubled and unexpected must all be empty. GROUNDWORK_LONG_DAY_MINUTES says how long it lasts; a short one always runs.
"""

from __future__ import annotations

import contextlib
import os
import random
import time
from collections import Counter

import pytest
from playwright.sync_api import Error, expect

from tests.browser.conftest import CHROMIUM_ARGS, LANDSCAPE, PATIENCE_MS, chromium_path
from tests.browser.law import AT_THE_CLUB, until
from tests.browser.processes import OwnBrowser
from tests.browser.tablet import Tablet
from tests.own_server import OwnServer, copy_of_this_database

MINUTES = float(os.environ.get("GROUNDWORK_LONG_DAY_MINUTES", "0.4"))
SEED = int(os.environ.get("GROUNDWORK_LONG_DAY_SEED", "20261126"))
STATIONS = (2, 6)  # counts: many entries a minute


class Ledger:
    """What was ever seen of one tablet's outbox."""

    def __init__(self, browser: OwnBrowser, day: object, url: str) -> None:
        self.browser, self.day, self.url = browser, day, url
        self.made: set[str] = set()
        self.told: set[str] = set()
        self.tablet: Tablet | None = None
        self.offline = False

    def wake(self) -> Tablet:
        """Switch the tablet on and look into its outbox."""
        if self.tablet is None:
            self.tablet = self.browser.launch(self.day, self.url)
            self.tablet.context.set_default_timeout(PATIENCE_MS)
            self.tablet.open()
            self.offline = False
            self.look()
        return self.tablet

    def look(self) -> None:
        """Read what lies on the tablet."""
        states = self.tablet.states()
        assert self.made <= states.keys(), "the tablet forgot what it had kept"
        self.made |= states.keys()
        self.told |= {code for code, state in states.items() if state in AT_THE_CLUB}

    def off(self) -> None:
        """The battery is pulled out."""
        self.browser.kill()
        with contextlib.suppress(Error):  # it is dead, as it should be
            self.tablet.context.close()
        self.tablet = None


@pytest.fixture
def server(floor_day, tmp_path):
    made = OwnServer(copy_of_this_database(tmp_path), workers=4)
    made.start()
    yield made
    made.kill()


@pytest.fixture
def ledgers(playwright, server, floor_day, tmp_path):
    options = {"executable_path": chromium_path(), "args": CHROMIUM_ARGS, "viewport": LANDSCAPE}
    made = [
        Ledger(OwnBrowser(playwright, tmp_path / f"profile-{n}", options), floor_day, server.url)
        for n in range(3)
    ]
    yield made
    for one in made:
        if one.tablet is not None:
            one.tablet.context.close()


def test_nothing_is_lost_doubled_or_invented_while_everything_breaks(server, ledgers, floor_day):
    chance, events = random.Random(SEED), Counter()
    ends = time.monotonic() + 60 * MINUTES
    while time.monotonic() < ends or min(events[what] for what in ("server", "tablet", "network")) < 1:
        one = chance.choice(ledgers)
        tablet = one.wake()
        tablet.station(chance.choice(STATIONS))
        for _ in range(chance.randint(1, 4)):
            expect(tablet.page.locator(".turn-body[inert]")).to_have_count(0)  # the one before is being kept
            if tablet.page.locator(".plus").count():
                tablet.tap_plus(1)
                tablet.go()
        one.look()
        what = chance.choice(["server", "tablet", "network", "nothing"])
        events[what] += 1
        if what == "server":
            server.kill()
            club = set(server.ids())
            for each in ledgers:
                if each.tablet is not None:
                    each.look()
                assert each.told <= club, "acknowledged, and gone with the server"
            server.start()
        elif what == "tablet":
            one.off()
        elif what == "network":
            one.offline = not one.offline
            tablet.offline(one.offline)
    for one in ledgers:
        tablet = one.wake()
        tablet.offline(False)
        tablet.send_now()
        until(lambda here=tablet: set(here.states().values()) <= AT_THE_CLUB, seconds=90)
        one.look()
    at_the_club = server.ids()
    made = set().union(*(one.made for one in ledgers))
    told = set().union(*(one.told for one in ledgers))
    print(
        f"\nlong day: {dict(events)}, {len(made)} made, {len(told)} acknowledged, {len(at_the_club)} at the club"
    )
    verdict = {
        "lost": told - set(at_the_club),
        "not sent": made - set(at_the_club),
        "unexpected": set(at_the_club) - made,
        "doubled": {code for code, times in Counter(at_the_club).items() if times > 1},
    }
    assert not any(verdict.values()), verdict
    assert made
