"""Left and right on a child's page: what may be said of a bound, of two days, and beyond the test's own noise.

Difference and noise: Bishop and others 2016, doi:10.1519/SSC.0000000000000264, worked out by hand for the one-leg stand,
whose error is the larger of 5 s and 0.35 of the score.
"""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from tests.assessments.read_story import days_of, score


@pytest.fixture
def story(cast, programme):
    cast.days = days_of(cast.tigers)
    cast.url = reverse("assessments:child", args=[cast.mia.code])
    return cast


def said(story, as_member, left, right, *, days=(-1, -1)):
    """The sentence about the sides; a side is a value, or a value with its outcome."""
    for side, given, day in zip(("left", "right"), (left, right), days, strict=True):
        value, outcome = given if isinstance(given, tuple) else (given, "scored")
        score(story.mia, story.days[day], "single_leg_stance", value, side=side, outcome=outcome)
    html = as_member(story.coach).get(story.url, {"item": "single_leg_stance"}).content.decode()
    return re.sub(r"\s+", " ", re.search(r'<p class="sides">(.*?)</p>', html, re.S).group(1))


CAP = (30, "reached_cap")


def test_a_side_at_the_cap_is_above_the_other_by_at_least_the_difference(story, as_member):
    # Noise 1.96 * sqrt(10.5^2 + 5^2) = 22.8 s; the difference is 26 s or more.
    words = said(story, as_member, CAP, 4)
    assert words.startswith("Left at least 30 s, right 4 s on 14 Nov 2026: they differ by at least 26 s")
    assert "no difference" not in words


@pytest.mark.parametrize(
    ("left", "right"),
    [
        (CAP, 20),  # 10 s or more, and 10 s could be noise: it may be far more
        (CAP, CAP),  # both may hold far longer
        ((4, "chose_to_stop"), 30),  # the lower one may be as high as the other
        (20, (20, "chose_to_stop")),
    ],
)
def test_where_a_bound_hides_the_difference_it_cannot_be_said(story, as_member, left, right):
    words = said(story, as_member, left, right)
    assert "cannot be said how far the sides are apart" in words
    assert "no difference" not in words and "differ by" not in words


def test_two_sides_of_two_days_are_not_set_against_each_other(story, as_member):
    words = said(story, as_member, 29, 2, days=(-1, -3))
    assert words.startswith("Left 29 s on 14 Nov 2026, right 2 s on 17 Sep 2026: seen on two days")
    assert "differ by" not in words and "no difference" not in words


def test_a_difference_beyond_the_noise_is_said_with_its_share_and_its_noise(story, as_member):
    # Noise 1.96 * sqrt(9.8^2 + 5^2) = 21.6 s; 26 s of 28 s are 93 %.
    words = said(story, as_member, 28, 2)
    assert "they differ by 26 s, 93 % of the higher side; up to 22 s could be chance" in words
    assert "differ in everyone" in words


def test_a_difference_within_the_noise_is_none_and_the_noise_is_said(story, as_member):
    # Noise 1.96 * sqrt(7^2 + 6.3^2) = 18.5 s.
    words = said(story, as_member, 20, 18)
    assert "no difference beyond the test’s own noise of 18 s." in words


def test_one_side_alone_says_that_the_other_is_needed(story, as_member):
    score(story.mia, story.days[-1], "single_leg_stance", 9, side="left")
    html = as_member(story.coach).get(story.url, {"item": "single_leg_stance"}).content.decode()
    assert "Only the left side has been seen" in html
