"""Storage that is full while clocks run: the alarm can be read, the seconds stay on screen and are kept later."""

from __future__ import annotations

from playwright.sync_api import expect

from assessments.models import Result
from tests.browser.fingers import beat
from tests.browser.law import check_law
from tests.browser.tablet import HOLD
from tests.browser.test_f13_f16_storage import _FILL


def test_f13_a_storage_that_fills_up_during_a_hold_loses_no_second(tablet, live_server):
    one = tablet(opened=False)
    session = one.context.new_cdp_session(one.page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url, "quotaSize": 900_000})
    one.open()
    one.start_hold(HOLD, children=3)
    one.page.evaluate(_FILL)
    beat(one, 1100)
    one.stop(0)
    line = one.page.locator("#notes .error")
    expect(line).to_contain_text("storage is full")
    shown = one.page.locator(".tile").nth(0).locator("[data-slot=t]").inner_text()
    beat(one, 4000)
    expect(line).to_have_count(1)
    expect(one.page.locator(".tile").nth(0).locator("[data-slot=t]")).to_have_text(shown)
    expect(one.page.locator(".tile.run")).to_have_count(2)
    with one.page.expect_download():
        line.locator(".btn").click()
    session.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url})
    one.finish_hold()
    one.saved(3)
    assert Result.objects.get(athlete__first_name="Ada").value == int(shown)
    assert Result.objects.filter(outcome="scored").count() == 3
    check_law(one, made=3)
