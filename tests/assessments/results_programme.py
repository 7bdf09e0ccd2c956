"""A small programme and a few children for tests of results files; no database."""

from __future__ import annotations

from datetime import date

from assessments.analysis.records import ErrorModel, Limits, MeasureSpec, Programme, ShapeSpec
from athletes.known_children import KnownChild, KnownChildren
from athletes.person_names import PersonName

TODAY = date(2026, 11, 25)


def measure(item, name, kind, unit, *, sides=False, cap=None, warn, refuse, **more) -> MeasureSpec:
    return MeasureSpec(
        id=item,
        name=name,
        kind=kind,
        unit=unit,
        sides=sides,
        age_min=4,
        attempts=3,
        combine="best",
        cap=cap,
        limits=Limits(warn=warn, refuse=refuse),
        error=ErrorModel(2, 0.2),
        **more,
    )


MEASURES = (
    measure(
        "hollow_hold", "Hollow hold", "hold", "s", cap=60, warn=(0, 60), refuse=(0, 300),
        aliases=("dish",), variants=("tucked", "one_leg_long"),
    ),
    measure("straight_hang", "Straight hang from bar", "hold", "s", cap=45, warn=(0, 45), refuse=(0, 180)),
    measure("bent_arm_hang", "Bent-arm hang, chin over bar", "hold", "s", cap=20, warn=(0, 20), refuse=(0, 90)),
    measure("single_leg_stance", "One-leg stand, flat foot", "hold", "s", sides=True, cap=30, warn=(0, 30), refuse=(0, 180)),
    measure("double_heel_raises", "Heel raises, two feet", "count", "reps", cap=25, warn=(0, 25), refuse=(0, 80)),
    measure(
        "single_heel_raises", "Heel raises, one foot", "count", "reps",
        sides=True, cap=25, warn=(0, 25), refuse=(0, 100),
    ),
    measure("stick_landings", "Still landings out of five", "score_count", "of_5", cap=5, warn=(0, 5), refuse=(0, 5)),
    measure("standing_long_jump", "Standing long jump", "distance", "cm", warn=(20, 190), refuse=(0, 260)),
    measure("pike_reach", "Seated pike reach", "distance", "cm", warn=(-20, 20), refuse=(-40, 40)),
)  # fmt: skip
SPECS = {spec.id: spec for spec in MEASURES}
PROGRAMME = Programme(
    edition=1,
    measures=SPECS,
    shapes={"arch": ShapeSpec("arch", "Arch", "On front", "side", 4, ())},
    skills={},
    benchmarks={},
    bands=(),
)
CHILDREN = KnownChildren(
    [
        KnownChild("mia", PersonName("Mia", "Ash"), date(2019, 3, 4), "Tigers"),
        KnownChild("zoe", PersonName("Zoë", "Søby"), date(2018, 7, 1), "Tigers"),
        KnownChild("ben1", PersonName("Ben", "Oak"), date(2019, 1, 1), "Tigers"),
        KnownChild("ben2", PersonName("Ben", "Oak"), date(2020, 2, 2), "Bears"),
    ]
)
