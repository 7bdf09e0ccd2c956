"""Pictures of the main screens for the README, taken of the demo club: python -m tests.browser.make_pictures.

It builds a demo club of its own in a temporary folder, serves it on a free port, and writes tests/browser/pictures.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent.parent
FOLDER = Path(__file__).parent / "pictures"
PASSWORD = "flat backs and tall arms"
TABLET, PHONE = {"width": 1180, "height": 820}, {"width": 390, "height": 844}


def serve(folder: str) -> tuple[subprocess.Popen[bytes], str]:
    """A demo club on a free port of this machine."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port = found.getsockname()[1]
    env = os.environ | {"GROUNDWORK_DATA_DIR": folder}
    server = subprocess.Popen(
        [sys.executable, "manage.py", "demo", "--port", str(port)],
        cwd=ROOT,
        env=env,
        stdout=subprocess.DEVNULL,
    )
    base = f"http://127.0.0.1:{port}"
    for _ in range(300):
        try:
            with urllib.request.urlopen(f"{base}/health/", timeout=2):
                return server, base
        except OSError:
            time.sleep(1)
    raise RuntimeError("The demo did not start within five minutes.")


def signed_in(browser: Browser, base: str, email: str, size: dict[str, int]) -> Page:
    page = browser.new_context(base_url=base, viewport=size, has_touch=True).new_page()
    page.goto("/sign-in/")
    page.get_by_label("E-mail").fill(email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    return page


def take(page: Page, name: str) -> None:
    page.wait_for_timeout(900)
    page.screenshot(path=FOLDER / f"{name}.png")
    print(f"{name}.png")


def coach(browser: Browser, base: str) -> None:
    page = signed_in(browser, base, "ines@fernleigh.example", TABLET)
    take(page, "today")
    page.get_by_role("link", name="Children", exact=True).click()
    page.get_by_role("link", name=re.compile("^Noor")).first.click()
    take(page, "child")
    page.goto("/")
    page.get_by_role("link", name=re.compile("Wrens, autumn check")).click()
    page.get_by_role("button", name="Open the day").click()
    page.get_by_role("link", name="Test on this device").click()
    page.locator(".roll-line [data-part=no]").first.wait_for()
    for line in page.locator(".roll-line").all():
        line.locator("[data-part=no]").tap()
    page.locator(".station[data-station]").nth(1).click()
    page.locator("#acts [data-part=go]").tap()
    page.locator(".tile.run").first.wait_for()
    page.wait_for_timeout(9_000)
    page.locator(".tile .press").nth(1).tap()
    page.wait_for_timeout(3_000)
    take(page, "floor")


def director(browser: Browser, base: str) -> None:
    page = signed_in(browser, base, "director@fernleigh.example", TABLET)
    page.get_by_role("link", name="Groups", exact=True).click()
    page.get_by_role("link", name=re.compile("Board.*Wrens")).first.click()
    take(page, "board")
    page.goto("/programme/map/")
    take(page, "map")


def parent(browser: Browser, base: str) -> None:
    page = signed_in(browser, base, "salma@home.example", PHONE)
    page.locator("main a").first.click()
    take(page, "family")


def main() -> None:
    """Build, serve, photograph, stop."""
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        server, base = serve(folder)
        try:
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(
                    executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
                )
                coach(browser, base)
                director(browser, base)
                parent(browser, base)
                browser.close()
        finally:
            server.terminate()
            server.wait()


if __name__ == "__main__":
    main()
