"""Percentiles of a club against a plain loop, scipy's survival curve, numpy's weighted line, and by hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import timedelta

import numpy as np
import pytest
from scipy import stats

from assessments.analysis import club_norms, draft_benchmarks
from assessments.analysis.norms import NormBand, Norms
from assessments.analysis.records import Band, Benchmark, Interpretation

from .simulated import TODAY, day_score, history

SIX = Band("6", 6, 7)
PERCENTS = (5.0, 25.0, 50.0, 75.0, 95.0)
Result = tuple[float, float, bool]  # age, value, only 'at least'


def child(name: str, age: float, value: float, at_least: bool = False) -> Interpretation:
    outcome = "reached_cap" if at_least else "scored"
    return history(name, [day_score(value, TODAY, age=age, at_least=at_least, outcome=outcome)])


def children(results: Sequence[Result]) -> list[Interpretation]:
    return [child(f"c{n:03d}", *result) for n, result in enumerate(results)]


def band_of(results: Sequence[Result], percents: Sequence[float] = PERCENTS, **more: object) -> NormBand:
    settings = {"draws": 0, "needed": 1, "lowest": None} | more
    (band,) = club_norms(children(results), [SIX], TODAY, percents=percents, **settings).bands
    return band


def plain(results: Sequence[Result], middle: float, percent: float) -> float | None:
    """One percentile by its definition, a level at a time."""
    ages, values = np.array([one[0] for one in results]), np.array([one[1] for one in results])
    weights = [math.exp(-0.5 * ((age - middle) / 0.5) ** 2) for age in ages]
    levels = sorted({value for _, value, at_least in results if not at_least})
    share, ranks = 1.0, []
    for level in levels:
        holding = sum(w for w, (_, value, _) in zip(weights, results, strict=True) if value >= level)
        stopping = sum(
            w for w, (_, value, open_) in zip(weights, results, strict=True) if value == level and not open_
        )
        ranks.append(1 - share * (1 - stopping / holding / 2))
        share *= 1 - stopping / holding
    if not levels or (share > 1e-9 and percent / 100 > ranks[-1]):
        return None
    slope = np.polyfit(ages, values, 1, w=np.sqrt(weights))[0] if len(set(ages)) > 1 else 0.0
    return float(np.interp(percent / 100, ranks, levels)) + slope * (
        middle - float(np.average(ages, weights=weights))
    )


def drawn(seed: int, count: int = 30, cap: float | None = None) -> list[Result]:
    random = np.random.default_rng(seed)
    found = []
    for _ in range(count):
        age = float(random.uniform(5.2, 7.9))
        value = float(round(random.normal(4 * age, 5)))
        at_cap = cap is not None and value >= cap
        found.append((age, cap if at_cap and cap is not None else value, at_cap))
    return found


@pytest.mark.parametrize("cap", [None, 30.0, 26.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_percentiles_are_those_of_a_plain_loop(seed: int, cap: float | None) -> None:
    results = drawn(seed, cap=cap)
    band = band_of(results)
    for percent, value in zip(PERCENTS, band.values, strict=True):
        expected = plain(results, 6.5, percent)
        assert value == (None if expected is None else pytest.approx(expected, rel=1e-9))
    assert (cap is not None) == (band.values[-1] is None)


def test_children_who_chose_to_stop_early_lower_nothing_either() -> None:
    results = [
        (6.5, 12.0, False),
        (6.1, 14.0, True),
        (6.8, 18.0, False),
        (6.4, 5.0, True),
        (6.9, 25.0, False),
    ]
    for percent, value in zip(PERCENTS, band_of(results).values, strict=True):
        expected = plain(results, 6.5, percent)
        assert value == (None if expected is None else pytest.approx(expected, rel=1e-9))


def test_shares_are_those_of_scipys_survival_curve() -> None:
    """All of one age, so all weigh alike: each level is the percentile in the middle of its step."""
    stops, open_ends = [12, 9, 15, 15, 21, 30, 30, 33], [14, 15, 26, 40]
    curve = stats.ecdf(stats.CensoredData(uncensored=stops, right=open_ends)).sf
    before = np.concatenate([[1.0], curve.probabilities[:-1]])
    falls = before - curve.probabilities > 1e-9
    levels = curve.quantiles[falls]
    middles = (100 * (1 - (before + curve.probabilities) / 2)[falls]).tolist()
    results = [(6.5, stop, False) for stop in stops] + [(6.5, end, True) for end in open_ends]
    assert band_of(results, middles).values == pytest.approx(tuple(levels))
    assert levels.tolist() == sorted(set(stops))


def test_a_rank_between_two_levels_lies_between_them_by_its_share() -> None:
    """Two children, 10 and 20 s: ranks 25 and 75 of 100; beyond them the ends stay."""
    results = [(6.5, 10.0, False), (6.5, 20.0, False)]
    found = band_of(results, (1, 25, 35, 50, 75, 99)).values
    assert found == pytest.approx((10, 10, 12, 15, 20, 20))


def test_a_result_half_a_year_off_weighs_as_one_standard_deviation_of_the_kernel() -> None:
    """Weights 1 and twice exp(-1/2) = 0.6065; the ages lie evenly about the middle, so nothing is shifted."""
    results = [(6.5, 10.0, False), (6.0, 20.0, False), (7.0, 20.0, False)]
    low = 100 / (1 + 2 * math.exp(-0.5)) / 2
    assert low == pytest.approx(22.59, abs=0.01)
    assert band_of(results, (low, 50 + low)).values == pytest.approx((10, 20))
    assert band_of(results, (low + 10,)).values[0] == pytest.approx(10 + 10 * 0.10 / 0.50)


def test_one_sided_ages_are_moved_to_the_middle_along_the_line_through_them() -> None:
    """6.5 s and a second more each tenth of a year: all of 6.6 to 6.9, read at 6.5."""
    results = [(6.5 + n / 10, 6.5 + n, False) for n in (1, 2, 3, 4)]
    weights = [math.exp(-0.5 * (n / 5) ** 2) for n in (1, 2, 3, 4)]
    mean_age = float(np.average([n / 10 for n in (1, 2, 3, 4)], weights=weights))
    first = weights[0] / sum(weights) * 50
    assert band_of(results, (first,)).values[0] == pytest.approx(7.5 - 10 * mean_age)


@pytest.mark.parametrize(("age", "enters"), [(8.0, True), (8.001, False), (5.0, True), (4.999, False)])
def test_results_up_to_a_year_and_a_half_off_help(age: float, enters: bool) -> None:
    near = drawn(5)
    odd = (age, 900.0, False)
    assert plain([*near, odd], 6.5, 50) != pytest.approx(plain(near, 6.5, 50))
    expected = plain([*near, odd] if enters else near, 6.5, 50)
    assert band_of([*near, odd]).values[2] == pytest.approx(expected)


def test_a_child_gives_the_result_nearest_in_age_and_of_two_as_near_the_newer() -> None:
    def days(*results: tuple[int, float, float]) -> Interpretation:
        return history(
            "mia", [day_score(value, TODAY - timedelta(weeks=week), age=age) for week, age, value in results]
        )

    def value(one: Interpretation) -> float | None:
        return club_norms([one], [SIX], TODAY, draws=0, needed=1).bands[0].values[2]

    assert value(days((40, 6.25, 11), (20, 6.5, 12), (1, 7.0, 13))) == 12
    assert value(days((40, 6.25, 11), (1, 6.75, 13))) == 13
    assert value(days((1, 6.25, 13), (40, 6.75, 11))) == 13
    assert value(days((40, 6.375, 11), (1, 6.75, 13))) == 11
    assert value(days((40, 4.0, 11), (1, 6.9, 13))) == 13
    (later,) = club_norms([days((0, 6.5, 12))], [SIX], TODAY - timedelta(days=1), draws=0, needed=1).bands
    assert (later.children, later.values[2]) == (0, None)


def test_the_lower_edge_of_a_band_is_inside_and_the_upper_outside() -> None:
    assert band_of([(6.0, 10.0, False), (7.0, 20.0, False), (5.999, 20.0, False)]).children == 1


# --- nothing can be said ---------------------------------------------------------------------------------


def test_a_band_with_few_children_has_its_place_and_nothing_in_it() -> None:
    found = club_norms(
        children([(6.5, 10.0, False)] * 3), [SIX, Band("8-9", 8, 10)], TODAY, percents=(10, 50), needed=4
    )
    nothing = (None, None)
    assert found == Norms(
        (10, 50),
        (
            NormBand("6", 6.5, 3, False, nothing, nothing),
            NormBand("8-9", 9.0, 0, False, nothing, nothing),
        ),
        4,
        0.8,
    )


def test_percentiles_are_known_up_to_the_last_rank_that_was_seen() -> None:
    """Three of four stopped: ranks 12.5, 37.5 and 62.5; what the fourth would have held is not known."""
    results = [(6.5, 10.0, False), (6.5, 20.0, False), (6.5, 30.0, False), (6.5, 60.0, True)]
    assert band_of(results, (1, 37.5, 62.5, 62.6)).values == pytest.approx((10, 20, 30, None))


@pytest.mark.parametrize(("cap", "value"), [(10.0, 10.0), (9.99, None), (None, 10.0)])
def test_a_percentile_on_the_cap_stands(cap: float | None, value: float | None) -> None:
    assert band_of([(6.5, 10.0, False)], (50,), cap=cap).values == (value,)


@pytest.mark.parametrize(("lowest", "value"), [(10.5, 10.5), (10.0, 10.0), (0.0, 10.0), (None, 10.0)])
def test_no_percentile_lies_under_the_lowest_there_can_be(lowest: float | None, value: float) -> None:
    assert band_of([(6.5, 10.0, False)], (50,), lowest=lowest).values == (value,)


@pytest.mark.parametrize("percents", [(), (0.0,), (100.0,), (50.0, 50.0), (75.0, 25.0)])
def test_percentiles_that_cannot_be_are_named(percents: tuple[float, ...]) -> None:
    assert band_of([(6.5, 10.0, False)], (0.1, 99.9)).values == (10, 10)
    with pytest.raises(ValueError, match=r"^Percentiles lie between 0 and 100 and rise\.$"):
        band_of([(6.5, 10.0, False)], percents)


# --- intervals -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("draws", "cut"), [(1, 0), (5, 0), (11, 1), (17, 2), (40, 4)])
@pytest.mark.parametrize(("lowest", "cap"), [(None, None), (20.0, None), (None, 27.0)])
def test_an_interval_leaves_out_a_tenth_of_the_drawn_values_at_each_end(
    draws: int, cut: int, lowest: float | None, cap: float | None
) -> None:
    """The same children drawn anew with replacement, from the same seed; no value counts as above any."""
    results = drawn(4, cap=cap)
    random = np.random.default_rng(7)
    samples = [[results[row] for row in random.integers(0, 30, 30)] for _ in range(draws)]
    band = band_of(results, draws=draws, seed=7, lowest=lowest, cap=cap)
    for place, percent in enumerate(PERCENTS):
        values = [plain(sample, 6.5, percent) for sample in samples]
        known = [math.inf if one is None or (cap is not None and one > cap) else one for one in values]
        known = [max(one, -math.inf if lowest is None else lowest) for one in known]
        low, high = sorted(known)[cut], sorted(known)[len(known) - 1 - cut]
        expected = None if low == math.inf else pytest.approx((low, high), rel=1e-9)
        assert band.intervals[place] == expected


def test_without_draws_there_is_no_interval() -> None:
    assert band_of(drawn(4)).intervals == (None,) * 5


# --- a draft -----------------------------------------------------------------------------------------------


def norms(*values: float | None, percents: tuple[float, ...] = (10, 25, 50, 75)) -> Norms:
    return Norms(percents, (NormBand("6", 6.5, 31, True, values, (None,) * len(values)),), 20, 0.8)


def test_a_draft_row_says_what_it_is() -> None:
    (row,) = draft_benchmarks(norms(8.0, 12.9, 20.2, 30.0), "hollow_hold")
    note = "Draft: percentiles 25 and 50 of 31 children of this club."
    assert row == Benchmark("hollow_hold", "6", 12, 20, "derived", (), note)
    (other,) = draft_benchmarks(norms(8.0, 12.9, 20.2, 30.0), "hollow_hold", building=10, aim=75)
    assert (other.building, other.aim, other.note.split(" of ")[0]) == (8, 30, "Draft: percentiles 10 and 75")


@pytest.mark.parametrize(
    ("begins", "ends", "precision", "row"),
    [
        (12.9, 13.9, 1.0, (12, 13)),
        (12.9, 12.95, 1.0, (12, 13)),  # at least one step above
        (12.4, 13.2, 0.5, (12, 13)),
        (12.4, 12.45, 0.5, (12, 12.5)),
        (0.3, 0.7, 0.1, (0.3, 0.7)),  # 0.3 / 0.1 is a hair under 3 in a computer
        (-3.5, 2.0, 1.0, (-4, 2)),
        (57.0, 63.0, 5.0, (55, 60)),
    ],
)
def test_a_draft_is_rounded_down_to_what_is_measured(
    begins: float, ends: float, precision: float, row: tuple[float, float]
) -> None:
    (found,) = draft_benchmarks(norms(0.0, begins, ends, 99.0), "x", precision=precision)
    assert (found.building, found.aim) == pytest.approx(row)


@pytest.mark.parametrize(("building", "aim"), [(20, 50), (25, 60), (50, 25), (25, 25)])
def test_a_draft_of_percentiles_that_are_not_there_is_refused(building: float, aim: float) -> None:
    assert draft_benchmarks(norms(1.0, 2.0, 3.0, 4.0), "x", building=10, aim=75)
    with pytest.raises(ValueError, match=r"^Both must be percentiles of these norms, the aim above\.$"):
        draft_benchmarks(norms(1.0, 2.0, 3.0, 4.0), "x", building=building, aim=aim)
