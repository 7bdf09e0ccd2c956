"""Opening without the club, what is kept about a child, and when it goes."""

from __future__ import annotations

import json

from playwright.sync_api import expect

from assessments.models import AssessmentDay
from tests.browser.law import check_law

_EVERYTHING = """() => new Promise((resolve) => {
  const request = indexedDB.open("groundwork");
  request.onsuccess = () => {
    const db = request.result;
    const all = db.transaction("kept").objectStore("kept").getAll();
    all.onsuccess = () => { db.close(); resolve(JSON.stringify(all.result)); };
  };
})"""


def test_once_opened_the_floor_opens_with_the_network_cut(tablet):
    one = tablet()
    one.open_worker()
    one.offline()
    answered: list[str] = []
    one.page.on(
        "response",
        lambda response: answered.append(response.url) if not response.from_service_worker else None,
    )
    one.open()
    assert answered == []
    one.count(5)
    one.says("On this tablet 1")
    one.offline(False)
    one.says("All 1 saved at the club")
    check_law(one, made=1)


def test_only_name_initial_group_month_and_resting_areas_are_kept(tablet, floor_day):
    one = tablet()
    one.count(5)
    one.says("All 1 saved at the club")
    kept = one.page.evaluate(_EVERYTHING)
    body = next(line["value"]["body"] for line in json.loads(kept) if line["key"].startswith("data:"))
    assert set(body["children"][0]) == {
        "code", "first_name", "initial", "group", "birth_month", "present", "sore", "stopped", "resting", "order",
    }  # fmt: skip
    child = floor_day.children[0]
    assert child.last_name not in kept
    assert child.born_on.isoformat() not in kept


def test_a_closed_day_with_an_empty_outbox_leaves_nothing_about_the_children(tablet):
    one = tablet()
    one.count(5)
    one.says("All 1 saved at the club")
    AssessmentDay.objects.update(status="closed")
    one.page.reload()
    expect(one.page.locator("#screen")).to_contain_text("Nothing about the children is kept here")
    kept = one.page.evaluate(_EVERYTHING)
    assert "Ada" not in kept
    assert one.records() == []
    assert one.page.evaluate("() => caches.has('floor-pages')") is False


def test_a_closed_day_with_a_waiting_entry_keeps_it_until_it_is_sent(tablet):
    one = tablet()
    one.page.route("**/sync/", lambda route: route.abort())
    one.count(5)
    one.says("On this tablet 1")
    AssessmentDay.objects.update(status="closed")
    one.page.reload()
    one.says("On this tablet 1")
    assert len(one.records()) == 1
    one.page.unroute("**/sync/")
    one.send_now()
    expect(one.page.locator("#screen")).to_contain_text("The day is closed", timeout=20_000)
    check_law(one, made=1)


def test_signing_out_on_a_staff_page_goes_by_what_waits_on_the_tablet(tablet, floor_day):
    one = tablet(user=floor_day.ines)
    one.page.route("**/sync/", lambda route: route.abort())
    one.count(5)
    one.says("On this tablet 1")
    one.sign_out_stops("1 entry is still on this tablet: Ada K.")


def test_a_file_copy_goes_in_on_another_tablet_through_the_same_door(tablet):
    one, two = tablet(), tablet(opened=False)
    one.offline()
    one.count(5)
    one.count(7)
    one.page.locator("#sync").click()
    with one.page.expect_download() as saved:
        one.page.locator("dialog [data-part=copy]").click()
    two.open()
    two.page.goto("/leaving/")
    two.page.locator("#file").set_input_files(saved.value.path())
    expect(two.page.locator("#file-words")).to_have_text("2 entries were taken in.")
    expect(two.page.locator("#empty")).to_be_visible()
    one.page.locator("dialog [data-part=close]").click()
    one.offline(False)
    one.says("All 2 saved at the club")
    check_law(one, made=2)
