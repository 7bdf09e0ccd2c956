"""Two tablets on one child, and one id that says two things."""

from __future__ import annotations

import json

from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect

from assessments.models import RefusedEntry, Result
from tests.browser.law import check_law, stored_ids, until
from tests.browser.test_f03_f06_answers import bodies_of


def test_f11_two_tablets_on_one_child_are_both_kept_and_shown_as_a_conflict(tablet):
    one, two = tablet(), tablet()
    for which in (one, two):
        which.offline()
    one.count(11)
    two.count(14)
    one.offline(False)
    one.says("All 1 saved at the club")
    two.offline(False)
    two.says("All 1 saved at the club")
    check_law(one, two, made=2)
    assert sorted(Result.objects.values_list("value", flat=True)) == [11, 14]
    assert set(two.states().values()) == {"conflict"}
    two.page.locator("#sync").click()
    expect(two.page.locator("dialog")).to_contain_text("the day's lead settles it")


def test_f11_the_lead_says_at_the_club_which_of_two_counts(tablet, floor_day, staff_page):
    one, two = tablet(), tablet()
    for which in (one, two):
        which.offline()
    one.count(11)
    two.count(14)
    for which in (one, two):
        which.offline(False)
        which.saved(1)
    desk = staff_page(floor_day.ines)
    desk.goto(reverse("assessments:day_unsettled", args=[floor_day.day.code]))
    kept = Result.objects.get(value=14)
    desk.locator(".card.soft", has_text="14").get_by_role("button", name="This one counts").click()
    until(lambda: Result.objects.current().count() == 1)
    assert Result.objects.current().get() == kept
    assert Result.objects.filter(value=11).exists()
    undone = Result.objects.get(outcome="withdrawn")
    assert (undone.replaces, undone.recorded_by) == (Result.objects.get(value=11).code, floor_day.ines)
    made_by_hands = set(one.states()) | set(two.states())
    assert {str(code) for code in stored_ids()} == made_by_hands | {str(undone.code)}
    assert not Result.objects.contested().exists()


def test_f12_one_id_with_other_content_is_refused_and_both_bodies_are_kept(tablet, floor_day):
    one = tablet()
    one.offline()
    one.count(9)
    [body] = bodies_of(one)
    # The edited copy reaches the club by another way while the tablet is still without wifi.
    edited = {**body, "value": 10}
    answer = Client().post(
        f"/days/{floor_day.day.code}/sync/",
        json.dumps({"entries": [edited]}),
        content_type="application/json",
        headers={"X-Station-Pass": floor_day.token, "X-Groundwork-Protocol": "1"},
    )
    assert answer.status_code == 200 and "stored" in answer.content.decode()
    one.offline(False)
    one.says("Needs you 1")
    assert Result.objects.get().value == 10
    assert RefusedEntry.objects.get().body["value"] == 9
    one.page.locator("#sync").click()
    expect(one.page.locator("dialog [data-part=needs]")).to_contain_text("already stands for another entry")
    check_law(one, made=1)
