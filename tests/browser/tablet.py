"""One tablet as a coach's hand uses it, and a look into its outbox."""

from __future__ import annotations

import re
import time
from types import SimpleNamespace
from typing import Any

from playwright.sync_api import BrowserContext, Locator, Page, expect

HOLD, ARCH, COUNT, SIDES, JUMP, SHAPE, LANDINGS, SUPPORT = range(8)
_READ = """() => new Promise((resolve) => {
  const request = indexedDB.open("groundwork");
  request.onsuccess = () => {
    const db = request.result;
    const all = db.transaction("entries").objectStore("entries").getAll();
    all.onsuccess = () => { db.close(); resolve(all.result); };
  };
})"""


class Tablet:
    """A page of the floor in its own profile."""

    def __init__(self, context: BrowserContext, day: SimpleNamespace) -> None:
        self.context, self.day = context, day
        self.page: Page = context.new_page()

    @property
    def url(self) -> str:
        return f"/days/{self.day.day.code}/floor/"

    def open(self, *, judge: str = "Ines Marlow") -> None:
        """Open the floor and say who judges."""
        self.page.goto(self.url)
        expect(self.page.locator("#screen > *").first).to_be_visible()
        expect(self.page.locator("#judge option").nth(1)).to_be_attached()
        self.page.select_option("#judge", label=judge)

    def open_worker(self) -> None:
        """Wait until the worker answers for this page and has kept it."""
        expect_true(self.page, "() => Boolean(navigator.serviceWorker.controller)")
        expect_true(self.page, "() => caches.match(location.pathname).then(Boolean)")

    def another_page(self) -> Page:
        """The same tablet after its page died."""
        self.page = self.context.new_page()
        return self.page

    # --- the hand -----------------------------------------------------------------------------------------

    def station(self, number: int) -> None:
        self.page.locator(".station[data-station]").nth(number).click()

    def at_once(self, number: int) -> None:
        shown = self.page.locator("[data-slot=size]")
        while (now := int(shown.inner_text())) != number:
            self.part("more" if now < number else "fewer").click()

    def part(self, name: str) -> Locator:
        return self.page.locator(f"[data-part={name}]").first

    def go(self) -> None:
        """On. A button that rests, because the tap before brought it, is waited for."""
        self.press("go")

    def press(self, name: str) -> None:
        """A button of the bar, when it takes a touch."""
        self.page.locator(f"#acts [data-part={name}]:not([aria-disabled])").tap()

    def tiles(self) -> Locator:
        return self.page.locator(".tile .press")

    def start_hold(self, station: int = HOLD, *, children: int = 4) -> None:
        """Start a group and wait until its clocks run."""
        self.station(station)
        self.at_once(children)
        self.go()
        expect(self.page.locator(".tile.run")).to_have_count(children)

    def stop(self, tile: int) -> None:
        self.tiles().nth(tile).tap()
        expect(self.page.locator(".tile").nth(tile)).to_have_class(containing("done"))

    def finish_hold(self) -> None:
        """Stop whoever still holds, then go on."""
        for number in range(self.tiles().count()):
            if "run" in (self.page.locator(".tile").nth(number).get_attribute("class") or ""):
                self.stop(number)
        self.look_first()
        expect(self.page.locator(".tile.done")).to_have_count(0)

    def look_first(self) -> None:
        """On from a hold that is over, without starting those who are next."""
        look = self.part("look")
        if look.is_visible():
            look.tap()
        else:
            self.go()

    def count(self, value: int, *, station: int = COUNT) -> None:
        """One child's repetitions, tapped live, then on."""
        if not self.page.locator(".plus").count():
            self.station(station)
        self.tap_plus(value)
        self.go()

    def tap_plus(self, times: int) -> None:
        """Repetitions as fast as a hand can count them: the button takes one touch in 80 ms."""
        shown = self.page.locator(".count .t [data-slot=t]")
        expect(self.page.locator(".turn-body[inert]")).to_have_count(0)  # the one before is being kept
        before = int(shown.inner_text())
        for number in range(1, times + 1):
            self.page.locator(".plus:not([aria-disabled])").tap()
            expect(shown).to_have_text(str(before + number))

    def at_the_end(self) -> None:
        """Nobody is left at this station."""
        expect(self.page.locator("#screen")).to_contain_text("Everybody here is done")

    def offline(self, off: bool = True) -> None:
        self.context.set_offline(off)

    def send_now(self) -> None:
        self.page.locator("#sync").click()
        self.page.locator("dialog [data-part=send]").click()
        self.page.locator("dialog [data-part=close]").click()

    def sign_out_stops(self, words: str) -> None:
        """Signing out on a staff page leads to the page that says what waits."""
        self.page.goto("/days/")
        self.page.get_by_role("button", name="Sign out").click()
        expect(self.page).to_have_url("/leaving/")
        expect(self.page.locator("#waiting-words")).to_contain_text(words)

    # --- what it shows and holds ---------------------------------------------------------------------------

    def says(self, words: str) -> None:
        """The sync state, in the words that stand in the bar."""
        expect(self.page.locator("#sync-words")).to_have_text(words, timeout=25_000)

    def saved(self, number: int) -> None:
        """So many of today's entries are at the club, and none waits."""
        expect_true(
            self.page,
            f"""async () => {{
              const {{ records, unsaved }} = await import("/static/assessments/outbox.js");
              const there = [...records.values()].filter(({{ state }}) => ["stored", "conflict"].includes(state));
              return there.length === {number} && records.size === {number} && !unsaved.size;
            }}""",
            seconds=25,
        )

    def records(self) -> list[dict[str, Any]]:
        """The outbox as it lies in the tablet's database."""
        return sorted(self.page.evaluate(_READ), key=lambda record: (record["day"], record["seq"]))

    def states(self) -> dict[str, str]:
        return {record["id"]: record["state"] for record in self.records()}


def containing(word: str) -> re.Pattern[str]:
    """A class among others."""
    return re.compile(rf"(^|\s){word}(\s|$)")


def expect_true(page: Page, function: str, *, seconds: float = 15) -> None:
    """Ask the page until it says yes. Playwright's own waiting takes a promise for a yes."""
    end = time.monotonic() + seconds
    while not page.evaluate(function):
        assert time.monotonic() < end, f"never true: {function}"
        page.wait_for_timeout(50)
