"""Double taps, palms and other children's fingers; and a tablet that refuses to stay awake."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from assessments.models import Result
from tests.browser.fingers import press_at
from tests.browser.law import check_law
from tests.browser.tablet import HOLD

_DENY = """() => {
  const refuse = () => Promise.reject(new DOMException("low power", "NotAllowedError"));
  if (navigator.wakeLock) navigator.wakeLock.request = refuse;
}"""

_EMPTY = """() => {
  navigator.getBattery = () => Promise.resolve({ level: 0.05, charging: false, addEventListener() {} });
}"""


def middle(one, tile: int) -> dict:
    box = one.tiles().nth(tile).bounding_box()
    return {"x": box["x"] + box["width"] / 2, "y": box["y"] + 30}


def test_f26_two_fingers_at_once_stop_two_tiles_once_each(tablet):
    one = tablet()
    one.start_hold(HOLD, children=4)
    session = one.context.new_cdp_session(one.page)
    points = [{**middle(one, 0), "id": 1}, {**middle(one, 3), "id": 2}]
    session.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": points})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(one.page.locator(".tile.done")).to_have_count(2)
    expect(one.page.locator(".tile.run")).to_have_count(2)
    expect(one.page.locator(".tile.fresh").first).to_contain_text("Tap to undo")


def test_f26_a_double_tap_is_one_stop(tablet):
    one = tablet()
    one.start_hold(HOLD, children=2)
    press_at(one, [middle(one, 0)], times=2)
    expect(one.page.locator(".tile").nth(0)).to_have_class("tile done fresh")
    one.stop(1)
    one.finish_hold()
    one.says("All 2 saved at the club")
    check_law(one, made=2)


def test_f26_a_palm_on_one_tile_is_one_stop(tablet):
    """Two points on one tile in the same moment, and again 80 ms later at the most."""
    one = tablet()
    one.start_hold(HOLD, children=2)
    spot = middle(one, 0)
    press_at(one, [spot, {**spot, "x": spot["x"] + 40}], times=2)
    expect(one.page.locator(".tile").nth(0)).to_have_class("tile done fresh")
    one.finish_hold()
    one.saved(2)
    check_law(one, made=2)


def test_f26_a_childs_finger_is_undone_within_three_seconds_and_the_clock_runs_on(tablet):
    one = tablet()
    one.start_hold(HOLD, children=2)
    one.stop(0)
    one.page.wait_for_timeout(500)
    one.tiles().nth(0).tap(position={"x": 60, "y": 24})
    expect(one.page.locator(".tile").nth(0)).to_have_attribute("data-state", "run")
    one.page.wait_for_timeout(1000)
    one.finish_hold()
    one.says("All 2 saved at the club")
    assert Result.objects.count() == 2
    assert min(Result.objects.values_list("value", flat=True)) >= 1


def test_f27_a_tablet_that_may_sleep_is_told_and_records_all_the_same(tablet):
    one = tablet(opened=False)
    one.context.add_init_script(f"({_DENY})()")
    one.open()
    one.start_hold(HOLD, children=1)
    expect(one.page.locator("#said")).to_contain_text("The screen may go to sleep")
    one.finish_hold()
    one.says("All 1 saved at the club")
    one.page.locator("[data-go=tablet]").click()
    expect(one.page.locator("dialog [data-part=checks]")).to_contain_text("It may sleep")
    check_law(one, made=1)


@pytest.mark.parametrize("battery", ["empty", "not told"])
def test_f27_a_battery_at_5_per_cent_is_said_in_words_and_nothing_breaks(tablet, battery):
    one = tablet(opened=False)
    wrong: list[str] = []
    one.page.on("pageerror", lambda error: wrong.append(str(error)))
    one.context.add_init_script(f"({_DENY})()")
    one.context.add_init_script(
        f"({_EMPTY})()" if battery == "empty" else "delete Navigator.prototype.getBattery"
    )
    one.open()
    one.start_hold(HOLD, children=1)
    one.finish_hold()
    one.saved(1)
    one.page.locator("[data-go=tablet]").click()
    checks = one.page.locator("dialog [data-part=checks]")
    expect(checks).to_contain_text("It may sleep")
    line = checks.locator("li", has_text="Battery")
    expect(line).to_have_count(1 if battery == "empty" else 0)
    if battery == "empty":
        expect(line).to_contain_text("5 %")
        expect(line).to_contain_text("Act")
    assert not wrong
    check_law(one, made=1)
