"""A tablet whose clock is wrong, and a clock that jumps while a hold runs."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from assessments.models import Result
from tests.browser.fingers import beat
from tests.browser.law import check_law
from tests.browser.tablet import HOLD

HOUR = 3600
# The running clock stands still while the wall clock goes on, as on a tablet that sleeps.
_STALL = """() => {
  const now = performance.now.bind(performance);
  let stood = 0, since = 0;
  performance.now = () => (since || now()) - stood;
  window.stall = (on) => { if (on) since = now(); else { stood += now() - since; since = 0; } };
}"""
# 25 October 2026, 02:58 summer time in Berlin: two minutes later the wall clock says 02:00 again.
_LAST_SUMMER_MINUTES = datetime(2026, 10, 25, 0, 59, 57, tzinfo=UTC)
_SHIFT = """(seconds) => {
  const Real = Date;
  window.shift = seconds * 1000;
  window.Date = class extends Real {
    constructor(...given) { if (given.length) super(...given); else super(Real.now() + window.shift); }
    static now() { return Real.now() + window.shift; }
  };
}"""


@pytest.mark.parametrize("seconds", [2 * HOUR, -2 * HOUR, 24 * HOUR, -24 * HOUR])
def test_f07_a_wrong_clock_gives_the_right_time_and_day_and_is_recorded(tablet, floor_day, seconds):
    one = tablet(opened=False)
    one.context.add_init_script(f"({_SHIFT})({seconds})")
    one.open()
    one.start_hold(HOLD, children=1)
    one.page.wait_for_timeout(1200)
    one.finish_hold()
    one.says("All 1 saved at the club")
    row = Result.objects.get()
    assert row.outcome == "scored"
    assert row.value == int((row.t_mono_stop - row.t_mono_start) / 1000)
    assert 1 <= row.value <= 5
    assert row.day == floor_day.day
    assert row.offset_s == pytest.approx(-seconds, abs=20)
    assert abs((row.t_wall - timezone.now()).total_seconds() - seconds) < 60
    check_law(one, made=1)


@pytest.mark.parametrize("jump_ms", [2 * HOUR * 1000, -2 * HOUR * 1000, 600, -600])
def test_f07_a_clock_that_jumps_during_a_hold_gives_no_wrong_time(tablet, jump_ms):
    one = tablet(opened=False)
    one.context.add_init_script(f"({_SHIFT})(0)")
    one.open()
    one.start_hold(HOLD, children=3)
    one.stop(0)
    one.page.evaluate("(jump) => { window.shift = jump; }", jump_ms)
    expect(one.page.locator("#notes")).to_contain_text("its clock was changed")
    one.look_first()
    one.says("All 3 saved at the club")
    outcomes = dict(Result.objects.order_by("seq").values_list("outcome", "value"))
    assert outcomes["interrupted"] is None
    assert Result.objects.filter(outcome="scored", value__lte=3).count() == 1
    assert Result.objects.filter(outcome="interrupted").count() == 2
    check_law(one, made=3)


def test_f07_a_running_clock_that_stands_still_gives_no_time(tablet):
    one = tablet(opened=False)
    one.context.add_init_script(f"({_STALL})()")
    one.open()
    one.start_hold(HOLD, children=2)
    one.page.evaluate("() => window.stall(true)")
    expect(one.page.locator("#notes")).to_contain_text("The clock was interrupted")
    one.page.evaluate("() => window.stall(false)")
    expect(one.page.locator('.tile[data-outcome="interrupted"]')).to_have_count(2)
    one.look_first()
    one.saved(2)
    rows = Result.objects.values_list("outcome", "value", "reason")
    assert set(rows) == {("interrupted", None, "Interrupted: the tablet slept, or its clock was changed")}
    check_law(one, made=2)


def test_f07_the_end_of_summer_time_within_a_hold_changes_nothing(tablet, floor_day):
    """The wall clock of a zone falls back an hour; the tablet reckons in milliseconds since 1970, which do not."""
    one = tablet(opened=False, timezone_id="Europe/Berlin")
    seconds = (_LAST_SUMMER_MINUTES - timezone.now()).total_seconds()
    one.context.add_init_script(f"({_SHIFT})({seconds})")
    one.open()
    one.page.evaluate(
        "(shift) => { window.shift = shift - Date.now() + window.shift; }",
        _LAST_SUMMER_MINUTES.timestamp() * 1000,
    )
    before = one.page.evaluate("() => new Date().getTimezoneOffset()")
    one.start_hold(HOLD, children=1)
    beat(one, 1500)
    assert (before, one.page.evaluate("() => new Date().getTimezoneOffset()")) == (-120, -60)
    one.finish_hold()
    one.saved(1)
    row = Result.objects.get()
    assert (row.outcome, row.day) == ("scored", floor_day.day)
    assert row.value == int((row.t_mono_stop - row.t_mono_start) / 1000) and 1 <= row.value <= 6
    check_law(one, made=1)
