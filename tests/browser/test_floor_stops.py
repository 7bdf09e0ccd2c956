"""A stop for pain: kept before anything is asked, undone at once when it was the wrong child, ended by the day's lead."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from assessments.models import Attendance, Result
from athletes.models import RestNote
from tests import factories
from tests.browser.fingers import beat
from tests.browser.law import check_law, until
from tests.browser.tablet import COUNT, HOLD, JUMP, SHAPE


@pytest.mark.parametrize("station", [COUNT, JUMP, SHAPE])
def test_the_stop_is_kept_before_it_is_asked_where_and_outlives_the_page(tablet, floor_day, station):
    one = tablet()
    one.station(station)
    one.part("hurts").click()
    expect(one.page.locator("dialog")).to_contain_text("Stopped for today: Ada K.")
    one.page.reload()
    expect(one.page.locator('.child[data-word="stopped"]')).to_contain_text("Ada K.")
    [kept] = one.records()
    assert kept["entry"]["outcome"] == "stopped_for_pain"


def test_the_stop_on_the_roll_reaches_the_club_when_the_page_died(tablet, floor_day):
    one = tablet()
    one.part("hurts").click()
    chip = one.page.locator("dialog .chip", has_text="Ada K.")
    expect(chip).to_contain_text("Tigers · ")
    chip.click()
    expect(one.page.locator("dialog")).to_contain_text("Stopped for today")
    one.page.reload()
    until(lambda: RestNote.objects.filter(athlete=floor_day.children[0], areas=["general"]).exists())
    assert RestNote.objects.count() == 1


def test_where_it_hurts_is_one_entry_and_one_rest_note(tablet, floor_day):
    one = tablet()
    one.station(COUNT)
    one.part("hurts").click()
    one.page.locator("dialog .chip", has_text="Wrist").click()
    one.page.locator("dialog [data-part=save]").click()
    one.saved(1)
    assert RestNote.objects.get().areas == ["wrist"]
    assert Attendance.objects.get(athlete=floor_day.children[0]).stopped_at is not None


def test_the_wrong_child_is_let_go_before_anything_reached_the_club(tablet, floor_day):
    one = tablet()
    one.station(COUNT)
    one.part("hurts").click()
    one.page.locator("dialog [data-part=mistake]").click()
    expect(one.page.locator(".who-name")).to_have_text("Ada K.")
    expect(one.page.locator(".plus")).to_be_visible()
    one.saved(1)
    assert not RestNote.objects.exists()
    assert Result.objects.get().reason == "'Something hurts' was tapped by mistake"
    one.count(6)
    one.saved(2)
    assert Result.objects.filter(value=6, athlete=floor_day.children[0]).exists()


def test_an_undo_in_a_hold_ends_the_childs_stop(tablet, floor_day):
    one = tablet()
    one.start_hold(HOLD, children=2)
    one.part("hurts").tap()
    one.tiles().nth(0).tap()
    expect(one.page.locator(".tile").nth(0)).to_contain_text("tap to undo")
    beat(one, 600)
    one.tiles().nth(0).tap(position={"x": 60, "y": 24})
    expect(one.page.locator(".tile").nth(0)).to_have_attribute("data-state", "run")
    beat(one, 600)
    one.finish_hold()
    one.saved(2)
    one.station(COUNT)
    expect(one.page.locator(".who-name")).to_have_text("Ada K.")
    expect(one.page.locator('.child[data-word="stopped"]')).to_have_count(0)
    assert not RestNote.objects.exists()


def test_pain_that_is_said_after_the_undo_is_over_keeps_no_score(tablet, floor_day):
    one = tablet()
    one.start_hold(HOLD, children=2)
    one.stop(0)
    beat(one, 3400)
    one.part("hurts").tap()
    one.tiles().nth(0).tap(position={"x": 60, "y": 24})
    expect(one.page.locator(".tile").nth(0)).to_contain_text("No score kept")
    one.stop(1)
    one.page.locator("dialog .chip", has_text="Ankle").first.click()
    one.page.locator("dialog [data-part=save]").click()
    one.finish_hold()
    until(lambda: Result.objects.current().filter(outcome="stopped_for_pain").exists())
    until(lambda: RestNote.objects.exists())
    assert not Result.objects.current().filter(athlete=floor_day.children[0], value__isnull=False).exists()


def test_a_station_that_changed_in_mid_day_refuses_no_pain(tablet, floor_day):
    one = tablet()
    one.station(COUNT)
    one.page.evaluate(
        """async () => {
          const { day } = await import("/static/assessments/day.js");
          Object.assign(day.data.stations[2], { variant: "gone", sides: true });
        }"""
    )
    one.part("hurts").click()
    one.page.locator("dialog .chip", has_text="Wrist").click()
    one.page.locator("dialog [data-part=save]").click()
    one.saved(1)
    assert RestNote.objects.get().areas == ["wrist"]


def test_the_lead_ends_a_stop_that_was_another_childs(tablet, floor_day, staff_page):
    one = tablet()
    one.station(COUNT)
    one.part("hurts").click()
    one.page.locator("dialog .chip", has_text="Wrist").click()
    one.page.locator("dialog [data-part=save]").click()
    one.saved(1)
    desk = staff_page(floor_day.ines)
    desk.goto(reverse("assessments:result_take_back", args=[Result.objects.get().code]))
    desk.get_by_label("Why?").fill("It was Ben who fell")
    desk.get_by_label("End the stop").check()
    desk.get_by_role("button", name="Take it back").click()
    expect(desk.locator("#messages")).to_contain_text("Done")
    assert Attendance.objects.get(athlete=floor_day.children[0]).stopped_at is None
    assert not RestNote.objects.in_force(floor_day.day.held_on).exists()
    two = tablet()
    two.station(COUNT)
    expect(two.page.locator(".who-name")).to_have_text("Ada K.")
    two.count(5)
    two.saved(1)
    assert Result.objects.current().get().value == 5


def test_a_child_who_rests_is_no_target_of_a_move_and_a_pain_may_go_to_anybody(tablet, floor_day):
    factories.RestNoteFactory(athlete=floor_day.children[1], areas=["general"])
    one = tablet()
    one.count(9)
    one.page.locator("[data-go=today]").click()
    one.page.locator("dialog [data-part=move]").click()
    targets = one.page.locator("dialog [data-part=who] .chip")
    expect(targets).to_have_count(6)
    expect(targets.first).to_contain_text("Cara M. · Tigers · ")
    expect(one.page.locator("dialog [data-part=left-out]")).to_be_visible()
    one.page.locator("dialog [data-part=cancel]").click()
    one.page.locator("dialog [data-part=close]").click()
    one.part("hurts").click()
    one.page.locator("dialog .chip", has_text="Wrist").click()
    one.page.locator("dialog [data-part=save]").click()
    one.page.locator("[data-go=today]").click()
    one.page.locator("dialog [data-part=move]").first.click()
    expect(targets).to_have_count(7)
    targets.first.click()
    one.page.locator("dialog [data-part=save]").click()
    expect(one.page.locator("#notes")).to_contain_text("was stopped by mistake")


def test_the_sync_panel_never_covers_a_running_clock(tablet):
    one = tablet()
    one.start_hold(HOLD, children=2)
    one.page.locator("#sync").click()
    expect(one.page.locator("dialog[open]")).to_have_count(0)
    expect(one.page.locator("#said")).to_contain_text("A clock is running")
    one.finish_hold()
    one.page.locator("#sync").click()
    expect(one.page.locator("dialog[open]")).to_have_count(1)
    check_law(one, made=2)
