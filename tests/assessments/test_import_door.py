"""Past results reach the one door, and never overwrite what is here."""

from __future__ import annotations

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from assessments import imports
from assessments.models import AssessmentDay, Attendance, ImportMapping, Measure, Result
from assessments.result_columns import ColumnTarget
from assessments.results_layout import Choices
from club.models import AuditEntry
from tests.conftest import viewer_of
from tests.factories import TODAY, RestNoteFactory, ResultFactory

pytestmark = pytest.mark.usefixtures("programme")
SHEET = "Name,Hollow hold tucked,One-leg stand L\nMia Alder,20,12\nBea Cole,30,\n"


def look(text=SHEET, name="2026-03-12.csv", **choices):
    return imports.preview(text.encode(), name, choices=Choices(**choices), today=TODAY)


def test_a_preview_writes_nothing(cast):
    preview = look()
    assert [(str(day.on), day.children, day.entries) for day in preview.days] == [("2026-03-12", 2, 3)]
    assert not Result.objects.exists()
    assert AssessmentDay.objects.count() == 1


def test_applying_makes_a_closed_imported_day_and_its_results(cast):
    applied = imports.apply(look(), viewer_of(cast.director))
    assert (applied.stored, applied.already_here, applied.refused) == (3, 0, ())
    day = AssessmentDay.objects.get(imported=True)
    assert (day.held_on, day.status, day.edition.number) == (date(2026, 3, 12), "closed", 1)
    assert set(day.groups.all()) == {cast.tigers, cast.bears}
    assert set(Attendance.objects.filter(day=day, present=True).values_list("athlete", flat=True)) == {
        cast.mia.pk,
        cast.bea.pk,
    }
    rows = (
        Result.objects.filter(athlete=cast.mia).order_by("value").values_list("how", "late", "value", "side")
    )
    assert list(rows) == [("imported", False, 12, "left"), ("imported", False, 20, "")]
    assert AuditEntry.objects.filter(actor=cast.director, verb="brought in past results").count() == 1


def test_the_same_file_twice_is_here_already(cast):
    imports.apply(look(), viewer_of(cast.director))
    before = list(Result.objects.values())
    again = look()
    assert (again.new, again.already_here, again.is_clear) == ((), 3, True)
    assert imports.apply(again, viewer_of(cast.director)).stored == 0
    assert list(Result.objects.values()) == before


def test_two_people_who_apply_the_same_preview_store_it_once(cast):
    preview = look()
    imports.apply(preview, viewer_of(cast.director))
    second = imports.apply(preview, viewer_of(cast.director))
    assert (second.stored, second.already_here) == (0, 3)
    assert Result.objects.count() == 3


def test_a_changed_value_is_shown_with_both_and_not_written(cast):
    imports.apply(look(), viewer_of(cast.director))
    changed = look(SHEET.replace("20", "25"))
    assert [str(problem) for problem in changed.problems] == [
        "2026-03-12!B2: Mia Alder, Hollow hold, 2026-03-12: 20 is here, the file now says 25. "
        "Correct the result by hand if the file is right."
    ]
    assert (changed.new, changed.already_here) == ((), 2)
    imports.apply(changed, viewer_of(cast.director))
    assert Result.objects.filter(measure__slug="hollow_hold", athlete=cast.mia).get().value == 20


def test_a_second_file_adds_to_the_same_day(cast):
    imports.apply(look(), viewer_of(cast.director))
    imports.apply(look("Name,Landings\nTom Birch,4\n"), viewer_of(cast.director))
    day = AssessmentDay.objects.get(imported=True)
    assert day.results.count() == 4


def test_a_copy_of_a_day_that_was_held_here_does_not_count_twice(cast):
    cast.day.held_on = date(2026, 3, 12)
    cast.day.save()
    hollow = Measure.objects.get(slug="hollow_hold")
    ResultFactory(day=cast.day, athlete=cast.mia, measure=hollow, value=21)
    preview = look()
    assert [str(problem) for problem in preview.problems] == [
        "2026-03-12!B2: Mia Alder has a result for this on 2026-03-12 from the test day itself; that one stands."
    ]
    assert [entry.item for entry in preview.new] == ["single_leg_stance", "hollow_hold"]


def test_a_rest_note_of_that_time_is_respected_and_said(cast):
    RestNoteFactory(athlete=cast.mia, areas=["ankle"], opened_on=date(2026, 3, 1))
    applied = imports.apply(look(), viewer_of(cast.director))
    assert [str(problem) for problem in applied.refused] == [
        "2026-03-12!C2: Mia Alder: This child rests: ankle."
    ]
    assert applied.stored == 2


def test_a_mapping_is_remembered_only_when_it_is_applied(cast):
    text = "Name,Core\nMia Alder,20\n"
    mapping = {"core": ColumnTarget("hollow_hold", variant="tucked")}
    assert look(text).file.unmatched
    preview = look(text, mapping=mapping)
    assert not ImportMapping.objects.exists()
    imports.apply(preview, viewer_of(cast.director))
    assert ImportMapping.objects.get().set_by == cast.director
    assert not look(text).file.unmatched
    assert look(text).already_here == 1


def test_a_remembered_place_that_the_programme_no_longer_has_is_asked_again(cast):
    ImportMapping.objects.create(header="core", item="gone")
    assert [column.header for column in look("Name,Core\nMia Alder,20\n").file.unmatched] == ["Core"]


def test_previews_ask_the_same_number_of_queries_for_more_children(cast):
    look()  # the programme is read once a process
    with CaptureQueriesContext(connection) as one:
        look("Name,Hollow hold\nMia Alder,20\n")
    with CaptureQueriesContext(connection) as more:
        look("Name,Hollow hold,Landings\nMia Alder,20,3\nTom Birch,21,4\nBea Cole,22,5\n")
    assert len(more) == len(one) > 0
