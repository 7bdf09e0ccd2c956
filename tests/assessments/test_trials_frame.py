"""The frame holds the entries that stand, each column as the calculation expects it."""

from __future__ import annotations

import pytest

from assessments.analysis.records import TRIALS_COLUMNS
from assessments.frames import trials_frame
from assessments.models import Result
from tests import factories


@pytest.fixture
def mia(db):
    return factories.AthleteFactory(first_name="Mia")


@pytest.fixture
def day(db):
    return factories.DayFactory()


def frame():
    return trials_frame(Result.objects.all())


def entry(athlete, day, **changes):
    return factories.ResultFactory(athlete=athlete, day=day, **changes)


def test_the_columns_are_those_of_the_calculation(mia, day):
    assert set(frame().columns) == set(TRIALS_COLUMNS)
    entry(mia, day)
    assert set(frame().columns) == set(TRIALS_COLUMNS)


def test_a_row_says_who_what_when_and_how(mia, day):
    coach = factories.UserFactory()
    entry(mia, day, variant="tucked", side="left", trial=2, at_once=4, judge=coach, form_break="low back")
    row = frame().iloc[0]
    assert {name: row[name] for name in ("athlete", "item", "series", "side", "day", "judge", "form_break")} == {
        "athlete": str(mia.code), "item": "hollow_hold", "series": "v1:tucked", "side": "left", "day": str(day.code),
        "judge": str(coach.code), "form_break": "low back",
    }  # fmt: skip
    assert (row["value"], row["trial"], row["at_once"], row["outcome"]) == (20.0, 2, 4, "scored")
    assert row["on"].date() == day.held_on
    assert (row["second"], row["familiarisation"], row["conflict"], row["levels"]) == (
        False,
        False,
        False,
        None,
    )


def test_versions_make_series_of_their_own(mia, day):
    measure = factories.MeasureFactory()
    entry(mia, day, protocol=factories.ProtocolFactory(measure=measure, version=1))
    entry(mia, day, protocol=factories.ProtocolFactory(measure=measure, version=2), trial=2)
    assert sorted(frame()["series"]) == ["v1", "v2"]


def test_a_day_of_play_is_marked(mia):
    entry(mia, factories.DayFactory(familiarisation=True))
    assert frame()["familiarisation"].tolist() == [True]


def test_a_shapes_total_is_the_sum_of_its_levels(mia, day):
    shape = factories.MeasureFactory(slug="tuck", name="Tuck", kind="shape")
    entry(mia, day, measure=shape, value=None, levels={"chin": 2, "round": 1})
    entry(mia, day, measure=shape, value=None, levels={"chin": 2, "round": None}, trial=2)
    entry(mia, day, measure=shape, value=2.0, levels={"chin": 2, "round": None}, trial=3)
    found = frame().sort_values("trial")
    assert found["value"].tolist()[0] == 3
    assert found["value"].isna().tolist() == [False, True, True]
    assert found["levels"].tolist()[0] == {"chin": 2, "round": 1}


def test_what_was_replaced_or_taken_back_is_gone(mia, day):
    first = entry(mia, day, value=9.0)
    entry(mia, day, value=12.0, replaces=first.code)
    undone = entry(mia, day, value=30.0, trial=2)
    entry(mia, day, value=None, outcome="withdrawn", trial=2, replaces=undone.code)
    assert frame()["value"].tolist() == [12.0]


def test_two_standing_entries_in_one_place_are_a_conflict(mia, day):
    for value in (9.0, 12.0):
        entry(mia, day, value=value)
    entry(mia, day, value=20.0, trial=2)
    entry(factories.AthleteFactory(), day, value=20.0)
    assert sorted(zip(frame()["value"], frame()["conflict"], strict=True)) == [
        (9.0, True), (12.0, True), (20.0, False), (20.0, False),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "other",
    [
        {"trial": 2},
        {"side": "left"},
        {"variant": "tucked"},
        {"second": True},
        {"outcome": "interrupted", "value": None},
    ],
)
def test_another_place_or_no_evidence_is_no_conflict(mia, day, other):
    entry(mia, day)
    entry(mia, day, **other)
    assert frame()["conflict"].tolist() == [False, False]


def test_the_frame_marks_what_the_results_call_contested(mia, day):
    for value in (9.0, 12.0, None):
        entry(mia, day, value=value, outcome="scored" if value else "not_attempted")
    assert int(frame()["conflict"].sum()) == Result.objects.all().contested().count() == 2


def test_the_callers_codes_are_used(mia, day):
    entry(mia, day)
    found = trials_frame(Result.objects.all(), athletes={mia.pk: "known"})
    assert found["athlete"].tolist() == ["known"]


def test_queries_do_not_grow_with_the_rows(mia, day, django_assert_num_queries):
    for number in range(1, 4):
        entry(mia, day, trial=number, judge=factories.UserFactory())
    with django_assert_num_queries(5):
        frame()


def test_many_children_are_looked_up_at_once(day, django_assert_num_queries):
    group = factories.GroupFactory()
    for number in range(501):
        entry(factories.AthleteFactory(group=group), day, seq=number)
    with django_assert_num_queries(4):
        assert len(frame()) == 501


def test_entries_that_replace_are_sought_by_what_they_replace(mia, day):
    """Sought through the day of each entry, reading a season takes minutes."""
    entry(mia, day)
    plan = Result.objects.all().current().explain().splitlines()
    assert not [line for line in plan if "U0" in line and "day_id" in line]
