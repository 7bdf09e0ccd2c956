"""One touch, one act: double taps, palms, held keys, false starts. A child is never skipped and never entered twice."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from assessments.models import Result
from tests.browser.fingers import beat, centre, press_at, wait_until
from tests.browser.law import check_law
from tests.browser.tablet import COUNT, HOLD, JUMP


def errors_of(one) -> list[str]:
    """Whatever the page's scripts threw, from now on."""
    found: list[str] = []
    one.page.on("pageerror", lambda error: found.append(str(error)))
    return found


@pytest.mark.parametrize("fingers", [1, 2], ids=["twice", "two_fingers"])
def test_a_double_tap_on_next_is_one_entry_and_skips_nobody(tablet, fingers):
    one = tablet()
    one.station(COUNT)
    one.tap_plus(5)
    go = centre(one.part("go"))
    press_at(one, [go] * fingers, times=2)
    expect(one.page.locator(".who-name")).to_have_text("Ben L.")
    beat(one, 600)
    expect(one.page.locator(".who-name")).to_have_text("Ben L.")
    one.tap_plus(2)
    one.go()
    expect(one.page.locator(".who-name")).to_have_text("Cara M.")
    one.saved(2)
    assert list(Result.objects.order_by("seq").values_list("athlete__first_name", "value")) == [
        ("Ada", 5), ("Ben", 2),
    ]  # fmt: skip
    check_law(one, made=2)


def test_next_while_the_tablet_still_writes_is_no_second_entry(tablet):
    one = tablet()
    one.station(COUNT)
    one.tap_plus(3)
    one.page.evaluate(
        """() => {
          const press = () => document.querySelector("#acts [data-part=go]").dispatchEvent(
            new PointerEvent("pointerdown", { bubbles: true, button: 0 }));
          press(); press(); press();
        }"""
    )
    expect(one.page.locator(".who-name")).to_have_text("Ben L.")
    one.saved(1)
    check_law(one, made=1)


def test_a_held_enter_is_one_press(tablet):
    one = tablet()
    one.station(COUNT)
    one.tap_plus(4)
    one.part("go").focus()
    for _ in range(5):
        one.page.keyboard.down("Enter")  # from the second on the browser calls it a repeat
    one.page.keyboard.up("Enter")
    expect(one.page.locator(".who-name")).to_have_text("Ben L.")
    one.page.evaluate("() => document.activeElement.blur()")
    beat(one, 600)
    for _ in range(5):
        one.page.keyboard.down("ArrowUp")
    one.page.keyboard.up("ArrowUp")
    expect(one.page.locator(".count .t")).to_contain_text("1")
    one.saved(1)
    check_law(one, made=1)


def test_a_double_tap_on_could_not_start_spares_the_next_child(tablet):
    one = tablet()
    one.station(COUNT)
    beat(one, 600)
    press_at(one, [centre(one.part("could_not"))], times=2)
    expect(one.page.locator(".who-name")).to_have_text("Ben L.")
    one.saved(1)
    assert Result.objects.get().outcome == "could_not_start"


@pytest.mark.parametrize("name", ["plus", "minus"])
def test_two_fingers_on_a_counting_button_count_once(tablet, name):
    one = tablet()
    one.station(COUNT)
    one.tap_plus(3)
    beat(one, 100)
    button = centre(one.part(name))
    press_at(one, [button, {**button, "x": button["x"] + 30}])
    expect(one.page.locator(".count .t")).to_contain_text({"plus": "4", "minus": "2"}[name])
    beat(one, 100)
    press_at(one, [button])
    expect(one.page.locator(".count .t")).to_contain_text({"plus": "5", "minus": "1"}[name])


def test_a_key_of_the_keypad_acts_when_it_is_pressed_and_once(tablet):
    one = tablet()
    one.station(JUMP)
    key = centre(one.page.locator('[data-key="7"]'))
    press_at(one, [key, {**key, "x": key["x"] + 10}])
    expect(one.page.locator(".keypad output")).to_contain_text("7")
    expect(one.page.locator(".keypad output")).not_to_contain_text("77")


def test_a_double_tap_on_start_the_next_four_starts_them_once(tablet):
    one = tablet()
    wrong = errors_of(one)
    one.start_hold(HOLD, children=4)
    for number in range(4):
        one.stop(number)
    expect(one.part("go")).to_have_text("Start the next four")
    go = centre(one.part("go"))
    press_at(one, [go, go], times=3)
    expect(one.page.locator(".tile.run .name")).to_have_text(["Elif O.", "Finn P.", "Gwen Q.", "Hugo R."])
    one.finish_hold()
    expect(one.page.locator("#stations")).not_to_have_attribute("inert", "")
    one.saved(8)
    assert not wrong
    check_law(one, made=8)


def test_going_on_by_a_look_first_starts_nobody(tablet):
    one = tablet()
    one.start_hold(HOLD, children=4)
    for number in range(4):
        one.stop(number)
    expect(one.part("after")).to_contain_text("Elif O. · Finn P. · Gwen Q. · Hugo R.")
    one.part("look").tap()
    expect(one.part("go")).to_have_text("Start")
    expect(one.page.locator(".tile .name")).to_have_text(["Elif O.", "Finn P.", "Gwen Q.", "Hugo R."])
    expect(one.page.locator(".count-in")).to_have_count(0)


def test_a_false_start_is_called_back_during_the_count_and_keeps_nothing(tablet):
    one = tablet()
    wrong = errors_of(one)
    one.station(HOLD)
    one.go()
    expect(one.page.locator(".count-in")).to_be_visible()
    one.part("cancel").tap()
    expect(one.part("go")).to_have_text("Start")
    expect(one.page.locator(".count-in")).to_have_count(0)
    assert one.records() == []
    one.start_hold(HOLD, children=2)
    one.stop(0)
    expect(one.part("cancel")).to_be_hidden()
    one.finish_hold()
    one.saved(2)
    assert not wrong
    check_law(one, made=2)


def test_a_start_called_back_by_mistake_runs_on_with_the_same_clock(tablet):
    one = tablet()
    one.start_hold(HOLD, children=2)
    began = one.page.evaluate("() => performance.now()")
    beat(one, 1200)
    one.part("cancel").tap()
    expect(one.page.locator(".tile.run")).to_have_count(0)
    one.page.locator(".toast [data-part=undo]").click()
    expect(one.page.locator(".tile.run")).to_have_count(2)
    one.stop(0)
    ran = one.page.evaluate("() => performance.now()") - began
    shown = int(one.page.locator(".tile").nth(0).locator("[data-slot=t]").inner_text())
    assert 1 <= shown <= ran / 1000 + 1
    one.finish_hold()
    one.saved(2)
    check_law(one, made=2)


def test_a_bounce_after_an_undo_does_not_stop_the_tile_again(tablet):
    one = tablet()
    one.start_hold(HOLD, children=2)
    spot = {**centre(one.tiles().nth(0)), "y": one.tiles().nth(0).bounding_box()["y"] + 30}
    press_at(one, [spot])
    expect(one.page.locator(".tile").nth(0)).to_have_attribute("data-state", "stopped")
    beat(one, 600)
    press_at(one, [spot], times=2)
    expect(one.page.locator(".tile").nth(0)).to_have_attribute("data-state", "run")
    beat(one, 600)
    press_at(one, [spot])
    expect(one.page.locator(".tile").nth(0)).to_have_attribute("data-state", "stopped")


def test_a_full_storage_in_a_hold_says_it_once_and_its_copy_can_be_pressed(tablet, live_server):
    one = tablet()
    one.start_hold(HOLD, children=2)
    one.page.evaluate(
        """() => {
          window.writes = 0;
          const put = IDBObjectStore.prototype.put;
          IDBObjectStore.prototype.put = function (...given) {
            if (window.full === false) return put.apply(this, given);
            window.writes += 1;
            throw new DOMException("full", "QuotaExceededError");
          };
          const add = IDBObjectStore.prototype.add;
          IDBObjectStore.prototype.add = function (...given) {
            if (window.full === false) return add.apply(this, given);
            window.writes += 1;
            throw new DOMException("full", "QuotaExceededError");
          };
        }"""
    )
    one.stop(0)
    line = one.page.locator("#notes .error")
    expect(line).to_contain_text("storage is full")
    line.evaluate("(element) => { element.dataset.mine = 'first'; }")
    wait_until(one, "() => performance.now() > %d", 7000)
    expect(line).to_have_count(1)
    expect(line).to_have_attribute("data-mine", "first")
    assert one.page.evaluate("() => window.writes") < 20
    with one.page.expect_download():
        line.locator(".btn").click()
    one.page.evaluate("() => { window.full = false; }")
    one.finish_hold()
    one.saved(2)
    check_law(one, made=2)
