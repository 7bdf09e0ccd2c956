"""A child's page: the right answers from known results, words first, and who is turned away."""

from __future__ import annotations

import json
import re

import pytest
from django.urls import reverse

from assessments.models import Measure
from club.models import AuditEntry
from tests import factories
from tests.assessments.read_story import DAYS, days_of, judge, score, steady_rise


@pytest.fixture
def story(cast, programme):
    """Mia has two seasons behind her; she turned six on 14 March."""
    cast.days = days_of(cast.tigers)
    steady_rise(cast.mia, cast.days)
    cast.url = reverse("assessments:child", args=[cast.mia.code])
    return cast


def page(client, url, **query):
    answer = client.get(url, query)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.content.decode())


def drawn(html, item):
    found = re.search(rf'<script id="chart-{item}" type="application/json">(.*?)</script>', html)
    assert found, "no chart in the page"
    return json.loads(found.group(1))


def test_the_chart_holds_every_scored_day_and_the_zones_of_both_bands(story, as_member):
    chart = drawn(page(as_member(story.coach), story.url, item="hollow_hold"), "hollow_hold")
    points = [pair for trace in chart["data"] for pair in zip(trace["x"], trace["y"], strict=True)]
    assert points == [
        (on.isoformat(), value) for on, value in zip(DAYS, (7, 9, 12, 15, 22, 27, 29), strict=True)
    ]
    notes = [one["text"] for one in chart["layout"]["annotations"]]
    assert {"turned 6", "first look", "29 s"} <= set(notes)


def test_the_sentence_comes_before_the_chart_script_and_says_what_chance_could_do(story, as_member):
    html = page(as_member(story.coach), story.url, item="hollow_hold")
    assert (
        "About the same as on 15 Oct 2026: 29 s now, 27 s then. Up to 13 s either way could be chance."
        in html
    )
    assert html.index("About the same as on 15 Oct") < html.index("plotly.min.js")


def test_the_table_holds_the_same_numbers_newest_first(story, as_member):
    html = page(as_member(story.coach), story.url, item="hollow_hold")
    table = re.search(r"<table class=\"table\">.*?</table>", html).group(0)
    assert re.findall(r'<td class="num">(\d+) s</td>', table) == ["29", "27", "22", "15", "12", "9", "7"]
    assert "23 and 35 s" in table
    assert "first look" in table


def test_a_try_that_was_interrupted_says_why_beside_its_day(story, as_member):
    day, why = story.days[-1], "Interrupted: the page was hidden"
    facts = {"variant": "arms_by_side", "outcome": "interrupted", "reason": why}
    score(story.mia, day, "hollow_hold", None, trial=2, **facts)
    html = page(as_member(story.coach), story.url, item="hollow_hold")
    assert html.count("one try interrupted: the page was hidden") == 1, (
        "hold two tries, and only one was scored"
    )
    score(story.mia, day, "hollow_hold", 25, variant="arms_by_side", trial=3)
    score(story.mia, story.days[0], "hollow_hold", None, trial=2, **facts | {"variant": "tucked"})
    html = page(as_member(story.coach), story.url, item="hollow_hold")
    assert html.count("one try repeated: the page was hidden") == 1 and "tucked" not in html
    results = page(as_member(story.coach), reverse("assessments:result_list", args=[day.code]))
    assert "interrupted <br><small>Interrupted: the page was hidden</small>" in results


def test_what_broke_first_is_counted(story, as_member):
    html = page(as_member(story.coach), story.url, item="hollow_hold")
    assert "head dropped back, 7 of 7 times" in html


def test_the_skill_that_is_ready_stands_in_front_with_its_reasons(story, as_member):
    html = page(as_member(story.coach), story.url)
    featured = re.search(r'aria-labelledby="featured">.*?</section>', html).group(0)
    assert "Agree: start it" in featured or "nearly" in featured
    assert re.search(r"\d+ %", featured)
    assert "decides" in featured


def test_shapes_show_criteria_total_and_what_comes_next(story, as_member):
    html = page(as_member(story.coach), story.url)
    shape = re.search(r'<article class="card" aria-label="Hollow, 9 of 10">.*?</article>', html).group(0)
    assert 'class="f"' in shape and 'class="h"' in shape and "<svg" in shape
    assert "Lower back on the mat on their own. Next: head in line." in shape


def test_at_least_sides_and_unseen_criteria_are_said(story, as_member):
    day = story.days[-1]
    score(story.mia, day, "straight_hang", 45, outcome="reached_cap")
    score(story.mia, day, "single_leg_stance", 20, side="left")
    score(story.mia, day, "single_leg_stance", 18, side="right")
    judge(story.mia, day, "tuck", (2, None, 2, 1, 1))
    client = as_member(story.coach)
    assert "at least 45 s" in page(client, story.url, item="straight_hang")
    assert "no difference beyond the test’s own noise" in page(client, story.url, item="single_leg_stance")


def test_variants_are_never_one_line(story, as_member):
    score(story.mia, story.days[-1], "hollow_hold", 15, variant="full_arms_overhead")
    chart = drawn(page(as_member(story.coach), story.url, item="hollow_hold"), "hollow_hold")
    assert max(len(trace["x"]) for trace in chart["data"]) == 6
    assert [trace["y"] for trace in chart["data"] if trace["x"] == ["2026-11-14"]] == [[15.0]]


def test_resting_is_said_at_the_top_and_nothing_is_offered(story, as_member):
    factories.RestNoteFactory(athlete=story.mia, areas=["general"], note="Feverish since Tuesday")
    html = page(as_member(story.coach), story.url)
    assert "Resting." in html
    assert "Agree: start it" not in html
    assert "Feverish" not in html


def test_a_child_without_results_gets_an_empty_page_that_says_what_to_do(story, as_member):
    html = page(as_member(story.coach), reverse("assessments:child", args=[story.tom.code]))
    assert "No test day yet" in html
    assert "plotly" not in html.split("</head>")[1]


def test_htmx_gets_the_drawn_measure_alone(story, as_member):
    answer = as_member(story.coach).get(
        story.url, {"item": "front_support_hold"}, headers={"HX-Request": "true"}
    )
    html = answer.content.decode()
    assert html.strip().startswith("<section") and "chart-front_support_hold" in html
    assert "<nav" not in html


def test_opening_the_page_is_written_down_without_scores(story, as_member):
    page(as_member(story.coach), story.url)
    entry = AuditEntry.objects.latest("pk")
    assert (entry.verb, entry.subject_code) == ("opened a child's progress", story.mia.code)
    assert entry.detail == {}


def test_the_page_stays_under_its_weight(story, as_member):
    for measure in Measure.objects.exclude(kind="shape"):
        score(story.mia, story.days[-2], measure.slug, 5)
    assert len(as_member(story.coach).get(story.url).content) <= 100_000


@pytest.mark.parametrize(
    ("who", "status"),
    [("director", 200), ("coach", 200), ("other_coach", 404), ("guardian", 403), ("outsider", 403)],
)
def test_only_staff_of_the_circle_open_it(story, as_member, who, status):
    client = as_member(getattr(story, who))
    for name in ("assessments:child", "assessments:child_summary"):
        assert client.get(reverse(name, args=[story.mia.code])).status_code == status
    assert (
        client.get(reverse("assessments:skill", args=[story.mia.code, "wall_handstand"])).status_code
        == status
    )


def test_queries_do_not_grow_with_days(story, as_member, django_assert_max_num_queries):
    client = as_member(story.coach)
    client.get(story.url)
    with django_assert_max_num_queries(25) as few:
        client.get(story.url)
    for day in days_of(story.tigers, DAYS[:4]):
        score(story.mia, day, "straight_hang", 20)
    with django_assert_max_num_queries(len(few.captured_queries)):
        client.get(story.url)
