"""Test days that nobody would wish for, one club of each kind, and the calculation run over them."""

from __future__ import annotations

import dataclasses
import math
import random
from collections.abc import Mapping
from datetime import date, timedelta
from functools import cache
from typing import Any

import numpy as np
import pandas as pd

from assessments import analysis
from assessments.analysis.calibration import Followed
from assessments.analysis.programme_records import Requirement

from .small_club import BORN, MONDAY, child, frame, programme, shown, skill, trial

NAMES = tuple(f"child-{n:02d}" for n in range(24))
WEEKS = (0, 6, 12, 18)
ON = MONDAY + timedelta(weeks=19)
SKILL = skill(
    "candlestick",
    Requirement("hollow_hold", 20),
    Requirement("landings", 3),
    Requirement("tuck", 8),
)
EDITION = programme(SKILL)
HOLD, REACH = EDITION.measures["hollow_hold"], EDITION.measures["reach"]


def plain(place: int, week: int) -> list[dict[str, Any]]:
    """One child on one day: two holds, a landing count, a reach and a shape looked at by two coaches."""
    more: dict[str, Any] = {"athlete": NAMES[place], "week": week}
    value = 12.0 + place % 5 + week / 2
    level = (place + week) % 3
    return [
        trial(value, **more),
        trial(value + 1, trial=2, **more),
        trial(float((place + week) % 6), item="landings", **more),
        trial(place - 6.0, item="reach", **more),
        shown(rest=level, **more),
        shown(chin=level, rest=level, second=True, judge="other coach", **more),
    ]


def rows() -> list[dict[str, Any]]:
    return [row for place in range(len(NAMES)) for week in WEEKS for row in plain(place, week)]


def _measured(change: Any) -> list[dict[str, Any]]:
    """The rows with the value of every measure changed; shapes stay."""
    return [row if row["item"] == "tuck" else row | {"value": change(row["value"])} for row in rows()]


def trials(kind: str) -> pd.DataFrame:
    """The frame of one kind of club."""
    if kind == "empty":
        return frame([])
    if kind == "one row":
        return frame(rows()[:1])
    if kind == "all equal":
        return frame(_measured(lambda _: 3.0))
    if kind == "all at least":
        return frame([row | {"outcome": "chose_to_stop"} for row in rows()])
    if kind == "negative":
        return frame(_measured(lambda value: -1.0 - abs(value)))
    if kind == "wrong unit":  # milliseconds for seconds
        return frame(_measured(lambda value: 1000.0 * value))
    if kind == "not a number":
        return frame(_measured(lambda value: math.nan if value % 2 else math.inf))
    mixed = rows()
    if kind == "out of order":
        random.Random(3).shuffle(mixed)
    return frame(mixed)


def born(kind: str) -> date:
    """Birth date of every child of the club."""
    return {"outside every age": date(1985, 6, 1), "not yet born": ON + timedelta(days=1)}.get(kind, BORN)


KINDS = (
    "plain", "empty", "one row", "all equal", "all at least", "negative", "wrong unit", "not a number", "out of order",
    "outside every age", "not yet born",
)  # fmt: skip


@cache
def calculated(kind: str) -> Mapping[str, Any]:
    """What every function that reads test days makes of one kind of club, by the function's name."""
    table = trials(kind)
    dates = dict.fromkeys(NAMES, born(kind))
    children = [child(name, born_on=born(kind)) for name in NAMES]
    found: dict[str, Any] = {}
    found["day_scores"] = scores = analysis.day_scores(table, EDITION, on=ON)
    found["interpretations"] = lines = analysis.interpretations(
        scores, programme=EDITION, born_on=dates, on=ON
    )
    found["interpret"] = analysis.interpret(table, programme=EDITION, born_on=dates, on=ON)
    found["verdicts"] = judged = analysis.verdicts(
        [SKILL], scores, programme=EDITION, children=children, on=ON
    )
    found["skill_state"] = analysis.skill_state(judged, 0, 0)
    found["skill_states"] = analysis.skill_states(judged, 0)
    found["judge"] = analysis.judge(
        [SKILL],
        [one for one in lines if one.athlete == NAMES[0]],
        programme=EDITION,
        child=children[0],
        on=ON,
    )
    found["group_summary"] = analysis.group_summary(judged)
    found["spread"] = analysis.spread(judged, "hollow_hold")
    holds = tuple(one for one in lines if one.item == "hollow_hold")
    age = analysis.age_and_band(born(kind), ON, EDITION.bands)[0]
    found["near_in_age"] = near = analysis.near_in_age(holds, age, ON)
    found["counting_from"] = tuple(analysis.counting_from(one, MONDAY + timedelta(weeks=6)) for one in holds)
    found["fit_pool"] = pool = analysis.fit_pool(near, ON, error=HOLD.error, cap=HOLD.cap)
    found["forecast"] = tuple(analysis.forecast(pool, one, 30.0) for one in holds)
    found["held_out"] = held = analysis.held_out(holds, error=HOLD.error, cap=HOLD.cap)
    found["one_a_child"] = analysis.one_a_child(held)
    found["forecast_coverage"] = analysis.forecast_coverage(held)
    found["club_norms"] = norms = analysis.club_norms(holds, EDITION.bands, ON, cap=HOLD.cap, draws=20)
    found["draft_benchmarks"] = analysis.draft_benchmarks(norms, "hollow_hold", cap=HOLD.cap)
    pairs = [analysis.repeat_pair(one.athlete, one.days, timed=True, days_apart=60) for one in holds]
    found["repeat_pair"] = tuple(pairs)
    repeats = [one for one in pairs if one is not None]
    found["estimate_error"] = analysis.estimate_error(repeats, HOLD.error, days_apart=60)
    found["second_looks"] = looks = analysis.second_looks(table)
    found["shape_agreement"] = analysis.shape_agreement(looks, "tuck")
    found["coach_bias"] = analysis.coach_bias(looks)
    found["starting_dose"] = doses = tuple(analysis.starting_dose(HOLD, one.days, on=ON) for one in holds)
    found["why_no_dose"] = tuple(analysis.why_no_dose(one.days, on=ON) for one in holds)
    given = [dose for dose in doses if dose is not None][:1]
    found["plan_block"] = analysis.plan_block(given, EDITION.measures, minutes=10)
    followed = [
        Followed(name, "candlestick", analysis.skill_state(judged, place, 0).word, MONDAY, None)
        for place, name in enumerate(NAMES)
    ]
    found["outcomes_by_state"] = outcomes = analysis.outcomes_by_state(followed, ON)
    found["says_something"] = analysis.says_something(outcomes)
    return found


def blanks(found: Any, at: str = "") -> list[str]:
    """Where a NaN stands in an answer of the calculation, by path."""
    if dataclasses.is_dataclass(found) and not isinstance(found, type):
        return [
            path
            for part in dataclasses.fields(found)
            for path in blanks(getattr(found, part.name), f"{at}.{part.name}")
        ]
    if isinstance(found, Mapping):
        return [path for key, value in found.items() for path in blanks(value, f"{at}[{key}]")]
    if isinstance(found, np.ndarray):
        return [at] if found.dtype.kind == "f" and bool(np.isnan(found).any()) else []
    if isinstance(found, (list, tuple)):
        return [path for place, value in enumerate(found) for path in blanks(value, f"{at}[{place}]")]
    return [at] if isinstance(found, float) and math.isnan(found) else []
