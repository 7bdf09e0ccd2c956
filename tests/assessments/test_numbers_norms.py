"""The club's own percentiles and published values: minimum counts, lower side, drafts, never a family."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from django.urls import reverse

from assessments import numbers as door
from assessments.analysis.records import Band
from assessments.models import ProgrammeEdition
from assessments.norm_pages import reference_page
from assessments.own_norms import norm_lines, reference_lines
from assessments.programme import current_programme
from tests.assessments.number_story import children_of, day_on, hand_in
from tests.factories import TODAY

JUMP = {"measure": "standing_long_jump", "variant": "", "how": "typed"}
SIX = date(2020, 5, 25)  # six and a half on the day of the test


@pytest.fixture
def club(cast, programme):
    """Twenty-one children of six and a half jump 80, 81 ... 100 cm; nineteen of seven and a half jump 100 cm."""
    cast.days = [day_on(weeks, cast.tigers, edition=programme) for weeks in (8, 0.5)]
    cast.six = children_of(cast.tigers, 21, born_on=SIX)
    cast.seven = children_of(cast.tigers, 19, born_on=SIX.replace(year=2019))
    rows = []
    for day in cast.days:
        for place, child in enumerate(cast.six):
            rows += [(day, child, JUMP | {"value": 80 + place, "trial": trial}) for trial in (1, 2, 3)]
        rows += [(day, child, JUMP | {"value": 100}) for child in cast.seven]
    hand_in(cast.director, rows)
    return cast


def lines(item, **chosen):
    return norm_lines(door.club_evidence(TODAY, items=[item]), item, **chosen)


def test_an_age_with_enough_children_has_percentiles_and_one_without_has_none(club, as_member):
    bands = {band.band: band for band in lines("standing_long_jump").norms.bands}
    assert bands["6"].children == 21 and bands["6"].enough
    # The sevens beside them pull the weighted middle up a little; it stays among the sixes.
    assert 85 < bands["6"].values[2] < 95
    assert (bands["7"].children, bands["7"].enough, bands["7"].values[2]) == (19, False, None)
    url = reverse("assessments:numbers_norms")
    page = as_member(club.director).get(url, {"item": "standing_long_jump"}).content.decode()
    assert "Standing long jump: enough children at 6 to say" in page
    assert "19 of 20 children" in page and 'id="norm-chart"' in page


def test_the_draft_changes_only_ages_with_enough_children(club, as_member):
    before = current_programme()
    as_member(club.director).post(
        reverse("assessments:numbers_norms_draft"), {"item": "standing_long_jump", "variant": ""}
    )
    row = ProgrammeEdition.objects.drafts().get().document["benchmarks"]["measures"]["standing_long_jump"]
    assert row["7"] == {"from": 85, "aim": 105}
    assert 80 <= row["6"]["from"] < row["6"]["aim"] <= 95
    assert row["support"] == "derived" and "21 children of this club" in row["note"]
    assert current_programme() is before


def test_without_enough_children_there_is_no_draft_and_the_page_says_why(club, as_member):
    client = as_member(club.director)
    answer = client.post(reverse("assessments:numbers_norms_draft"), {"item": "hollow_hold"}, follow=True)
    assert "No age band has enough children" in answer.content.decode()
    assert "Too few children" in answer.content.decode()
    assert not ProgrammeEdition.objects.drafts().exists()
    assert client.post(reverse("assessments:numbers_norms_draft"), {"item": "nothing"}).status_code == 404
    answer = as_member(club.coach).post(reverse("assessments:numbers_norms_draft"), {"item": "hollow_hold"})
    assert answer.status_code == 403


def test_of_two_sides_the_lower_one_of_the_day_counts(club):
    child = club.six[0]
    stand = {"measure": "single_leg_stance", "variant": ""}
    rows = [
        (day, child, stand | {"side": side, "value": value})
        for day in club.days
        for side, value in (("left", 9), ("right", 5))
    ]
    rows.append((club.days[1], club.six[1], stand | {"side": "left", "value": 20}))
    hand_in(club.director, rows)
    assert [value for _, value, _ in lines("single_leg_stance").points] == [5.0]


def test_versions_are_never_mixed(club):
    rows = [(day, child, {"value": 20, "variant": "tucked"}) for day in club.days for child in club.six[:3]]
    rows += [(day, club.six[3], {"value": 5, "variant": "arms_by_side"}) for day in club.days]
    hand_in(club.director, rows)
    assert lines("hollow_hold").variants == (("tucked", 3), ("arms_by_side", 1))
    assert [value for _, value, _ in lines("hollow_hold").points] == [20.0] * 3
    assert [value for _, value, _ in lines("hollow_hold", variant="arms_by_side").points] == [5.0]


def test_published_values_say_how_the_test_differed_and_wait_for_enough_children(club, as_member):
    plank = {"measure": "forearm_plank_hold", "variant": ""}
    hand_in(club.director, [(day, one, plank | {"value": 30}) for day in club.days for one in club.six])
    page = as_member(club.director).get(reverse("assessments:numbers_reference")).content.decode()
    assert "The survey had no upper limit" in page and "Boys and girls together" in page
    assert "public domain" in page
    six = page[page.index('<th scope="row">6') : page.index('<th scope="row">7')]
    # The smooth table of the survey at 6.5 years has 36 s in the middle.
    assert "36 s" in six and "30 s <small>(21 children)" in six
    # Cole & Green 1992 by hand, L 0.4212, M 35.67, S 0.8089 at 6.5 years: z = -0.206, centile 41.8.
    assert "about centile 42 of this table" in six
    assert page.count("of this table</small>") == 1, "only where there are enough children"
    assert "0 of 20 children" in page


@pytest.mark.parametrize("name", ["numbers_reference", "numbers_norms", "numbers"])
def test_neither_coach_nor_family_sees_percentiles(cast, programme, as_member, name):
    url = reverse(f"assessments:{name}")
    assert as_member(cast.director).get(url).status_code == 200
    for member in (cast.coach, cast.guardian):
        assert as_member(member).get(url).status_code == 403


def test_an_age_band_outside_a_published_table_has_no_row(club):
    """A club may have a band for any age; the survey is smooth from 3.5 to 15.5 years."""
    evidence = door.club_evidence(TODAY, items=["forearm_plank_hold"])
    bands = (Band("2", 2, 3), *evidence.programme.bands, Band("16-17", 16, 18))
    wide = replace(evidence, programme=replace(evidence.programme, bands=bands))
    (plain,), (found,) = reference_lines(evidence), reference_lines(wide)
    assert [row.band for row in found.bands] == [row.band for row in plain.bands]
    (page,) = reference_page([found])
    assert all(len(row.values) == len(page.heads) for row in page.rows)
