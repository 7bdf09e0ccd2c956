"""What the three reports say, and that their queries do not grow with the children."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from assessments.models import Measure, Protocol, Skill
from assessments.reports import athlete_report, day_sheet, group_report
from athletes.models import Athlete
from tests import factories
from tests.factories import TODAY

EARLIER = TODAY - timedelta(weeks=2)


@pytest.fixture
def club(cast, programme):
    """Mia has two good days in front support and its shape, Tom one short day, both in the Tigers."""
    days = [
        factories.DayFactory(held_on=held_on, groups=[cast.tigers], edition=programme)
        for held_on in (EARLIER, TODAY)
    ]
    for day in days:
        score(cast.mia, "front_support_hold", 30.0, day=day, variant="flat_hands")
        score(cast.mia, "front_support", None, day=day, levels=dict.fromkeys(criteria("front_support"), 2))
    score(cast.tom, "front_support_hold", 2.0, day=days[1], variant="flat_hands")
    cast.days = days
    return cast


def criteria(shape):
    from assessments.programme import current_programme

    return [criterion.id for criterion in current_programme().shapes[shape].criteria]


def score(athlete, item, value, *, day, **changes):
    measure = Measure.objects.get(slug=item)
    protocol = Protocol.objects.get(measure=measure)
    return factories.ResultFactory(
        athlete=athlete, measure=measure, protocol=protocol, value=value, day=day, **changes
    )


def test_a_child_with_good_days_is_ready_and_the_report_says_why(club):
    report = athlete_report(club.mia, TODAY)
    state = report.skill("bunny_hop")
    assert state.word == "ready"
    assert [one.word for one in state.requirements] == ["met", "met"]
    assert "30 s on 25 Nov 2026" in state.requirements[0].reason
    assert report.child.name == "Mia A."
    assert [one.series for one in report.of("front_support_hold")] == ["v1:flat_hands"]
    assert report.steps["front_support_hold"][0].begins_on == date(2024, 3, 14)


def test_the_board_and_the_child_page_say_the_same(club):
    board = group_report(Athlete.objects.filter(group=club.tigers), TODAY)
    for athlete in (club.mia, club.tom):
        alone = athlete_report(athlete, TODAY)
        assert tuple(board.state(str(athlete.code), one.skill) for one in alone.skills) == alone.skills
        assert [board.word(str(athlete.code), one.skill) for one in alone.skills] == [
            one.word for one in alone.skills
        ]


def test_children_stand_in_name_order_whatever_their_scores(club):
    board = group_report(Athlete.objects.order_by("-first_name"), TODAY)
    assert [child.name for child in board.children] == ["Bea C.", "Mia A.", "Tom B."]


def test_the_report_reads_the_past_as_it_was_known(club):
    report = athlete_report(club.mia, EARLIER)
    assert [len(one.days) for one in report.of("front_support_hold")] == [1]
    assert report.skill("bunny_hop").word == "nearly", "the must-have was seen on one day only"


def test_a_rest_note_outranks_every_score_and_its_end_asks_for_a_new_test(club):
    note = factories.RestNoteFactory(athlete=club.mia, areas=["wrist"], opened_on=TODAY)
    assert athlete_report(club.mia, TODAY).skill("bunny_hop").word == "resting"
    assert athlete_report(club.mia, TODAY).child.resting == ("wrist",)
    note.ended_on, note.ended_ground, note.ended_adult = TODAY + timedelta(days=3), "no_symptoms", "A parent"
    note.save()
    after = athlete_report(club.mia, TODAY + timedelta(days=4)).skill("bunny_hop")
    assert after.word == "not_known"
    assert "before the rest that ended on 28 Nov 2026" in after.requirements[0].reason


def test_the_coachs_word_stands_beside_the_suggestion(club):
    skill = Skill.objects.get(slug="bunny_hop")
    at = datetime(2026, 11, 24, 12, tzinfo=UTC)
    factories.SkillDecisionFactory(athlete=club.mia, skill=skill, word="consistent", decided_at=at)
    report = athlete_report(club.mia, TODAY)
    assert (report.skill("bunny_hop").coach_word, report.skill("bunny_hop").coach_since) == (
        "consistent",
        date(2026, 11, 24),
    )
    assert [one.label for one in report.decisions_on("bunny_hop")] == ["Consistent"]
    assert athlete_report(club.mia, EARLIER).skill("bunny_hop").coach_word == ""
    board = group_report([club.mia], TODAY)
    assert board.coach_word(str(club.mia.code), "bunny_hop") == "consistent"


def test_a_corrected_entry_counts_once_and_a_conflict_not_at_all(club):
    first = score(club.bea, "front_support_hold", 9.0, day=club.days[1], variant="flat_hands")
    score(club.bea, "front_support_hold", 12.0, day=club.days[1], variant="flat_hands", replaces=first.code)
    (series,) = athlete_report(club.bea, TODAY).of("front_support_hold")
    assert [day.value for day in series.days] == [12.0]
    score(club.bea, "front_support_hold", 20.0, day=club.days[1], variant="flat_hands", tablet="tablet-b")
    assert athlete_report(club.bea, TODAY).of("front_support_hold") == ()


def test_the_board_names_what_decides_and_when_a_child_was_last_seen(club):
    board = group_report([club.mia, club.tom], TODAY)
    assert board.deciding(str(club.tom.code), "bunny_hop") == "front_support"
    assert board.last_on(str(club.tom.code)) == TODAY
    assert board.coach_word(str(club.tom.code), "bunny_hop") == ""
    early = group_report([club.mia, club.tom], EARLIER)
    assert (early.last_on(str(club.mia.code)), early.last_on(str(club.tom.code))) == (EARLIER, None)
    assert group_report([club.bea, club.tom], TODAY).last_on(str(club.bea.code)) is None


def test_an_empty_group_and_a_child_without_results_have_an_answer(club):
    assert group_report([], TODAY).summary.children == 0
    board = group_report([club.bea], TODAY)
    assert board.unknown(str(club.bea.code)) == len(board.programme.skills)
    assert board.last_on(str(club.bea.code)) is None
    assert board.summary.counts["not_known"] == len(board.programme.skills)


def test_the_day_sheet_lists_who_is_there_and_what_stands(club):
    day = club.days[1]
    factories.StationFactory(
        day=day, measure=Measure.objects.get(slug="front_support_hold"), variant="flat_hands"
    )
    factories.AttendanceFactory(day=day, athlete=club.tom, sore="yes")
    factories.RestNoteFactory(athlete=club.mia, areas=["wrist"], opened_on=TODAY)
    score(club.tom, "front_support_hold", 4.0, day=day, variant="flat_hands", tablet="tablet-b")
    score(club.tom, "front_support_hold", 6.0, day=day, variant="flat_hands", second=True)
    score(club.mia, "front_support_hold", None, day=day, variant="flat_hands", outcome="interrupted")
    sheet = day_sheet(day)
    assert [(one.child.name, one.present, one.sore) for one in sheet.children] == [
        ("Tom B.", True, "yes"),
        ("Mia A.", None, "not_asked"),
    ]
    assert "front_support_hold" in sheet.children[1].blocked
    assert sheet.children[0].blocked == ()
    assert [one.item for one in sheet.stations] == ["front_support_hold"]
    assert [one.value for one in sheet.of(str(club.mia.code), "front_support_hold", "flat_hands")] == [
        30.0,
        None,
    ]
    assert [[one.value for one in place] for place in sheet.conflicts] == [[2.0, 4.0]]


@pytest.mark.parametrize("door", ["group", "day"])
def test_queries_do_not_grow_with_the_children(club, door):
    def ask():
        if door == "group":
            return len(group_report(Athlete.objects.filter(group=club.tigers), TODAY).children)
        return len(day_sheet(club.days[1]).children)

    with CaptureQueriesContext(
        connection,
    ) as few:
        before = ask()
    for _ in range(10):
        child = factories.AthleteFactory(group=club.tigers)
        score(child, "front_support_hold", 12.0, day=club.days[1], variant="flat_hands")
        factories.RestNoteFactory(athlete=child)
        factories.SkillDecisionFactory(athlete=child, skill=Skill.objects.get(slug="bunny_hop"))
    with CaptureQueriesContext(connection) as many:
        assert ask() == before + 10
    assert len(many) == len(few) <= 9
