"""What a note says of the season: growth beyond the best of many noises, about the same where it was, or nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from django.urls import reverse

from assessments.analysis.records import ErrorModel, PartialLook
from assessments.family_reports import write
from assessments.family_words import compose
from assessments.programme_file import starter
from assessments.reports import athlete_report
from tests.assessments.known_lines import ON, day, line
from tests.conftest import viewer_of
from tests.factories import TODAY

PROGRAMME = starter()
MEASURES = list(PROGRAMME.measures.values())
SPRING, AUTUMN = date(2026, 3, 19), date(2026, 11, 14)
SAME = "Most things are about the same as before. That is normal at this age."
HOLDS = ("hollow_hold", "arch_hold", "forearm_plank_hold", "straight_hang", "bar_support_hold")


def seen(item, *values, first=False, dates=(SPRING, AUTUMN), **given):
    """One line of one measure, its noise as the programme states it."""
    error = PROGRAMME.measures[item].error
    days = [
        day(on, value, sem=error.sem(value), first_look=first and place == 0, **given)
        for place, (on, value) in enumerate(zip(dates, values, strict=False))
    ]
    return line(days, item=item, series="v1")


def note(*lines, programme=PROGRAMME):
    return compose("Noor", programme=programme, lines=lines, skills=(), rests=(), on=ON)


def grows(found):
    return "than in March" in f"{found.lead} {found.grew}"


# --- growth -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 8, 21])
def test_of_children_without_any_change_at_most_one_note_in_twenty_tells_of_growth(count):
    """One rise of noise in 20 for each measure would make 0.05, 0.34 and 0.66 of these notes tell of one."""
    random, children = np.random.default_rng(20261125), 800
    told = 0
    for _ in range(children):
        lines = []
        for spec in MEASURES[:count]:
            true, sem = 20.0, spec.error.sem(20.0)
            before, now = true + random.normal(0, sem, 2)
            days = [day(SPRING, before, sem=sem), day(AUTUMN, now, sem=sem)]
            lines.append(line(days, item=spec.id, series="v1"))
        told += grows(note(*lines))
    assert told / children <= 0.05 + 3 * (0.05 * 0.95 / children) ** 0.5


def test_the_more_is_compared_the_larger_a_growth_must_be():
    """By hand for errors of 2 s: a rise of 6 s is 2.12 standard errors of a difference. Alone it must pass 1.645, of
    two 1.960 and of five 2.326 (normal quantiles of 0.95, 0.975 and 0.99)."""
    flat = replace(PROGRAMME, measures={
        item: replace(spec, error=ErrorModel(2.0, 0.0)) for item, spec in PROGRAMME.measures.items()
    })  # fmt: skip

    def lines(count, last):
        found = [
            line([day(SPRING, 20, sem=2.0), day(AUTUMN, 20, sem=2.0)], item=item, series="v1")
            for item in HOLDS
        ]
        found[0] = line([day(SPRING, 20, sem=2.0), day(AUTUMN, last, sem=2.0)], item=HOLDS[0], series="v1")
        return found[:count]

    grown = {count: grows(note(*lines(count, 26), programme=flat)) for count in (1, 2, 5)}
    assert grown == {1: True, 2: True, 5: False}
    assert not grows(note(*lines(1, 24.6), programme=flat)) and grows(note(*lines(1, 24.7), programme=flat))
    assert not grows(note(*lines(5, 26.5), programme=flat)) and grows(note(*lines(5, 26.6), programme=flat))


def test_an_error_from_few_children_asks_for_more():
    """Student's t on 9 degrees of freedom: 1.833 alone, 2.821 of five (two-sided 0.90 and 0.98)."""
    own = ErrorModel(2.0, 0.0, children=10)
    mine = replace(PROGRAMME, measures={
        item: replace(spec, error=own) for item, spec in PROGRAMME.measures.items()
    })  # fmt: skip

    def found(count, last):
        lines = [
            line([day(SPRING, 20, sem=2.0), day(AUTUMN, 20, sem=2.0)], item=item, series="v1")
            for item in HOLDS
        ]
        lines[0] = line([day(SPRING, 20, sem=2.0), day(AUTUMN, last, sem=2.0)], item=HOLDS[0], series="v1")
        return grows(note(*lines[:count], programme=mine))

    assert (found(1, 25.1), found(1, 25.2)) == (False, True)
    assert (found(5, 27.9), found(5, 28.0)) == (False, True)


def test_the_surest_growth_is_told_first_and_a_second_one_after_it():
    found = note(seen("hollow_hold", 10, 30), seen("arch_hold", 10, 60))
    assert found.lead == "Noor holds the long arch for longer than in March."
    assert found.grew == "Noor holds the hollow shape for longer than in March."


# --- about the same -----------------------------------------------------------------------------------------


def test_about_the_same_is_said_where_most_of_what_was_compared_is():
    steady = [seen(item, 20, 21) for item in HOLDS[:3]]
    assert note(*steady).grew == SAME
    assert note(*steady, seen(HOLDS[3], 30, 3)).grew == SAME, "three of four"


def test_what_fell_is_neither_told_nor_called_the_same():
    fell = [seen(item, 30, 3) for item in HOLDS[:3]]
    found = note(*fell)
    assert found.grew == ""
    assert not any(word in f"{found.lead} {found.next_step}" for word in ("same", "less", "shorter"))
    assert note(*fell, seen(HOLDS[3], 20, 21)).grew == "", "one of four"
    assert note(seen(HOLDS[0], 30, 3), seen(HOLDS[3], 20, 21)).grew == "", "half is not most"


def test_without_a_comparison_nothing_is_the_same():
    beginning = "We are still getting to know what Noor can do. Next time we can tell more."
    alone = seen("hollow_hold", 20, first=True)
    later = seen("arch_hold", 20, first=True, dates=(AUTUMN,))
    assert note(alone).grew == "We have had a first look at what Noor can do."
    assert note(alone, later).grew == beginning, "two first looks at two things"
    assert note(seen("hollow_hold", 20, 22, first=True)).grew == beginning, "a first look is not compared"
    assert note().grew == "", "nothing was seen"
    old = seen("hollow_hold", 20, 21, dates=(ON - timedelta(days=500), ON - timedelta(days=400)))
    assert note(old).grew == "", "nothing was seen this season"


def test_shapes_are_things_too():
    levels = {one.id: 1 for one in PROGRAMME.shapes["hollow"].criteria}
    looks = [day(SPRING, 5, levels=levels, sem=1.0), day(AUTUMN, 5, levels=levels, sem=1.0)]
    assert note(line(looks, item="hollow", series="v1")).grew == SAME


def test_what_was_on_their_own_long_ago_is_no_strength_today():
    levels = {one.id: 2 for one in PROGRAMME.shapes["hollow"].criteria}
    for on, told in ((ON - timedelta(days=300), True), (ON - timedelta(days=301), False)):
        found = note(line([day(on, 10, levels=levels, sem=1.0)], item="hollow", series="v1"))
        assert ("with no reminder" in found.lead) is told


# --- on the page --------------------------------------------------------------------------------------------


def test_a_note_with_nothing_about_the_season_leaves_it_out(cast, programme, as_member):
    kept = write(cast.mia, report=athlete_report(cast.mia, TODAY), viewer=viewer_of(cast.coach))
    url = reverse("assessments:family_report", args=[kept.code])
    client = as_member(cast.coach)
    page = client.get(url).content.decode()
    assert "This season" not in page and ">1</span><div><h2>Next</h2>" in page
    edit = reverse("assessments:family_report_edit", args=[kept.code])
    words = {name: kept.body[name] for name in ("title", "lead", "next_step", "home")}
    assert client.post(edit, words | {"grew": ""}).status_code == 302, "it may stay empty"
    assert client.post(edit, words | {"grew": "Mia likes the bar."}).status_code == 302
    page = client.get(url).content.decode()
    assert "<h2>This season</h2><p>Mia likes the bar.</p>" in page and ">2</span><div><h2>Next</h2>" in page


# --- one date is one look ------------------------------------------------------------------------------------


def test_two_tests_on_one_date_are_no_growth():
    """Sorted upwards within a date, the noise between two tests of one day would always look like a rise."""
    sem = PROGRAMME.measures["hollow_hold"].error.sem(20)
    days = [
        day(SPRING, 12, sem=sem, first_look=True),
        day(AUTUMN, 10, sem=sem),
        day(AUTUMN, 34, sem=sem),
    ]
    assert not grows(note(line(days, item="hollow_hold", series="v1")))
    apart = [*days[:1], day(date(2026, 6, 18), 10, sem=sem), day(AUTUMN, 34, sem=sem)]
    assert "longer than" in note(line(apart, item="hollow_hold", series="v1")).lead


def looks(*levels, first=1, dates=(date(2026, 6, 18), date(2026, 10, 3), AUTUMN), **newest):
    shape = PROGRAMME.shapes["hollow"]
    plain = {one.id: 1 for one in shape.criteria}
    days = [day(SPRING, 5, levels=plain | {"low_back": first}, first_look=True, sem=1.0)]
    days += [
        day(on, 6, levels=plain | {"low_back": level}, sem=1.0)
        for on, level in zip(dates, levels, strict=True)
    ]
    days[-1] = replace(days[-1], **newest)
    return line(days, item="hollow", series="v1")


def can_now(found):
    return "can now" in f"{found.lead} {found.grew}"


def test_now_takes_two_dates_no_refusal_and_a_first_look_without_it():
    assert can_now(note(looks(1, 2, 2)))
    assert not can_now(note(looks(1, 2, 2, first=2))), "the first look had it"
    assert not can_now(note(looks(1, 2, 2, dates=(date(2026, 6, 18), AUTUMN, AUTUMN)))), (
        "one date is one look"
    )
    assert not can_now(note(looks(1, 2, 2, second_levels={"low_back": 0}))), "a second coach did not see it"
    partly = replace(looks(1, 2, 2), partial_looks=(PartialLook(AUTUMN, {"low_back": 1, "head": None}),))
    assert not can_now(note(partly)), "a look without a total did not see it"
