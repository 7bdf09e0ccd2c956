"""Fingers on the glass: touches as the system hands them to the page, several at once if wanted."""

from __future__ import annotations

import time
from typing import Any

from playwright.sync_api import Locator

from tests.browser.tablet import Tablet, expect_true


def centre(element: Locator) -> dict[str, float]:
    """The middle of what lies under a finger, in CSS pixels."""
    box = element.bounding_box()
    assert box is not None
    return {"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}


def press_at(one: Tablet, points: list[dict[str, float]], *, times: int = 1) -> None:
    """All points at once, and that some times; the stamps say 20 ms apart, however slow the machine is."""
    session = one.context.new_cdp_session(one.page)
    touches: list[dict[str, Any]] = [
        {"x": point["x"] + 4 * number, "y": point["y"], "id": number} for number, point in enumerate(points)
    ]
    begun = time.time() - 0.02 * times
    for number in range(times):
        stamp = {"timestamp": begun + 0.02 * number}
        session.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": touches, **stamp})
        session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": [], **stamp})
    session.detach()


def wait_until(one: Tablet, function: str, milliseconds: float) -> None:
    """Until the page's own clock is so many milliseconds further on."""
    end = one.page.evaluate("() => performance.now()") + milliseconds
    expect_true(one.page, function % end)


def beat(one: Tablet, milliseconds: float) -> None:
    """Until so many milliseconds have passed on the page's own clock."""
    wait_until(one, "() => performance.now() > %d", milliseconds)
