"""The floor under a hand: touches a result beside a spreadsheet, tap to picture and to disk offline, bytes of the page.

    python -m tests.bench.bench_floor [--children 24] [--waiting 2000]

It drives the real page in Chromium on a server of its own. The sheet's touches follow one count rule: from the end of the
child's effort to ready for the next; what a hand does during the effort is free. A stopwatch beside a sheet: stop, read, tap
the cell, two digits, on to the next (6 for one child, 5.6 in a group of eight); a count 4; a card of five criteria 11.
Seconds follow the keystroke-level model in `keystroke_level.py`; the ways and targets of the floor are the real page's.
"""

from __future__ import annotations

import argparse
import gzip
import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from tests.bench.keystroke_level import LOOK, SHEET_SECONDS, M, Touch, pointing

ROOT = Path(__file__).resolve().parents[2]
SHEET = {"hold, one child": 6.0, "hold, group": 5.6, "count": 4.0, "shape card": 11.0}
_COUNT_TOUCHES = """() => {
  window.pictures = [];
  window.strokes = [];
  document.addEventListener("pointerdown", (event) => {
    const began = event.timeStamp;
    const target = event.target.closest("button, label, a") ?? event.target;
    const { left, top, width, height } = target.getBoundingClientRect();
    window.strokes.push({ x: left + width / 2, y: top + height / 2, size: Math.min(width, height) });
    requestAnimationFrame(() => requestAnimationFrame(() => window.pictures.push(performance.now() - began)));
    window.pressed = began;
  }, { capture: true });
}"""
_WAITING = """async ([number, children]) => {
  const { add } = await import("/static/assessments/outbox.js");
  const made = Array.from({ length: number }, (_, place) => ({
    child: children[place % children.length], measure: "stick_landings", how: "counted", value: place % 5,
    trial: 1 + Math.floor(place / children.length),
  }));
  for (let start = 0; start < number; start += 250) await add(made.slice(start, start + 250));
}"""
_WATCH_DISK = """async () => {
  const { onAdd } = await import("/static/assessments/outbox.js");
  window.disk = [];
  onAdd(() => window.disk.push(performance.now() - window.pressed));
}"""


def main() -> None:
    """Start a server, drive the page, print the tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--children", type=int, default=24)
    parser.add_argument(
        "--waiting", type=int, default=120, help="entries that wait already; 72 more are made"
    )
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        day = fill(Path(folder) / "bench.sqlite3", asked.children)
        server, url = serve(Path(folder))
        try:
            drive(day, url, asked)
        finally:
            server.terminate()
            server.wait()


def fill(path: Path, children: int) -> SimpleNamespace:
    """A database of its own with one test day."""
    os.environ.update(
        GROUNDWORK_DATABASE=str(path), GROUNDWORK_LOCAL="yes", DJANGO_SETTINGS_MODULE="club.settings"
    )
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connections

    call_command("migrate", verbosity=0)
    from tests.browser.floor_day import build_day

    day = build_day(children)
    connections.close_all()
    return day


def serve(folder: Path) -> tuple[subprocess.Popen[bytes], str]:
    """The app in a process of its own."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "manage.py", "runserver", "--noreload", f"127.0.0.1:{port}"]
    with (folder / "server.log").open("wb") as log:
        server = subprocess.Popen(command, cwd=ROOT, stdout=log, stderr=log)
    for _ in range(300):
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return server, f"http://127.0.0.1:{port}"
        time.sleep(0.1)
    raise SystemExit("the server did not start")


def drive(day: SimpleNamespace, url: str, asked: argparse.Namespace) -> None:
    """Open the floor, note its bytes, then work offline."""
    from playwright.sync_api import sync_playwright

    from tests.browser.conftest import CHROMIUM_ARGS, LANDSCAPE, chromium_path
    from tests.browser.tablet import Tablet

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=CHROMIUM_ARGS)
        context = browser.new_context(base_url=url, viewport=LANDSCAPE, has_touch=True)
        context.add_cookies([{"name": "station", "value": day.token, "url": url}])
        context.add_init_script(f"({_COUNT_TOUCHES})()")
        one = Tablet(context, day)
        sizes: list[tuple[str, int, int]] = []
        one.page.on("response", lambda response: note_size(response, sizes))
        one.open()
        one.open_worker()
        report_bytes(sizes)
        one.page.evaluate(_WATCH_DISK)
        one.offline()
        codes = [str(child.code) for child in day.children]
        one.page.evaluate(_WAITING, [asked.waiting, codes])
        children = asked.children
        print(
            f"\nA result, {children} children          touches: sheet   floor  ratio    seconds: sheet  floor  ratio"
        )
        hold(one, children, station=1, together=4)
        hold(one, children, station=0, together=8)
        counting(one, children)
        cards(one, children)
        times(one)
        browser.close()


def note_size(response: Any, sizes: list[tuple[str, int, int]]) -> None:
    """Bytes as they are and as gzip makes them; the worker's own fetches are not the page's."""
    if response.request.service_worker is None and response.ok:
        body = response.body()
        sizes.append((response.url, len(body), len(gzip.compress(body, 9))))


def report_bytes(sizes: list[tuple[str, int, int]]) -> None:
    """By kind."""
    print("Bytes of the first opening             plain    gzip")
    kinds = {"scripts": ".js", "style": ".css", "drawings and icons": ".svg"}
    rest = list(sizes)
    for kind, ending in kinds.items():
        found = [one for one in rest if one[0].split("?")[0].endswith(ending) and "/sw.js" not in one[0]]
        rest = [one for one in rest if one not in found]
        print(f"  {kind:34}{sum(one[1] for one in found):8,}{sum(one[2] for one in found):8,}")
    print(f"  {'page, names and answers':34}{sum(one[1] for one in rest):8,}{sum(one[2] for one in rest):8,}")
    print(f"  {'all':34}{sum(one[1] for one in sizes):8,}{sum(one[2] for one in sizes):8,}")


class Task:
    """One kind of work: what the hand touched, beside the sheet's touches and seconds."""

    def __init__(self, one: Any, name: str, sheet: str, minds: float) -> None:
        self.one, self.name, self.sheet, self.minds = one, name, sheet, minds
        self.touches: list[Touch] = []

    @contextmanager
    def counted(self) -> Iterator[None]:
        """Every touch inside belongs to the task."""
        before = self.one.page.evaluate("() => window.strokes.length")
        yield
        made = self.one.page.evaluate("(from) => window.strokes.slice(from)", before)
        self.touches += [Touch(**stroke) for stroke in made]

    def line(self, results: int) -> None:
        """One row of the table; `minds` are the mental acts a result."""
        touches = len(self.touches) / results
        seconds = LOOK + self.minds * M + pointing(self.touches) / results
        sheet = SHEET_SECONDS[self.sheet]
        print(
            f"  {self.name:36}{SHEET[self.sheet]:6.1f}{touches:8.2f}{SHEET[self.sheet] / touches:7.1f}"
            f"{sheet:11.1f}{seconds:7.1f}{sheet / seconds:7.1f}"
        )


def hold(one: Any, children: int, *, station: int, together: int) -> None:
    """The first start, each stop and going on, which starts the next group, are counted; the size is chosen before."""
    from playwright.sync_api import expect

    one.station(station)
    one.at_once(together)
    found = Task(one, f"hold, {together} at once, places known", "hold, group", minds=0)
    done = 0
    with found.counted():
        one.go()
        while done < children:
            size = min(together, children - done)
            expect(one.page.locator(".tile.run")).to_have_count(size)
            for number in range(size):
                one.stop(number)
            expect(one.page.locator(".tile.done")).to_have_count(size)
            one.go()
            done += size
    found.line(children)
    looked = Task(one, f"hold, {together} at once, tile looked for", "hold, group", minds=1)
    looked.touches = found.touches
    looked.line(children)


def counting(one: Any, children: int) -> None:
    """The taps during the set are free; what is left is one thought and going on."""
    one.station(2)
    found = Task(one, "count", "count", minds=1)
    for _ in range(children):
        one.tap_plus(5)
        with found.counted():
            one.go()
    found.line(children)


def cards(one: Any, children: int) -> None:
    """Five criteria, then on; judging itself takes the same on both sides and is left out."""
    one.station(5)
    found = Task(one, "shape card, by hand", "shape card", minds=0)
    with found.counted():
        for _ in range(children):
            for row in range(5):
                one.page.locator(".criterion").nth(row).locator(".level").nth(2).tap()
            one.go()
    found.line(children)


def times(one: Any) -> None:
    """Median and 95th percentile, offline, with everything waiting."""
    waiting = len(one.records())
    print(f"\nOffline, {waiting} entries waiting               median     95 %")
    for name, words in (("pictures", "tap to picture"), ("disk", "tap to disk")):
        values = one.page.evaluate(f"() => window.{name}")
        high = statistics.quantiles(values, n=20)[-1]
        print(f"  {words:34}{statistics.median(values):8.0f} ms{high:6.0f} ms   ({len(values)} taps)")


if __name__ == "__main__":
    main()
