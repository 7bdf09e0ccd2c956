"""The tablet itself: said by itself when it is not ready, emptied a day later wherever it is opened, and what it keeps."""

from __future__ import annotations

import json
import re
from typing import Any

from playwright.sync_api import Page, expect

from assessments.models import Attendance
from tests import factories
from tests.browser.law import until
from tests.browser.tablet import expect_true

_EVERYTHING = """() => new Promise((resolve) => {
  const request = indexedDB.open("groundwork");
  request.onsuccess = () => {
    const db = request.result;
    const reading = db.transaction(["entries", "kept", "deleted"]);
    const found = {};
    for (const name of ["entries", "kept", "deleted"]) {
      reading.objectStore(name).getAll().onsuccess = (event) => { found[name] = event.target.result; };
    }
    reading.oncomplete = () => { db.close(); resolve(found); };
  };
})"""
_OLDER = """(hours) => new Promise((resolve) => {
  const request = indexedDB.open("groundwork");
  request.onsuccess = () => {
    const db = request.result;
    const writing = db.transaction(["entries", "kept"], "readwrite");
    const back = hours * 3600 * 1000;
    for (const name of ["entries", "kept"]) {
      writing.objectStore(name).openCursor().onsuccess = (event) => {
        const cursor = event.target.result;
        if (!cursor) return;
        const value = cursor.value;
        if (value.made_at) cursor.update({ ...value, made_at: value.made_at - back });
        else if (value.key.startsWith("data:")) {
          cursor.update({ ...value, value: { ...value.value, at: value.value.at - back } });
        }
        cursor.continue();
      };
    }
    writing.oncomplete = () => { db.close(); resolve(); };
  };
})"""
_LOW = "() => { navigator.getBattery = () => Promise.resolve({ level: 0.05, charging: false }); }"


def everything(page: Page) -> dict[str, list[dict[str, Any]]]:
    """All that lies in the tablet's database."""
    return page.evaluate(_EVERYTHING)


def keys(page: Page) -> set[str]:
    """What is kept beside entries, by kind."""
    return {line["key"].split(":")[0] for line in everything(page)["kept"]}


def test_what_has_to_be_put_right_is_said_at_the_opening(tablet):
    one, two = tablet(opened=False), tablet(opened=False)
    one.context.add_init_script(f"({_LOW})()")
    one.open()
    expect(one.page.locator("#notes")).to_contain_text("Battery. 5 %")
    two.open()
    expect_true(two.page, "() => navigator.storage.persisted().then(() => true)")
    two.count(3)
    two.says("All 1 saved at the club")
    expect(two.page.locator("#notes")).to_be_empty()


def test_a_day_old_tablet_is_emptied_by_any_page_of_the_staff(tablet, floor_day):
    one = tablet(user=floor_day.ines)
    one.count(5)
    one.says("All 1 saved at the club")
    one.page.goto("/health/")
    one.page.evaluate(_OLDER, 23)
    one.page.goto("/days/")
    expect(one.page.get_by_role("button", name="Sign out")).to_be_visible()
    assert {"data", "config"} <= keys(one.page)
    one.page.evaluate(_OLDER, 2)
    one.page.reload()
    until(lambda: not {"data", "config", "roll", "judge"} & keys(one.page))
    found = everything(one.page)
    assert found["entries"] == []
    assert [len(line["ids"]) for line in found["deleted"]] == [1]
    assert floor_day.day.tablets.get().left_at is not None


def test_a_day_old_tablet_keeps_what_waits(tablet, floor_day):
    one = tablet(user=floor_day.ines)
    one.page.route("**/sync/", lambda route: route.abort())
    one.count(5)
    one.says("On this tablet 1")
    one.page.goto("/health/")
    one.page.evaluate(_OLDER, 25)
    with one.page.expect_response("**/holdings*.js"):
        one.page.goto("/days/")
    one.page.wait_for_load_state("networkidle")
    found = everything(one.page)
    assert [record["state"] for record in found["entries"]] == ["waiting"]
    assert found["deleted"] == []
    assert "data" in keys(one.page)


def test_signing_out_is_checked_where_a_browser_cannot_list_its_stores(tablet, floor_day):
    one = tablet(user=floor_day.ines)
    one.context.add_init_script("delete IDBFactory.prototype.databases")
    one.page.route("**/sync/", lambda route: route.abort())
    one.count(5)
    one.says("On this tablet 1")
    one.sign_out_stops("1 entry is still on this tablet: Ada K.")


def test_a_floor_in_another_tab_brings_no_name_back_to_a_tablet_that_was_left(tablet, floor_day):
    one = tablet(opened=False)
    one.page.clock.install()
    one.open()
    one.count(4)
    one.says("All 1 saved at the club")
    leaving = one.context.new_page()
    leaving.goto("/leaving/")
    leaving.locator("#leave").click()
    expect(leaving).to_have_url("/sign-in/")
    one.page.clock.run_for(120_000)
    expect(one.page.locator("#screen")).to_contain_text("This tablet was left")
    assert not {"data", "config"} & keys(one.page)


#: What may lie on a tablet, in every part of it. Anything else here is a new decision about children's data.
CHILD = {
    "code", "first_name", "initial", "group", "birth_month", "present", "sore", "stopped", "resting", "order",
}  # fmt: skip
STANDING = {
    "id", "child", "measure", "variant", "side", "trial", "value", "levels", "outcome", "second",
}  # fmt: skip
ROLL = {
    "present", "present_at", "sore", "sore_at", "areas", "note", "by", "at", "sent", "stopped", "stop",
}  # fmt: skip
CONFIG = {"day", "who", "pass", "pass_code", "label", "version", "urls"}
KEPT = {
    "tablet", "settings", "seq", "check", "data", "roll", "order", "judge", "config", "hold", "draft",
}  # fmt: skip


def test_all_that_is_kept_of_the_children_is_what_was_decided(tablet, floor_day):
    factories.RestNoteFactory(athlete=floor_day.children[5], areas=["neck"], note="fell off a wall")
    other = tablet()
    other.count(7)
    other.says("All 1 saved at the club")
    Attendance.objects.filter(athlete=floor_day.children[0]).update(sore="not_asked", present=None)
    one = tablet()
    one.page.locator(".roll-line").first.locator("[data-part=yes]").click()
    one.page.locator("dialog .chip", has_text="Wrist").click()
    one.page.locator("dialog [data-part=save]").click()
    one.count(5)
    one.says("All 1 saved at the club")
    found = everything(one.page)
    assert keys(one.page) <= KEPT
    by_kind = {line["key"].split(":")[0]: line["value"] for line in found["kept"]}
    body = by_kind["data"]["body"]
    assert {key for child in body["children"] for key in child} == CHILD
    assert {key for entry in body["standing"] for key in entry} == STANDING
    assert {key for line in by_kind["roll"].values() for key in line} <= ROLL
    assert set(by_kind["config"]) == CONFIG and by_kind["config"]["pass"] == floor_day.token
    told = json.dumps(found)
    assert "Ada" in told  # so that the names below could be there
    for child in floor_day.children:
        assert not re.search(rf"\b{child.last_name}\b", told) and child.born_on.isoformat() not in told
    for secret in ("fell off a wall", "@fernleigh.example"):
        assert secret not in told
