"""The club's side changes while entries wait: restored, a child erased, a pass ended."""

from __future__ import annotations

from django.utils import timezone
from playwright.sync_api import expect

from assessments.models import Result, StationPass, TabletDay
from tests.browser.conftest import sign_in
from tests.browser.law import check_law, stored_ids, until


def test_f21_a_restored_server_gets_back_what_it_lacks(tablet, floor_day):
    one = tablet()
    for value in (4, 6, 8):
        one.count(value)
    one.says("All 3 saved at the club")
    Result.objects.filter(seq__gte=2).delete()  # last night's copy was put back
    one.page.reload()
    until(lambda: len(stored_ids()) == 3)
    one.says("All 3 saved at the club")
    check_law(one, made=3)
    line = TabletDay.objects.get(day=floor_day.day)
    assert (line.made, line.highest_seq) == (3, 3)


def test_f22_an_entry_of_an_erased_child_is_refused_with_a_reason_until_settled(tablet, floor_day):
    one = tablet()
    one.offline()
    one.count(4)
    one.count(6)
    floor_day.children[0].delete()
    one.offline(False)
    one.says("At the club 1 · needs you 1")
    one.page.locator("#sync").click()
    needs = one.page.locator("dialog [data-part=needs]")
    expect(needs).to_contain_text("This child is not known here.")
    check_law(one, made=2)
    needs.locator("[data-part=settled]").click()
    one.page.locator("dialog [data-part=close]").click()
    expect(one.page.locator("#sync-words")).not_to_contain_text("needs you")


def test_f23_a_pass_that_was_ended_leaves_entries_readable_and_sendable(tablet, floor_day, live_server):
    one = tablet()
    one.open_worker()
    one.offline()
    one.count(4)
    one.count(6)
    StationPass.objects.update(ended_at=timezone.now())
    one.offline(False)
    one.says("Sign in to send 2")
    one.page.reload()
    one.says("Sign in to send 2")
    one.page.locator("[data-go=today]").click()
    expect(one.page.locator("dialog .today-line")).to_have_count(2)
    check_law(one, made=2)
    sign_in(one.context, live_server, floor_day.bo)
    one.page.reload()
    one.says("All 2 saved at the club")
    check_law(one, made=2)
