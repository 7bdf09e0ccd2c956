"""The smoke alarm for plain words, against counts done by hand."""

from __future__ import annotations

import pytest

from assessments.family_text import never_used, reading_grade, sentences, syllables, too_long


@pytest.mark.parametrize(
    ("word", "count"),
    [("cat", 1), ("water", 2), ("make", 1), ("table", 2), ("jumped", 1), ("landed", 2), ("holding", 2), ("shoulders", 2),
     ("gymnastics", 3), ("banana", 3), ("shapes", 1), ("reaches", 2), ("the", 1), ("child’s", 1)],
)  # fmt: skip
def test_syllables_are_counted_as_they_are_said(word, count):
    assert syllables(word) == count


def test_the_grade_is_the_published_formula():
    # 12 words, 2 sentences, 13 syllables
    text = "The cat sat on the mat. We saw a big yellow bird."
    assert reading_grade(text) == pytest.approx(0.39 * 6 + 11.8 * 13 / 12 - 15.59, abs=0.01)


def test_a_long_name_does_not_make_a_text_harder():
    plain = "{} can stand on one leg. That is fun."
    assert reading_grade(plain.format("Wilhelmina-Rose"), name="Wilhelmina-Rose") == reading_grade(
        plain.format("Tom")
    )


def test_judging_words_are_found_whatever_their_case_and_only_as_whole_words():
    assert never_used("Weak start, but not a failure. 80 % of the group.") == ("weak", "failure", "%")
    assert never_used("A weekly feather. Rankle.") == ()


def test_a_sentence_of_twenty_five_words_passes_and_one_more_does_not():
    assert too_long(" ".join(["word"] * 25) + ".") == ()
    assert len(too_long(" ".join(["word"] * 26) + ".")) == 1


def test_lines_end_sentences():
    assert sentences("One line\nAnother one. A third!") == ["One line", "Another one.", "A third!"]
