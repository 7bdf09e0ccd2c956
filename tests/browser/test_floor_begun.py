"""Work that was begun and not kept: going to another child, side or station loses none of it, nor does a dead page."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from assessments.models import Result
from tests.browser.law import check_law
from tests.browser.tablet import COUNT, JUMP, SHAPE, SIDES


def pick(one, name: str) -> None:
    one.page.locator(".queue .child", has_text=name).click()
    expect(one.page.locator(".who-name")).to_have_text(name)


def test_going_to_another_child_and_back_keeps_what_was_begun(tablet):
    one = tablet()
    one.station(COUNT)
    one.tap_plus(4)
    pick(one, "Cara M.")
    expect(one.page.locator(".child.begun")).to_contain_text("not kept yet")
    one.tap_plus(2)
    pick(one, "Ada K.")
    expect(one.page.locator(".count .t")).to_contain_text("4")
    one.go()
    expect(one.page.locator(".who-name")).to_have_text("Ben L.")
    expect(one.page.locator(".child.begun")).to_have_count(1)
    pick(one, "Cara M.")
    expect(one.page.locator(".count .t")).to_contain_text("2")
    one.go()
    expect(one.page.locator(".child.begun")).to_have_count(0)
    one.saved(2)
    assert dict(Result.objects.values_list("athlete__first_name", "value")) == {"Ada": 4, "Cara": 2}
    check_law(one, made=2)


def test_each_side_and_station_has_a_draft_of_its_own_and_they_outlive_the_page(tablet):
    one = tablet()
    one.station(SIDES)
    one.tap_plus(3)
    one.page.locator("[data-side=right]").first.click()
    expect(one.page.locator(".count .t")).to_contain_text("0")
    one.tap_plus(5)
    one.station(SHAPE)
    one.page.locator(".criterion").nth(1).locator(".level").nth(2).tap()
    one.station(JUMP)
    one.page.locator('[data-key="9"]').tap()
    expect(one.page.locator(".keypad output")).to_contain_text("9")
    one.page.reload()
    expect(one.page.locator(".keypad output")).to_contain_text("9")
    one.station(SHAPE)
    expect(one.page.locator(".criterion").nth(1).locator("input").nth(2)).to_be_checked()
    one.station(SIDES)
    expect(one.page.locator(".count .t")).to_contain_text("5")
    one.page.locator("[data-side=left]").first.click()
    expect(one.page.locator(".count .t")).to_contain_text("3")
    assert one.records() == []


def test_at_the_end_of_the_line_what_is_not_kept_is_said(tablet, floor_day):
    floor_day.day.attendances.exclude(athlete__in=floor_day.children[:2]).update(present=False)
    one = tablet()
    one.station(COUNT)
    one.tap_plus(4)
    pick(one, "Ben L.")
    one.count(2)
    one.page.locator(".queue .child", has_text="Ada K.").click()
    one.page.locator(".queue .child", has_text="Ben L.").click()
    one.tap_plus(1)
    one.page.locator(".queue .child", has_text="Ada K.").click()
    one.go()
    expect(one.page.locator("#screen")).to_contain_text("What was begun for Ben L.")
    one.page.locator("#screen [data-part=act]").click()
    expect(one.page.locator(".count .t")).to_contain_text("1")


def test_an_erased_number_is_nothing_begun(tablet):
    one = tablet()
    one.station(JUMP)
    one.page.locator('[data-key="9"]').tap()
    expect(one.page.locator(".child.begun")).to_have_count(1)
    one.page.locator('[data-key="back"]').tap()
    expect(one.page.locator(".child.begun")).to_have_count(0)


def test_two_tabs_that_keep_one_draft_lose_neither_number(tablet):
    one = tablet()
    one.station(COUNT)
    one.tap_plus(4)
    first = one.page
    one.another_page()
    one.open()
    one.station(COUNT)
    expect(one.page.locator(".count .t")).to_contain_text("4")
    one.tap_plus(2)
    one.go()
    expect(one.page.locator(".who-name")).to_have_text("Ben L.")
    first.bring_to_front()
    first.locator("#acts [data-part=go]").tap()
    one.page = first
    one.saved(2)
    assert sorted(Result.objects.values_list("value", flat=True)) == [4, 6]
    check_law(one, made=2)


@pytest.mark.parametrize("station", [COUNT, JUMP, SHAPE])
def test_with_keys_turned_off_no_key_judges_counts_or_types(tablet, station):
    one = tablet()
    one.page.locator("[data-go=tablet]").click()
    one.page.locator("[data-setting=keys]").uncheck()
    one.page.locator("dialog [data-part=close]").click()
    one.station(station)
    for key in ("2", "+", "1"):
        one.page.keyboard.press(key)
    expect(one.page.locator(".child.begun")).to_have_count(0)
    one.page.locator("[data-go=tablet]").click()
    one.page.locator("[data-setting=keys]").check()
    one.page.locator("dialog [data-part=close]").click()
    one.page.evaluate("() => document.activeElement.blur()")
    for key in ("2", "+"):
        one.page.keyboard.press(key)
    expect(one.page.locator(".child.begun")).to_have_count(1)


def test_a_child_who_had_no_turn_is_kept_so_and_asked_no_more(tablet):
    one = tablet()
    one.station(COUNT)
    one.press("no_turn")
    expect(one.page.locator(".who-name")).to_have_text("Ben L.")
    expect(one.page.locator(".child").first).to_contain_text("not attempted")
    one.saved(1)
    row = Result.objects.get()
    assert (row.outcome, row.value, row.athlete.first_name) == ("not_attempted", None, "Ada")
