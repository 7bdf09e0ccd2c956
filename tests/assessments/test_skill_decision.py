"""A coach's word: taken with what was shown, taken back, refused where it does not fit, never while resting."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from assessments.models import SkillDecision
from club.models import AuditEntry
from tests import factories
from tests.assessments.read_story import days_of, score, steady_rise


@pytest.fixture
def story(cast, programme):
    """Mia looks ready for the wall handstand; Tom has a single low hold."""
    cast.days = days_of(cast.tigers)
    steady_rise(cast.mia, cast.days)
    score(cast.tom, cast.days[-1], "hollow_hold", 4, variant="arms_by_side")
    return cast


def decide(client, athlete, skill="wall_handstand", **given):
    return client.post(reverse("assessments:skill_decide", args=[athlete.code, skill]), given)


def shown(client, athlete, skill="wall_handstand"):
    return client.get(reverse("assessments:skill", args=[athlete.code, skill])).content.decode()


def made(athlete, skill="wall_handstand"):
    return list(SkillDecision.objects.filter(athlete=athlete, skill__slug=skill).in_order())


def test_agreeing_starts_the_skill_and_keeps_what_was_shown(story, as_member, programme):
    client = as_member(story.coach)
    assert decide(client, story.mia, word="agree").status_code == 302
    (kept,) = made(story.mia)
    assert (kept.word, kept.state_shown, kept.decided_by, kept.edition) == (
        "agree",
        "ready",
        story.coach,
        programme,
    )
    hollow = next(one for one in kept.inputs["requirements"] if one["item"] == "hollow_hold")
    assert (hollow["value"], hollow["minimum"], hollow["on"]) == (29.0, 15.0, "2026-11-14")
    assert hollow["probability"] > hollow["confidence"] == 0.9
    assert "learning" in shown(client, story.mia)


def test_the_page_says_what_one_day_alone_would_need(story, as_member):
    """By hand, JCGM 106: hollow hold 15 s with an error of 0.2 * 15 = 3 s at 90 %: 15 + 1.2816 * 3 = 18.8 s."""
    html = shown(as_member(story.coach), story.mia)
    assert (
        "One day alone is never enough: it needs 19 s (15 s and a margin for the test’s noise), and another day"
        in html
    )
    child = as_member(story.coach).get(reverse("assessments:child", args=[story.mia.code])).content.decode()
    assert "One day alone" not in child, "the child's page stays short"


def test_what_was_shown_stays_when_the_results_change(story, as_member):
    client = as_member(story.coach)
    decide(client, story.mia, word="agree")
    before = made(story.mia)[0].inputs
    score(story.mia, story.days[-1], "hollow_hold", 2, variant="arms_by_side", trial=2, outcome="scored")
    score(story.mia, factories.DayFactory(groups=[story.tigers]), "hollow_hold", 3, variant="arms_by_side")
    assert made(story.mia)[0].inputs == before
    assert "29 s on 14 Nov 2026" in shown(client, story.mia)


def test_the_same_word_twice_is_one_decision(story, as_member):
    client = as_member(story.coach)
    decide(client, story.mia, word="agree")
    assert decide(client, story.mia, word="agree").status_code == 302
    assert len(made(story.mia)) == 1


def test_an_override_needs_its_reason(story, as_member):
    client = as_member(story.coach)
    answer = decide(client, story.tom, word="override")
    assert answer.status_code == 422 and "Say why in a few words" in answer.content.decode()
    assert made(story.tom) == []
    decide(client, story.tom, word="override", reason="Does it at school, seen twice")
    assert [one.reason for one in made(story.tom)] == ["Does it at school, seen twice"]


def test_agreeing_is_not_offered_where_the_suggestion_is_not_ready(story, as_member):
    client = as_member(story.coach)
    assert "Agree: start it" not in shown(client, story.tom)
    assert decide(client, story.tom, word="agree").status_code == 422
    assert made(story.tom) == []


def test_consistent_needs_two_different_days_that_have_been(story, as_member):
    client = as_member(story.coach)
    decide(client, story.mia, word="agree")
    one_day = decide(client, story.mia, word="consistent", first_seen="2026-11-20", second_seen="2026-11-20")
    future = decide(client, story.mia, word="consistent", first_seen="2026-11-20", second_seen="2026-12-20")
    assert (one_day.status_code, future.status_code) == (422, 422)
    assert (
        decide(
            client, story.mia, word="consistent", first_seen="2026-11-20", second_seen="2026-11-24"
        ).status_code
        == 302
    )
    assert made(story.mia)[-1].seen_on == ["2026-11-20", "2026-11-24"]


def test_consistent_opens_what_comes_after_and_reopening_closes_it(story, as_member):
    client = as_member(story.coach)
    decide(client, story.mia, "bunny_hop", word="reopened")
    assert "Bunny hop, weight on hands comes first" in shown(client, story.mia)
    assert "Agree: start it" not in shown(client, story.mia)
    decide(
        client, story.mia, "bunny_hop", word="consistent", first_seen="2026-11-20", second_seen="2026-11-24"
    )
    assert "Agree: start it" in shown(client, story.mia)


def test_nothing_is_started_while_a_rest_note_touches_it(story, as_member):
    factories.RestNoteFactory(athlete=story.mia, areas=["wrist"])
    client = as_member(story.coach)
    html = shown(client, story.mia)
    assert "A rest note touches this skill" in html and "Start it all the same" not in html
    for word in ("agree", "override", "learning"):
        assert decide(client, story.mia, word=word, reason="All the same").status_code == 422
    assert made(story.mia) == []


def test_taking_back_keeps_both_lines_and_restores_the_word_before(story, as_member):
    client = as_member(story.coach)
    decide(client, story.mia, word="agree")
    url = reverse("assessments:decision_take_back", args=[made(story.mia)[0].code])
    assert client.post(url).status_code == 302
    assert [one.word for one in made(story.mia)] == ["agree", "withdrawn"]
    assert "Agree: start it" in shown(client, story.mia)
    client.post(url)
    assert len(made(story.mia)) == 2  # a second tap undoes nothing more


def test_only_the_newest_decision_that_stands_can_be_taken_back(story, as_member):
    client = as_member(story.coach)
    decide(client, story.mia, word="agree")
    decide(client, story.mia, word="not_yet")
    client.post(reverse("assessments:decision_take_back", args=[made(story.mia)[0].code]))
    assert [one.word for one in made(story.mia)] == ["agree", "not_yet"]
    assert shown(client, story.mia).count("Take it back") == 1


def test_not_yet_stands_until_a_newer_test_day_asks_again(story, as_member):
    client = as_member(story.coach)
    board = reverse("assessments:board", args=[story.tigers.code])
    decide(client, story.mia, word="not_yet")
    assert "Mia A., Handstand facing the wall: not yet, by the coach" in client.get(board).content.decode()
    child = client.get(reverse("assessments:child", args=[story.mia.code])).content.decode()
    assert "not yet, by the coach since" in child
    assert (
        f'id="featured"><a href="{reverse("assessments:skill", args=[story.mia.code, "wall_handstand"])}"'
        not in child
    )
    SkillDecision.objects.filter(word="not_yet").update(decided_at=factories.NOW - timedelta(days=13))
    assert "Mia A., Handstand facing the wall: ready to try" in client.get(board).content.decode()


def test_a_decision_is_written_down_without_figures(story, as_member):
    decide(as_member(story.coach), story.mia, word="agree")
    entry = AuditEntry.objects.filter(verb="decided about a skill").get()
    assert entry.subject_code == story.mia.code
    assert entry.detail == {"skill": "wall_handstand", "word": "agree"}


def test_an_unknown_skill_is_not_found(story, as_member):
    client = as_member(story.coach)
    assert client.get(reverse("assessments:skill", args=[story.mia.code, "moon_walk"])).status_code == 404
    assert decide(client, story.mia, "moon_walk", word="agree").status_code == 404


@pytest.mark.parametrize(
    ("who", "status"),
    [("director", 302), ("coach", 302), ("other_coach", 404), ("guardian", 403), ("outsider", 403)],
)
def test_only_staff_of_the_circle_decide(story, as_member, who, status):
    assert decide(as_member(getattr(story, who)), story.mia, word="agree").status_code == status
    assert len(made(story.mia)) == (1 if status == 302 else 0)


@pytest.mark.parametrize(
    ("who", "status"), [("coach", 302), ("other_coach", 404), ("guardian", 403), ("outsider", 403)]
)
def test_only_staff_of_the_circle_take_back(story, as_member, who, status):
    decide(as_member(story.coach), story.mia, word="agree")
    url = reverse("assessments:decision_take_back", args=[made(story.mia)[0].code])
    assert as_member(getattr(story, who)).post(url).status_code == status
    assert len(made(story.mia)) == (2 if status == 302 else 1)
