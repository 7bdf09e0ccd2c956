"""The group board: right states, never sorted by score, the answer in words first, and who sees it."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from tests import factories
from tests.assessments.read_story import consistent, days_of, judge, score, steady_rise


@pytest.fixture
def story(cast, programme):
    """Mia has two seasons behind her, Tom one test day, Ada none."""
    cast.days = days_of(cast.tigers)
    steady_rise(cast.mia, cast.days)
    score(cast.tom, cast.days[-1], "hollow_hold", 4, variant="arms_by_side")
    cast.ada = factories.AthleteFactory(first_name="Ada", last_name="Kline", group=cast.tigers)
    cast.url = reverse("assessments:board", args=[cast.tigers.code])
    return cast


def page(client, url, **query):
    answer = client.get(url, query)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.content.decode())


def names(html):
    return re.findall(r'<th scope="row"><a href="[^"]+">([^<]+)</a>', html)


def places(html):
    """What is spoken for each place, such as 'Mia A., Tuck rock: not known'."""
    found = re.findall(r'class="cell" href="[^"]+" aria-label="([^"]+)"', html)
    return dict(one.split(": ") for one in found)


def test_each_place_says_child_skill_and_state(story, as_member):
    told = places(page(as_member(story.coach), story.url))
    assert told["Mia A., Bunny hop, weight on hands"] == "consistent"
    assert told["Mia A., Handstand facing the wall"] == "ready to try"
    assert told["Tom B., Handstand facing the wall"] == "not known"
    assert told["Ada K., Bunny hop, weight on hands"] == "not known"


def test_the_glyph_agrees_with_what_is_spoken(story, as_member):
    html = page(as_member(story.coach), story.url)
    glyphs = {"consistent": "steady", "ready to try": "ready", "not known": "unknown", "not yet": "notyet"}
    found = re.findall(r'aria-label="[^":]+: ([^"]+)"> ?<i class="block (\w+)" aria-hidden="true"', html)
    assert found and all(glyphs.get(word, word) == glyph for word, glyph in found)


def test_children_stand_in_name_order_whatever_they_scored(story, as_member):
    assert names(page(as_member(story.coach), story.url)) == ["Ada K.", "Mia A.", "Tom B."]


def test_needs_a_test_comes_from_what_is_not_known_never_from_scores(story, as_member):
    told = names(page(as_member(story.coach), story.url, order="test"))
    assert told[-1] == "Mia A."
    score(story.tom, story.days[-1], "straight_hang", 45)
    assert names(page(as_member(story.coach), story.url, order="test")) == told


def test_the_answer_in_words_comes_first(story, as_member):
    html = page(as_member(story.coach), story.url)
    assert re.search(r"\d+ places? looks? ready to try and wait", html)
    assert html.index("ready to try and wait") < html.index("<table")


def test_an_apparatus_keeps_its_own_columns(story, as_member):
    told = places(page(as_member(story.coach), story.url, area="vault"))
    assert {place.split(", ", 1)[1] for place in told} == {
        "Run, two-foot take-off, still landing", "Squat-on to a low stack",
    }  # fmt: skip


def test_resting_is_shown_and_counted(story, as_member):
    factories.RestNoteFactory(athlete=story.mia, areas=["wrist"])
    told = places(page(as_member(story.coach), story.url))
    assert told["Mia A., Handstand facing the wall"] == "resting"
    assert told["Mia A., Bunny hop, weight on hands"] == "consistent, resting now"


def test_what_fifteen_minutes_would_settle_names_test_children_and_places(story, as_member):
    for child in (story.ada, story.tom):
        judge(child, story.days[-1], "front_support", (2, 2, 2, 2, 2))
    html = page(as_member(story.coach), story.url)
    settle = re.search(r"15 minutes would settle</h2>(.*?)</section>", html).group(1)
    assert re.search(
        r"Testing <b>[^<]+</b> for .*(Ada K\.|Tom B\.).* would settle <b>\d+ places?</b>", settle
    )


def test_a_skill_that_is_consistent_holds_nobody_back(story, as_member):
    assert "decides most often" in page(as_member(story.coach), story.url)
    for child in (story.ada, story.tom, story.mia):
        for skill in _skills():
            consistent(child, skill)
    assert "decides most often" not in page(as_member(story.coach), story.url)


def _skills():
    from assessments.models import Skill

    return Skill.objects.values_list("slug", flat=True)


def test_paper_holds_the_same_states(story, as_member):
    html = page(as_member(story.coach), reverse("assessments:board_print", args=[story.tigers.code]))
    assert "Mia A." in html and "Tom B." in html
    assert html.count('aria-label="ready to try"') == list(
        places(page(as_member(story.coach), story.url)).values()
    ).count("ready to try")


def test_one_measure_shows_each_child_beside_their_own_past(story, as_member):
    url = reverse("assessments:group_progress", args=[story.tigers.code])
    html = page(as_member(story.coach), url, item="hollow_hold")
    assert "2 of 3 children have a score" in html
    assert "Fewer than five children" in html
    order = [html.index(f"<strong>{name}</strong>") for name in ("Ada K.", "Mia A.", "Tom B.")]
    assert order == sorted(order)
    assert "29 s" in html and "Not tested yet." in html


def hang(story, values, outcomes=()):
    """New children hang for so long on the newest day; `outcomes` by place, scored where nothing is said."""
    for number, value in enumerate(values):
        child = factories.AthleteFactory(first_name=f"Extra{number}", group=story.tigers)
        score(child, story.days[-1], "straight_hang", value, outcome=dict(outcomes).get(number, "scored"))


@pytest.mark.parametrize(
    ("values", "outcomes", "words"),
    [
        # By hand: of 14, 16, 18 and 20 half reach 16; who chose to stop at 5 s lowers nothing.
        ((14, 16, 18, 20, 5), {4: "chose_to_stop"}, "Half of the children hold 16 s or more; three quarters 14 s, a "
         "quarter 18 s. 1 of 5 reached the cap or chose to stop: theirs counts as ‘at least’."),
        ((14, 16, 18, 20, 22), {}, "Half of the children hold 18 s or more; three quarters 16 s, a quarter 20 s.</p>"),
        ((45, 45, 45, 20, 30), {0: "reached_cap", 1: "reached_cap", 2: "reached_cap"}, "so there is no middle. Three "
         "quarters hold 30 s or more. 3 of 5 reached the cap"),
        ((10, 20, 45, 45), {}, "Fewer than five children have a score"),
    ],
)  # fmt: skip
def test_what_half_of_a_group_reaches_is_not_lowered_by_at_least(story, as_member, values, outcomes, words):
    hang(story, values, outcomes)
    url = reverse("assessments:group_progress", args=[story.tigers.code])
    html = page(as_member(story.coach), url, item="straight_hang")
    assert words in html


def hollow(story, values, variant, *, day=-1):
    """New children hold the hollow shape in one version."""
    for value in values:
        score(
            factories.AthleteFactory(group=story.tigers),
            story.days[day],
            "hollow_hold",
            value,
            variant=variant,
        )


def spread_of(story, as_member):
    html = page(
        as_member(story.coach),
        reverse("assessments:group_progress", args=[story.tigers.code]),
        item="hollow_hold",
    )
    return re.search(r'<p class="lead">(.*?)</p>', html)[1], html


def test_the_spread_names_its_version_and_who_is_left_out(story, as_member):
    """Mia and Tom held it with their arms by the sides on the newest day, eleven days ago."""
    hollow(story, (20, 25, 30, 35, 40), "tucked")
    words, html = spread_of(story, as_member)
    assert words == (
        "Tucked: half of the 5 children hold 30 s or more; three quarters 25 s, a quarter 35 s. "
        "Left out, because another version was their last: 2 arms by the sides."
    )
    assert "<br>tucked</small>" in html and "<br>arms by the sides</small>" in html
    hollow(story, (60,), "tucked", day=3)
    assert spread_of(story, as_member)[0].endswith("1 child was last tested more than 16 weeks ago.")


def test_times_of_several_clocks_are_said_to_count_less(story, as_member):
    for value in (20, 25, 30, 35, 40):
        child = factories.AthleteFactory(group=story.tigers)
        score(child, story.days[-1], "hollow_hold", value, variant="tucked", at_once=8)
    words = spread_of(story, as_member)[0]
    assert "hold 28.1 s or more; three quarters 23.1 s" in words
    assert "Times taken with several clocks count less their mean lateness." in words


def test_too_few_in_one_version_show_no_spread(story, as_member):
    hollow(story, (20, 25, 30), "tucked")
    words, _ = spread_of(story, as_member)
    assert words == (
        "Fewer than five children have a score in one version from the last 16 weeks, so no spread is shown: "
        "it would show single children."
    )
    hollow(story, (60, 60), "tucked", day=3)
    assert spread_of(story, as_member)[0].endswith("2 children were last tested more than 16 weeks ago.")


def test_an_empty_group_says_what_to_do(cast, programme, as_member):
    empty = factories.GroupFactory(name="Otters")
    html = page(as_member(cast.director), reverse("assessments:board", args=[empty.code]))
    assert "Nobody is in this group yet" in html


@pytest.mark.parametrize(
    ("who", "status"),
    [("director", 200), ("coach", 200), ("other_coach", 404), ("guardian", 403), ("outsider", 403)],
)
def test_only_staff_of_the_group_open_it(story, as_member, who, status):
    client = as_member(getattr(story, who))
    for name in ("assessments:board", "assessments:board_print", "assessments:group_progress"):
        assert client.get(reverse(name, args=[story.tigers.code])).status_code == status


def test_queries_do_not_grow_with_children(story, as_member, django_assert_max_num_queries):
    client = as_member(story.coach)
    client.get(story.url)
    with django_assert_max_num_queries(25) as few:
        client.get(story.url)
    for number in range(6):
        child = factories.AthleteFactory(first_name=f"Extra{number}", group=story.tigers)
        score(child, story.days[-1], "hollow_hold", 10 + number, variant="arms_by_side")
    with django_assert_max_num_queries(len(few.captured_queries)):
        client.get(story.url)
