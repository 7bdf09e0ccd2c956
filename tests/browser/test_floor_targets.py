"""Sizes under a hand, both ways of holding a tablet; and what a screen reader and a keyboard find."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.browser.conftest import LANDSCAPE, PORTRAIT
from tests.browser.tablet import COUNT, HOLD, JUMP, SHAPE, SIDES

_SMALL = """() => [...document.querySelectorAll("button, select, a[href], label.level, summary, input")]
  .filter((one) => one.checkVisibility() && !one.disabled && !one.matches(".skip, .level > input"))
  .map((one) => (one.matches("input") && one.closest("label")) || one)
  .map((one) => [one.getBoundingClientRect(), one.textContent.trim().slice(0, 40) || one.id])
  .filter(([box]) => box.width > 0 && (box.width < 44 || box.height < 43.5))
  .map(([box, text]) => `${text}: ${Math.round(box.width)} x ${Math.round(box.height)}`)"""
_OVERLAPS = """() => {
  const main = document.querySelector("main").getBoundingClientRect();
  return [...document.querySelectorAll(".tile")].flatMap((tile) => {
    const box = tile.getBoundingClientRect();
    const out = [...tile.querySelectorAll(".chip, .t, .name")].filter((one) => {
      const inner = one.getBoundingClientRect();
      return inner.height && (inner.bottom > box.bottom + 1 || inner.top < box.top - 1 || inner.right > box.right + 1);
    });
    const chips = [...tile.querySelectorAll(".chip")].map((chip) => chip.getBoundingClientRect().top);
    const clock = tile.querySelector(".t").getBoundingClientRect();
    const covered = chips.some((top) => top < clock.bottom - 12) ? [tile] : [];
    return [...out, ...covered].map((one) => `${tile.dataset.child}: ${one.textContent.slice(0, 30)}`);
  });
}"""
BOTH = pytest.mark.parametrize("viewport", [LANDSCAPE, PORTRAIT], ids=["landscape", "portrait"])
STATIONS = {"hold": HOLD, "count": COUNT, "sides": SIDES, "jump": JUMP, "shape": SHAPE}


def violations(page) -> list[str]:
    found = Axe().run(page).response["violations"]
    return [f"{one['id']}: {node['html'][:120]}" for one in found for node in one["nodes"]]


@BOTH
def test_nothing_on_the_floor_is_smaller_than_a_finger(tablet, viewport):
    one = tablet(viewport=viewport)
    assert one.page.evaluate(_SMALL) == []
    for number in STATIONS.values():
        one.station(number)
        assert one.page.evaluate(_SMALL) == []
    for panel in ("today", "tablet"):
        one.page.locator(f"[data-go={panel}]").click()
        assert one.page.evaluate(_SMALL) == []
        one.page.locator("dialog [data-part=close]").click()


@BOTH
@pytest.mark.parametrize("children", [1, 4, 8])
def test_live_tiles_are_large_and_hold_what_they_say(tablet, viewport, children):
    one = tablet(viewport=viewport)
    one.start_hold(HOLD, children=children)
    for tile in one.tiles().all():
        box = tile.bounding_box()
        assert min(box["width"], box["height"]) >= 140
    one.page.wait_for_timeout(3000)
    for number in range(children):
        one.stop(number)
    assert one.page.evaluate(_OVERLAPS) == []
    assert one.page.evaluate(_SMALL) == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_the_floor_has_no_finding_of_the_accessibility_checker(tablet, dark):
    one = tablet(color_scheme="dark" if dark else "light", reduced_motion="reduce")
    assert violations(one.page) == []
    for number in STATIONS.values():
        one.station(number)
        assert violations(one.page) == []
    one.start_hold(HOLD, children=4)
    one.stop(0)
    assert violations(one.page) == []
    one.finish_hold()
    for panel in ("today", "tablet"):
        one.page.locator(f"[data-go={panel}]").click()
        assert violations(one.page) == []
        one.page.locator("dialog [data-part=close]").click()


def test_a_hold_can_be_run_from_the_keyboard_alone(tablet):
    one = tablet()
    one.station(HOLD)
    one.page.locator("#acts [data-part=go]").focus()
    one.page.keyboard.press("Enter")
    expect(one.page.locator(".tile.run")).to_have_count(4)
    for key in "124":
        one.page.keyboard.press(key)
    one.tiles().nth(2).focus()
    one.page.keyboard.press("Space")
    expect(one.page.locator(".tile.done")).to_have_count(4)
    one.page.locator("#acts [data-part=go]").focus()
    one.page.keyboard.press("Enter")
    one.says("All 4 saved at the club")


def test_number_keys_can_be_turned_off(tablet):
    one = tablet()
    one.page.locator("[data-go=tablet]").click()
    one.page.locator("[data-setting=keys]").uncheck()
    one.page.locator("dialog [data-part=close]").click()
    one.start_hold(HOLD, children=2)
    one.page.keyboard.press("1")
    expect(one.page.locator(".tile.run")).to_have_count(2)


def test_the_left_handed_layout_turns_the_page_round(tablet):
    one = tablet()
    one.page.locator("[data-go=tablet]").click()
    one.page.locator("[data-setting=left]").check()
    one.page.locator("dialog [data-part=close]").click()
    one.station(COUNT)
    width = one.page.viewport_size["width"]
    assert one.page.locator("#stations").bounding_box()["x"] > width / 2
    assert one.part("go").bounding_box()["x"] < width / 2
    one.page.reload()
    expect(one.page.locator("body")).to_have_class("tablet left-handed")


def test_the_order_on_the_floor_is_set_by_taps_and_locked_for_the_day(tablet):
    one = tablet()
    one.part("order").click()
    one.page.locator(".order-line").nth(1).locator("[data-part=up]").click()
    one.part("order").click()
    expect(one.page.locator(".roll-line b").first).to_have_text("Ben L.")
    expect(one.part("order")).to_be_hidden()
    one.page.reload()
    one.station(HOLD)
    expect(one.page.locator(".tile .name").first).to_have_text("Ben L.")
