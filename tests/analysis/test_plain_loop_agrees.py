"""A second implementation, a plain loop written apart, gives every child the same state on every skill."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta

import numpy as np
from hypothesis import given, settings

from assessments.analysis.records import CoachMark, RestSpell
from assessments.analysis.scoring import SIDES, series_parts
from assessments.analysis.verdicts import SKILL_WORDS
from tests.analysis.small_club import MONDAY, child, frame, shown, trial
from tests.analysis.test_one_calculation import (
    EDITION,
    NAMES,
    ON,
    SKILLS,
    facts_of,
    group,
    many,
    marked,
    people,
)
from tests.bench.plain_states import plain_states

OUTCOMES = ("scored", "reached_cap", "chose_to_stop", "could_not_start", "interrupted")


def as_tuple(row):
    version, variant = series_parts(row["series"])
    assert row["side"] in SIDES
    return (
        row["athlete"], row["item"], version, variant, row["side"], row["day"], row["on"].date(), row["trial"],
        row["value"], row["outcome"], row["at_once"], row["second"], row["familiarisation"], row["levels"], row["judge"],
    )  # fmt: skip


@settings(max_examples=100)
@given(many, people)
def test_the_plain_loop_gives_the_same_states(rows, drawn):
    rows, children = marked(rows), facts_of(drawn)
    board = group(frame(rows), children)
    plain = plain_states(map(as_tuple, rows), EDITION, children, ON)
    for n, one in enumerate(children):
        for k, skill in enumerate(SKILLS):
            assert SKILL_WORDS[board.state[n, k]] == plain[one.athlete, skill.id]


def a_full_season(seed):
    """Every child at every item on most of six days, around the thresholds; in some seasons two more days long before."""
    rng = np.random.default_rng(seed)
    rows = []
    for week in (*((-40, -25) if seed % 3 else ()), 0, 2, 5, 8, 11, 14):
        for name in NAMES:
            place = {"week": week, "athlete": name, "at_once": int(rng.integers(1, 9))}
            for number in (1, 2):
                outcome = str(rng.choice(OUTCOMES, p=(0.7, 0.1, 0.1, 0.05, 0.05)))
                value = None if outcome == "interrupted" else float(rng.integers(16, 45))
                rows.append(trial(value, outcome=outcome, trial=number, **place))
            rows.append(trial(float(rng.integers(2, 6)), item="landings", **place))
            for side in ("left", "right"):
                rows.append(trial(float(rng.integers(4, 25)), item="one_leg", side=side, **place))
            variant = str(rng.choice(["knees", "toes", "feet_high"]))
            rows.append(trial(float(rng.integers(8, 40)), item="support", series=f"v1:{variant}", **place))
            for number in (1, 2):
                levels = [int(level) for level in rng.choice([1, 2], size=3, p=(0.25, 0.75))]
                # Now and then the back is not seen: no total, but the chin, a must-have, still counts.
                unseen = [levels[0], None, levels[2]] if rng.random() < 0.2 else levels
                rows.append(shown(*unseen, trial=number, **place))
            for number, judge in enumerate(("other", "third", ""), start=1):
                if rng.random() < 0.3:
                    level = int(rng.choice([1, 2], p=(0.2, 0.8)))
                    rows.append(shown(level, second=True, judge=judge, trial=number, **place))
    return rows


def test_full_seasons_reach_every_state_and_agree():
    """Thirty seasons of four children; rest notes and the coach's words differ between them."""
    seen = Counter()
    for seed in range(30):
        rows = marked(a_full_season(seed))
        rest = (
            RestSpell(("neck",), MONDAY),
            RestSpell(("ankle",), MONDAY, MONDAY + timedelta(weeks=seed % 14)),
        )
        words = {"rock": CoachMark("consistent", MONDAY)} if seed % 2 else {}
        children = tuple(
            child(
                name,
                rests=rest[: seed % 3] if name == "abe" else rest[1:] if name == "bo" else (),
                words=words,
            )
            for name in NAMES
        )
        edition = SKILLS[seed % 2 * 3 :] + SKILLS[: seed % 2 * 3]
        board = group(frame(rows), children, skills=edition)
        plain = plain_states(map(as_tuple, rows), EDITION, children, ON)
        for n, one in enumerate(children):
            for k, skill in enumerate(edition):
                word = SKILL_WORDS[board.state[n, k]]
                seen[word] += 1
                assert word == plain[one.athlete, skill.id], (seed, one.athlete, skill.id)
    assert min(seen[word] for word in SKILL_WORDS) >= 5, seen
