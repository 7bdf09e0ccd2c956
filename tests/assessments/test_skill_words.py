"""The coach's word, folded from decisions, and what each state allows."""

from __future__ import annotations

from datetime import date

import pytest

from assessments.skill_words import coach_marks, offers, problem_with, standing

JAN, FEB, MAR = date(2026, 1, 5), date(2026, 2, 5), date(2026, 3, 5)


def mark(*said):
    found = coach_marks([("bridge", word, on) for word, on in said]).get("bridge")
    return (found.word, found.since) if found else None


def test_each_word_has_its_meaning():
    assert mark(("agree", JAN)) == ("learning", JAN)
    assert mark(("override", JAN)) == ("learning", JAN)
    assert mark(("agree", JAN), ("consistent", FEB)) == ("consistent", FEB)
    assert mark(("consistent", JAN), ("reopened", FEB)) == ("learning", FEB)
    assert mark(("agree", JAN), ("not_yet", FEB)) == ("", FEB)


def test_a_word_said_again_keeps_its_first_day():
    assert mark(("agree", JAN), ("learning", FEB)) == ("learning", JAN)


def test_taking_back_restores_what_stood_before():
    assert mark(("agree", JAN), ("consistent", FEB), ("withdrawn", MAR)) == ("learning", JAN)
    assert mark(("agree", JAN), ("withdrawn", FEB)) is None
    assert mark(("withdrawn", JAN)) is None


def test_skills_do_not_mix():
    marks = coach_marks([("bridge", "agree", JAN), ("cast", "consistent", FEB), ("bridge", "withdrawn", MAR)])
    assert set(marks) == {"cast"}


def test_standing_is_the_newest_that_was_not_taken_back():
    assert standing(["agree", "consistent", "withdrawn"]) == 0
    assert standing(["agree", "withdrawn"]) is None
    assert standing([]) is None


@pytest.mark.parametrize(
    ("state", "coach", "words"),
    [
        ("ready", "", ["agree", "not_yet", "consistent"]),
        ("nearly", "", ["override", "learning", "consistent"]),
        ("not_yet", "", ["override", "learning", "consistent"]),
        ("not_known", "", ["override", "learning", "consistent"]),
        ("resting", "", []),
        ("resting", "learning", ["not_yet"]),
        ("ready", "learning", ["consistent", "not_yet"]),
        ("not_yet", "consistent", ["reopened"]),
        ("resting", "consistent", ["reopened"]),
    ],
)
def test_each_state_allows_its_decisions(state, coach, words):
    assert [one.word for one in offers(state, coach)] == words


def test_starting_against_the_suggestion_always_asks_why():
    for state in ("nearly", "not_yet", "not_known"):
        for one in offers(state, ""):
            assert one.needs_reason or one.needs_days


def test_days_of_more_than_a_year_ago_do_not_count():
    consistent = next(one for one in offers("ready", "learning") if one.word == "consistent")
    assert problem_with(consistent, reason="", days=(date(2025, 1, 1), FEB), today=MAR)
    assert not problem_with(consistent, reason="", days=(JAN, FEB), today=MAR)
