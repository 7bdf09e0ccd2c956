"""A new version of the app: its page and its scripts come together, and the outbox is not touched."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.utils import timezone
from playwright.sync_api import Error, expect

from assessments.models import StationPass
from assessments.views import floor
from club import worker
from tests.browser.law import check_law, until
from tests.browser.tablet import Tablet

# A script that comes with another version's page says so.
_CHANGED = """
document.body.dataset.release = "NAME";
if (config.version !== "NAME") document.body.dataset.mixed = config.version;
"""


@pytest.fixture
def release(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[[str], None]:
    """Put a version on the server: its worker, its page and a changed script."""
    find = finders.find
    original = Path(find("assessments/floor.js")).read_text()

    def put(name: str) -> None:
        changed = tmp_path / name / "floor.js"
        changed.parent.mkdir()
        changed.write_text(original + _CHANGED.replace("NAME", name))
        monkeypatch.setattr(
            finders, "find", lambda path, **_: str(changed) if path == "assessments/floor.js" else find(path)
        )
        for place in (worker, floor):
            monkeypatch.setattr(place, "version", lambda: name)

    return put


def kept(one: Tablet) -> set[str]:
    """Whose files and pages the tablet keeps."""
    try:
        names = one.page.evaluate("() => caches.keys()")
    except Error:
        return set()  # it loads the new version at this moment
    return {name for name in names if name.startswith("floor-")}


_UPDATE = "() => navigator.serviceWorker.getRegistration().then((found) => found.update())"
_WAITS = "() => navigator.serviceWorker.getRegistration().then((found) => Boolean(found.waiting && !found.installing))"
_TAKE_OVER = (
    "() => navigator.serviceWorker.getRegistration().then((found) => found.waiting.postMessage('take over'))"
)
_TAKEN = (
    "() => navigator.serviceWorker.getRegistration()"
    ".then((found) => found.active?.state === 'activated' && !found.waiting)"
)


def fetch_update(one: Tablet, name: str) -> None:
    """The browser looks for a new worker and has it wait."""
    one.page.evaluate(_UPDATE)
    until(lambda: f"floor-shell-{name}" in kept(one))
    until(lambda: one.page.evaluate(_WAITS))


@pytest.mark.parametrize("passed_over", [[], ["two"]])
def test_f15_the_network_is_cut_as_the_new_version_takes_over(tablet, release, passed_over):
    release("one")
    one = tablet()
    one.open_worker()
    until(lambda: kept(one) == {"floor-shell-one", "floor-pages-one"})
    one.page.route("**/sync/", lambda route: route.abort())
    one.count(4)
    one.says("On this tablet 1")
    for name in (*passed_over, "three"):
        release(name)
        fetch_update(one, name)
    one.offline()
    one.page.evaluate(_TAKE_OVER)
    expect(one.page.locator("body[data-release=three]")).to_be_attached()
    assert one.page.locator("body").get_attribute("data-mixed") is None
    one.says("On this tablet 1")
    until(lambda: kept(one) == {"floor-shell-three", "floor-pages-three"})
    one.page.unroute("**/sync/")
    one.offline(False)
    one.says("All 1 saved at the club")
    check_law(one, made=1)


def test_f15_pages_that_cannot_be_asked_for_again_stay_with_their_scripts(tablet, release, floor_day):
    release("one")
    one = tablet()
    one.open_worker()
    until(lambda: kept(one) == {"floor-shell-one", "floor-pages-one"})
    one.offline()
    one.count(4)
    one.says("On this tablet 1")
    StationPass.objects.update(ended_at=timezone.now())
    one.offline(False)
    one.says("Sign in to send 1")
    release("two")
    fetch_update(one, "two")
    one.page.evaluate(_TAKE_OVER)
    until(lambda: taken_over(one))
    assert {"floor-shell-one", "floor-pages-one"} <= kept(one)
    one.says("Sign in to send 1")
    check_law(one, made=1)


def taken_over(one: Tablet) -> bool:
    """The new worker answers, and nothing waits behind it."""
    try:
        return bool(one.page.evaluate(_TAKEN))
    except Error:
        return False
