"""A small programme and a way to write trials for the tests of the calculation."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pandas as pd

from assessments.analysis.records import (
    Band,
    Benchmark,
    ChildFacts,
    CriterionSpec,
    ErrorModel,
    Limits,
    MeasureSpec,
    Programme,
    Requirement,
    ShapeSpec,
    SkillSpec,
)

MONDAY = date(2026, 3, 2)
BORN = date(2019, 6, 1)  # 6 years old on MONDAY
WIDE = Limits(warn=(0, 300), refuse=(0, 600))
TIMES = ErrorModel(5.0, 0.0)


def measure(item: str = "hollow_hold", **changes: Any) -> MeasureSpec:
    plain = MeasureSpec(
        id=item, name=item.replace("_", " ").capitalize(), kind="hold", unit="s", sides=False, age_min=4, attempts=2,
        combine="best", cap=60.0, limits=WIDE, error=TIMES, loads=("lower_back",),
    )  # fmt: skip
    return replace(plain, **changes)


def shape(item: str = "tuck", **changes: Any) -> ShapeSpec:
    criteria = tuple(
        CriterionSpec(
            name, name.capitalize(), name in ("chin", "round"), "not yet", "with a reminder", "on their own"
        )
        for name in ("chin", "round", "heels", "hands", "still")
    )
    plain = ShapeSpec(item, item.capitalize(), "On back", "side", 3, criteria, loads=("neck",))
    return replace(plain, **changes)


def skill(skill_id: str = "candlestick", *requirements: Requirement, **changes: Any) -> SkillSpec:
    plain = SkillSpec(skill_id, skill_id.capitalize(), "floor", "medium", 4, (), requirements)
    return replace(plain, **changes)


MEASURES = (
    measure(),
    measure(
        "landings",
        kind="score_count",
        unit="of_5",
        combine="sum",
        attempts=1,
        cap=5.0,
        error=ErrorModel(0.8, 0),
    ),
    measure("one_leg", sides=True, loads=("ankle",)),
    measure(
        "support", variants=("knees", "toes", "feet_high"), attempts=1, combine="first", loads=("wrist",)
    ),
    measure(
        "reach", kind="distance", unit="cm", combine="mean", cap=None, error=ErrorModel(2, 0.1), loads=()
    ),
)


def programme(*skills: SkillSpec, **changes: Any) -> Programme:
    plain = Programme(
        edition=1,
        measures={one.id: one for one in MEASURES},
        shapes={"tuck": shape()},
        skills={one.id: one for one in skills},
        benchmarks={
            ("hollow_hold", "6"): Benchmark("hollow_hold", "6", 10, 20),
            ("hollow_hold", "7"): Benchmark("hollow_hold", "7", 15, 25),
        },
        bands=(Band("6", 6, 7), Band("7", 7, 8)),
    )
    return replace(plain, **changes)


def trial(
    value: float | None, *, week: float = 0, item: str = "hollow_hold", athlete: str = "mia", **changes: Any
) -> dict[str, Any]:
    """One row of the trials frame, `week` weeks after MONDAY."""
    row = {
        "athlete": athlete, "item": item, "series": "v1", "side": "", "day": f"day {week:g}",
        "on": pd.Timestamp(MONDAY + timedelta(days=round(7 * week))), "trial": 1, "value": value, "outcome": "scored",
        "at_once": 1, "second": False, "familiarisation": False, "levels": None, "judge": "coach", "form_break": "",
        "conflict": False,
    }  # fmt: skip
    unknown = set(changes) - set(row)
    assert not unknown, unknown
    return row | changes


def shown(chin: int | None = 2, round_: int | None = 2, rest: int = 2, **changes: Any) -> dict[str, Any]:
    """One attempt at the tuck shape."""
    levels = {"chin": chin, "round": round_, "heels": rest, "hands": rest, "still": rest}
    seen = [level for level in levels.values() if level is not None]
    total = float(sum(seen)) if len(seen) == 5 else None
    return trial(total, item="tuck", levels=levels, **changes)


def frame(rows: Iterable[Mapping[str, Any]]) -> pd.DataFrame:
    """The trials frame of these rows."""
    columns = list(trial(0.0))
    made = pd.DataFrame(list(rows), columns=columns)
    made["value"] = made["value"].astype("float64")
    made["on"] = made["on"].astype("datetime64[ns]")
    for name in ("second", "familiarisation", "conflict"):
        made[name] = made[name].astype(bool)
    for name in ("trial", "at_once"):
        made[name] = made[name].astype("int64")
    return made


def child(athlete: str = "mia", **changes: Any) -> ChildFacts:
    return replace(ChildFacts(athlete, BORN), **changes)
