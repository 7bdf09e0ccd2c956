"""Storage that is full, that goes away, that an older version wrote, and that was cleared."""

from __future__ import annotations

import json

from playwright.sync_api import expect

from assessments.models import Result, TabletDay
from assessments.reconciling import tablet_lines
from tests.browser.law import check_law, until

_OLD = """([entries, day]) => new Promise((resolve) => {
  const request = indexedDB.open("groundwork", 1);
  request.onupgradeneeded = () => {
    const made = request.result.createObjectStore("entries", { keyPath: "id" });
    made.createIndex("day", "day");
    made.createIndex("state", "state");
    request.result.createObjectStore("kept", { keyPath: "key" });
  };
  request.onsuccess = () => {
    const db = request.result;
    const writing = db.transaction(["entries", "kept"], "readwrite");
    for (const entry of entries) {
      writing.objectStore("entries").put({
        id: entry.id, day, seq: entry.seq, state: "waiting", answer: "", who: "", sent: false,
        not_before: 0, made_at: 0, entry,
      });
    }
    writing.objectStore("kept").put({ key: "tablet", value: entries[0].tablet });
    writing.objectStore("kept").put({ key: `seq:${day}`, value: entries.length });
    writing.oncomplete = () => { db.close(); resolve(); };
  };
})"""
# Writes until nothing fits any more, in ever smaller pieces.
_FILL = """async () => {
  const db = await new Promise((resolve) => {
    const request = indexedDB.open("groundwork");
    request.onsuccess = () => resolve(request.result);
  });
  const fits = (size) => new Promise((resolve) => {
    const writing = db.transaction("kept", "readwrite", { durability: "strict" });
    writing.objectStore("kept").put({ key: `filler:${Math.random()}`, value: "x".repeat(size) });
    writing.oncomplete = () => resolve(true);
    writing.onabort = () => resolve(false);
  });
  for (const size of [50000, 5000, 500, 50, 5]) while (await fits(size));
  db.close();
}"""
_HANDLES = """() => {
  const open = IDBFactory.prototype.open;
  window.handles = [];
  IDBFactory.prototype.open = function (...given) {
    const request = open.apply(this, given);
    request.addEventListener("success", () => window.handles.push(request.result));
    return request;
  };
}"""


def test_f13_a_full_storage_is_said_kept_on_screen_and_tried_again(tablet, live_server):
    one = tablet(opened=False)
    session = one.context.new_cdp_session(one.page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url, "quotaSize": 900_000})
    one.open()
    one.page.evaluate(_FILL)
    one.count(12)
    expect(one.page.locator("#notes")).to_contain_text("storage is full")
    expect(one.page.locator("#notes")).to_contain_text("Ada K. 12")
    one.says("1 entry not saved on this tablet")
    with one.page.expect_download() as saved:
        one.page.locator("#notes .btn").click()
    copied = json.loads(saved.value.path().read_text())
    assert [entry["value"] for entry in copied["entries"]] == [12]
    session.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url})
    one.says("All 1 saved at the club")
    assert str(Result.objects.get().code) == copied["entries"][0]["id"]
    check_law(one, made=1)


def test_f14_a_dead_database_connection_is_opened_again(tablet):
    one = tablet(opened=False)
    one.context.add_init_script(f"({_HANDLES})()")
    one.open()
    one.count(3)
    one.says("All 1 saved at the club")
    one.page.evaluate("() => window.handles.forEach((handle) => handle.close())")
    one.count(5)
    one.says("All 2 saved at the club")
    expect(one.page.locator("#notes")).to_be_empty()
    check_law(one, made=2)


def old_entry(day, number: int) -> dict:
    """An entry as the first version wrote it: without the fields that came later."""
    return {
        "id": f"00000000-0000-4000-8000-00000000000{number}",
        "tablet": "11111111-1111-4111-8111-111111111111",
        "seq": number,
        "schema": 1,
        "day": str(day.day.code),
        "child": str(day.children[number].code),
        "measure": "double_heel_raises",
        "variant": "feet_together",
        "value": 10 + number,
        "outcome": "scored",
        "how": "counted",
        "t_wall": "2026-11-25T10:00:00+00:00",
    }


def test_f15_an_outbox_of_an_older_version_is_opened_and_taken(tablet, floor_day):
    one = tablet(opened=False)
    one.page.goto("/health/")
    entries = [old_entry(floor_day, number) for number in (1, 2, 3)]
    one.page.evaluate(_OLD, [entries, str(floor_day.day.code)])
    one.open()
    one.says("All 3 saved at the club")
    one.count(4)
    one.says("All 4 saved at the club")
    check_law(one, made=4)
    assert list(Result.objects.order_by("seq").values_list("seq", flat=True)) == [1, 2, 3, 4]


def test_f16_a_cleared_storage_says_what_it_forgot_and_the_club_sees_the_gap(tablet, floor_day, staff_page):
    one = tablet()
    one.count(3)
    one.says("All 1 saved at the club")
    one.offline()
    one.count(5)
    one.count(7)
    one.says("On this tablet 2 · at the club 1")
    made = {record["id"]: record["seq"] for record in one.records()}
    one.page.route("**/sync/", lambda route: route.abort())
    one.offline(False)
    one.page.goto("/health/")
    one.page.evaluate(
        "() => new Promise((done) => { indexedDB.deleteDatabase('groundwork').onsuccess = done; })"
    )
    one.open()
    expect(one.page.locator("#notes")).to_contain_text("This tablet forgot 3 entries of today")
    one.page.unroute("**/sync/")
    one.count(9)
    one.says("All 1 saved at the club")
    made |= {record["id"]: record["seq"] for record in one.records()}
    assert list(Result.objects.order_by("seq").values_list("seq", "value")) == [(1, 3.0), (4, 9.0)]
    until(lambda: TabletDay.objects.filter(made=1, highest_seq=4, waiting=0).exists())
    known = {str(code) for code in Result.objects.values_list("code", flat=True)} | set(one.states())
    assert sorted(made[code] for code in set(made) - known) == [2, 3]
    [line] = tablet_lines(floor_day.day)
    assert (line.gaps, line.equal) == ([2, 3], False)
    page = staff_page(floor_day.ines)
    page.goto(f"/days/{floor_day.day.code}/close/")
    expect(page.locator("main")).to_contain_text("number 2, 3 never came")
    page.goto(f"/days/{floor_day.day.code}/")
    expect(page.locator("main")).to_contain_text("a number is missing")
