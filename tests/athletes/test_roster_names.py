"""Names together or apart, and children spelt two ways."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from athletes.person_names import PersonName, nearly_same, slips_between, split_name
from athletes.sheet_file import fold, tidy

words = st.text(alphabet="abcdefghilmnorstuvwyzéëñöøçšÁ'", min_size=2, max_size=10).filter(
    lambda w: fold(w) != ""
)


@given(words, words)
def test_a_name_apart_and_together_is_the_same(first, last):
    assume(last.casefold() == last and first.casefold() not in {"de", "van"})
    assert split_name(f"{last}, {first}") == PersonName(tidy(first), tidy(last))
    assert split_name(f"{first}  {last} ") == PersonName(tidy(first), tidy(last))


@pytest.mark.parametrize(
    ("written", "first", "last"),
    [
        ("Zoë van der Berg", "Zoë", "van der Berg"),
        ("Ana Lucía de la Cruz", "Ana Lucía", "de la Cruz"),
        ("O'Brien, Niamh", "Niamh", "O'Brien"),
        ("Anne-Marie Løkke", "Anne-Marie", "Løkke"),
        ("Mary Jane Watts", "Mary Jane", "Watts"),
        ("Mia", "Mia", ""),
        ("", "", ""),
    ],
)
def test_a_name_is_taken_apart(written, first, last):
    assert split_name(written) == PersonName(first, last)


@given(words, words)
def test_case_and_accents_do_not_make_another_key(first, last):
    assert PersonName(first, last).key == PersonName(fold(first), fold(last)).key


@given(st.text("abc", max_size=6), st.text("abc", max_size=6))
def test_slips_are_the_same_both_ways_and_none_only_for_equal_texts(a, b):
    assert slips_between(a, b) == slips_between(b, a)
    assert (slips_between(a, b) == 0) == (a == b)
    assert slips_between(a, b) <= max(len(a), len(b))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("Zoë", "Hartley"), ("Zoe", "Hartley")),
        (("Zoë", "Hartley"), ("ZOË", "HARTLEY")),
        (("Freya", "Nilsen"), ("Freja", "Nilsen")),
        (("Oskar", "Lund"), ("Lund", "Oskar")),
        (("Alexander", "Moss"), ("Alex", "Moss")),
        (("Mia", "Birch"), ("Mia", "Brich")),
    ],
)
def test_one_child_spelt_two_ways_is_noticed(one, other):
    assert nearly_same(PersonName(*one), PersonName(*other))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("Mia", "Birch"), ("Tom", "Birch")),
        (("Ada", "Fox"), ("Ida", "Cox")),
        (("Ben", "Ash"), ("Ben", "Oak")),
    ],
)
def test_two_children_are_not_taken_for_one(one, other):
    assert not nearly_same(PersonName(*one), PersonName(*other))
