"""A session that ended, a token that grew old, and somebody else who answers 200."""

from __future__ import annotations

from django.contrib.sessions.models import Session
from playwright.sync_api import Route, expect

from assessments.models import Result, StationPass
from tests.browser.conftest import sign_in
from tests.browser.law import check_law, stored_ids


def test_f08_a_session_that_ended_offline_asks_to_sign_in_and_drops_nothing(tablet, floor_day, live_server):
    one = tablet(user=floor_day.ines)
    one.open_worker()
    one.offline()
    one.count(4)
    one.count(6)
    Session.objects.all().delete()
    one.offline(False)
    one.says("Sign in to send 2")
    one.page.locator("#sync").click()
    expect(one.page.locator("dialog [data-part=sign-in]")).to_be_visible()
    one.page.locator("dialog [data-part=close]").click()
    assert stored_ids() == []
    sign_in(one.context, live_server, floor_day.ines)
    one.send_now()
    one.says("All 2 saved at the club")
    check_law(one, made=2)


def test_f08_a_pass_that_expired_offline_asks_and_drops_nothing(tablet, floor_day, live_server):
    one = tablet()
    one.open_worker()
    one.offline()
    one.count(4)
    StationPass.objects.update(expires_at=floor_day.day.opened_at)
    one.offline(False)
    one.says("Sign in to send 1")
    sign_in(one.context, live_server, floor_day.ines)
    one.page.reload()
    one.says("All 1 saved at the club")
    check_law(one, made=1)
    assert Result.objects.get().recorded_by == floor_day.ines


def test_f09_a_token_that_grew_old_is_fetched_once_more(tablet, floor_day):
    one = tablet(user=floor_day.ines, service_workers="block")
    asked: list[str] = []

    def stale(route: Route) -> None:
        answer = route.fetch()
        asked.append(route.request.method)
        body = answer.json()
        if len(asked) == 1:
            body["token"] = "x" * len(body["token"])
        route.fulfill(response=answer, json=body)

    one.context.route("**/sync/token/", stale)
    one.count(4)
    one.says("All 1 saved at the club")
    assert len(asked) >= 2
    check_law(one, made=1)


def test_f09_a_token_that_stays_old_asks_to_sign_in_and_drops_nothing(tablet, floor_day):
    one = tablet(user=floor_day.ines, service_workers="block")

    def stale(route: Route) -> None:
        answer = route.fetch()
        route.fulfill(response=answer, json={**answer.json(), "token": "x" * 64})

    one.context.route("**/sync/token/", stale)
    one.count(4)
    one.says("Sign in to send 1")
    assert stored_ids() == []
    check_law(one, made=1)
    one.context.unroute_all(behavior="wait")
    one.send_now()
    one.says("All 1 saved at the club")
    check_law(one, made=1)


def test_f10_a_sign_in_page_or_portal_that_answers_200_is_no_receipt(tablet):
    one = tablet(service_workers="block")
    kinds = iter(
        (
            {"content_type": "text/html", "body": "<h1>Welcome to the free wifi</h1>"},
            {"content_type": "application/json", "body": '{"answers": [], "ok": true}'},
        )
    )

    def portal(route: Route) -> None:
        kind = next(kinds, None)
        if kind:
            route.fulfill(status=200, **kind)
        else:
            route.continue_()

    one.context.route("**/sync/", portal)
    one.count(4)
    one.says("On this tablet 1")
    one.page.wait_for_timeout(400)
    assert set(one.states().values()) == {"waiting"}
    one.send_now()
    assert set(one.states().values()) == {"waiting"}
    one.says("All 1 saved at the club")
    check_law(one, made=1)
