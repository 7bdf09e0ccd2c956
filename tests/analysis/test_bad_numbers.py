"""Every public function of numbers and lookups, over what it should never be given: a defined answer, or a sentence.

With `test_bad_trials` this is the whole door of the calculation; a new public function without a row breaks the count.
"""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from assessments import analysis as a
from assessments.analysis.records import Requirement
from assessments.analysis.reference_file import ReferenceProblem
from assessments.analysis.samples import NotEnough

from .bad_trials import calculated
from .small_club import MONDAY, measure, programme

NAN, INF = math.nan, math.inf
HOLD, EDITION = measure(), programme()
LEVELS = (0, 1, 2)
RESTED = a.Turn("mia", 6, resting=("lower_back",))

#: What each function refuses: a call and a part of the sentence.
REFUSED: dict[str, list[tuple[Callable[[], Any], str]]] = {
    "acceptance_limit": [
        (lambda: a.acceptance_limit(NAN, 1, 0.8), "a threshold is a finite number, not nan"),
        (lambda: a.acceptance_limit(INF, 1, 0.8), "a threshold is a finite number, not inf"),
        (lambda: a.acceptance_limit(3, NAN, 0.8), "an error is a number above 0, not nan"),
        (lambda: a.acceptance_limit(3, -1, 0.8), "an error is a number above 0, not -1"),
        (lambda: a.acceptance_limit(3, INF, 0.8), "an error is a number above 0, not inf"),
        (lambda: a.acceptance_limit(3, 1, NAN), "a confidence lies from 0.5 to below 1, not nan"),
        (lambda: a.acceptance_limit(3, 1, 0.4), "a confidence lies from 0.5 to below 1, not 0.4"),
    ],
    "probability_met": [
        (lambda: a.probability_met(NAN, 3, 1), "finite numbers"),
        (lambda: a.probability_met(3, -INF, 1), "finite numbers"),
        (lambda: a.probability_met(3, 3, NAN), "an error is a number above 0, not nan"),
        (lambda: a.probability_met(3, 3, 0), "an error is a number above 0, not 0"),
    ],
    "centile_of": [(lambda: a.centile_of(NAN), "a z, not a blank")],
    "z_from_lms": [
        (lambda: a.z_from_lms(NAN, 1, 10, 0.1), "no z for nan"),
        (lambda: a.z_from_lms(-3, 1, 10, 0.1), "no z for -3"),
        (lambda: a.z_from_lms(3, NAN, 10, 0.1), "must be finite"),
        (lambda: a.z_from_lms(3, 1, -10, 0.1), "M and S above 0"),
    ],
    "value_from_lms": [
        (lambda: a.value_from_lms(NAN, 1, 10, 0.1), "no value at z = nan"),
        (lambda: a.value_from_lms(-99, 1, 10, 0.1), "the curve ends before it"),
        (lambda: a.value_from_lms(0, 1, 10, INF), "must be finite"),
    ],
    "detectable_change": [
        (lambda: a.detectable_change(NAN), "a finite number of at least 0, not nan"),
        (lambda: a.detectable_change(-1), "a finite number of at least 0, not -1"),
        (lambda: a.detectable_change(1, NAN), "A confidence lies between 0 and 1, not nan"),
        (lambda: a.detectable_change(1, df=0), "No degrees of freedom"),
        (lambda: a.detectable_change(1, df=NAN), "No degrees of freedom"),  # type: ignore[arg-type]
    ],
    "wilson": [
        (lambda: a.wilson(NAN, 5), "nan of 5 is not a share"),
        (lambda: a.wilson(0, INF), "0 of inf is not a share"),
        (lambda: a.wilson(-1, 5), "-1 of 5 is not a share"),
        (lambda: a.wilson(6, 5), "6 of 5 is not a share"),
        (lambda: a.wilson(1, 5, confidence=NAN), "A confidence lies between 0 and 1"),
    ],
    "misses_that_fit": [
        (lambda: a.misses_that_fit(0, 0.2), "0 misses of 0 at 0.2 cannot be judged"),
        (lambda: a.misses_that_fit(-1, 0.2), "No count of misses fits"),
        (lambda: a.misses_that_fit(10, NAN), "at nan cannot be judged"),
        (lambda: a.misses_that_fit(10, 1.0), "cannot be judged"),
    ],
    "symmetry": [
        (lambda: a.symmetry(INF, 5, sem_left=1, sem_right=1), "a finite value or none"),
        (lambda: a.symmetry(4, 5, sem_left=-1, sem_right=1), "A SEM is at least 0"),
        (lambda: a.symmetry(4, 5, sem_left=1, sem_right=NAN), "A SEM is at least 0"),
    ],
    "level_on": [
        (lambda: a.level_on([], [], 2, 3), "no score on or before that week"),
        (lambda: a.level_on([4], [9], 2, 3), "no score on or before that week"),
        (lambda: a.level_on([0, 1], [3, NAN], 2, 3), "finite numbers"),
        (lambda: a.level_on([0, INF], [3, 4], 2, 3), "finite numbers"),
        (lambda: a.level_on([0, 1], [3, 4], 2, NAN), "finite numbers"),
        (lambda: a.level_on([0, 1], [3, 4], -2, 3), "an error is a number above 0"),
        (lambda: a.level_on([0], [3, 4], 2, 3), "differ in number"),
    ],
    "smallest_worthwhile_change": [
        (lambda: a.smallest_worthwhile_change([]), "at least 2 numbers and has 0"),
        (lambda: a.smallest_worthwhile_change([3]), "at least 2 numbers and has 1"),
        (lambda: a.smallest_worthwhile_change([3, NAN]), "holds a blank"),
        (lambda: a.smallest_worthwhile_change([3, 4], share=-1), "above 0, not -1"),
        (lambda: a.smallest_worthwhile_change([3, 4], share=NAN), "above 0, not nan"),
    ],
    "typical_error": [
        (lambda: a.typical_error([], []), "at least 2 numbers and has 0"),
        (lambda: a.typical_error([3], [4]), "at least 2 numbers and has 1"),
        (lambda: a.typical_error([3, NAN], [4, 5]), "holds a blank"),
        (lambda: a.typical_error([3, 4], [4, 5, 6]), "as many second values"),
    ],
    "icc": [
        (lambda: a.icc([]), "a table of rows and columns"),
        (lambda: a.icc([[3, 4]]), "at least two rows"),
        (lambda: a.icc([[1, NAN], [2, 3]]), "holds a blank"),
        (lambda: a.icc([[1, 2], [2, 4]], confidence=-1), "A confidence lies between 0 and 1, not -1"),
        (lambda: a.icc([[1, 2], [2, 4]], step=NAN), "at least 0, not nan"),
        (lambda: a.icc([[1, 2], [2, 4]], step=-1), "at least 0, not -1"),
    ],
    "krippendorff_alpha": [
        (lambda: a.krippendorff_alpha([]), "a table of raters and children"),
        (lambda: a.krippendorff_alpha([[], []]), "No child was rated twice"),
        (lambda: a.krippendorff_alpha([[1, INF], [1, 2]]), "a number or a blank"),
    ],
    "weighted_kappa": [
        (lambda: a.weighted_kappa([], [], LEVELS), "no pair of levels"),
        (lambda: a.weighted_kappa([1], [1, 2], LEVELS), "needs one of the other"),
        (lambda: a.weighted_kappa([1, NAN], [1, 2], LEVELS), "nan is not a level"),
        (lambda: a.weighted_kappa([1, -1], [1, 2], LEVELS), "-1 is not a level"),
        (lambda: a.weighted_kappa([1], [1], [1]), "at least two levels"),
    ],
    "weighted_percentiles": [
        (lambda: a.weighted_percentiles([], [], [50]), "at least 1 numbers"),
        (lambda: a.weighted_percentiles([1, NAN], [1, 1], [50]), "holds a blank"),
        (lambda: a.weighted_percentiles([1, 2], [1, -1], [50]), "must not be below 0"),
        (lambda: a.weighted_percentiles([1, 2], [1, 1], [101]), "between 0 and 100"),
    ],
    "calibrate": [
        (lambda: a.calibrate([5] * 9, [5] * 10, MONDAY), "needs an agreed total"),
        (lambda: a.calibrate([11] * 10, [5] * 10, MONDAY), "A total lies between 0 and 10"),
        (lambda: a.calibrate([-1] * 10, [5] * 10, MONDAY), "A total lies between 0 and 10"),
        (lambda: a.calibrate([NAN] * 10, [5] * 10, MONDAY), "A total lies between 0 and 10"),  # type: ignore[list-item]
    ],
    "shared_scores": [
        (lambda: a.shared_scores({"a": [1], "b": [1, 2]}), "Every coach scores every example"),
        (lambda: a.shared_scores({"a": [1] * 10, "b": [-1] * 10}), "A total lies between 0 and 10"),
        (lambda: a.shared_scores({"a": [1], "b": [NAN]}), "A total lies between 0 and 10"),  # type: ignore[list-item]
        (lambda: a.shared_scores({"a": [13], "b": [3]}, top=12), "A total lies between 0 and 12"),
    ],
    "series_parts": [
        (lambda text=text: a.series_parts(text), "a series is written v1 or v1:variant")  # type: ignore[misc]
        for text in ("", "v", "1", "v-1", ":tucked", "v1.5")
    ],
    "plan_rotation": [
        (lambda: a.plan_rotation([RESTED, RESTED], [], minutes=10), "each child once"),
        (lambda: a.plan_rotation([RESTED], [], minutes=-1), "minutes of at least 0"),
        (lambda: a.plan_rotation([RESTED], [a.stop_for(HOLD, places=0)], minutes=10), "at least one place"),
    ],
    "read_reference": [(lambda: a.read_reference(Path("there is none")), "cannot be read")],
}


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_is_refused_in_a_sentence(name: str) -> None:
    for call, words in REFUSED[name]:
        with pytest.raises((ValueError, ReferenceProblem)) as caught:
            call()
        assert words in str(caught.value)


#: What stands on the line has an answer, and which.
DEFINED: dict[str, list[tuple[Callable[[], Any], Any]]] = {
    "line_of": [
        (lambda: a.line_of(-3, whole=True), -3.5),
        (lambda: a.line_of(0, whole=False), 0),
    ],
    "counts_whole": [(lambda: [a.counts_whole(one) for one in (HOLD, EDITION.shapes["tuck"])], [False, True])],
    "centile_of": [(lambda: (a.centile_of(-INF), a.centile_of(INF)), (0.0, 100.0))],
    "detectable_change": [(lambda: a.detectable_change(0), 0.0)],
    "wilson": [(lambda: a.wilson(0, 0), None), (lambda: (a.wilson(5, 5) or (0, 0))[1], 1.0)],
    "symmetry": [
        (lambda: a.symmetry(None, 5, sem_left=1, sem_right=1), None),
        (lambda: a.symmetry(NAN, 5, sem_left=1, sem_right=1), None),
        (lambda: getattr(a.symmetry(-4, 5, sem_left=1, sem_right=1), "percent"), None),  # noqa: B009
    ],
    "level_on": [
        (lambda: a.level_on([0, 12], [3, 9], 2, 9) == a.level_on([0], [3], 2, 9), True),  # nothing from the future
        (lambda: a.level_on([8, 0], [9, 3], 2, 9) == a.level_on([0, 8], [3, 9], 2, 9), True),
        (lambda: a.level_on([0, 1], [3, 9], 2, 9, at_least=[True, True]).mean, 9.0),  # a bound lowers nothing
        (lambda: a.level_on([0, 0, 0], [3, 3, 3], 2, 0).mean, 3.0),
    ],
    "smallest_worthwhile_change": [(lambda: a.smallest_worthwhile_change([3, 3, 3]), 0.0)],
    "typical_error": [(lambda: a.typical_error([3, 3], [3, 3]), 0.0)],
    "icc": [(lambda: math.isnan(a.icc([[3, 3], [3, 3]]).icc1), True)],  # all equal is undefined, not perfect
    "krippendorff_alpha": [(lambda: math.isnan(a.krippendorff_alpha([[3, 3], [3, 3]])), True)],
    "weighted_kappa": [(lambda: math.isnan(a.weighted_kappa([1, 1], [1, 1], LEVELS)), True)],
    "weighted_percentiles": [(lambda: a.weighted_percentiles([3, 3], [1, 1], [10, 90]), (3.0, 3.0))],
    "calibrate": [
        (lambda: a.calibrate([], [], MONDAY).reason, "0 of 10 examples scored."),
        (lambda: a.calibrate([5] * 10, [5] * 10, MONDAY).passed, True),
    ],
    "calibration_states": [
        (lambda: a.calibration_states({}, MONDAY), ()),
        (lambda: [one.word for one in a.calibration_states({"x": None, "y": MONDAY, "z": date.max}, MONDAY)],
         ["never", "soon", "calibrated"]),
        (lambda: a.calibration_states({"x": MONDAY - timedelta(days=1)}, MONDAY)[0].word, "due"),
    ],
    "shared_scores": [
        (lambda: a.shared_scores({}).reason, "It takes 2 coaches to compare."),
        (lambda: math.isnan(a.shared_scores({"a": [3] * 10, "b": [3] * 10}).alpha or 0), True),
    ],
    "clock_bias": [
        (lambda: a.clock_bias([0, 1]).tolist(), [0.27, 0.27]),
        (lambda: float(a.clock_bias(10)), pytest.approx(2.15 + 2 * 0.18)),  # above eight the last slope goes on
    ],
    "clock_error": [
        (lambda: a.clock_error([0, 1]).tolist(), [0.0, 0.0]),
        (lambda: float(a.clock_error(10)), pytest.approx((1.26**2 - 0.06**2) ** 0.5)),
    ],
    "date_of": [(lambda: a.date_of(0), date(1970, 1, 1)), (lambda: a.date_of(-1), date(1969, 12, 31))],
    "figure": [
        (lambda: a.figure(HOLD, -1), "-1 s"),
        (lambda: a.figure(HOLD, NAN), "not known"),
        (lambda: a.figure(HOLD, INF, at_least=True), "not known"),
    ],
    "stop_for": [(lambda: a.stop_for(replace(HOLD, loads=())).loads, ())],
    "plan_rotation": [
        (lambda: a.plan_rotation([], [], minutes=0).visits, ()),
        (lambda: a.plan_rotation([replace(RESTED, resting=())], [a.stop_for(HOLD)], minutes=0).visits, ()),
        (lambda: a.plan_rotation([RESTED], [a.stop_for(HOLD)], minutes=10).visits, ()),
        (lambda: a.plan_rotation([a.Turn("old", 40)], [a.stop_for(HOLD)], minutes=10).left_out, ()),
    ],
    "instead_of": [
        (lambda: a.instead_of(HOLD, {}, [], age=6), None),
        (lambda: a.instead_of(HOLD, {}, ["an area that is not there"], age=6), None),
        (lambda: getattr(a.instead_of(HOLD, {}, ["lower_back"], age=6), "exercises"), ()),  # noqa: B009
    ],
    "in_force": [],
    "admissible": [
        (lambda: a.admissible(HOLD, Requirement(HOLD.id, 20), "v1"), "asked"),
        (lambda: a.admissible(HOLD, Requirement(HOLD.id, 20), "v2"), ""),
        (lambda: a.admissible(HOLD, Requirement(HOLD.id, 20, variant="gone"), "v1:gone"), ""),
    ],
    "rest_ended": [],
    "touches": [],
    "age_and_band": [
        (lambda: a.age_and_band(MONDAY, MONDAY, EDITION.bands), (0.0, "")),
        (lambda: a.age_and_band(MONDAY + timedelta(days=1), MONDAY, EDITION.bands)[1], ""),
        (lambda: a.age_and_band(MONDAY, MONDAY, ()), (0.0, "")),
    ],
    "benchmark_steps": [(lambda: a.benchmark_steps(EDITION, "no such item", MONDAY), ())],
}  # fmt: skip


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("name", DEFINED)
def test_what_stands_on_the_line_has_an_answer(name: str) -> None:
    for call, expected in DEFINED[name]:
        assert call() == expected


def test_a_rest_note_counts_from_its_first_day_until_the_day_before_it_ended() -> None:
    from assessments.analysis.records import RestSpell

    one_day = RestSpell(("wrist",), MONDAY, MONDAY + timedelta(days=1))
    assert [a.in_force(one_day, MONDAY + timedelta(days=step)) for step in (-1, 0, 1)] == [False, True, False]
    assert not a.in_force(RestSpell(("wrist",), MONDAY, MONDAY), MONDAY), "ended on the day it began"
    backwards = RestSpell(("wrist",), MONDAY, MONDAY - timedelta(days=3))
    assert not any(a.in_force(backwards, MONDAY + timedelta(days=step)) for step in range(-5, 5))
    assert not a.touches(RestSpell((), MONDAY), frozenset({"wrist"}), EDITION)
    assert not a.touches(one_day, frozenset(), EDITION)
    wrist, tomorrow = frozenset({"wrist"}), MONDAY + timedelta(days=1)
    assert a.rest_ended([], wrist, EDITION, on=MONDAY) is None
    assert a.rest_ended([one_day], wrist, EDITION, on=MONDAY) is None, "still open"
    assert (
        a.rest_ended([one_day, RestSpell(("wrist",), MONDAY, MONDAY)], wrist, EDITION, on=tomorrow)
        == tomorrow
    )
    assert a.rest_ended([one_day], frozenset({"knee"}), EDITION, on=tomorrow) is None
    assert a.touches(one_day, frozenset({"wrist", "neck"}), EDITION)


def test_too_few_is_told_apart_from_wrong() -> None:
    with pytest.raises(NotEnough):
        a.typical_error([3], [4])
    with pytest.raises(ValueError) as caught:
        a.typical_error([3, NAN], [4, 5])
    assert not isinstance(caught.value, NotEnough)


def test_every_public_function_has_its_rows() -> None:
    public = {name for name in a.__all__ if inspect.isfunction(getattr(a, name))}
    assert public == set(REFUSED) | set(DEFINED) | set(calculated("plain")), "give the new function its rows"
