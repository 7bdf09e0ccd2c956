"""A tablet that dies in the middle of a hold, and one that is switched off: what was seen is there afterwards."""

from __future__ import annotations

import pytest
from playwright.sync_api import Error, expect

from assessments.models import Result
from tests.browser.law import check_law
from tests.browser.tablet import Tablet


def test_f01_tab_killed_mid_hold_keeps_the_stops_and_invents_no_time(tablet):
    one = tablet()
    one.start_hold(children=4)
    one.stop(0)
    one.stop(2)
    one.page.wait_for_timeout(300)
    kill_renderer(one)
    one.another_page()
    one.open()
    expect(one.page.locator("#notes")).to_contain_text(
        "2 children stopped earlier are kept, 2 without a time"
    )
    one.says("All 4 saved at the club")
    check_law(one, made=4)
    outcomes = sorted(Result.objects.values_list("outcome", flat=True))
    assert outcomes == ["interrupted", "interrupted", "scored", "scored"]
    assert not Result.objects.filter(outcome="interrupted", value__isnull=False).exists()


def kill_renderer(one: Tablet) -> None:
    """The renderer dies at once, without any event that a page could hear."""
    with one.page.expect_event("crash"), pytest.raises(Error):
        one.page.goto("chrome://kill")


def test_f02_tablet_switched_off_comes_back_with_the_same_outbox(own_browser, live_server, floor_day):
    one = own_browser.launch(floor_day, live_server.url)
    one.open()
    one.open_worker()
    one.offline()
    for value in (3, 5, 7):
        one.count(value)
    one.says("On this tablet 3")
    before = one.records()
    own_browser.kill()
    again = own_browser.launch(floor_day, live_server.url)
    again.offline()
    again.open()
    again.says("On this tablet 3")
    assert [record["entry"] for record in again.records()] == [record["entry"] for record in before]
    again.offline(False)
    again.says("All 3 saved at the club")
    check_law(again, made=3)
    assert list(Result.objects.order_by("seq").values_list("value", flat=True)) == [3, 5, 7]
