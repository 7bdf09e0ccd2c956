"""What a tablet holds besides results, and what may stand in the way: the roll, another day, another look at an entry."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Route, expect

from assessments.models import Attendance, Result
from athletes.models import RestNote
from tests import factories
from tests.browser.conftest import sign_in
from tests.browser.law import check_law, stored_ids, until
from tests.browser.tablet import HOLD, Tablet

CHANGE = """async ([which, fields]) => {
  const { change, records } = await import("/static/assessments/outbox.js");
  return (await change([...records.keys()][which], fields)).id;
}"""
_OTHER_DAY = """([entry, at]) => new Promise((resolve) => {
  const request = indexedDB.open("groundwork");
  request.onsuccess = () => {
    const writing = request.result.transaction("entries", "readwrite");
    writing.objectStore("entries").put({
      id: entry.id, day: entry.day, seq: entry.seq, state: "waiting", answer: "", who: "", sent: true, not_before: 0,
      made_at: at, entry,
    });
    writing.oncomplete = () => { request.result.close(); resolve(); };
  };
})"""
_ADD = """async ([fields, wait]) => {
  const { add } = await import("/static/assessments/outbox.js");
  return (await add([fields], { wait }))[0].id;
}"""


@pytest.fixture
def unasked(floor_day):
    Attendance.objects.update(sore="not_asked", present=None)
    return floor_day


def say_sore(one: Tablet, area: str = "Wrist") -> None:
    one.page.locator(".roll-line").first.locator("[data-part=yes]").click()
    one.page.locator("dialog .chip", has_text=area).click()
    one.page.locator("dialog [data-part=save]").click()


def test_a_yes_that_was_said_offline_stays_until_the_club_has_it(tablet, unasked):
    one = tablet()
    one.open_worker()
    one.offline()
    say_sore(one)
    one.says("On this tablet 1")
    one.page.goto("/leaving/")
    expect(one.page.locator("#waiting-words")).to_have_text(
        "1 answer about who is here or sore is still on this tablet: Ada K."
    )
    expect(one.page.locator("#leave")).to_be_hidden()
    with one.page.expect_download() as saved:
        one.page.locator("#copy").click()
    [line] = json.loads(saved.value.path().read_text())["roll"]
    assert (line["child"], line["sore"], line["areas"]) == (str(unasked.children[0].code), "yes", ["wrist"])
    one.offline(False)
    # It goes out by itself when the wifi is back.
    expect(one.page.locator("#empty")).to_be_visible()
    assert RestNote.objects.get().areas == ["wrist"]


def test_a_yes_in_a_file_copy_goes_in_on_another_tablet(tablet, unasked):
    one, two = tablet(), tablet(opened=False)
    one.offline()
    say_sore(one)
    one.page.locator("#sync").click()
    with one.page.expect_download() as saved:
        one.page.locator("dialog [data-part=copy]").click()
    two.open()
    two.page.goto("/leaving/")
    two.page.locator("#file").set_input_files(saved.value.path())
    until(lambda: RestNote.objects.filter(athlete=unasked.children[0], areas=["wrist"]).exists())
    one.page.locator("dialog [data-part=close]").click()
    one.offline(False)
    one.says("Nothing entered yet")
    assert RestNote.objects.count() == 1


def test_an_answer_about_a_child_whom_the_club_does_not_know_needs_a_person(tablet, unasked):
    one = tablet()
    one.offline()
    say_sore(one)
    unasked.children[0].delete()
    one.offline(False)
    one.says("Needs you 1")
    one.page.locator("#sync").click()
    expect(one.page.locator("dialog [data-part=needs]")).to_contain_text("does not know this child")
    one.page.locator("dialog [data-part=settled]").click()
    one.page.locator("dialog [data-part=close]").click()
    one.says("Nothing entered yet")


def test_a_change_while_the_token_is_fetched_reaches_the_club(tablet, floor_day):
    one = tablet(user=floor_day.ines, service_workers="block")
    until(lambda: floor_day.day.tablets.exists())
    held: list[Route] = []
    one.context.route("**/sync/token/", lambda route: held.append(route))
    one.count(4)
    one.says("On this tablet 1")
    while not held:
        one.page.wait_for_timeout(20)
    one.page.evaluate(CHANGE, [0, {"value": 9}])
    for route in held:
        route.continue_()
    one.context.unroute("**/sync/token/")
    until(lambda: Result.objects.current().filter(value=9).exists())
    expect(one.page.locator("#sync-words")).to_contain_text("saved at the club")
    shown = {record["id"]: record["entry"]["value"] for record in one.records()}
    assert shown == {str(code): value for code, value in Result.objects.values_list("code", "value")}


def test_after_a_copy_was_saved_a_change_is_a_new_entry(tablet, floor_day):
    one = tablet()
    fields = {
        "child": str(floor_day.children[0].code), "measure": "double_heel_raises", "variant": "feet_together",
        "how": "counted", "value": 4,
    }  # fmt: skip
    first = one.page.evaluate(_ADD, [fields, 600_000])
    assert one.page.evaluate(CHANGE, [0, {"value": 5}]) == first
    one.page.locator("#sync").click()
    with one.page.expect_download():
        one.page.locator("dialog [data-part=copy]").click()
    expect(one.page.locator(".toast")).to_contain_text("1 entry in the file")
    assert one.page.evaluate(CHANGE, [0, {"value": 6}]) != first
    assert [(record["entry"]["value"], record["entry"]["replaces"]) for record in one.records()] == [
        (5, None),
        (6, first),
    ]


def test_what_waits_for_yesterday_does_not_keep_todays(tablet, floor_day, live_server):
    held_on = floor_day.day.held_on - timedelta(days=1)
    yesterday = factories.DayFactory(groups=[floor_day.group], edition=floor_day.day.edition, held_on=held_on)
    one = tablet()
    entry = {
        "id": "00000000-0000-4000-8000-000000000001", "tablet": "another", "seq": 1, "schema": 1,
        "day": str(yesterday.code), "child": str(floor_day.children[0].code), "measure": "double_heel_raises",
        "variant": "feet_together", "value": 10, "outcome": "scored", "how": "counted",
        "t_wall": timezone.now().isoformat(),
    }  # fmt: skip
    one.page.evaluate(_OTHER_DAY, [entry, timezone.now().timestamp() * 1000])
    one.open()
    one.count(4)
    one.says("All 1 saved at the club · 1 of another day")
    assert [result.day for result in Result.objects.select_related("day")] == [floor_day.day]
    one.page.locator("#sync").click()
    expect(one.page.locator("dialog [data-part=sign-in]")).to_be_visible()
    sign_in(one.context, live_server, floor_day.ines)
    one.open()
    one.says("All 1 saved at the club")
    until(lambda: Result.objects.filter(day=yesterday).exists())
    check_law(one, made=2)


def test_an_entry_on_which_the_clubs_computer_breaks_steps_aside(tablet):
    one = tablet(service_workers="block")

    def broken(route: Route) -> None:
        if any(entry["value"] == 3 for entry in json.loads(route.request.post_data)["entries"]):
            route.fulfill(status=500, body="<h1>broken</h1>", content_type="text/html")
        else:
            route.continue_()

    one.context.route("**/sync/", broken)
    one.offline()
    for value in (2, 3, 4, 1):
        one.count(value)
    one.says("On this tablet 4")
    one.offline(False)
    one.says("On this tablet 1 · at the club 3")
    one.context.unroute("**/sync/", broken)
    one.send_now()
    one.says("All 4 saved at the club")
    check_law(one, made=4)


def test_leaving_puts_the_pass_down(tablet, floor_day):
    one = tablet()
    one.count(3)
    one.says("All 1 saved at the club")
    one.page.goto("/leaving/")
    one.page.locator("#leave").click()
    expect(one.page).to_have_url("/sign-in/")
    assert [cookie for cookie in one.context.cookies() if cookie["name"] == "station"] == []
    assert floor_day.day.tablets.get().left_at is not None
    one.page.goto(one.url)
    expect(one.page).not_to_have_url(one.url)


def test_a_hold_that_a_killed_page_left_is_not_lost_by_leaving(tablet):
    one = tablet()
    one.start_hold(HOLD, children=2)
    one.stop(0)
    one.page.goto("/leaving/")
    one.page.locator("#leave").click()
    one.page.locator("#leave").click()
    expect(one.page.locator("#leave-words")).to_contain_text("a hold on the floor is not finished")
    one.open()
    one.says("All 2 saved at the club")
    assert len(stored_ids()) == 2
