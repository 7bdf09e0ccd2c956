"""A test day through its pages: planned, opened, watched, closed."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from assessments.models import AssessmentDay, TabletDay
from assessments.recording import record
from tests import factories
from tests.assessments.entry_making import entry
from tests.conftest import station_viewer, viewer_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan(cast, programme):
    """What the form of a plan sends."""
    return {
        "held_on": factories.TODAY.isoformat(),
        "title": "Autumn",
        "groups": [cast.tigers.pk],
        "lead": cast.coach.pk,
        "coaches": [cast.coach.pk],
        "open_space": "on",
        "item_hollow_hold": "on",
        "variant_hollow_hold": "tucked",
        "item_standing_long_jump": "on",
        "item_hollow": "on",
    }


def page(name, *args):
    return reverse(f"assessments:{name}", args=args)


def test_a_planned_day_has_its_stations_in_a_calm_order(as_member, cast, plan):
    answer = as_member(cast.coach).post(page("day_plan"), plan)
    day = AssessmentDay.objects.get(title="Autumn")
    assert answer.url == page("day", day.code)
    assert day.status == "planned"
    assert [(s.measure.slug, s.variant) for s in day.stations.order_by("order")] == [
        ("hollow", ""),
        ("standing_long_jump", ""),
        ("hollow_hold", "tucked"),
    ]


@pytest.mark.parametrize(
    "missing", [("groups",), ("item_hollow_hold", "item_standing_long_jump", "item_hollow")]
)
def test_a_day_without_children_or_without_stations_is_not_planned(as_member, cast, plan, missing):
    for name in missing:
        del plan[name]
    assert as_member(cast.coach).post(page("day_plan"), plan).status_code == 422
    assert not AssessmentDay.objects.filter(title="Autumn").exists()


def test_a_coach_cannot_plan_a_day_of_another_group(as_member, cast, plan):
    answer = as_member(cast.coach).post(page("day_plan"), {**plan, "groups": [cast.bears.pk]})
    assert answer.status_code == 422
    assert "not one of the available choices" in answer.content.decode()


def test_changing_a_day_keeps_the_code_of_a_station_that_stays(as_member, cast, plan):
    client = as_member(cast.coach)
    client.post(page("day_plan"), plan)
    day = AssessmentDay.objects.get(title="Autumn")
    before = day.stations.get(measure__slug="hollow_hold").code
    del plan["item_hollow"]
    client.post(page("day_edit", day.code), plan)
    assert {s.measure.slug: s.code for s in day.stations.all()}.keys() == {
        "standing_long_jump",
        "hollow_hold",
    }
    assert day.stations.get(measure__slug="hollow_hold").code == before


def test_a_day_opens_on_its_day_and_not_before(as_member, cast, programme):
    client = as_member(cast.coach)
    today = factories.DayFactory(planned=True, groups=[cast.tigers])
    later = factories.DayFactory(
        planned=True, groups=[cast.tigers], held_on=factories.TODAY + timedelta(days=1)
    )
    for day in (today, later):
        client.post(page("day_open", day.code))
        day.refresh_from_db()
    assert (today.status, later.status) == ("open", "planned")
    assert today.edition == programme


def test_the_page_counts_what_is_in_beside_what_each_tablet_says(as_member, cast, programme):
    factories.StationFactory(
        day=cast.day,
        variant="arms_by_side",
        measure=factories.assessed.Measure.objects.get(slug="hollow_hold"),
    )
    record([entry(cast.day, cast.mia, seq=1)], station_viewer(cast.tablet))
    TabletDay.objects.create(day=cast.day, tablet="tablet-a", label="Blue", made=2, highest_seq=2, waiting=1)
    text = as_member(cast.coach).get(page("day", cast.day.code)).content.decode()
    assert "1 entry at the club" in text
    assert "Blue" in text and "1 waiting" in text
    assert "1 of 2" in text


def test_the_page_asks_the_same_number_of_questions_for_twice_the_children(
    as_member, cast, programme, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client = as_member(cast.coach)

    def queries():
        with CaptureQueriesContext(
            connection,
        ) as caught:
            client.get(page("day", cast.day.code))
        return len(caught)

    viewer = viewer_of(cast.coach)
    for child in [cast.mia, cast.tom]:
        record([entry(cast.day, child)], viewer)
    client.get(page("day", cast.day.code))
    before = queries()
    for _ in range(6):
        record([entry(cast.day, factories.AthleteFactory(group=cast.tigers))], viewer)
    assert queries() == before


def test_a_day_with_everything_in_closes_without_a_word(as_member, cast, programme):
    record([entry(cast.day, cast.mia, seq=1)], station_viewer(cast.tablet))
    TabletDay.objects.create(day=cast.day, tablet="tablet-a", made=1, highest_seq=1, waiting=0)
    client = as_member(cast.coach)
    assert "Everything is in" in client.get(page("day_close", cast.day.code)).content.decode()
    client.post(page("day_close", cast.day.code))
    cast.day.refresh_from_db()
    assert cast.day.status == "closed"


@pytest.mark.parametrize(
    ("made", "highest", "waiting", "words"),
    [
        (None, 0, 0, "not said yet"),
        (2, 2, 1, "still holds 1"),
        (2, 3, 0, "number 2, 3 never came"),
        (2, 1, 0, "made 2, and 1"),
    ],
)
def test_a_day_with_something_missing_asks_for_words(
    as_member, cast, programme, made, highest, waiting, words
):
    record([entry(cast.day, cast.mia, seq=1)], station_viewer(cast.tablet))
    if made is not None:
        TabletDay.objects.create(
            day=cast.day, tablet="tablet-a", made=made, highest_seq=highest, waiting=waiting
        )
    client = as_member(cast.coach)
    assert words in client.get(page("day_close", cast.day.code)).content.decode()
    assert client.post(page("day_close", cast.day.code), {"words": ""}).status_code == 422
    client.post(page("day_close", cast.day.code), {"words": "The tablet broke"})
    cast.day.refresh_from_db()
    assert (cast.day.status, cast.day.closing_words) == ("closed", "The tablet broke")


def test_a_closed_day_can_be_opened_again(as_member, cast, programme):
    client = as_member(cast.coach)
    client.post(page("day_close", cast.day.code))
    client.post(page("day_reopen", cast.day.code))
    record([entry(cast.day, cast.mia)], viewer_of(cast.coach))
    cast.day.refresh_from_db()
    assert cast.day.status == "open"
    assert not cast.day.results.get().late
