"""The whole job as its people do it: a new club, old records in, a test day for eight, and what each of them reads.

Every step goes through the pages in Chromium; the database is only read, to see that pages and rows agree.
"""

from __future__ import annotations

import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.management import call_command
from django.urls import reverse
from playwright.sync_api import Page, expect

from assessments.models import AssessmentDay, Result
from athletes.models import Athlete, Group
from tests.browser.tablet import Tablet

WORKBOOK = Path(__file__).parent.parent / "data" / "quillbrook.xlsx"
PASSWORD = "flat backs and tall arms"
PUSH_UPS = {"Nora": 7, "Pip": 4, "Ada": 0, "Finn": 6, "Lotte": 8, "Kai": 5, "Esme": 3, "Otis": 2}


@pytest.fixture
def club(transactional_db, capsys, live_server, new_context):
    """An empty club, and its director signed in by the printed link."""
    call_command("newclub", "Quillbrook Gym", "--director", "lead@quillbrook.example")
    path = re.search(r"http://127.0.0.1:8000(/\S+)", capsys.readouterr().out).group(1)
    context = new_context(base_url=live_server.url, has_touch=True)
    page = context.new_page()
    page.goto(path)
    page.get_by_label("Your name").fill("Lea Heron")
    page.get_by_label("Choose a password").fill(PASSWORD)
    page.get_by_role("button", name="Come in").click()
    expect(page.get_by_role("heading", name="An empty gym")).to_be_visible()
    return SimpleNamespace(page=page, context=context, new_context=new_context, url=live_server.url)


def bring_in_children(page: Page) -> None:
    page.get_by_role("link", name="Bring in a list of children").click()
    page.set_input_files("input[type=file]", WORKBOOK)
    page.locator("main button.main").click()
    page.get_by_text("The day comes first").click()
    page.get_by_text("Two children").click()
    page.get_by_role("button", name="Check again").click()
    page.get_by_text("One child", exact=True).click()
    page.get_by_role("button", name=re.compile("^Add 34")).click()
    expect(page.locator("#messages")).to_contain_text("34 children")


def bring_in_past_days(page: Page) -> None:
    page.goto(reverse("assessments:results_import"))
    page.set_input_files("input[type=file]", WORKBOOK)
    page.locator("main button.main").click()
    page.get_by_text("The day comes first").click()
    page.select_option("select[name='place:Splits']", "ignore")
    page.select_option("select[name='place:Cartwheel']", "ignore")
    page.select_option("select[name='place:Beam L']", "single_leg_stance:left")
    page.get_by_role("button", name="Check again").click()
    page.get_by_text("Tried, could not", exact=True).click()
    page.get_by_role("button", name=re.compile("^Record")).click()
    expect(page.locator("#messages")).to_contain_text("results recorded")


def plan_and_open(page: Page) -> AssessmentDay:
    page.goto(reverse("assessments:day_plan"))
    for item in ("hollow_hold", "kneeling_push_ups", "hollow"):
        page.check(f"#id_item_{item}")
    page.get_by_label("Wrens").check()
    page.get_by_label(re.compile("Two adults")).check()
    page.get_by_role("button", name="Plan it").click()
    page.get_by_role("button", name="Open the day").click()
    expect(page.get_by_role("link", name="Test on this device")).to_be_visible()
    return AssessmentDay.objects.open().get()


def hold_the_day(club: SimpleNamespace, day: AssessmentDay) -> dict[str, int]:
    """Everybody is asked; two group holds, eight counts, one shape card. Returns the seconds on the tiles."""
    floor = Tablet(club.context, SimpleNamespace(day=day))
    floor.open(judge="Lea Heron")
    page = floor.page
    for _ in range(8):
        page.locator(".roll-line:not(.answered) [data-part=no]:not([aria-pressed=true])").first.tap()
    expect(page.locator(".roll-line [data-part=no][aria-pressed=true]")).to_have_count(8)
    seconds: dict[str, int] = {}
    stations = [s.inner_text().splitlines()[0] for s in page.locator(".station[data-station]").all()]
    floor.station(stations.index("Hollow hold"))
    for _ in range(2):
        floor.go()
        expect(page.locator(".tile.run")).to_have_count(4)
        page.wait_for_timeout(2300)
        for tile in range(4):
            floor.stop(tile)
            shown = page.locator(".tile").nth(tile)
            seconds[shown.locator(".name").inner_text().split()[0]] = int(
                shown.locator("[data-slot=t]").first.inner_text()
            )
        floor.look_first()
        expect(page.locator(".tile.done")).to_have_count(0)
    floor.station(stations.index("Push-ups from knees"))
    for _ in range(8):
        name = page.locator(".who-name").first.inner_text().split()[0]
        floor.tap_plus(PUSH_UPS[name])
        floor.press("go" if PUSH_UPS[name] else "could_not")
        expect(page.locator(".turn-body")).not_to_contain_text(name)
    floor.station(stations.index("Hollow"))
    for criterion in range(5):
        page.locator(".criterion").nth(criterion).locator("input[value='2']").tap()
    floor.go()
    floor.says("All 17 saved at the club")
    return seconds


def test_a_club_from_its_old_lists_to_a_family_note(club):
    page = club.page
    bring_in_children(page)
    bring_in_past_days(page)
    assert Group.objects.get(name="Wrens").athletes.count() == 8
    day = plan_and_open(page)
    seconds = hold_the_day(club, day)
    assert Result.objects.current().for_day(day).count() == 17
    page.goto(reverse("assessments:day_close", args=[day.code]))
    page.get_by_role("button", name=re.compile("Close")).first.click()
    day.refresh_from_db()
    assert day.status == "closed"

    nora = Athlete.objects.get(first_name="Nora", last_name="Finch")
    page.goto(reverse("assessments:child", args=[nora.code]))
    main = page.locator("main")
    expect(main).to_contain_text(f"{seconds['Nora']} s")
    expect(main).to_contain_text("Push-ups from knees")
    values = dict(
        Result.objects.current().for_day(day).filter(athlete=nora).values_list("measure__slug", "value")
    )
    assert values["kneeling_push_ups"] == PUSH_UPS["Nora"] and values["hollow_hold"] == seconds["Nora"]
    ada = (
        Result.objects.current()
        .for_day(day)
        .get(athlete__first_name="Ada", measure__slug="kneeling_push_ups")
    )
    assert (ada.outcome, ada.value) == ("could_not_start", 0)

    page.goto(reverse("assessments:board", args=[nora.group.code]))
    expect(page.locator("table.board tbody tr")).to_have_count(8)
    names = [row.inner_text().split()[0] for row in page.locator("table.board tbody tr").all()]
    assert names == sorted(names)
    parent_reads_the_note(club, nora)


def parent_reads_the_note(club: SimpleNamespace, nora: Athlete) -> None:
    page = club.page
    page.goto(reverse("athletes:athlete", args=[nora.code]))
    page.get_by_text("Give an adult access").click()
    page.locator("form[action*='guardians'] input[name=name]").fill("Fay Finch")
    page.locator("form[action*='guardians'] input[name=email]").fill("fay@home.example")
    page.get_by_role("button", name="Give access").click()
    link = page.locator("p.card a").inner_text()
    home = club.new_context(base_url=club.url, viewport={"width": 390, "height": 844}).new_page()
    home.goto(link)
    home.get_by_label("Choose a password").fill(PASSWORD)
    home.get_by_role("button", name="Come in").click()
    expect(home.locator("main")).not_to_contain_text("hollow")

    page.goto(reverse("assessments:family_report_list", args=[nora.code]))
    page.get_by_role("button", name=re.compile("Write")).first.click()
    page.get_by_role("button", name="Keep it and look").click()
    page.get_by_role("button", name=re.compile("Approve|Release|Show it")).first.click()
    home.goto(reverse("assessments:family"))
    expect(home.locator("main")).to_contain_text("Nora")
    shown = home.locator("main").inner_text().lower()
    for word in ("ready to try", "%", "percentile", "pip", "kai", "not yet", "benchmark"):
        assert word not in shown, word
    assert home.goto(reverse("assessments:child", args=[nora.code])).status == 403
