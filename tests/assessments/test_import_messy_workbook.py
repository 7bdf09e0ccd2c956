"""The old records of an invented club, end to end: the problems that are there and no others, then the right rows."""

from __future__ import annotations

from datetime import date

import pytest
from django.core.management import call_command

from assessments.models import AssessmentDay, ImportMapping, Result
from athletes.models import Athlete, Group
from athletes.sheet_file import read_sheets
from tests import make_messy_workbook as messy

pytestmark = pytest.mark.usefixtures("programme")
BOOK = messy.FOLDER / messy.WORKBOOK
ANSWERS = ("--day-first", "--two", "Members:12", "--one", "Members:48")


def run(capsys, command, path, *options) -> tuple[int, list[str]]:
    """The command's exit status and its lines."""
    try:
        call_command(command, path, *options)
        status = 0
    except SystemExit as ended:
        status = int(ended.code)
    return status, capsys.readouterr().out.splitlines()


def lines(out, *words) -> list[str]:
    return [line.partition(" ")[2].strip() for line in out if line.split(" ")[0] in words]


@pytest.fixture
def with_children(capsys):
    run(capsys, "importroster", BOOK, *ANSWERS, "--apply")


@pytest.mark.parametrize("name", [messy.WORKBOOK, messy.OLD_LIST, messy.LONG_LIST])
def test_the_committed_files_are_what_the_script_builds(name):
    assert read_sheets((messy.FOLDER / name).read_bytes(), name) == read_sheets(messy.files()[name], name)


def test_the_list_is_looked_at_and_every_slip_is_named(capsys):
    status, out = run(capsys, "importroster", BOOK, "--day-first")
    assert status == 1
    assert lines(out, "problem") == [
        "Members, line 41: E41, the date of birth, is blank.",
        "Members, line 42: E42: born 1918-03-16 makes 108 years; check the year.",
        "Members, line 43: E43 holds a formula; paste its value instead.",
        "Members, line 44: G44: 'family38 at quillbrook' is not an e-mail address.",
        "Members, line 46: E46: '31/2/2018' is not in the calendar.",
        "Members, line 49: Uma Bell is in Otters (Members, line 45) and Herons (Members, line 49); "
        "a child has one group.",
    ]
    assert lines(out, "question") == [
        "Members, line 12: Mia Thorn is on the list with 2019-12-03, here with 2018-04-21. "
        "One child with a new date, or two? Answer with --one or --two 'Members:12'.",
        "Members, line 48: 'Zoe Hartly' looks like Zoë Hartley, born on the same day. "
        "One child, or two? Answer with --one or --two 'Members:48'.",
    ]
    notes = lines(out, "note")
    assert (
        "Members: left out on purpose, the club does not need it here: Sex (D3), Weight (kg) (F3)." in notes
    )
    assert "Members: 2 blank lines were skipped." in notes
    assert "Members, line 15 and Members, line 47 are one child, Oskar Lind, and are taken together." in notes
    assert "'Test 14 June 2025' was not read: it is named after a day, like a test day." in notes
    assert not Athlete.objects.exists()


def test_without_a_choice_only_the_dates_that_can_be_read_two_ways_are_asked(capsys):
    _, out = run(capsys, "importroster", BOOK)
    asked = [line for line in lines(out, "problem") if "say whether the day or the month" in line]
    assert [line.partition(":")[0] for line in asked] == [
        f"Members, line {number}" for number in (4, 8, 15, 28, 35, 47)
    ]


def test_the_list_comes_in_and_a_second_run_changes_nothing(capsys, with_children):
    clear = {(first, last, born, group) for first, last, born, group in messy.CHILDREN[:34]}
    columns = ("first_name", "last_name", "born_on", "group__name")
    assert set(Athlete.objects.values_list(*columns)) == clear
    assert Athlete.objects.count() == 34
    assert set(Group.objects.values_list("name", flat=True)) == {"Otters", "Herons", "Kestrels", "Wrens"}
    _, out = run(capsys, "importroster", BOOK, *ANSWERS, "--apply")
    assert out[-2] == "0 to add, 0 to change, 34 as they are, 6 lines to settle."
    assert Athlete.objects.count() == 34


def test_an_older_list_of_the_same_club_finds_its_children(capsys, with_children):
    status, out = run(capsys, "importroster", messy.FOLDER / messy.OLD_LIST)
    assert status == 1
    assert lines(out, "question") == [
        "quillbrook_old_list, line 4: 'Lucja Wisniak' looks like Łucja Wiśniak, born on the same day. "
        "One child, or two? Answer with --one or --two 'quillbrook_old_list:4'."
    ]
    assert out[-2] == "0 to add, 0 to change, 11 as they are, 1 lines to settle."


def test_the_results_are_looked_at_and_every_slip_has_its_cell(capsys, with_children):
    status, out = run(capsys, "importresults", BOOK, "--day-first")
    assert status == 1
    assert lines(out, "problem") == [
        "Test 14 June 2025!G2: Zoë Hartley, Hollow hold: 'wobbly' is not a number in seconds.",
        "Test 14 June 2025!H3: Émile Garnier, Hollow hold: 600 seconds is not possible; "
        "it lies between 0 and 180.",
        "Test 14 June 2025!G6: Niamh O'Brien, Hollow hold: a date or a time of day stands here, not seconds; "
        "the spreadsheet may have changed it.",
        "Test 14 June 2025!G11: Anne-Marie Loft, Hollow hold: a formula stands here; paste its value instead.",
        "Autumn, line 148: no child called 'Freja Nilsen' is on the list; perhaps Freya Nilsen (Herons).",
        "Autumn, line 149: more than one child is called Mia Thorn; add the date of birth to tell them apart.",
        "11.2.2026!D3: Anne-Marie Loft, Bent-arm hang, chin over bar: 0 can be 'tried, could not' or "
        "'not tried'; write which, or leave it blank.",
        "11.2.2026!D4: Oskar Lind, Bent-arm hang, chin over bar: 0 can be 'tried, could not' or "
        "'not tried'; write which, or leave it blank.",
        "11.2.2026!E8: Freya Nilsen, Side support hold on forearm: 'sore' is not a number in seconds.",
        "11.2.2026!D28: Hugo Park, Bent-arm hang, chin over bar: 19 here, but 1 in 11.2.2026!D9 for the same "
        "day and try. Neither is taken; correct one, or number the tries if both count.",
    ]
    assert lines(out, "column") == [
        "Test 14 June 2025!J1 'Splits': no measure has this name. Map it with --map.",
        "Test 14 June 2025!K1 'Beam L': no measure has this name. Map it with --map.",
        "Autumn!C150 'Cartwheel': no measure has this name. Map it with --map.",
    ]
    assert lines(out, "look") == [
        "at  Test 14 June 2025!H7: Ana Lucía de la Cruz, Hollow hold: 75 is past the cap of 60 seconds; "
        "kept as at least 60.",
        "at  Autumn!F5: Zoë Hartley, Standing long jump: 195 cm is unusual; look again.",
        "at  Autumn, line 146: 'Zoe Hartley' is read as Zoë Hartley.",
        "at  Autumn, line 147: 'Hugo P.' is read as Hugo Park.",
    ]
    assert not Result.objects.exists()


def kept(first, on, item, **more):
    results = Result.objects.filter(
        athlete__first_name=first, day__held_on=date.fromisoformat(on), measure__slug=item, **more
    )
    return list(results.order_by("side", "trial").values_list("side", "trial", "value", "outcome"))


def test_the_results_come_in_as_they_were_seen(capsys, with_children):
    status, out = run(
        capsys, "importresults", BOOK, "--day-first", "--apply", "--map", "Splits=ignore",
        "--map", "Beam L=side_support_hold:left", "--map", "Cartwheel=ignore", "--zeros", "could-not",
    )  # fmt: skip
    assert status == 1  # the lines with a problem still wait
    assert not lines(out, "refused", "column")
    days = AssessmentDay.objects.order_by("held_on")
    assert [(str(day.held_on), day.status, day.imported) for day in days] == [
        (on, "closed", True) for on in ("2025-03-15", "2025-06-14", "2025-10-11", "2026-02-11")
    ]
    assert Result.objects.count() == 542
    assert not Result.objects.filter(late=True).exists()
    # Spring: '60+', 'tried, could not', two blanks, '42,5', '1.05 m', 0 of five.
    assert kept("Zoë", "2025-03-15", "hollow_hold") == [("", 1, 60, "reached_cap")]
    assert kept("Émile", "2025-03-15", "hollow_hold") == [("", 1, 0, "could_not_start")]
    assert kept("Łucja", "2025-03-15", "single_leg_stance") == []
    assert kept("Noor", "2025-03-15", "hollow_hold") == [("", 1, 42, "scored")]
    assert kept("Niamh", "2025-03-15", "standing_long_jump") == [("", 1, 105, "scored")]
    assert kept("Ana Lucía", "2025-03-15", "stick_landings") == [("", 1, 0, "scored")]
    # Summer: '30+', past the cap, '25+', and a column that was mapped by hand.
    assert kept("Noor", "2025-06-14", "single_leg_stance", side="left") == [("left", 1, 30, "reached_cap")]
    assert kept("Ana Lucía", "2025-06-14", "hollow_hold", trial=2) == [("", 2, 60, "reached_cap")]
    assert kept("Søren", "2025-06-14", "hollow_hold", trial=1) == [("", 1, 25, "chose_to_stop")]
    assert len(kept("Clara", "2025-06-14", "side_support_hold")) == 1
    # Winter: a bare nought by choice, 'absent', '20+', and the version in the header.
    assert kept("Oskar", "2026-02-11", "bent_arm_hang") == [("", 1, 0, "could_not_start")]
    assert kept("Teodor", "2026-02-11", "hollow_hold") == [("", 1, None, "not_attempted")]
    assert set(Result.objects.filter(day__held_on="2026-02-11").values_list("variant", flat=True)) == {
        "",
        "tucked",
    }
    assert ImportMapping.objects.count() == 3


def test_the_same_file_twice_changes_nothing_and_the_columns_are_remembered(capsys, with_children):
    mapping = (
        "--map",
        "Splits=ignore",
        "--map",
        "Beam L=side_support_hold:left",
        "--map",
        "Cartwheel=ignore",
    )
    run(capsys, "importresults", BOOK, "--day-first", "--apply", *mapping)
    before = list(Result.objects.order_by("code").values())
    _, out = run(capsys, "importresults", BOOK, "--day-first", "--apply")
    assert not lines(out, "column")
    assert out[-1] == f"Written: 0 results. {len(before)} were here already."
    assert list(Result.objects.order_by("code").values()) == before
    assert AssessmentDay.objects.count() == 4


def test_the_same_day_from_another_file_is_here_already(capsys, with_children):
    run(capsys, "importresults", BOOK, "--day-first", "--apply")
    before = Result.objects.count()
    status, out = run(capsys, "importresults", messy.FOLDER / messy.LONG_LIST, "--apply")
    assert status == 0
    assert out[-1] == "Written: 0 results. 10 were here already."
    assert Result.objects.count() == before
