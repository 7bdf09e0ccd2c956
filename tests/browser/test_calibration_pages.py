"""Calibration, agreement and own error in real Chromium: accessible, fitting, and done with the keyboard alone."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from club.models import Calibration
from tests import factories

LOOKS = (
    ({"width": 1180, "height": 820}, False),
    ({"width": 820, "height": 1180}, True),
    ({"width": 390, "height": 844}, False),
)


@pytest.fixture
def story(transactional_db, cast, programme):
    """Two coaches on the same ten, one of them too generous."""
    cast.ten = factories.ExampleSetFactory(title="Drawings, autumn")
    cast.close = factories.CalibrationFactory(examples=cast.ten, coach=cast.coach)
    generous = [total + 2 for total in cast.ten.agreed]
    cast.far = factories.CalibrationFactory(examples=cast.ten, coach=cast.other_coach, totals=generous)
    return cast


def places(story):
    """Where each page is."""
    return {
        name: reverse(f"assessments:{view}", args=[row.code] if row else [])
        for name, view, row in (
            ("list", "calibration_list", None),
            ("add", "examples_add", None),
            ("score", "examples_score", story.ten),
            ("close", "calibration", story.close),
            ("far", "calibration", story.far),
            ("agreement", "numbers_agreement", None),
            ("error", "numbers_error", None),
        )
    }


def sound(page, size):
    """No rule of accessibility is broken and nothing sticks out."""
    broken = [(one["id"], one["nodes"][0]["html"][:120]) for one in Axe().run(page).response["violations"]]
    assert broken == [], size
    assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth"), size


def test_every_page_is_accessible_and_fits(story, staff_page):
    for size, dark in LOOKS:
        page = staff_page(story.director, viewport=size, dark=dark)
        for url in places(story).values():
            assert page.goto(url).status == 200
            sound(page, (url, size))
        page.close()


def test_ten_totals_are_typed_and_confirmed_with_the_keyboard_alone(story, staff_page):
    """Enter goes down the column; a wrong total is named, keeps what was typed and is announced."""
    page = staff_page(story.director, viewport=LOOKS[0][0])
    page.goto(places(story)["score"])
    page.get_by_label("Coach", exact=True).select_option(label="Bo Tran")
    page.get_by_label("Example 1", exact=True).focus()
    for total in (*story.ten.agreed[:9], 66):
        page.keyboard.type(str(total))
        page.keyboard.press("Enter")
    expect(page.get_by_label("Example 10", exact=True)).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    box = page.get_by_label("Example 10", exact=True)
    expect(box).to_have_accessible_description("Example 10: between 0 and 10.")
    expect(page.get_by_role("alert")).to_contain_text("Nothing is saved yet.")
    expect(page.get_by_label("Example 9", exact=True)).to_have_value("5")
    sound(page, "errors")
    box.focus()
    box.fill("6")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_text("10 of 10 the same")).to_be_visible()
    page.get_by_role("button", name="Confirm until").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".messages")).to_contain_text("Bo Tran is calibrated.")
    assert Calibration.objects.filter(coach=story.other_coach, word="confirmed").count() == 1
