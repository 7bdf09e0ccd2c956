"""The care owed to a child on the floor: asked first, stopped for pain, resting, never another child's result."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from assessments.models import Attendance, Result
from athletes.models import RestNote
from tests import factories
from tests.browser.law import check_law, until
from tests.browser.tablet import COUNT, HOLD, JUMP, SHAPE


@pytest.fixture
def unasked(floor_day):
    Attendance.objects.update(sore="not_asked", present=None)
    return floor_day


def test_no_child_is_scored_before_the_question_is_answered(tablet, unasked):
    one = tablet()
    one.station(COUNT)
    expect(one.page.locator(".plus")).to_have_count(0)
    asking = one.page.locator(".turn-body .asking")
    expect(asking).to_contain_text("Anything sore, ill or new today?")
    asking.locator("[data-part=no]").click()
    expect(one.page.locator(".plus")).to_be_visible()
    until(lambda: Attendance.objects.filter(athlete=unasked.children[0], sore="no", present=True).exists())


def test_a_yes_stops_the_child_for_the_day_and_opens_a_rest_note(tablet, unasked):
    one = tablet()
    one.page.locator(".roll-line").first.locator("[data-part=yes]").click()
    one.page.locator("dialog [data-part=save]").click()
    expect(one.page.locator("dialog [data-part=error]")).to_be_visible()
    one.page.locator("dialog .chip", has_text="Wrist").click()
    one.page.locator("dialog [data-part=save]").click()
    until(lambda: RestNote.objects.filter(athlete=unasked.children[0], areas=["wrist"]).exists())
    one.station(COUNT)
    expect(one.page.locator('.child[data-word="stopped"]')).to_contain_text("Ada K.")


def test_pain_in_a_hold_keeps_no_score_and_asks_where_only_when_no_clock_runs(tablet, floor_day):
    one = tablet()
    one.start_hold(HOLD, children=2)
    one.part("hurts").tap()
    one.tiles().nth(0).tap()
    expect(one.page.locator(".tile").nth(0)).to_contain_text("No score kept")
    expect(one.page.locator("dialog[open]")).to_have_count(0)
    one.stop(1)
    one.page.locator("dialog .chip", has_text="Lower back").click()
    one.page.locator("dialog [data-part=save]").click()
    one.look_first()
    until(lambda: Result.objects.filter(outcome="stopped_for_pain", value=None).exists())
    until(lambda: RestNote.objects.filter(athlete=floor_day.children[0], areas=["lower_back"]).exists())
    assert Attendance.objects.get(athlete=floor_day.children[0]).stopped_at is not None
    check_law(one, made=2)


def test_a_resting_child_is_not_in_the_hold_but_may_be_counted(tablet, floor_day):
    factories.RestNoteFactory(athlete=floor_day.children[0], areas=["neck"])
    one = tablet()
    one.station(HOLD)
    expect(one.page.locator('.child[data-word="resting"]')).to_contain_text("Ada K.")
    expect(one.page.locator(".tile .name").first).to_have_text("Ben L.")
    one.station(COUNT)
    expect(one.page.locator(".who-name")).to_have_text("Ada K.")


def test_a_result_of_the_wrong_child_is_moved_with_a_reason(tablet, floor_day):
    one = tablet()
    one.count(9)
    one.says("All 1 saved at the club")
    one.page.locator("[data-go=today]").click()
    one.page.locator("dialog [data-part=move]").click()
    one.page.locator("dialog [data-part=save]").click()
    expect(one.page.locator("dialog [data-part=error]")).to_be_visible()
    one.page.locator("dialog [data-part=who] .chip", has_text="Hugo R.").click()
    one.page.locator("dialog [data-part=save]").click()
    one.says("All 3 saved at the club")
    now = Result.objects.current().get()
    assert (now.athlete, now.value) == (floor_day.children[7], 9)
    assert now.reason == "Tapped the wrong child"
    check_law(one, made=3)


def test_taking_back_adds_an_entry_and_deletes_none(tablet):
    one = tablet()
    one.count(9)
    one.page.locator("[data-go=today]").click()
    one.page.locator("dialog [data-part=back]").click()
    one.says("All 2 saved at the club")
    assert Result.objects.count() == 2
    assert not Result.objects.current().exists()


def test_the_keypad_asks_about_the_unusual_and_does_not_take_the_impossible(tablet, floor_day):
    one = tablet()
    one.station(JUMP)

    def press(keys: str) -> None:
        for key in keys:
            one.page.locator(f'[data-key="{key}"]').tap()
        one.go()

    press("999")
    expect(one.page.locator("[data-part=warn]")).to_contain_text("999 cm is not possible here")
    one.go()
    assert one.records() == []
    for _ in range(3):
        one.page.locator('[data-key="back"]').tap()
    press("12")
    expect(one.page.locator("[data-part=warn]")).to_contain_text("Is this Ada?")
    one.go()
    one.says("All 1 saved at the club")
    assert Result.objects.get().value == 12
    expect(one.page.locator("[data-slot=tries]")).to_contain_text("Second try of 3 · before: 12 cm")


def test_a_second_look_is_another_coachs_and_does_not_show_the_first(tablet, floor_day):
    one = tablet()
    one.station(SHAPE)

    def judge(level: int) -> None:
        for row in range(5):
            one.page.locator(".criterion").nth(row).locator(f'input[value="{level}"]').check(force=True)
        one.go()

    judge(2)
    expect(one.page.locator(".child").first).to_contain_text("10 of 10")
    one.part("second").click()
    one.page.locator(".child").first.click()
    expect(one.page.locator(".child").first).to_contain_text("seen once")
    judge(1)
    expect(one.page.locator(".toast")).to_contain_text("another coach's")
    one.page.select_option("#judge", label="Bo Tran")
    one.go()
    one.says("All 2 saved at the club")
    rows = Result.objects.order_by("seq").values_list("second", "judge__name")
    assert list(rows) == [(False, "Ines Marlow"), (True, "Bo Tran")]


def test_not_seen_today_is_blank_and_never_zero(tablet):
    one = tablet()
    one.station(SHAPE)
    rows = one.page.locator(".criterion")
    for row in range(4):
        rows.nth(row).locator('input[value="2"]').check(force=True)
    rows.nth(4).locator('input[value=""]').check(force=True)
    expect(one.page.locator("[data-slot=total]")).to_have_text("–")
    one.go()
    one.says("All 1 saved at the club")
    levels = Result.objects.get().levels
    assert sorted(levels.values(), key=str) == [2, 2, 2, 2, None]


def test_one_child_goes_through_all_stations_and_back(tablet, floor_day):
    one = tablet()
    one.page.locator("[data-go=child]").click()
    one.page.locator(".child", has_text="Cara M.").click()
    expect(one.page.locator(".by-child .who-name")).to_have_text("Cara M.")
    one.page.locator(".by-child .tiles .station", has_text="Heel raises, two feet").click()
    expect(one.page.locator(".child")).to_have_count(1)
    for _ in range(6):
        one.page.locator(".plus").tap()
    one.go()
    expect(one.page.locator(".by-child .who-name")).to_have_text("Cara M.")
    expect(one.page.locator(".by-child .tiles .station", has_text="Heel raises, two feet")).to_contain_text(
        "6"
    )
    one.says("All 1 saved at the club")
    assert Result.objects.get().athlete == floor_day.children[2]


def test_a_count_that_was_not_kept_yet_is_on_screen_again_after_a_crash(tablet):
    one = tablet()
    one.station(COUNT)
    for _ in range(4):
        one.page.locator(".plus").tap()
    expect(one.page.locator(".count .t")).to_contain_text("4")
    one.page.wait_for_timeout(300)
    one.page.reload()
    expect(one.page.locator(".count .t")).to_contain_text("4")
    one.page.select_option("#judge", label="Ines Marlow")
    one.go()
    one.says("All 1 saved at the club")
    assert Result.objects.get().value == 4


def test_no_result_without_somebody_who_judged(tablet):
    one = tablet(opened=False)
    one.open(judge="choose …")
    one.count(3)
    expect(one.page.locator("#said")).to_contain_text("Choose who judges")
    assert one.records() == []
