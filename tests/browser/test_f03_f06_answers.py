"""Answers that fail, never come, get lost, come five at once or in the wrong order."""

from __future__ import annotations

import json
import random

from playwright.sync_api import Route, expect

from assessments.models import Result
from tests.browser.law import check_law, stored_ids
from tests.browser.tablet import HOLD, SIDES

SYNC = "**/sync/"
_POST = """async ([url, body]) => {
  const headers = { "Content-Type": "application/json", "X-Groundwork-Protocol": "1", "X-Station-Pass": "floor-token" };
  const send = () => fetch(url, { method: "POST", headers, body }).then((response) => response.json());
  return Promise.all(Array.from({ length: 5 }, send));
}"""


def bodies_of(one) -> list[dict]:
    """What the tablet would send."""
    return [{**record["entry"], "id": record["id"]} for record in one.records()]


def test_f03_errors_and_silence_change_nothing_and_are_tried_again(tablet):
    one = tablet(service_workers="block")
    answers = iter(("500", "502", "silence"))

    def bad(route: Route) -> None:
        word = next(answers, "")
        if word == "silence":
            return  # the request stays open: nobody answers
        if word:
            route.fulfill(status=int(word), body="<h1>down</h1>", content_type="text/html")
        else:
            route.continue_()

    one.context.route(SYNC, bad)
    one.count(4)
    one.says("On this tablet 1")
    one.page.wait_for_timeout(500)
    one.send_now()
    one.page.wait_for_timeout(300)
    one.send_now()
    assert set(one.states().values()) == {"waiting"}
    assert stored_ids() == []
    one.says("All 1 saved at the club")
    check_law(one, made=1)


def test_f04_stored_but_the_answer_lost_is_one_row_and_known(tablet):
    one = tablet(service_workers="block")
    heard: list[str] = []

    def lose(route: Route) -> None:
        answer = route.fetch()
        heard.extend(one["word"] for one in answer.json()["answers"])
        if len(heard) == 1:
            route.abort("connectionreset")
        else:
            route.fulfill(response=answer)

    one.context.route(SYNC, lose)
    one.count(6)
    one.says("On this tablet 1")
    one.send_now()
    one.says("All 1 saved at the club")
    assert heard == ["stored", "already_here"]
    check_law(one, made=1)


def test_f05_one_batch_five_times_in_parallel_is_one_row_each(tablet, floor_day):
    one = tablet()
    one.offline()
    for value in (2, 4, 6, 8):
        one.count(value)
    body = json.dumps({"tablet": "t", "entries": bodies_of(one)})
    one.offline(False)
    answers = one.page.evaluate(_POST, [f"/days/{floor_day.day.code}/sync/", body])
    given = [(answer["id"], answer["word"]) for reply in answers for answer in reply["answers"]]
    assert len(given) == 20
    assert {word for _, word in given} <= {"stored", "already_here"}
    assert all(given.count((one_id, "stored")) <= 1 for one_id, _ in given)
    one.send_now()
    one.says("All 4 saved at the club")
    check_law(one, made=4)


def test_f06_entries_out_of_order_make_the_same_set(tablet, floor_day):
    one = tablet()
    one.offline()
    one.count(5)
    one.page.locator(".toast [data-part=undo]").click()
    one.says("On this tablet 2")
    one.count(7, station=SIDES)
    one.start_hold(HOLD, children=2)
    one.finish_hold()
    one.says("On this tablet 5")
    entries = bodies_of(one)
    assert any(entry["replaces"] for entry in entries)
    random.Random(5).shuffle(entries)
    withdrawn = next(entry for entry in entries if entry["outcome"] == "withdrawn")
    entries = [withdrawn, *(entry for entry in entries if entry is not withdrawn)]
    one.offline(False)
    one.page.evaluate(_POST, [f"/days/{floor_day.day.code}/sync/", json.dumps({"entries": entries})])
    one.send_now()
    one.says("All 5 saved at the club")
    check_law(one, made=5)
    assert Result.objects.current().count() == 3
    expect(one.page.locator(".station[data-station]").first).to_contain_text("0 of 8 done")
