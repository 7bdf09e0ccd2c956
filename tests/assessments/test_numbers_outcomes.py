"""Does 'ready' mean anything: counts of what became of children, by the present rules and as it was shown."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments.models import Skill
from assessments.outcomes import outcomes
from tests import factories
from tests.assessments.number_story import children_of, day_on, hand_in, judged
from tests.factories import NOW, TODAY


@pytest.fixture
def club(cast, programme):
    """Three children hold front support long and well on two days, one holds it for 2 s."""
    cast.days = [day_on(weeks, cast.tigers, edition=programme) for weeks in (16, 14)]
    cast.strong = strong(cast, 3)
    cast.short = children_of(cast.tigers, 1)[0]
    hand_in(cast.director, [(cast.days[1], cast.short, support(2))])
    return cast


def support(value):
    return {"measure": "front_support_hold", "variant": "flat_hands", "value": value}


def strong(cast, count):
    children = children_of(cast.tigers, count)
    rows = [
        (day, child, fields)
        for child in children
        for day in cast.days
        for fields in (support(30), judged("front_support", (2, 2, 2, 2, 2), cast.coach))
    ]
    hand_in(cast.director, rows)
    return children


def say(child, word, weeks_ago, *, shown="", skill="bunny_hop"):
    return factories.SkillDecisionFactory(
        athlete=child, skill=Skill.objects.get(slug=skill), word=word, state_shown=shown,
        decided_at=NOW - timedelta(weeks=weeks_ago), reason="Seen in practice.",
    )  # fmt: skip


def counts(found):
    return {one.word: (one.consistent, one.followed, one.waiting) for one in found}


def test_children_called_ready_are_followed_for_eight_weeks(club):
    say(club.strong[0], "consistent", 8)  # six weeks after the second day
    say(club.strong[1], "consistent", 2)  # twelve weeks after: too late
    found = outcomes(TODAY)
    assert found.dates == (*(day.held_on for day in club.days), TODAY)
    consistent, followed, _ = counts(found.rules)["ready"]
    assert (consistent, followed) == (1, 3)


def test_a_skill_that_was_consistent_already_is_left_out(club):
    say(club.strong[0], "consistent", 20)
    say(club.strong[0], "consistent", 20, skill="cartwheel_step")
    assert counts(outcomes(TODAY).rules)["ready"] == (0, 2, 0)


def test_a_word_that_was_taken_back_is_no_outcome(club):
    say(club.strong[0], "consistent", 10)
    say(club.strong[0], "withdrawn", 9)
    assert counts(outcomes(TODAY).rules)["ready"] == (0, 3, 0)


def test_children_whose_weeks_are_not_over_wait(club):
    club.days.append(day_on(4, club.tigers, edition=club.days[0].edition))
    late = children_of(club.tigers, 1, joined_on=TODAY - timedelta(weeks=5))[0]
    hand_in(club.director, [(club.days[2], late, support(30))])
    rows = counts(outcomes(TODAY).rules)
    assert rows["ready"] == (0, 3, 0)
    assert rows["not_known"][2] > 20, "a newcomer's skills, four weeks after the first test day"


def test_a_child_who_left_does_not_count_as_one_who_did_not_get_it(club, as_member):
    say(club.strong[0], "consistent", 8)
    club.strong[1].left_on = TODAY - timedelta(weeks=11)  # three weeks after the second day
    club.strong[1].save()
    ready = outcomes(TODAY).rules[0]
    assert (ready.word, ready.consistent, ready.followed, ready.left) == ("ready", 1, 2, 1)
    assert ready.share == pytest.approx(1 / 2), "one of the two who were there when it came"
    page = as_member(club.director).get(reverse("assessments:numbers_outcomes")).content.decode()
    assert "1 of 2 skills of 2 children; between" in page and "1 left club" in page
    # Of three, one was there only until after another had it: 1 - 2/3 and not 1 of 2.
    say(club.strong[0], "withdrawn", 7.9)
    say(club.strong[0], "consistent", 12)
    assert outcomes(TODAY).rules[0].share == pytest.approx(1 / 3)


def test_a_leaver_is_followed_to_the_last_day_under_what_was_shown_too(club):
    say(club.strong[0], "agree", 12, shown="ready")
    say(club.strong[1], "agree", 12, shown="ready")
    say(club.strong[1], "consistent", 8)
    club.strong[0].left_on = TODAY - timedelta(weeks=10)
    club.strong[0].save()
    found = next(one for one in outcomes(TODAY).shown if one.word == "ready")
    assert (found.consistent, found.followed, found.left) == (1, 1, 1)


def test_what_was_shown_at_decisions_is_counted_apart(club, as_member):
    say(club.strong[0], "agree", 12, shown="ready")
    say(club.strong[0], "consistent", 8, shown="ready")
    say(club.short, "override", 12, shown="not_yet")
    found = outcomes(TODAY)
    assert found.decisions == 2
    assert counts(found.shown)["ready"] == (1, 1, 0) and counts(found.shown)["not_yet"] == (0, 1, 0)
    page = as_member(club.director).get(reverse("assessments:numbers_outcomes")).content.decode()
    assert "What coaches were shown when they decided" in page
    assert "1 of 3 skills of 3 children seen to the end; about 33 of 100, between 6 and 79" in page


def test_who_was_nearly_and_then_ready_got_the_skill_as_ready(club, as_member):
    """One look at the shape is not enough for a must-have: nearly on the first day, ready two weeks later."""
    say(club.strong[0], "consistent", 11)
    found = {one.word: one for one in outcomes(TODAY).rules}
    both = [word for word in ("ready", "nearly") if found[word].consistent]
    assert both == ["ready"]
    changed = [one for one in found.values() if one.moved]
    assert changed, "the second day changed what the first had said"
    page = as_member(club.director).get(reverse("assessments:numbers_outcomes")).content.decode()
    assert f"{changed[0].moved} moved on" in page and "it takes 10 different children in each" in page


def test_an_empty_club_gets_a_normal_answer_and_a_coach_may_not_look(cast, programme, as_member):
    url = reverse("assessments:numbers_outcomes")
    page = as_member(cast.director).get(url).content.decode()
    assert "Not enough followed yet" in page and "Nobody followed for 8 weeks yet" in page
    assert as_member(cast.coach).get(url).status_code == 403


def test_queries_do_not_grow_with_the_children(club):
    with CaptureQueriesContext(connection) as few:
        outcomes(TODAY)
    for child in strong(club, 6):
        say(child, "agree", 10, shown="ready")
    with CaptureQueriesContext(connection) as many:
        assert counts(outcomes(TODAY).rules)["ready"][1] == 9
    assert len(many) == len(few) <= 11
