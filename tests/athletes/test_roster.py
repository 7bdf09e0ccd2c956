"""Bringing a list in: look, then add and update, never delete."""

from __future__ import annotations

from datetime import date

import pytest

from athletes import roster
from athletes.models import Athlete, Group, Guardian
from athletes.roster_file import read_roster
from club.models import AuditEntry
from tests.conftest import viewer_of
from tests.factories import NOW, TODAY, AthleteFactory, GuardianFactory

pytestmark = pytest.mark.django_db

LIST = (
    "Name,Born,Group,Email\nZoë Søby,2019-03-04,Tigers,ana@home.example\nNoor van Dijk,2020-05-06,Otters,\n"
)


def look(text, answers=None):
    return roster.preview(read_roster(text.encode(), "list.csv", today=TODAY), answers)


def children():
    return sorted(Athlete.objects.values_list("first_name", "last_name", "born_on", "group__name"))


def test_a_preview_writes_nothing(cast):
    before = children()
    preview = look(LIST)
    assert [str(change.name) for change in preview.added] == ["Zoë Søby", "Noor van Dijk"]
    assert preview.new_groups == ("Otters",)
    assert children() == before
    assert not Group.objects.filter(name="Otters").exists()


def test_applying_adds_children_groups_and_guardians(cast):
    before = children()
    assert roster.apply(look(LIST), viewer_of(cast.director)) == 2
    new = [
        ("Noor", "van Dijk", date(2020, 5, 6), "Otters"),
        ("Zoë", "Søby", date(2019, 3, 4), "Tigers"),
    ]
    assert children() == sorted([*before, *new])
    grant = Guardian.objects.get(athlete__first_name="Zoë")
    assert (grant.email, grant.granted_by) == ("ana@home.example", cast.director)
    assert Athlete.objects.get(first_name="Noor").joined_on == TODAY
    assert AuditEntry.objects.filter(actor=cast.director, verb="brought in a list").count() == 1


def test_a_second_run_changes_nothing(cast):
    roster.apply(look(LIST), viewer_of(cast.director))
    before, grants = children(), Guardian.objects.count()
    again = look(LIST)
    assert (len(again.added), len(again.updated), again.unchanged) == (0, 0, 2)
    assert roster.apply(again, viewer_of(cast.director)) == 0
    assert (children(), Guardian.objects.count()) == (before, grants)


def test_a_child_who_is_here_is_updated_and_keeps_what_the_list_leaves_out(cast):
    born = cast.mia.born_on.isoformat()
    preview = look(
        f"Name,Born,Group,Email\nMia Alder,{born},Bears,gran@home.example\nTom Birch,{born},,b@home.example"
    )
    assert [change.words for change in preview.updated] == [
        ("group Tigers → Bears", "guardian gran@home.example added"),
        ("guardian b@home.example added",),
    ]
    roster.apply(preview, viewer_of(cast.director))
    cast.mia.refresh_from_db()
    cast.tom.refresh_from_db()
    assert (cast.mia.group, cast.tom.group) == (cast.bears, cast.tigers)
    emails = sorted(cast.mia.guardians.values_list("email", flat=True))
    assert emails == ["gran@home.example", "pat@home.example"]
    assert Athlete.objects.filter(first_name="Bea").exists()  # not on the list, and still here


def test_a_near_spelling_waits_and_an_answer_keeps_one_child_or_makes_two(cast):
    text = f"Name,Born\nMia Adler,{cast.mia.born_on.isoformat()}"
    waiting = look(text)
    assert [question.row.place for question in waiting.questions] == ["list:2"]
    assert not waiting.is_clear
    before = children()
    roster.apply(waiting, viewer_of(cast.director))
    roster.apply(look(text, {"list:2": "same"}), viewer_of(cast.director))
    assert children() == before
    roster.apply(look(text, {"list:2": "two"}), viewer_of(cast.director))
    assert len(children()) == len(before) + 1
    assert look(text).is_clear


def test_a_confirmed_birth_date_is_put_right(cast):
    text = "Name,Born\nMia Alder,2019-12-01"
    assert look(text).questions
    roster.apply(look(text, {"list:2": "same"}), viewer_of(cast.director))
    cast.mia.refresh_from_db()
    assert cast.mia.born_on == date(2019, 12, 1)


def test_one_child_in_two_groups_is_a_problem_and_is_left_out(cast):
    preview = look("Name,Born,Group\nZoë Søby,2019-03-04,Tigers\nZoë Søby,2019-03-04,Bears")
    assert [str(problem) for problem in preview.problems] == [
        "list, line 3: Zoë Søby is in Tigers (list, line 2) and Bears (list, line 3); a child has one group."
    ]
    assert not preview.added


def test_the_same_group_in_other_letters_is_one_group(cast):
    preview = look(
        "Name,Born,Group\nZoë Søby,2019-03-04,TIGERS\nNoor Dijk,2019-03-05,Owls\nIda Fox,2019-03-06,owls"
    )
    assert preview.new_groups == ("Owls",)
    assert [change.group for change in preview.added] == ["Tigers", "Owls", "Owls"]


def test_a_leaver_and_a_withdrawn_guardian_stay_so(cast):
    left = AthleteFactory(first_name="Ole", last_name="Dal", born_on=date(2018, 1, 1), leaver=True)
    GuardianFactory(athlete=left, email="gone@home.example", revoked_at=NOW)
    preview = look("Name,Born,Email\nOle Dal,2018-01-01,gone@home.example")
    roster.apply(preview, viewer_of(cast.director))
    left.refresh_from_db()
    assert left.left_on == date(2026, 6, 30)
    assert left.guardians.get().revoked_at == NOW
    assert [note for note in preview.notes if "stays so" in note] == [
        "Ole Dal is marked as left on 2026-06-30 and stays so.",
        "gone@home.example was withdrawn for Ole Dal and stays so.",
    ]


def test_a_guardian_with_an_account_is_linked(cast):
    roster.apply(look("Name,Born,Email\nZoë Søby,2019-03-04,PAT@home.example"), viewer_of(cast.director))
    assert Guardian.objects.get(athlete__first_name="Zoë").member == cast.guardian


def test_a_joining_date_is_kept(cast):
    text = "Name,Born,Joined\nZoë Søby,2019-03-04,2024-09-02"
    roster.apply(look(text), viewer_of(cast.director))
    assert Athlete.objects.get(first_name="Zoë").joined_on == date(2024, 9, 2)
    assert look(text).unchanged == 1
