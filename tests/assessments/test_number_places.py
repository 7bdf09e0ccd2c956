"""Every page with a number leads to its place in the guide: formula, source and limits. Families get none of it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.urls import reverse

from assessments import family_reports
from assessments.analysis import level_on
from assessments.analysis.clocks import CLOCK_BIAS, CLOCK_SD, CLOCKS
from assessments.analysis.conformity import z_for
from assessments.reports import athlete_report
from tests.assessments.number_story import day_on, hand_in
from tests.assessments.read_story import consistent, days_of, score, steady_rise
from tests.conftest import viewer_of
from tests.factories import TODAY

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
GUIDE = "/guide/numbers/"


@pytest.fixture
def story(cast, programme):
    """Mia has two seasons behind her, both sides of the one-leg stand and a decision with what was shown."""
    cast.days = days_of(cast.tigers)
    steady_rise(cast.mia, cast.days)
    for side, value in (("left", 12), ("right", 11)):
        score(cast.mia, cast.days[-1], "single_leg_stance", value, side=side)
    return cast


@pytest.fixture
def guide(story, as_member):
    """The guide as a coach reads it."""
    return as_member(story.coach).get(reverse("club:guide_page", args=["numbers"])).content.decode()


def places(html):
    """Anchors of the guide that a page leads to."""
    assert reverse("club:guide_page", args=["numbers"]) == GUIDE
    return set(re.findall(rf'href="{GUIDE}#([^"]+)"', html))


def ids(html):
    return re.findall(r'\bid="([^"]+)"', html)


def test_every_link_of_every_template_points_at_a_place_that_is_there(guide):
    linked = {
        anchor
        for path in TEMPLATES.rglob("*.html")
        for anchor in re.findall(r'_how\.html" with to="([^"]+)"', path.read_text())
    }
    assert len(linked) >= 12
    assert linked <= set(ids(guide))
    assert {"agreement", "error"} <= set(ids(guide))


def test_the_contents_list_each_part_once_and_in_order(guide):
    parts = re.findall(r'<h2 id="([^"]+)"', guide)
    assert re.findall(r'<a href="#([^"]+)">', guide.split("</nav>")[2]) == parts
    assert len(ids(guide)) == len(set(ids(guide)))


def test_each_part_says_formula_source_and_limits(guide):
    without_formula = {"benchmarks"}
    for part in re.findall(r'<section class="section explain".*?</section>', guide, re.S):
        name = re.search(r'<h2 id="([^"]+)"', part).group(1)
        assert "<b>Source.</b>" in part or name == "doses", name
        assert "<b>Limits.</b>" in part, name
        assert ('class="formula"' in part) is (name not in without_formula), name
    assert "Common practice, no source" in guide and "Not validated on film" in guide


def pages(story):
    """Address of each page, with the places that it must lead to."""
    group, mia = story.tigers.code, story.mia.code
    skill = [mia, "wall_handstand"]
    return {
        f"{reverse('assessments:child', args=[mia])}?item=single_leg_stance": {
            "change", "noise", "sides", "states", "requirement",
        },
        reverse("assessments:child_summary", args=[mia]): {"change"},
        reverse("assessments:skill", args=skill): {"requirement", "joint"},
        reverse("assessments:board", args=[group]): {"board"},
        reverse("assessments:group_progress", args=[group]): {"group"},
        reverse("assessments:block_plan", args=[group]): {"doses"},
        reverse("assessments:result_list", args=[story.days[-1].code]): {"tap"},
        reverse("assessments:programme_item", args=["hollow_hold"]): {"error"},
        reverse("assessments:programme_skill", args=["wall_handstand"]): {"requirement"},
    }  # fmt: skip


def test_pages_for_coaches_lead_to_their_places(story, guide, as_member):
    client = as_member(story.coach)
    for url, wanted in pages(story).items():
        found = places(client.get(url).content.decode())
        assert wanted <= found <= set(ids(guide)), url


def test_pages_for_the_director_lead_to_their_places(story, guide, as_member):
    client = as_member(story.director)
    for name, wanted in {
        "numbers_reference": {"percentiles"}, "numbers_norms": {"norms"}, "numbers_outcomes": {"outcomes"},
        "numbers_forecasts": {"kept", "forecast"}, "numbers_error": {"error"},
        "numbers_agreement": {"agreement"}, "calibration_list": {"calibration"},
    }.items():  # fmt: skip
        found = places(client.get(reverse(f"assessments:{name}")).content.decode())
        assert wanted <= found <= set(ids(guide)), name


def test_a_decision_leads_to_how_sure_what_was_shown_was(story, as_member):
    client = as_member(story.coach)
    url = reverse("assessments:skill_decide", args=[story.mia.code, "wall_handstand"])
    html = client.post(url, {"word": "agree"}, follow=True).content.decode()
    shown = html[html.index("What was shown then") :]
    assert "requirement" in places(shown)


def test_forecasts_lead_to_their_place(story, as_member):
    hand_in(story.director, [(day_on(0, story.tigers), story.tom, {"value": 5})])
    url = reverse("assessments:skill_forecast", args=[story.tom.code, "wall_handstand"])
    assert places(as_member(story.coach).get(url).content.decode()) == {"forecast"}


def test_families_are_led_nowhere_and_may_not_read_the_guide(story, as_member):
    note = family_reports.write(
        story.mia, report=athlete_report(story.mia, TODAY), viewer=viewer_of(story.coach)
    )
    family_reports.approve(note, viewer=viewer_of(story.coach))
    consistent(story.mia, "bunny_hop")
    client = as_member(story.guardian)
    for url in ("/", reverse("assessments:family_report", args=[note.code])):
        html = client.get(url, follow=True).content.decode()
        assert "How this is worked out" not in html and not places(html)
        assert not re.search(r"percentile|\d %|SEM", html)
    assert client.get(reverse("club:guide_page", args=["numbers"])).status_code == 403


def test_the_table_of_clocks_holds_the_numbers_that_are_used(guide):
    table = guide[guide.index('id="clock-table"') :].split("</table>")[0]
    rows = re.findall(
        r'<th scope="row">(\d)[^<]*</th><td class="num">([\d.]+) s</td><td class="num">([\d.]+)', table
    )
    assert [tuple(map(float, row)) for row in rows] == list(zip(CLOCKS, CLOCK_BIAS, CLOCK_SD, strict=True))


def test_the_worked_numbers_of_the_guide_are_what_the_app_works_out(guide):
    found = level_on([0, 8], [20, 26], 5.0, 8)
    assert (found.mean, found.variance) == pytest.approx((23.75, 15.625))
    assert "the level is 23.75 s with an error of √15.625 = 4.0 s" in guide
    words = ", ".join(f"{z_for(c):.3f}" for c in (0.75, 0.85, 0.90))
    assert words == "0.674, 1.036, 1.282"
    assert "z = 0.674 for c = 75 %, 1.036 for 85 %, 1.282 for 90 %" in guide
