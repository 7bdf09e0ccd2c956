"""The club's side changes while entries wait: restored, a child erased, a pass ended."""

from __future__ import annotations

from django.utils import timezone
from playwright.sync_api import expect

from assessments.amending import settle_refused
from assessments.models import Attendance, RefusedEntry, StationPass
from athletes.models import RestNote
from club.access import Role, Viewer
from tests import factories
from tests.browser.conftest import sign_in
from tests.browser.law import check_law, stored_ids, until


def test_f21_a_restored_server_gets_back_what_it_lacks(own_server, own_tablet, tmp_path):
    one = own_tablet
    one.open()
    one.count(4)
    one.says("All 1 saved at the club")
    own_server.manage("backup", str(tmp_path / "last-night.sqlite3"))
    one.count(6)
    one.count(8)
    one.says("All 3 saved at the club")
    own_server.kill()
    own_server.manage("restore", str(tmp_path / "last-night.sqlite3"))
    assert len(own_server.ids()) == 1
    own_server.start()
    one.page.reload()
    until(lambda: len(own_server.ids()) == 3)
    one.says("All 3 saved at the club")
    assert sorted(own_server.ids()) == sorted(one.states())
    assert set(one.states().values()) == {"stored"}


def test_f21_an_answer_that_a_restored_server_lost_is_told_again(tablet, floor_day):
    Attendance.objects.update(sore="not_asked", present=None)
    one = tablet()
    one.page.locator(".roll-line").first.locator("[data-part=yes]").click()
    one.page.locator("dialog .chip", has_text="Wrist").click()
    one.page.locator("dialog [data-part=save]").click()
    until(lambda: RestNote.objects.exists())
    one.says("Nothing entered yet")
    RestNote.objects.all().delete()  # last night's copy was put back
    Attendance.objects.update(sore="not_asked", asked_at=None, stopped_at=None)
    one.page.reload()
    until(lambda: RestNote.objects.filter(athlete=floor_day.children[0], areas=["wrist"]).exists())
    assert Attendance.objects.get(athlete=floor_day.children[0]).sore == "yes"


def test_f22_an_entry_of_an_erased_child_is_refused_with_a_reason_until_settled(tablet, floor_day):
    one = tablet()
    one.offline()
    one.count(4)
    one.count(6)
    floor_day.children[0].delete()
    one.offline(False)
    one.says("At the club 1 · needs you 1")
    one.page.locator("#sync").click()
    needs = one.page.locator("dialog [data-part=needs]")
    expect(needs).to_contain_text("This child is not known here.")
    check_law(one, made=2)
    needs.locator("[data-part=settled]").click()
    one.page.locator("dialog [data-part=close]").click()
    expect(one.page.locator("#sync-words")).not_to_contain_text("needs you")


def test_f22_an_entry_of_a_child_who_was_moved_to_another_group_is_taken_by_the_director(tablet, floor_day):
    one = tablet()
    one.offline()
    one.count(4)
    one.count(6)
    floor_day.children[0].group = factories.GroupFactory(name="Bears")
    floor_day.children[0].save()
    one.offline(False)
    one.says("At the club 1 · needs you 1")
    check_law(one, made=2)
    refused = RefusedEntry.objects.get()
    director = factories.UserFactory(role=Role.DIRECTOR)
    viewer = Viewer(today=timezone.localdate(), member=director, role=Role.DIRECTOR)
    answer = settle_refused(refused, viewer, take=True)
    assert answer is not None and answer.word == "stored"
    one.page.reload()
    one.says("All 1 saved at the club · 1 left with the club")
    assert {str(code) for code in stored_ids()} == set(one.states())
    check_law(one, made=2)


def test_f22_the_text_of_a_refused_entry_survives_a_restore(tablet, floor_day):
    one = tablet()
    one.offline()
    one.count(4)
    floor_day.children[0].delete()
    one.offline(False)
    one.says("Needs you 1")
    one.page.locator("#sync").click()
    one.page.locator("dialog [data-part=settled]").click()
    one.page.locator("dialog [data-part=close]").click()
    RefusedEntry.objects.all().delete()  # last night's copy was put back
    one.page.reload()
    until(lambda: RefusedEntry.objects.filter(entry=next(iter(one.states()))).exists())
    one.says("1 left with the club")
    check_law(one, made=1)


def test_f23_a_pass_that_was_ended_leaves_entries_readable_and_sendable(tablet, floor_day, live_server):
    one = tablet()
    one.open_worker()
    one.offline()
    one.count(4)
    one.count(6)
    StationPass.objects.update(ended_at=timezone.now())
    one.offline(False)
    one.says("Sign in to send 2")
    one.page.reload()
    one.says("Sign in to send 2")
    one.page.locator("[data-go=today]").click()
    expect(one.page.locator("dialog .today-line")).to_have_count(2)
    check_law(one, made=2)
    sign_in(one.context, live_server, floor_day.bo)
    one.page.reload()
    one.says("All 2 saved at the club")
    check_law(one, made=2)
