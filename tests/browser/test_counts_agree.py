"""A day is green only while every tablet has said, lately, that it holds nothing more; a tablet at work is not emptied."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from assessments.days import day_sheet
from assessments.models import AssessmentDay, RefusedEntry, Result, TabletDay
from assessments.reconciling import tablet_lines
from tests.browser.law import check_law, stored_ids, until
from tests.browser.tablet import HOLD
from tests.browser.test_tablet_itself import keys
from tests.conftest import viewer_of

MINUTE = 60_000


def silent_for(minutes: int) -> None:
    """As if nothing had been heard since then."""
    TabletDay.objects.update(seen_at=timezone.now() - timedelta(minutes=minutes))


def close(day) -> None:
    AssessmentDay.objects.filter(pk=day.pk).update(status="closed", closed_at=timezone.now())
    day.refresh_from_db()


def test_a_tablet_that_counts_on_offline_keeps_the_day_from_turning_green(tablet, floor_day, staff_page):
    one = tablet()
    until(lambda: TabletDay.objects.exists())
    one.offline()
    one.count(4)
    one.count(6)
    one.says("On this tablet 2")
    silent_for(3)
    page = staff_page(floor_day.ines)
    page.goto(f"/days/{floor_day.day.code}/close/")
    expect(page.locator("main")).to_contain_text("was last heard at")
    expect(page.locator("main")).not_to_contain_text("Everything is in")
    close(floor_day.day)
    one.offline(False)
    expect(one.page.locator("#screen")).to_contain_text("The day is closed")
    check_law(one, made=2)
    assert [line.equal for line in tablet_lines(floor_day.day)] == [True]


def test_a_day_that_was_closed_a_moment_too_early_is_not_green_afterwards(tablet, floor_day):
    one = tablet()
    until(lambda: TabletDay.objects.exists())
    one.offline()
    one.count(4)
    one.says("On this tablet 1")
    close(floor_day.day)
    assert day_sheet(floor_day.day, viewer_of(floor_day.ines)).open_ends


def test_what_a_batch_leaves_behind_is_known_at_once(tablet, floor_day):
    one = tablet(service_workers="block")
    one.offline()
    for value in (2, 4, 6):
        one.count(value)
    one.says("On this tablet 3")
    one.page.route("**/reconcile/", lambda route: route.abort())
    one.offline(False)
    one.says("All 3 saved at the club")
    row = TabletDay.objects.get()
    assert (row.made, row.highest_seq, row.waiting) == (3, 3, 0)


def test_an_idle_tablet_says_once_a_minute_that_it_is_there(tablet, floor_day):
    one = tablet(opened=False)
    one.page.clock.install()
    one.open()
    until(lambda: TabletDay.objects.exists())
    silent_for(3)
    one.page.clock.run_for(2 * MINUTE)
    until(lambda: not tablet_lines(floor_day.day)[0].silent)


def test_an_idle_tablet_of_a_closed_day_counts_once_more_before_it_is_emptied(tablet, floor_day):
    one = tablet(opened=False)
    one.page.clock.install()
    one.open()
    one.count(5)
    one.says("All 1 saved at the club")
    close(floor_day.day)
    one.page.clock.run_for(2 * MINUTE)
    expect(one.page.locator("#screen")).to_contain_text("Nothing about the children is kept here")
    assert TabletDay.objects.get().left_at is not None
    one.page.clock.run_for(2 * MINUTE)
    assert not {"data", "config"} & keys(one.page)  # nor do they come back
    assert [line.equal for line in tablet_lines(floor_day.day)] == [True]


def test_closing_the_day_waits_for_a_running_hold(tablet, floor_day):
    one = tablet()
    one.start_hold(HOLD, children=2)
    one.stop(0)
    close(floor_day.day)
    until(lambda: len(stored_ids()) == 1)
    expect(one.page.locator(".tile.run")).to_have_count(1)
    one.stop(1)
    until(lambda: Result.objects.filter(outcome="scored").count() == 2)
    one.look_first()
    expect(one.page.locator("#screen")).to_contain_text("The day is closed", timeout=90_000)
    check_law(one, made=2)


def test_closing_the_day_waits_for_a_count_that_is_not_kept_yet(tablet, floor_day):
    one = tablet(opened=False)
    one.page.clock.install()
    one.open()
    one.count(2)
    one.says("All 1 saved at the club")
    one.tap_plus(3)
    close(floor_day.day)
    one.page.clock.run_for(2 * MINUTE)
    until(lambda: TabletDay.objects.filter(seen_at__gt=floor_day.day.closed_at).exists())
    expect(one.page.locator(".count .t")).to_contain_text("3")
    one.go()
    expect(one.page.locator("#screen")).to_contain_text("The day is closed")
    check_law(one, made=2)


@pytest.mark.parametrize("settled_at_the_club", [False, True])
def test_a_refused_entry_lets_the_day_turn_green_and_its_settling_is_heard(
    tablet, floor_day, settled_at_the_club
):
    one = tablet()
    one.offline()
    one.count(4)
    one.count(6)
    floor_day.children[0].delete()
    one.offline(False)
    one.says("At the club 1 · needs you 1")
    until(lambda: [line.equal for line in tablet_lines(floor_day.day)] == [True])
    if settled_at_the_club:
        RefusedEntry.objects.update(settled_at=timezone.now())
        one.page.reload()
    else:
        one.page.locator("#sync").click()
        one.page.locator("dialog [data-part=settled]").click()
        one.page.locator("dialog [data-part=close]").click()
    one.says("All 1 saved at the club · 1 left with the club")
    check_law(one, made=2)


def test_entries_of_another_tablets_copy_count_for_that_tablet(tablet, floor_day):
    one, two = tablet(), tablet(opened=False)
    one.offline()
    one.count(5)
    one.page.locator("#sync").click()
    with one.page.expect_download() as saved:
        one.page.locator("dialog [data-part=copy]").click()
    two.open()
    two.count(7)
    two.says("All 1 saved at the club")
    two.page.goto("/leaving/")
    two.page.locator("#file").set_input_files(saved.value.path())
    until(lambda: len(stored_ids()) == 2)
    until(lambda: [line.complete for line in tablet_lines(floor_day.day) if line.made] == [True])
    two.open()
    until(lambda: all(line.complete for line in tablet_lines(floor_day.day) if line.made))
    assert {line.made for line in tablet_lines(floor_day.day) if line.stored} <= {0, 1}
