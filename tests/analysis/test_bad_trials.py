"""Every public function that reads test days, over ten kinds of test days that nobody would wish for."""

from __future__ import annotations

import math
import re
from datetime import timedelta
from typing import Any

import numpy as np
import pandas as pd
import pytest

from assessments import analysis

from .bad_trials import BORN, EDITION, KINDS, NAMES, ON, blanks, calculated, trials

#: Where the records say themselves that a NaN means 'not known' or 'undefined'.
NOT_KNOWN = {
    "verdicts": {".mean", ".variance", ".z"},
    "forecast_coverage": {"[].score"},
    "shape_agreement": {".criteria[].kappa"},
}
#: An age on a day before the birth date.
NO_AGE = {"[].days[].age", "[].latest.age"}


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", sorted(calculated("plain")))
def test_no_kind_of_test_days_breaks_a_function_or_leaks_a_blank(kind: str, name: str) -> None:
    found = calculated(kind)[name]
    assert type(found) is type(calculated("plain")[name]), "the same kind of answer as ever"
    allowed = NOT_KNOWN.get(name, set()) | (NO_AGE if kind == "not yet born" else set())
    leaks = {re.sub(r"\[\d+\]", "[]", path) for path in blanks(found)}
    assert leaks <= allowed


def state(kind: str) -> tuple[str, list[str]]:
    found = calculated(kind)["skill_state"]
    return found.word, [one.word for one in found.requirements]


@pytest.mark.parametrize(
    ("kind", "word", "requirements"),
    [
        ("plain", "not_yet", ["not_yet", "not_yet", "not_yet"]),
        ("empty", "not_known", ["not_known", "not_known", "not_known"]),
        ("one row", "not_known", ["not_known", "not_known", "not_known"]),  # and that is too old
        ("all equal", "not_yet", ["not_yet", "likely", "not_yet"]),
        ("all at least", "not_known", ["likely", "not_known", "not_known"]),  # a bound is never a 'not yet'
        ("negative", "not_yet", ["not_yet", "not_yet", "not_yet"]),
        (
            "wrong unit",
            "not_yet",
            ["met", "not_yet", "not_yet"],
        ),  # the door refuses it; here it is as written
        ("not a number", "not_known", ["not_known", "not_known", "not_yet"]),
        ("out of order", "not_yet", ["not_yet", "not_yet", "not_yet"]),
        ("outside every age", "not_yet", ["not_yet", "not_yet", "not_yet"]),
        ("not yet born", "not_yet", ["not_yet", "not_yet", "not_yet"]),
    ],
)
def test_state(kind: str, word: str, requirements: list[str]) -> None:
    assert state(kind) == (word, requirements)
    (judged,) = calculated(kind)["judge"] or (calculated(kind)["skill_state"],)
    assert judged.word == word, "a child judged alone is judged alike"
    assert calculated(kind)["skill_states"] == (calculated(kind)["skill_state"],)
    assert sum(calculated(kind)["group_summary"].counts.values()) == len(NAMES)


@pytest.mark.parametrize(
    ("kind", "count", "reached", "spread", "band_children", "drafts"),
    [
        ("plain", 384, 24, (23, 24, 25), 24, 2),
        ("empty", 0, 0, (None, None, None), 0, 0),
        ("one row", 1, 0, (None, None, None), 0, 0),  # too old to speak for today
        ("all equal", 384, 24, (3, 3, 3), 24, 2),
        ("all at least", 384, 24, (None, None, None), 24, 0),
        ("negative", 384, 24, (-25, -24, -23), 24, 2),
        ("wrong unit", 384, 24, (23000, 24000, 25000), 24, 0),  # above the cap: no percentile, no draft
        ("not a number", 96, 0, (None, None, None), 0, 0),
        ("out of order", 384, 24, (23, 24, 25), 24, 2),
        ("outside every age", 384, 24, (23, 24, 25), 0, 0),
        ("not yet born", 384, 24, (23, 24, 25), 0, 0),
    ],
)
def test_scores_spread_and_norms(
    kind: str, count: int, reached: int, spread: tuple[Any, ...], band_children: int, drafts: int
) -> None:
    found = calculated(kind)
    assert len(found["day_scores"]) == count
    assert found["spread"].children == reached
    assert (found["spread"].low, found["spread"].middle, found["spread"].high) == spread
    assert [band.children for band in found["club_norms"].bands] == [band_children] * 2
    assert all(
        value is None or 0 <= value <= 60 for band in found["club_norms"].bands for value in band.values
    )
    assert len(found["draft_benchmarks"]) == drafts


@pytest.mark.parametrize(
    ("kind", "word", "held", "dose"),
    [
        ("plain", "within", 24, 13),
        ("empty", None, 0, None),
        ("one row", "no_evidence", 0, None),  # tested once, too long ago
        ("all equal", "later", 24, 2),
        ("all at least", "no_evidence", 24, 13),  # at least 22 s says nothing about 30 s
        ("negative", "later", 24, None),
        ("wrong unit", "now", 24, 30),  # never above the club's range
        ("not a number", None, 0, None),
        ("out of order", "within", 24, 13),
        ("outside every age", "within", 24, 13),
        ("not yet born", "too_soon", 0, 13),
    ],
)
def test_forecast_and_dose(kind: str, word: str | None, held: int, dose: int | None) -> None:
    found = calculated(kind)
    assert next((one.word for one in found["forecast"]), None) == word
    every = found["forecast_coverage"][0]
    assert len(found["held_out"]) == held == every.count + every.cut + every.stopped
    assert all(0 <= point.low <= point.level <= point.high for one in found["forecast"] for point in one.path)
    first = next(iter(found["starting_dose"]), None)
    assert (first.amount if first else None) == dose
    assert len(found["plan_block"].steps) == (1 if dose else 0)


@pytest.mark.parametrize(
    ("kind", "pairs", "scale"),
    [
        ("plain", 24, True),
        ("empty", 0, False),
        ("one row", 0, False),
        ("all equal", 24, True),  # no difference is the noise of rounding, never none
        ("all at least", 0, False),
        ("negative", 24, True),  # all fall, as second looks after a good day do
        ("not a number", 0, False),
        ("out of order", 24, True),
        ("outside every age", 24, True),
        ("not yet born", 24, True),
    ],
)
def test_own_error(kind: str, pairs: int, scale: bool) -> None:
    found = calculated(kind)["estimate_error"]
    assert (found.children, found.enough, found.scale is not None) == (pairs, scale, scale)
    assert found.confirming is (kind == "negative")
    assert (found.model is not None) is (scale and not found.confirming)
    if found.model is not None:
        assert found.model.a >= 12**-0.5


@pytest.mark.parametrize("kind", KINDS)
def test_second_looks_need_a_first(kind: str) -> None:
    found = calculated(kind)
    seen = 0 if kind in ("empty", "one row") else len(NAMES)
    assert len({one.athlete for one in found["second_looks"]}) == seen
    assert found["shape_agreement"].complete == seen
    assert (found["shape_agreement"].icc is None) == (not seen)
    assert len(found["coach_bias"]) == (2 if seen else 0)
    assert found["says_something"].startswith("Not enough followed yet")
    assert sum(one.waiting + one.followed for one in found["outcomes_by_state"]) == len(NAMES)


@pytest.mark.parametrize("name", sorted(set(calculated("plain")) - {"day_scores", "verdicts", "fit_pool"}))
def test_rows_in_any_order_give_the_same(name: str) -> None:
    assert calculated("out of order")[name] == calculated("plain")[name]


def test_outside_every_age_there_is_no_band_no_benchmark_and_no_norm() -> None:
    born = EDITION.bands[-1].high
    assert analysis.age_and_band(BORN - timedelta(days=round(365.25 * born)), ON, EDITION.bands)[1] == ""
    days = [day for one in calculated("outside every age")["interpret"] for day in one.days]
    assert {(day.band, day.zone) for day in days} == {("", "")}
    steps = analysis.benchmark_steps(EDITION, "hollow_hold", BORN)
    assert [step.benchmark.band for step in steps] == ["6", "7"]
    assert steps[-1].ends_on < BORN + timedelta(days=round(365.25 * 9))
    assert analysis.benchmark_steps(EDITION, "reach", BORN) == ()


def test_a_day_before_the_birth_date_has_no_age_and_no_band() -> None:
    """A birth date may be mistyped after the tests: the page must still open to put it right."""
    days = [day for one in calculated("not yet born")["interpretations"] for day in one.days]
    assert {day.band for day in days} == {""} and all(math.isnan(day.age) for day in days)
    assert calculated("not yet born")["near_in_age"] == ()
    assert calculated("not yet born")["skill_state"].word == calculated("plain")["skill_state"].word
    assert calculated("not yet born")["skill_state"].age_note != calculated("plain")["skill_state"].age_note


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("athlete", None, "a trial without athlete"),
        ("item", None, "a trial without item"),
        ("day", None, "a trial without day"),
        ("on", pd.NaT, "a trial without on"),
        ("side", "middle", r"side is one of \('', 'left', 'right'\), not 'middle'"),
        ("trial", -1, "a trial number lies between 0 and 999"),
        ("trial", 1000, "a trial number lies between 0 and 999"),
        ("on", pd.Timestamp("2020-01-01"), "a day has one date, and one in this frame has two"),
    ],
)
def test_a_frame_that_cannot_be_is_refused_by_the_column(column: str, value: Any, words: str) -> None:
    table = trials("plain")
    analysis.day_scores(table, EDITION, on=ON)
    table.loc[3, column] = value
    with pytest.raises(ValueError, match=words):
        analysis.day_scores(table, EDITION, on=ON)


def test_a_mark_that_is_no_trial_is_passed_over() -> None:
    """An outcome that gives no evidence, an item of another edition and a score after the day of reading."""
    table = trials("plain")
    whole = analysis.day_scores(table, EDITION, on=ON)
    for column, value in (("outcome", "interrupted"), ("item", "another test")):
        changed = table.copy()
        changed[column] = np.where(changed["athlete"] == NAMES[3], value, changed[column])
        found = analysis.day_scores(changed, EDITION, on=ON)
        assert len(found) == len(whole) * (len(NAMES) - 1) // len(NAMES)
    assert len(analysis.day_scores(table, EDITION, on=table["on"].min().date() - timedelta(days=1))) == 0


@pytest.mark.parametrize("threshold", [math.nan, math.inf, -math.inf])
def test_a_forecast_needs_a_threshold(threshold: float) -> None:
    found = calculated("plain")
    line = next(one for one in found["interpretations"] if one.item == "hollow_hold")
    assert analysis.forecast(found["fit_pool"], line, 30.0).word == "within"
    with pytest.raises(ValueError, match=f"A threshold is a finite number, not {threshold}"):
        analysis.forecast(found["fit_pool"], line, threshold)
