"""A page that is hidden or frozen while clocks run."""

from __future__ import annotations

from playwright.sync_api import expect

from assessments.models import Result
from tests.browser.law import check_law
from tests.browser.tablet import HOLD

_HIDE = """() => {
  Object.defineProperty(document, "hidden", { configurable: true, get: () => true });
  document.dispatchEvent(new Event("visibilitychange"));
  delete document.hidden;
}"""


def test_f20_a_frozen_page_gives_interrupted_and_never_a_time(own_browser, live_server, floor_day):
    one = own_browser.launch(floor_day, live_server.url)
    one.open()
    one.start_hold(HOLD, children=3)
    one.stop(1)
    own_browser.freeze(2.5)
    expect(one.page.locator("#notes")).to_contain_text("The clock was interrupted")
    one.look_first()
    one.says("All 3 saved at the club")
    check_law(one, made=3)
    kept = Result.objects.get(outcome="scored")
    assert kept.value <= 4
    assert list(Result.objects.filter(outcome="interrupted").values_list("value", flat=True)) == [None, None]


def test_f20_a_page_that_the_browser_freezes_is_interrupted(tablet):
    """A page in sight is never frozen, and a headless window is always in sight: the command is given all the same, and the
    event of freezing is sent by hand. It breaks the clock, so half a minute is shortened here to no time at all."""
    one = tablet()
    one.start_hold(HOLD, children=3)
    one.stop(1)
    session = one.context.new_cdp_session(one.page)
    session.send("Page.setWebLifecycleState", {"state": "frozen"})
    session.send("Page.setWebLifecycleState", {"state": "active"})
    one.page.evaluate("() => document.dispatchEvent(new Event('freeze'))")
    expect(one.page.locator("#notes")).to_contain_text("The clock was interrupted: the page was hidden")
    one.look_first()
    one.saved(3)
    rows = Result.objects.filter(outcome="interrupted").values_list("value", "reason")
    assert list(rows) == [(None, "Interrupted: the page was hidden or asleep")] * 2
    check_law(one, made=3)


def test_f20_a_page_that_was_hidden_for_a_moment_is_interrupted_too(tablet):
    one = tablet()
    one.start_hold(HOLD, children=2)
    one.page.evaluate(_HIDE)
    expect(one.page.locator('.tile[data-outcome="interrupted"]')).to_have_count(2)
    one.look_first()
    one.says("All 2 saved at the club")
    assert not Result.objects.filter(value__isnull=False).exists()
    check_law(one, made=2)


def test_f20_an_interrupted_child_may_try_again(tablet):
    one = tablet()
    one.start_hold(HOLD, children=1)
    one.page.evaluate(_HIDE)
    one.look_first()
    one.start_hold(HOLD, children=1)
    one.finish_hold()
    one.says("All 2 saved at the club")
    rows = list(Result.objects.order_by("seq").values_list("athlete__first_name", "outcome", "trial"))
    assert rows == [("Ada", "interrupted", 1), ("Ada", "scored", 2)]
