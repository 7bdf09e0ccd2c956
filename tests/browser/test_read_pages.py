"""The pages that are read, in real Chromium: accessible at three sizes, light and dark, empty and full."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from tests import factories
from tests.assessments.read_story import consistent, days_of, judge, score, steady_rise

LOOKS = (
    ({"width": 1180, "height": 820}, False),
    ({"width": 820, "height": 1180}, True),
    ({"width": 390, "height": 844}, False),
)
PAGES = (
    "child", "child_empty", "child_resting", "skill", "skill_decided", "board", "board_area", "board_empty", "board_print",
    "one_measure", "note_list", "note_edit", "note_staff", "family", "note_family",
)  # fmt: skip


@pytest.fixture
def story(transactional_db, cast, programme):
    """A full child, a new one, one who rests and has a long name, an empty group, a draft and a released note."""
    cast.days = days_of(cast.tigers)
    steady_rise(cast.mia, cast.days)
    score(cast.mia, cast.days[-1], "straight_hang", 45, outcome="reached_cap")
    for side, value in (("left", 9), ("right", 5)):
        score(cast.mia, cast.days[-2], "single_leg_stance", value, side=side)
        score(cast.mia, cast.days[-1], "single_leg_stance", value + 1, side=side)
    cast.rose = factories.AthleteFactory(
        first_name="Wilhelmina-Rose", last_name="Pemberton-Achterberg", group=cast.tigers
    )
    steady_rise(cast.rose, cast.days[:7])
    judge(cast.rose, cast.days[-1], "tuck", (2, None, 2, 1, 0))
    factories.RestNoteFactory(athlete=cast.rose, areas=["wrist"])
    consistent(cast.mia, "tuck_rock")
    cast.empty = factories.GroupFactory(name="Otters")
    words = {
        "title": "Mia is building strong shapes", "lead": "Mia can now keep a flat back on the mat.",
        "grew": "Longer hangs.",
        "next_step": "Next we will practise the tuck.", "home": "Be a log.", "learning": ["Candlestick"], "resting": "",
        "shape": "hollow", "shape_words": "the hollow shape",
    }  # fmt: skip
    cast.draft = factories.FamilyReportFactory(athlete=cast.mia, body=words)
    cast.note = factories.FamilyReportFactory(athlete=cast.mia, body=words, approved=True)
    return cast


def address(story, name):
    """Who opens it, and where."""
    mia, group = [story.mia.code], [story.tigers.code]
    places = {
        "child": ("child", mia, "?item=hollow_hold"),
        "child_empty": ("child", [story.tom.code], ""),
        "child_resting": ("child", [story.rose.code], "?item=hollow"),
        "skill": ("skill", [*mia, "wall_handstand"], ""),
        "skill_decided": ("skill", [*mia, "bunny_hop"], ""),
        "board": ("board", group, ""),
        "board_area": ("board", group, "?area=bars&order=test"),
        "board_empty": ("board", [story.empty.code], ""),
        "board_print": ("board_print", group, ""),
        "one_measure": ("group_progress", group, "?item=hollow_hold"),
        "note_list": ("family_report_list", mia, ""),
        "note_edit": ("family_report_edit", [story.draft.code], ""),
        "note_staff": ("family_report", [story.draft.code], ""),
        "family": ("family", [], ""),
        "note_family": ("family_report", [story.note.code], ""),
    }
    view, args, query = places[name]
    who = story.guardian if name in ("family", "note_family") else story.director
    return who, reverse(f"assessments:{view}", args=args) + query


@pytest.fixture
def reader(staff_page):
    """A page of somebody signed in, with the patience that a drawing library of 5 MB needs on a busy machine."""

    def make(user, **options):
        page = staff_page(user, **options)
        page.set_default_timeout(60_000)
        expect.set_options(timeout=30_000)
        return page

    yield make
    expect.set_options(timeout=5_000)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_accessible_fits_and_keeps_to_its_own_host(story, reader, live_server, name):
    who, url = address(story, name)
    for size, dark in LOOKS:
        page = reader(who, viewport=size, dark=dark)
        told, asked = [], []
        page.on("console", lambda message, told=told: told.append(message.text))
        page.on("request", lambda request, asked=asked: asked.append(request.url))
        assert page.goto(url).status == 200
        broken = [
            (one["id"], one["nodes"][0]["html"][:120]) for one in Axe().run(page).response["violations"]
        ]
        assert broken == [], (size, dark)
        assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth"), size
        assert [text for text in told if "Content Security Policy" in text] == []
        assert [one for one in asked if not one.startswith((live_server.url, "data:", "blob:"))] == []
        page.close()


def rgb(token):
    """#1b2330 as a browser says it."""
    return f"rgb({', '.join(str(int(token[at : at + 2], 16)) for at in (1, 3, 5))})"


def test_the_chart_is_drawn_with_the_colours_of_the_page_in_light_and_dark(story, reader):
    fills = {}
    for dark in (False, True):
        page = reader(story.coach, dark=dark)
        page.goto(address(story, "child")[1])
        points = page.locator(".chart .scatterlayer .point")
        expect(points).to_have_count(7)
        ink = page.evaluate("() => getComputedStyle(document.documentElement).getPropertyValue('--ink')")
        fills[dark] = points.last.evaluate("(one) => getComputedStyle(one).fill")
        assert fills[dark] == rgb(ink.strip())
    assert fills[False] != fills[True]


def test_t_on_the_chart_opens_the_table_of_the_same_numbers(story, reader):
    page = reader(story.coach)
    page.goto(address(story, "child")[1])
    table = page.locator("#item details.numbers")
    expect(page.locator(".chart .main-svg").first).to_be_visible()
    page.locator(".chart").focus()
    page.keyboard.press("t")
    expect(table).to_have_attribute("open", "")
    expect(table.locator("tbody tr")).to_have_count(7)
    page.keyboard.press("t")
    expect(table).not_to_have_attribute("open", "")


def test_another_measure_is_drawn_without_leaving_the_page(story, reader):
    page = reader(story.coach)
    page.goto(address(story, "child")[1])
    page.get_by_role("link", name="Straight hang from bar").click()
    expect(page.locator("#item h2")).to_have_text("Straight hang from bar")
    expect(page.locator("#item .scatterlayer .point")).to_have_count(1)
    assert "item=straight_hang" in page.url
    page.reload()
    expect(page.locator("#item h2")).to_have_text("Straight hang from bar")


def test_without_script_the_numbers_are_there(story, reader):
    page = reader(story.coach, java_script_enabled=False)
    page.goto(address(story, "child")[1])
    page.locator("#item summary").click()
    expect(page.get_by_text("23 and 35 s")).to_be_visible()
    page.get_by_role("link", name="Straight hang from bar").click()
    expect(page.locator("#item").get_by_text("First look: at least 45 s")).to_be_visible()


def test_a_family_note_reads_without_script_at_320_px(story, reader):
    page = reader(story.guardian, java_script_enabled=False, viewport={"width": 320, "height": 640})
    page.goto(address(story, "family")[1])
    page.get_by_role("link", name="Read it").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Mia is building strong shapes")
    expect(page.locator("svg.figure")).to_be_visible()


def test_the_board_keeps_names_in_view_while_it_scrolls(story, reader):
    page = reader(story.coach, viewport={"width": 820, "height": 1180})
    page.goto(address(story, "board")[1])
    board = page.get_by_role("region", name="Board of Tigers")
    board.evaluate("(box) => { box.scrollLeft = 400; }")
    name = page.get_by_role("link", name="Wilhelmina-Rose P.", exact=True)
    left, box = name.bounding_box()["x"], board.bounding_box()["x"]
    assert left >= box - 1
    expect(name).to_be_in_viewport()


def test_cells_of_the_board_are_big_enough_for_a_finger(story, reader):
    page = reader(story.coach, viewport={"width": 820, "height": 1180})
    page.goto(address(story, "board")[1])
    sizes = page.locator("a.cell").evaluate_all(
        "(all) => all.map((one) => [one.offsetWidth, one.offsetHeight])"
    )
    assert sizes and min(width for width, _ in sizes) >= 44 and min(height for _, height in sizes) >= 44


def test_deciding_with_the_keyboard_alone(story, reader):
    page = reader(story.coach)
    page.goto(reverse("assessments:skill", args=[story.mia.code, "candlestick"]))
    page.get_by_text("Start it all the same").first.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.type("Does it in class with a calm neck")
    page.keyboard.press("Enter")
    expect(page.locator("#messages")).to_contain_text("It can be taken back below.")
    expect(page.locator(".timeline li").first).to_contain_text("Does it in class with a calm neck")
    page.get_by_role("button", name="Take it back").click()
    expect(page.locator(".timeline li").first).to_contain_text("Decision taken back")
