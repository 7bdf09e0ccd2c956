"""What a formula refuses it names in a sentence: a number that cannot be is never calculated with."""

from __future__ import annotations

import math

import numpy as np
import pytest

from assessments.analysis.censored import bound_as_value, capped_normal, capped_regression, survival
from assessments.analysis.centiles import (
    LmsTable,
    OffTheScale,
    OutsideAges,
    PercentileBand,
    PercentileTable,
    centile_of,
    pool_lms,
    value_from_lms,
    weighted_percentiles,
    z_from_lms,
)
from assessments.analysis.concordance import count_pairs, kappa_of_counts, krippendorff_alpha
from assessments.analysis.conformity import acceptance_limit, probability_met, z_for
from assessments.analysis.coverage import interval_score, kupiec, misses_that_fit
from assessments.analysis.pooling import Line, fit_trends, shrink_means
from assessments.analysis.reliability import (
    detectable_change,
    sem_from_icc,
    sem_interval,
    wilson,
)
from assessments.analysis.rotation import Stop, Turn, plan_rotation
from assessments.analysis.samples import NotEnough
from assessments.analysis.scoring import series_parts
from assessments.analysis.slope import predict, theil_sen
from assessments.analysis.symmetry import symmetry

FLAT = LmsTable((4.0, 5.0), (1.0, 1.0), (10.0, 12.0), (0.1, 0.1))
ROW = (1.0, 2.0)
ONES = [[1.0]] * 4
BAD_LMS = "L, M and S must be finite with M and S above 0, not {}."
RISE = "Ages and percentiles of a table must rise from row to row."
STOP, MIA = Stop("hold", 1, 60), Turn("mia", 6)
PLAN = "A rotation needs minutes of at least 0 and each child once."
STATIONS = "Each item has one station with a time above 0 and at least one place."
NEEDS = "Every value needs a time and a noise variance above 0."


def bands(*rows):
    return PercentileTable((10.0, 50.0), tuple(PercentileBand(*row) for row in rows))


def lines(count=5, **changes):
    days = np.array([0.0, 10.0])
    plain = {"times": days, "values": days, "noise": days + 1}
    made = [Line(child=f"c{n}", **plain) for n in range(count - 1)]
    return [*made, Line(**{"child": "last", **plain, **changes})]


CASES = [
    (ValueError, "Each value needs one mark.", lambda: survival([1, 2], [True])),
    (ValueError, "Each value needs one mark.", lambda: capped_normal([1, 2, 3], [[False, False, False]])),
    (ValueError, "The design needs one complete row for each value.",
     lambda: capped_regression([[1.0]], [1, 2, 3], [False] * 3)),
    (ValueError, "The design needs one complete row for each value.",
     lambda: capped_regression([[1.0], [math.nan], [1.0]], [1, 2, 3], [False] * 3)),
    (NotEnough, "There are too few values below the cap.", lambda: capped_normal([1, 2], [True, False])),
    (NotEnough, "There are too few values below the cap.", lambda: capped_normal([1, 2, 3], [True, False, True])),
    (ValueError, "Columns of the design repeat each other.",
     lambda: capped_regression([[1.0, 2.0]] * 4, [1, 2, 3, 5], [False] * 4)),
    (NotEnough, "All values are equal or follow the design exactly; there is no spread to fit.",
     lambda: capped_regression(ONES, [3, 3, 3, 3], [False] * 4)),
    (ValueError, "A belief needs a finite mean and variances above 0.", lambda: bound_as_value(1, math.nan, 1, 1)),
    (ValueError, "A belief needs a finite mean and variances above 0.", lambda: bound_as_value(1, 0, 0, 1)),
    (ValueError, "A belief needs a finite mean and variances above 0.", lambda: bound_as_value(1, 0, 1, 0)),
    (ValueError, BAD_LMS.format("1, 0, 0.1"), lambda: z_from_lms(3, 1, 0, 0.1)),
    (ValueError, BAD_LMS.format("inf, 1, 0.1"), lambda: z_from_lms(3, math.inf, 1, 0.1)),
    (ValueError, BAD_LMS.format("1, 10, 0"), lambda: value_from_lms(0, 1, 10, 0)),
    (OffTheScale, "An LMS table has no z for 0: it needs a value above 0.", lambda: z_from_lms(0, 1, 10, 0.1)),
    (OffTheScale, "The table has no value at z = -11: the curve ends before it.",
     lambda: value_from_lms(-11, 1, 10, 0.1)),
    (ValueError, "A centile needs a z, not a blank.", lambda: centile_of(math.nan)),
    (ValueError, "Every age of an LMS table needs its L, M and S.",
     lambda: LmsTable((4.0, 5.0), (1.0,), (10.0, 12.0), (0.1, 0.1))),
    (ValueError, RISE, lambda: LmsTable((5.0, 5.0), (1.0, 1.0), (10.0, 12.0), (0.1, 0.1))),
    (OutsideAges, "The table covers 4 to 5 years, not 5.01.", lambda: FLAT.at(5.01)),
    (OutsideAges, "The table covers 4 to 5 years, not 3.99.", lambda: FLAT.at(3.99)),
    (ValueError, "A centile lies between 0 and 100, not 100.", lambda: FLAT.value(100, 4.5)),
    (ValueError, "A centile lies between 0 and 100, not 0.", lambda: FLAT.value(0, 4.5)),
    (ValueError, "A percentile table needs at least one band.", bands),
    (ValueError, "The band from 4 years needs one value for each percentile.", lambda: bands((4, 5, (1.0,)))),
    (ValueError, "The band from 4 years needs one value for each percentile.",
     lambda: bands((4, 5, (1.0, math.nan)))),
    (ValueError, "Percentiles of the band from 4 years go down.", lambda: bands((4, 5, (2.0, 1.0)))),
    (ValueError, "The band from 4 years ends before it begins.", lambda: bands((4, 3, ROW))),
    (ValueError, "The band from 7 years does not follow the one before it.",
     lambda: bands((4, 5, ROW), (7, 8, ROW))),
    (ValueError, "Every value needs one weight.", lambda: weighted_percentiles([1, 2], [1], [50])),
    (ValueError, "Weights must not be below 0, and not all of them 0.",
     lambda: weighted_percentiles([1, 2], [1, -1], [50])),
    (ValueError, "Weights must not be below 0, and not all of them 0.",
     lambda: weighted_percentiles([1, 2], [0, 0], [50])),
    (ValueError, "Percentiles lie between 0 and 100.", lambda: weighted_percentiles([1, 2], [1, 1], [101])),
    (ValueError, "Percentiles lie between 0 and 100.", lambda: weighted_percentiles([1, 2], [1, 1], [-1])),
    (ValueError, "A share lies between 0 and 1, not 1.5.", lambda: pool_lms(FLAT, FLAT, share=1.5)),
    (ValueError, "Two tables are pooled age by age and need the same ages.",
     lambda: pool_lms(FLAT, LmsTable((4.0,), (1.0,), (10.0,), (0.1,)))),
    (ValueError, "A scale needs at least two levels, each named once.", lambda: count_pairs([1], [1], [1])),
    (ValueError, "A scale needs at least two levels, each named once.", lambda: count_pairs([1], [1], [1, 1])),
    (ValueError, "Each level of one rater needs one of the other.", lambda: count_pairs([1], [1, 2], [1, 2])),
    (NotEnough, "There is no pair of levels to compare.", lambda: count_pairs([], [], [1, 2])),
    (ValueError, "'x' is not a level of this scale.", lambda: count_pairs([1, "x"], [1, 2], [1, 2])),
    (ValueError, "Counts and weights must be square tables of the same size.",
     lambda: kappa_of_counts([[1, 2]], [[0, 1]])),
    (ValueError, "Counts and weights must be finite and not below 0.",
     lambda: kappa_of_counts([[1, -1], [0, 1]], [[0, 1], [1, 0]])),
    (ValueError, "Agreeing must cost nothing and some disagreement something.",
     lambda: kappa_of_counts([[1, 0], [0, 1]], [[0, 0], [0, 0]])),
    (NotEnough, "There is no pair of levels to compare.",
     lambda: kappa_of_counts([[0, 0], [0, 0]], [[0, 1], [1, 0]])),
    (ValueError, "Ratings must be a table of raters and children.", lambda: krippendorff_alpha([1, 2])),
    (ValueError, "A rating is a number or a blank.", lambda: krippendorff_alpha([[1, math.inf], [1, 2]])),
    (NotEnough, "No child was rated twice.", lambda: krippendorff_alpha([[1, math.nan], [math.nan, 2]])),
    (ValueError, "A ratio scale has no values below 0.",
     lambda: krippendorff_alpha([[1, -1], [1, 2]], scale="ratio")),
    (ValueError, "a confidence lies from 0.5 to below 1, not 1", lambda: z_for(1)),
    (ValueError, "score and threshold are finite numbers", lambda: probability_met(math.nan, 3, 1, whole=False)),
    (ValueError, "an error is a number above 0, not 0", lambda: probability_met(3, 3, 0, whole=False)),
    (ValueError, "an error is a number above 0, not -1", lambda: acceptance_limit(3, -1, 0.8, whole=False)),
    (ValueError, "An interval runs upwards, not from 4 to 3.", lambda: interval_score(4, 3, 3, level=0.8)),
    (ValueError, "A level lies between 0 and 1, not 1.", lambda: interval_score(3, 4, 3, level=1)),
    (ValueError, "3 misses of 2 at 0.2 cannot be judged.", lambda: kupiec(3, 2, 0.2)),
    (ValueError, "No count of misses fits 0.5 of 1.", lambda: misses_that_fit(1, 0.5, alpha=0.9)),
    (ValueError, "Each child has one line.", lambda: fit_trends(lines(child="c0"))),
    (NotEnough, "A common trend needs 5 children and has 4.", lambda: fit_trends(lines(4))),
    (NotEnough, "A common trend needs 5 children with two test days.",
     lambda: fit_trends(lines(times=np.array([3.0, 3.0])))),
    (ValueError, NEEDS, lambda: fit_trends(lines(noise=np.array([0.0, 1.0])))),
    (ValueError, NEEDS, lambda: fit_trends(lines(noise=np.array([1.0])))),
    (ValueError, "A variance is a finite number of at least 0.", lambda: shrink_means([1, 2, 3, 4], -1)),
    (NotEnough, "A SEM needs at least one degree of freedom.", lambda: sem_interval(1, 0)),
    (ValueError, "A SEM is a finite number of at least 0, not -1.", lambda: sem_interval(-1, 5)),
    (ValueError, "A spread is at least 0 and a correlation between 0 and 1.", lambda: sem_from_icc(-1, 0.5)),
    (ValueError, "A spread is at least 0 and a correlation between 0 and 1.", lambda: sem_from_icc(1, 1.1)),
    (ValueError, "A SEM is a finite number of at least 0, not inf.", lambda: detectable_change(math.inf)),
    (ValueError, "3 of 2 is not a share.", lambda: wilson(3, 2)),
    (ValueError, PLAN, lambda: plan_rotation([MIA, MIA], [STOP], minutes=10)),
    (ValueError, PLAN, lambda: plan_rotation([MIA], [STOP], minutes=-1)),
    (ValueError, STATIONS, lambda: plan_rotation([MIA], [STOP, STOP], minutes=10)),
    (ValueError, STATIONS, lambda: plan_rotation([MIA], [Stop("hold", 1, 0)], minutes=10)),
    (ValueError, STATIONS, lambda: plan_rotation([MIA], [Stop("hold", 1, 9, places=0)], minutes=10)),
    (ValueError, "a series is written v1 or v1:variant, not 'x1'", lambda: series_parts("x1")),
    (NotEnough, "A slope needs two different days.", lambda: theil_sen([3, 3], [1, 2])),
    (NotEnough, "A line needs two different days.", lambda: predict([3] * 5, [1, 2, 3, 4, 5], 4)),
    (ValueError, "A side has a finite value or none.", lambda: symmetry(math.inf, 1, sem_left=1, sem_right=1)),
    (ValueError, "A SEM is at least 0.", lambda: symmetry(1, 1, sem_left=-1, sem_right=1)),
    (ValueError, "A SEM is at least 0.", lambda: symmetry(1, 1, sem_left=1, sem_right=math.nan)),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "words", "call"), CASES)
def test_what_cannot_be_calculated_is_named(kind, words, call):
    with pytest.raises(ValueError, match=r".") as caught:
        call()
    assert (type(caught.value), str(caught.value)) == (kind, words)


def test_what_stands_on_the_line_is_calculated():
    assert symmetry(1, 1, sem_left=0, sem_right=1).noise == pytest.approx(1.96)
    assert symmetry(1, 1, sem_left=1, sem_right=0).noise == pytest.approx(1.96)
    assert not symmetry(1, 1, sem_left=0, sem_right=0).shown, "no difference is none, however exact the test"
    assert [symmetry(a, b, sem_left=1, sem_right=1).lower for a, b in ((1, 1.5), (1.5, 1))] == [
        "left",
        "right",
    ]
    assert symmetry(0.5, 0.25, sem_left=1, sem_right=1).percent == pytest.approx(-50)
    assert symmetry(0, 5, sem_left=1, sem_right=1).percent == pytest.approx(100)
    assert FLAT.at(4.0) == (1.0, 10.0, 0.1) and FLAT.at(5.0) == (1.0, 12.0, 0.1)
    assert weighted_percentiles([1, 2], [1, 0], [0, 100]) == (1.0, 1.0)
    assert plan_rotation([MIA], [STOP], minutes=0) is not None
    assert sem_from_icc(2, 1) == 0 and sem_from_icc(0, 0) == 0
    assert wilson(0, 0) is None
