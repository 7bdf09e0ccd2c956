"""The skill map in Chromium: moved and brought nearer by touch, by keys and by buttons, and a box still opens."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from assessments.programme import load
from club.access import Role
from tests import factories


@pytest.fixture
def director(transactional_db):
    load()
    factories.ClubProfileFactory()
    return factories.UserFactory(name="Dagny Ferris", role=Role.DIRECTOR)


@pytest.fixture
def tablet_map(staff_page, director):
    """The map on a tablet with touch."""
    page = staff_page(director, has_touch=True)
    complaints = []
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.goto("/programme/map/")
    expect(page.locator(".skillmap.live")).to_be_visible()
    yield page
    assert complaints == []


def view(page):
    """The visible part: x, y, width, height."""
    written = page.locator(".skillmap svg").get_attribute("viewBox")
    return [float(number) for number in re.findall(r"-?[\d.]+", written)]


def fingers(page, *moves, steps=6):
    """Fingers that go down, wander and come up again, as the touch screen reports them."""
    session = page.context.new_cdp_session(page)
    for step in range(steps + 1):
        points = [
            {"x": x + (to_x - x) * step / steps, "y": y + (to_y - y) * step / steps, "id": number}
            for number, ((x, y), (to_x, to_y)) in enumerate(moves)
        ]
        kind = "touchStart" if step == 0 else "touchMove"
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    # The fingers rest before they lift: lifted while moving they would fling, and the browser eats the next tap.
    page.wait_for_timeout(250)
    session.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": points})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def middle(page):
    page.locator(".skillmap .sheet").scroll_into_view_if_needed()
    box = page.locator(".skillmap .sheet").bounding_box()
    return box["x"] + box["width"] / 2, min(box["y"] + box["height"] / 2, 640)


def test_one_finger_moves_the_map(tablet_map):
    x, y = middle(tablet_map)
    before = view(tablet_map)
    fingers(tablet_map, ((x, y), (x, y - 150)))
    after = view(tablet_map)
    assert after[1] == pytest.approx(before[1] + 150 * before[2] / 1120, abs=25)
    assert after[2] == before[2]


def test_two_fingers_bring_it_nearer_and_further_away(tablet_map):
    x, y = middle(tablet_map)
    whole = view(tablet_map)
    fingers(tablet_map, ((x - 60, y), (x - 180, y)), ((x + 60, y), (x + 180, y)))
    near = view(tablet_map)
    assert near[2] < whole[2] * 0.6
    fingers(tablet_map, ((x - 180, y), (x - 60, y)), ((x + 180, y), (x + 60, y)))
    assert view(tablet_map)[2] > near[2] * 1.6


def test_a_drag_opens_nothing_and_a_tap_opens_the_skill(tablet_map):
    box = tablet_map.locator('[data-skill="wall_handstand"] .box').bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    fingers(tablet_map, ((x, y), (x, y + 90)))
    expect(tablet_map).to_have_url(re.compile(r"/programme/map/$"))
    tablet_map.locator('[data-skill="wall_handstand"]').tap()
    expect(tablet_map).to_have_url(re.compile(r"/programme/skills/wall_handstand/$"))


def test_keys_and_buttons_do_what_fingers_do(tablet_map):
    sheet = tablet_map.locator(".skillmap .sheet")
    sheet.focus()
    start = view(tablet_map)
    tablet_map.keyboard.press("+")
    near = view(tablet_map)
    assert near[2] < start[2]
    tablet_map.keyboard.press("ArrowRight")
    assert view(tablet_map)[0] > near[0]
    tablet_map.keyboard.press("0")
    assert view(tablet_map)[2] >= start[2]
    tablet_map.get_by_role("button", name="Nearer").tap()
    tablet_map.get_by_role("button", name="Move down").tap()
    moved = view(tablet_map)
    tablet_map.get_by_role("button", name="Whole map").tap()
    assert view(tablet_map)[2] > moved[2]


def test_the_map_never_leaves_its_frame(tablet_map):
    sheet = tablet_map.locator(".skillmap .sheet")
    sheet.focus()
    whole = [float(tablet_map.locator(".skillmap svg").get_attribute(name)) for name in ("width", "height")]
    for key in ("ArrowRight", "ArrowDown"):
        for _ in range(15):
            tablet_map.keyboard.press(key)
    x, y, width, height = view(tablet_map)
    assert x + width <= whole[0] + 1
    assert y + height <= whole[1] + 1


def test_tabbing_brings_the_skill_in_focus_into_view(tablet_map):
    for _ in range(3):
        tablet_map.get_by_role("button", name="Nearer").tap()
    tablet_map.locator('[data-skill="squat_on"]').focus()
    box = tablet_map.locator('[data-skill="squat_on"] .box').bounding_box()
    sheet = tablet_map.locator(".skillmap .sheet").bounding_box()
    assert sheet["x"] <= box["x"] and box["x"] + box["width"] <= sheet["x"] + sheet["width"]
    assert sheet["y"] <= box["y"] and box["y"] + box["height"] <= sheet["y"] + sheet["height"]


def test_without_script_the_map_and_the_list_are_there(new_context, live_server, director):
    from tests.browser.conftest import sign_in

    context = new_context(base_url=live_server.url, java_script_enabled=False)
    sign_in(context, live_server, director)
    page = context.new_page()
    page.goto("/programme/map/")
    expect(page.locator(".node")).to_have_count(26)
    expect(page.locator(".skillmap .controls")).to_be_hidden()
    expect(page.get_by_role("table")).to_contain_text("Handstand facing the wall")
