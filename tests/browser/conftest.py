"""Real Chromium on the real server."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from playwright.sync_api import Browser, BrowserContext, Error, Page, Playwright, expect, sync_playwright

from tests.browser.floor_day import build_day
from tests.browser.processes import OwnBrowser
from tests.browser.tablet import Tablet
from tests.own_server import OwnServer, copy_of_this_database

# Playwright's own loop runs in the thread of the test, where Django would refuse the database.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
CHROMIUM_ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
LANDSCAPE, PORTRAIT = {"width": 1180, "height": 820}, {"width": 820, "height": 1180}
PATIENCE_MS = 12_000
# A machine with two cores and three browsers is slower than a gym's tablet.
expect.set_options(timeout=20_000)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything in this folder drives a browser. Without one it is a skip that says why; in CI it breaks."""
    missing = not any(map(shutil.which, BROWSERS)) and not os.environ.get("CI")
    for item in items:
        if "browser" in item.path.parts:
            item.add_marker(pytest.mark.browser)
            if missing:
                item.add_marker(
                    pytest.mark.skip(reason="Chromium is not installed. On Debian: apt-get install chromium")
                )


def chromium_path() -> str:
    """Where Chromium is; without it the suite breaks."""
    found = next(filter(None, map(shutil.which, BROWSERS)), None)
    assert found, "Chromium is not installed. On Debian: apt-get install chromium"
    return found


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as found:
        yield found


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    launched = playwright.chromium.launch(executable_path=chromium_path(), args=CHROMIUM_ARGS)
    yield launched
    launched.close()


@pytest.fixture
def own_browser(playwright: Playwright, tmp_path: Path) -> Iterator[OwnBrowser]:
    """A browser of its own with a profile on disk, for tests that switch it off or make it stand still."""
    options = {"executable_path": chromium_path(), "args": CHROMIUM_ARGS, "viewport": LANDSCAPE}
    made = OwnBrowser(playwright, tmp_path / "profile", options)
    yield made
    made.context.close()


@pytest.fixture
def new_context(browser: Browser) -> Iterator[Callable[..., BrowserContext]]:
    """A fresh profile: new_context(viewport=..., has_touch=True, service_workers="block")."""
    made: list[BrowserContext] = []

    def make(**options: object) -> BrowserContext:
        options.setdefault("viewport", LANDSCAPE)
        context = browser.new_context(**options)
        context.set_default_timeout(PATIENCE_MS)
        made.append(context)
        return context

    yield make
    for context in made:
        with contextlib.suppress(Error):  # some tests close theirs
            # An answer under way belongs to this test, not to the next.
            context.unroute_all(behavior="ignoreErrors")
        context.close()


def sign_in(context: BrowserContext, server: object, user: object) -> None:
    """Give a browser the session of a member, as the sign-in page would."""
    session = SessionStore()
    session[SESSION_KEY] = str(user.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = user.get_session_auth_hash()
    session.save()
    context.add_cookies(
        [{"name": settings.SESSION_COOKIE_NAME, "value": session.session_key, "url": server.url}]
    )


@pytest.fixture
def staff_page(live_server: object, new_context: Callable[..., BrowserContext]) -> Callable[..., Page]:
    """A page of somebody who is signed in: staff_page(user, viewport=..., dark=True)."""

    def make(user: object, *, dark: bool = False, **options: object) -> Page:
        context = new_context(base_url=live_server.url, color_scheme="dark" if dark else "light", **options)
        sign_in(context, live_server, user)
        return context.new_page()

    return make


@pytest.fixture
def floor_day(transactional_db: None) -> SimpleNamespace:
    """A test day of eight children with one station of each kind, and a station pass."""
    return build_day()


@pytest.fixture
def tablet(
    live_server: object, new_context: Callable[..., BrowserContext], floor_day: SimpleNamespace
) -> Callable[..., Tablet]:
    """A tablet that joined the day with its pass, or on which `user` is signed in."""

    def make(*, user: object = None, opened: bool = True, **options: object) -> Tablet:
        context = new_context(base_url=live_server.url, has_touch=True, **options)
        if user is None:
            context.add_cookies([{"name": "station", "value": floor_day.token, "url": live_server.url}])
        else:
            sign_in(context, live_server, user)
        found = Tablet(context, floor_day)
        if opened:
            found.open()
        return found

    return make


@pytest.fixture
def own_server(floor_day: SimpleNamespace, tmp_path: Path) -> Iterator[OwnServer]:
    """A server of its own on a copy of the database."""
    server = OwnServer(copy_of_this_database(tmp_path), token=floor_day.token)
    server.start()
    yield server
    server.kill()


@pytest.fixture
def own_tablet(
    own_server: OwnServer, new_context: Callable[..., BrowserContext], floor_day: SimpleNamespace
) -> Tablet:
    """A tablet that has joined the day at that server."""
    context = new_context(base_url=own_server.url, has_touch=True)
    context.add_cookies([{"name": "station", "value": floor_day.token, "url": own_server.url}])
    return Tablet(context, floor_day)
