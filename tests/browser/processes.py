"""The processes of one browser that a test has started, so that they can be killed or stopped, and no others."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

from playwright.sync_api import Playwright

from tests.browser.tablet import Tablet


class OwnBrowser:
    """A browser with a profile on disk: it can be switched off and on again."""

    def __init__(self, playwright: Playwright, profile: Path, options: dict) -> None:
        self.playwright, self.profile, self.options = playwright, profile, options

    def launch(self, day: SimpleNamespace, url: str) -> Tablet:
        """Start the browser on its profile, with the day's pass."""
        context = self.playwright.chromium.launch_persistent_context(
            self.profile, base_url=url, has_touch=True, **self.options
        )
        context.add_cookies([{"name": "station", "value": day.token, "url": url}])
        self.context = context
        return Tablet(context, day)

    def pids(self) -> list[int]:
        """This browser and everything that it started."""
        parents, commands = {}, {}
        for pid, parent, command in _processes():
            parents[pid], commands[pid] = parent, command
        mine = {pid for pid, command in commands.items() if f"--user-data-dir={self.profile}" in command}
        while more := {pid for pid, parent in parents.items() if parent in mine} - mine:
            mine |= more
        return sorted(mine)

    def kill(self) -> None:
        """As if the tablet were switched off."""
        for pid in self.pids():
            _signal(pid, signal.SIGKILL)

    def freeze(self, seconds: float) -> None:
        """The browser stands still, as when the system puts it to sleep."""
        stopped = self.pids()
        for pid in stopped:
            _signal(pid, signal.SIGSTOP)
        time.sleep(seconds)  # nothing can be waited for while it stands still
        for pid in stopped:
            _signal(pid, signal.SIGCONT)


def _processes() -> Iterator[tuple[int, int, str]]:
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                command = (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
                parent = int((entry / "stat").read_text().rsplit(")", 1)[1].split()[1])
            except OSError:
                continue  # it ended meanwhile
            yield int(entry.name), parent, command


def _signal(pid: int, word: signal.Signals) -> None:
    try:
        os.kill(pid, word)
    except ProcessLookupError:
        return
