"""A tablet whose clock is wrong, and a clock that jumps while a hold runs."""

from __future__ import annotations

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from assessments.models import Result
from tests.browser.law import check_law
from tests.browser.tablet import HOLD

HOUR = 3600
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


def test_f07_a_clock_that_jumps_during_a_hold_gives_no_wrong_time(tablet):
    one = tablet(opened=False)
    one.context.add_init_script(f"({_SHIFT})(0)")
    one.open()
    one.start_hold(HOLD, children=3)
    one.stop(0)
    one.page.evaluate("() => { window.shift = 7200000; }")
    expect(one.page.locator("#notes")).to_contain_text("its clock was changed")
    one.look_first()
    one.says("All 3 saved at the club")
    outcomes = dict(Result.objects.order_by("seq").values_list("outcome", "value"))
    assert outcomes["interrupted"] is None
    assert Result.objects.filter(outcome="scored", value__lte=3).count() == 1
    assert Result.objects.filter(outcome="interrupted").count() == 2
    check_law(one, made=3)
