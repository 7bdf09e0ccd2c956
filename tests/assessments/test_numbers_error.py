"""The club's own error of measurement: what its repeat tests say, and that only a draft takes it over."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments import numbers as door
from assessments.models import ProgrammeEdition
from assessments.programme import current_programme, publish
from assessments.programme_file import starter
from tests import factories
from tests.assessments.number_story import children_of, day_on, hand_in
from tests.conftest import viewer_of
from tests.factories import TODAY

URL = "assessments:numbers_error"


@pytest.fixture
def club(cast, programme):
    """Sixteen Tigers held hollow twice in a week: half 18 s then 22 s, half 22 s then 18 s. Plank: fourteen."""
    cast.children = children_of(cast.tigers, 16)
    cast.days = [day_on(weeks, cast.tigers, edition=programme) for weeks in (9, 3, 2)]
    twice(cast, cast.children)
    return cast


def twice(cast, children):
    rows = []
    for place, child in enumerate(children):
        pair = (18, 22) if place % 2 else (22, 18)
        for day, value in zip(cast.days, (15, *pair), strict=True):
            rows.append((day, child, {"value": value}))
            if place < 14:
                rows.append((day, child, {"measure": "forearm_plank_hold", "variant": "", "value": value}))
    hand_in(cast.director, rows)


def test_own_noise_stands_beside_the_starters_with_its_range_and_its_children(club, as_member):
    page = as_member(club.director).get(reverse(URL)).content.decode()
    # SD of the differences (+4 and -4) / sqrt(2) = 2.92 s; the starter says 20 % of 20 s.
    assert "At 20 s: 2.9 s (between 2.3 and 4.2); the starter says 4.0." in page
    # From 16 children Student's t, 1.753 * sqrt(2) * 2.92 s; for the starter 1.645 * sqrt(2) * 4 s.
    assert "‘Really changed’ would begin at 7.2 s there; now it is 9.3 s." in page
    assert "Your own repeat tests say how noisy 1 of 31 measures and shapes are" in page
    assert "Hopkins 2000" in page


def test_fourteen_children_are_shown_and_cannot_be_taken_over(club, as_member):
    page = as_member(club.director).get(reverse(URL)).content.decode()
    assert "14 of 15 children" in page
    assert 'value="hollow_hold"' in page and 'value="forearm_plank_hold"' not in page


def test_taking_over_makes_a_draft_and_changes_nothing_that_counts(club, as_member):
    before = current_programme()
    answer = as_member(club.director).post(
        reverse("assessments:numbers_error_draft"), {"item": ["hollow_hold", "forearm_plank_hold"]}
    )
    draft = ProgrammeEdition.objects.drafts().get()
    assert as_member(club.director).get(answer.url).status_code == 200
    assert answer.url == reverse("assessments:draft", args=[draft.code])
    models = {one["id"]: one.get("error_model") for one in draft.document["measures"]["measures"]}
    assert models["hollow_hold"] == {
        "a": 1.46, "b": 0.146, "support": "derived", "note": "From repeat tests of 16 children of this club.",
        "children": 16,
    }  # fmt: skip
    assert models["forearm_plank_hold"]["support"] == "derived" and models["forearm_plank_hold"]["b"] == 0.35
    assert current_programme() is before


def test_after_taking_over_the_starter_still_stands_beside_it(club, as_member):
    """The scale speaks of the starter for ever; 'now' is what the app uses."""
    director = as_member(club.director)
    before = error_line("hollow_hold")
    director.post(reverse("assessments:numbers_error_draft"), {"item": "hollow_hold"})
    publish(ProgrammeEdition.objects.drafts().get(), viewer_of(club.director), "own repeat tests")
    after = error_line("hollow_hold")
    assert current_programme().measures["hollow_hold"].error.a == 1.46
    assert after.found.starter == before.found.starter == starter().measures["hollow_hold"].error
    assert after.found.scale == pytest.approx(before.found.scale)
    assert (before.is_own, after.is_own) == (False, True)
    page = director.get(reverse(URL)).content.decode()
    assert "the starter says 4.0. In use: 2.9 s, set by an edition of yours." in page
    assert "‘Really changed’ begins at 7.2 s there." in page


def test_holds_timed_with_eight_clocks_are_not_blamed_on_the_test(club):
    """The same values: what eight clocks add (1.91 s² a pair, by the clock model) is not the test's own noise."""
    arch = {"measure": "arch_hold", "variant": "arms_by_side", "at_once": 8}
    values = [(child, 18 + 4 * (place % 2)) for place, child in enumerate(club.children)]
    rows = [(club.days[0], child, {"value": 15, **arch}) for child, _ in values]
    rows += [(club.days[1], child, {"value": value, **arch}) for child, value in values]
    rows += [(club.days[2], child, {"value": 40 - value, **arch}) for child, value in values]
    hand_in(club.director, rows)
    alone, many = error_line("hollow_hold").found, error_line("arch_hold").found
    assert alone.sem_at is not None and many.sem_at is not None
    assert (many.children, many.sem_at[0]) == (alone.children, alone.sem_at[0]) == (16, 20)
    assert many.sem_at[1] ** 2 == pytest.approx(alone.sem_at[1] ** 2 - 0.98**2 + 0.06**2)


def test_the_page_says_whether_a_test_can_see_what_would_be_worth_having(club, as_member):
    """Sixteen newest values, half 18 and half 22: SD 2.07 s, a fifth is 0.4 s; hollow shows 9.3 s."""
    page = as_member(club.director).get(reverse(URL)).content.decode()
    assert "Two test days cannot show a change of a fifth of the spread between your children" in page
    assert "in any of 2 measures and shapes" in page
    rows = {one.spec.id: one for one in door.worthwhile_lines(door.club_evidence(TODAY))}
    hollow = rows["hollow_hold"]
    assert (hollow.children, rows["forearm_plank_hold"].children) == (16, 14)
    assert hollow.change == pytest.approx(0.2 * (16 / 15 * 4) ** 0.5)
    assert hollow.detectable == pytest.approx(9.3, abs=0.05) and not hollow.is_seen


def test_nine_children_do_not_say_what_would_be_worth_having(cast, programme, as_member):
    cast.days = [day_on(weeks, cast.tigers, edition=programme) for weeks in (9, 3, 2)]
    twice(cast, children_of(cast.tigers, 9))
    assert door.worthwhile_lines(door.club_evidence(TODAY)) == ()
    assert (
        "No measure has ten children with a result yet."
        in as_member(cast.director).get(reverse(URL)).content.decode()
    )
    twice(cast, children_of(cast.tigers, 1))
    assert [one.spec.id for one in door.worthwhile_lines(door.club_evidence(TODAY))] == [
        "hollow_hold",
        "forearm_plank_hold",
    ]


def error_line(item):
    lines = door.error_lines(door.club_evidence(TODAY, items=[item]))
    return next(one for one in lines if one.spec.id == item)


def test_nothing_ticked_makes_no_draft_and_a_coach_may_not_even_look(club, as_member):
    answer = as_member(club.director).post(reverse("assessments:numbers_error_draft"), {}, follow=True)
    assert "Not enough children were measured twice" in answer.content.decode()
    for method, name in (("get", URL), ("post", "assessments:numbers_error_draft")):
        answer = getattr(as_member(club.coach), method)(reverse(name), {"item": "hollow_hold"})
        assert answer.status_code == 403
    assert not ProgrammeEdition.objects.drafts().exists()


def test_an_empty_club_is_told_what_to_do(cast, programme, as_member):
    page = as_member(cast.director).get(reverse(URL)).content.decode()
    assert "Every error is still the starter’s." in page
    assert "15 children need two test days of the same measure within two weeks" in page
    assert "Make a draft" not in page


def test_older_protocols_and_what_is_only_at_least_do_not_enter(club):
    evidence = door.club_evidence(TODAY, items=["hollow_hold"])
    line = next(one for one in door.error_lines(evidence) if one.spec.id == "hollow_hold")
    assert line.found.children == 16
    child = factories.AthleteFactory(group=club.tigers)
    hand_in(
        club.director,
        [(day, child, {"value": 60, "outcome": "reached_cap"}) for day in club.days],
    )
    evidence = door.club_evidence(TODAY, items=["hollow_hold"])
    line = next(one for one in door.error_lines(evidence) if one.spec.id == "hollow_hold")
    assert line.found.children == 16


def test_queries_do_not_grow_with_the_children(club):
    with CaptureQueriesContext(connection) as few:
        door.error_lines(door.club_evidence(TODAY))
    twice(club, children_of(club.tigers, 16))
    with CaptureQueriesContext(connection) as many:
        lines = door.error_lines(door.club_evidence(viewer_of(club.director).today))
    assert {line.spec.id: line.found.children for line in lines}["hollow_hold"] == 32
    assert len(many) == len(few) <= 10


def test_retests_that_look_like_confirmations_are_shown_and_not_offered(club, as_member):
    """Sixteen children with a good day and a plainer one a week later: 22 s or 28 s, then 18 s."""
    arch = {"measure": "arch_hold", "variant": "arms_by_side"}
    values = [(child, 22 + 6 * (place % 2)) for place, child in enumerate(club.children)]
    rows = [(club.days[0], child, {"value": 15, **arch}) for child, _ in values]
    rows += [(club.days[1], child, {"value": value, **arch}) for child, value in values]
    rows += [(club.days[2], child, {"value": 18, **arch}) for child, value in values]
    hand_in(club.director, rows)
    line = error_line("arch_hold")
    assert line.found.enough and line.found.confirming and not line.may_be_taken
    page = as_member(club.director).get(reverse(URL)).content.decode()
    assert "these look like confirmations asked for after a good day" in page
    assert 'value="arch_hold"' not in page and "16 of 15 children" not in page
    assert "how noisy 1 of 31 measures and shapes are" in page
    answer = as_member(club.director).post(
        reverse("assessments:numbers_error_draft"), {"item": ["arch_hold"]}, follow=True
    )
    assert not ProgrammeEdition.objects.drafts().exists()
    assert "or only after a good day" in answer.content.decode()
