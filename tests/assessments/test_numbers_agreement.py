"""Agreement between coaches: hand-counted pairs, alarms only with enough behind them, names in order."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments.coach_agreement import agreement
from club.models import User
from tests.assessments.number_story import children_of, day_on, hand_in, judged
from tests.factories import TODAY

URL = "assessments:numbers_agreement"


@pytest.fixture
def club(cast, programme):
    cast.day_one = day_on(2, cast.tigers, edition=programme)
    cast.other_coach.calibrated_until = TODAY + timedelta(days=200)
    cast.other_coach.save()
    return cast


def look_twice(cast, children, *, day=None, gap=1, shape="hollow"):
    """Ines gives 8 of 10; Bo, blind, gives `gap` less on the last criterion."""
    rows = []
    for child in children:
        rows.append((day or cast.day_one, child, judged(shape, (2, 2, 2, 1, 1), cast.coach)))
        again = judged(shape, (2, 2, 2, 1, 1 - gap), cast.other_coach, second=True)
        rows.append((day or cast.day_one, child, again))
    hand_in(cast.director, rows)


def test_same_levels_are_counted_by_criterion_and_totals_compared(club):
    look_twice(club, children_of(club.tigers, 8), gap=1)
    look_twice(club, children_of(club.tigers, 4), gap=0)
    found = agreement(TODAY)
    hollow = next(one for one in found.shapes if one.spec.id == "hollow")
    assert {name: (one.same, one.children) for name, one in hollow.rows} == {
        "Lower back on the mat": (12, 12), "Shoulder blades clear": (12, 12), "Head in line": (12, 12),
        "Legs together, as the version asks": (12, 12), "Breathing calmly": (4, 12),
    }  # fmt: skip
    # Differences: eight of 1 and four of 0; their SD is sqrt(8/12 * 4/12 * 12/11), over sqrt(2).
    assert hollow.found.sem is not None
    assert hollow.found.sem.value == pytest.approx((8 / 12 * 4 / 12 * 12 / 11 / 2) ** 0.5)
    assert (found.looks, found.tries) == (12, 12)


def test_ten_children_raise_an_alarm_and_five_do_not(club, as_member):
    look_twice(club, children_of(club.tigers, 5))
    page = as_member(club.director).get(reverse(URL)).content.decode()
    assert "1.0 of 10 higher than others" in page
    assert "too few children to be sure" in page and "Judge together soon" not in page
    look_twice(club, children_of(club.tigers, 5))
    page = as_member(club.director).get(reverse(URL)).content.decode()
    assert "Judge together soon" in page
    assert "Ines Marlow: 1.0 of 10 higher than others" in page


def test_five_children_seen_on_two_days_are_no_ten(club, as_member):
    five = children_of(club.tigers, 5)
    look_twice(club, five)
    look_twice(club, five, day=day_on(9, club.tigers))
    page = as_member(club.director).get(reverse(URL)).content.decode()
    assert "5 children seen twice" in page and "too few children to be sure" in page
    assert "Judge together soon" not in page
    assert "10 of 10 shapes were seen by a second coach" in page and "the newest counts" in page


def test_from_ten_children_on_the_page_says_how_far_two_totals_lie_apart(club, as_member):
    look_twice(club, children_of(club.tigers, 5), gap=1)
    look_twice(club, children_of(club.tigers, 4), gap=0)
    page = as_member(club.director).get(reverse(URL)).content.decode()
    assert "19 of 20" not in page and "from 10 children on, now 9" in page and "too few</span>" in page
    look_twice(club, children_of(club.tigers, 1), gap=-1)
    page = as_member(club.director).get(reverse(URL)).content.decode()
    # Second less first: -1 five times, 0 four times, +1 once; mean -0.4, SD sqrt(4.4 / 9) = 0.70: -1.8 to +1.0.
    assert (
        "19 of 20 second looks differ from the first by −2 to +1 points (each end give or take 0.9)." in page
    )
    assert "from 10 children on" not in page
    assert "with a 90 % range" in page and "intraclass correlation (Shrout and Fleiss 1979" in page


def test_coaches_stand_by_name_whatever_their_difference(club, as_member):
    look_twice(club, children_of(club.tigers, 3))
    page = as_member(club.director).get(reverse(URL)).content.decode()
    table = page[page.index("Coaches, by name") :]
    assert table.index("Bo Tran") < table.index("Ines Marlow")
    assert "Dagny Ferris" not in table, "a director who judges nothing is not asked to be calibrated"
    assert "until 13 Jun" in table.replace("13 June", "13 Jun")
    assert "Calibration is due for Ines Marlow" in table


def test_looks_by_one_coach_alone_or_with_a_conflict_are_no_pair(club):
    alone, doubled = children_of(club.tigers, 2)
    same = judged("hollow", (2, 2, 2, 2, 2), club.coach)
    hand_in(club.director, [(club.day_one, alone, same), (club.day_one, alone, same | {"second": True})])
    look_twice(club, [doubled])
    assert agreement(TODAY).looks == 1
    from assessments.recording import record
    from tests.assessments.entry_making import entry
    from tests.conftest import viewer_of

    (answer,) = record([entry(club.day_one, doubled, **same)], viewer_of(club.director))
    assert answer.word == "conflict"
    assert agreement(TODAY).looks == 0


def test_last_years_looks_and_next_weeks_do_not_count(club):
    child = children_of(club.tigers, 1, joined_on=TODAY - timedelta(days=900))
    look_twice(club, child, day=day_on(53, club.tigers))
    assert agreement(TODAY).looks == 0
    look_twice(club, child, day=day_on(51, club.tigers))
    assert agreement(TODAY).looks == 1


def test_no_second_looks_is_a_normal_answer_and_a_coach_may_not_look(club, as_member):
    page = as_member(club.director).get(reverse(URL))
    assert "No second looks yet" in page.content.decode()
    assert as_member(club.coach).get(reverse(URL)).status_code == 403


def test_a_club_without_coaches_is_told_to_invite_them(club, as_member):
    User.objects.filter(role="coach").update(is_active=False)
    page = as_member(club.director).get(reverse(URL)).content.decode()
    assert "No coach has an account yet." in page and "calibration stands" not in page
    User.objects.filter(pk=club.other_coach.pk).update(is_active=True)
    page = as_member(club.director).get(reverse(URL)).content.decode()
    assert "No coach has an account yet." not in page and "Every coach’s calibration stands." in page


def test_queries_do_not_grow_with_the_looks(club):
    look_twice(club, children_of(club.tigers, 3))
    with CaptureQueriesContext(connection) as few:
        agreement(TODAY)
    look_twice(club, children_of(club.tigers, 9))
    with CaptureQueriesContext(connection) as many:
        assert agreement(TODAY).looks == 12
    assert len(many) == len(few) <= 8
