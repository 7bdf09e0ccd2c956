"""Signing out with a full outbox, another coach at the tablet, and the floor open twice."""

from __future__ import annotations

import json

from django.contrib.sessions.models import Session
from playwright.sync_api import Request, expect

from assessments.models import Result
from tests.browser.conftest import sign_in
from tests.browser.law import check_law, stored_ids
from tests.browser.tablet import HOLD


def test_f17_leaving_with_a_full_outbox_stops_and_says_who_and_how_many(tablet, floor_day):
    one = tablet(user=floor_day.ines)
    one.open_worker()
    one.offline()
    one.count(4)
    one.count(6)
    one.says("On this tablet 2")
    one.page.goto("/leaving/")
    expect(one.page.locator("#waiting-words")).to_have_text(
        "2 entries are still on this tablet: Ada K., Ben L."
    )
    expect(one.page.locator("#leave")).to_be_hidden()
    with one.page.expect_download() as saved:
        one.page.locator("#copy").click()
    assert len(json.loads(saved.value.path().read_text())["entries"]) == 2
    one.page.locator("#send").click()
    expect(one.page.locator("#link-words")).to_contain_text("The club does not answer")
    one.offline(False)
    expect(one.page.locator("#empty")).to_be_visible()
    check_law(one, made=2)
    one.page.locator("#leave").click()
    expect(one.page).to_have_url("/sign-in/")
    assert one.page.evaluate("() => caches.has('floor-pages')") is False
    assert not Session.objects.exists()


def test_f17_after_an_offline_sign_out_nothing_goes_out_in_another_name(tablet, floor_day, live_server):
    one = tablet(user=floor_day.ines)
    one.open_worker()
    one.page.goto("/days/")
    days = one.page
    one.another_page()
    one.open()
    one.offline()
    one.count(8)
    one.says("On this tablet 1")
    one.page.close()
    one.page = days
    one.page.get_by_role("button", name="Sign out").click()
    expect(one.page.locator("#waiting-words")).to_have_text("1 entry is still on this tablet: Ada K.")
    one.page.locator("#keep").click()
    expect(one.page.locator("#link-words")).to_contain_text("The session ends by itself")
    one.offline(False)
    expect(one.page).to_have_url("/sign-in/")
    assert stored_ids() == []
    assert not Session.objects.exists()
    sign_in(one.context, live_server, floor_day.bo)
    one.open()
    one.page.locator("#sync").click()
    expect(one.page.locator("dialog")).to_contain_text("made while somebody else was signed in")
    assert stored_ids() == []
    one.page.locator("dialog [data-part=others]").click()
    one.page.locator("dialog [data-part=close]").click()
    one.says("All 1 saved at the club")
    row = Result.objects.get()
    assert (row.judge, row.recorded_by) == (floor_day.ines, floor_day.bo)
    check_law(one, made=1)


def test_f18_each_entry_keeps_the_coach_who_judged_it(tablet, floor_day):
    one = tablet()
    one.count(4)
    one.page.select_option("#judge", label="Bo Tran")
    one.count(6)
    one.says("All 2 saved at the club")
    assert list(Result.objects.order_by("seq").values_list("judge__name", flat=True)) == [
        "Ines Marlow",
        "Bo Tran",
    ]
    check_law(one, made=2)


def test_f19_two_tabs_of_the_floor_send_once_and_agree(tablet, floor_day):
    one = tablet()
    two = type(one)(one.context, floor_day)
    two.open()
    sent: list[str] = []

    def note(request: Request) -> None:
        if request.method == "POST" and request.url.endswith("/sync/"):
            sent.extend(entry["id"] for entry in json.loads(request.post_data)["entries"])

    one.context.on("request", note)
    one.offline()
    one.count(4)
    two.count(6)
    one.count(8)
    for which in (one, two):
        which.says("On this tablet 3")
    assert [record["seq"] for record in one.records()] == [1, 2, 3]
    sent.clear()
    one.offline(False)
    for which in (one, two):
        which.says("All 3 saved at the club")
    assert sorted(sent) == sorted(one.states())
    check_law(one, made=3)


def test_f19_a_second_tab_leaves_a_running_hold_alone(tablet, floor_day):
    one = tablet()
    one.start_hold(HOLD, children=2)
    two = type(one)(one.context, floor_day)
    two.open()
    expect(two.page.locator("#notes")).to_be_empty()
    one.page.bring_to_front()
    assert one.records() == []
