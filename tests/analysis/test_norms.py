"""The club's own percentiles: smoothed over age, never crossing, silent where there are few children."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from assessments.analysis import club_norms, draft_benchmarks
from assessments.analysis.norms import NormBand, Norms
from assessments.analysis.records import Band, Interpretation

from .simulated import TODAY, day_score, history

BANDS = (Band("4", 4, 5), Band("5", 5, 6), Band("6", 6, 7), Band("7", 7, 8), Band("8-9", 8, 10))
QUICK = 40


def club(children: int = 250, *, seed: int = 1, cap: float | None = None) -> list[Interpretation]:
    """True scores of a child of age a: normal around 6 a - 15 with a spread of a."""
    random = np.random.default_rng(seed)
    found = []
    for child in range(children):
        age = float(random.uniform(4, 10))
        value = max(0.0, random.normal(6 * age - 15, age))
        capped = cap is not None and value >= cap
        day = day_score(
            cap if capped and cap is not None else value,
            TODAY - timedelta(days=7),
            age=age,
            at_least=capped,
            outcome="reached_cap" if capped else "scored",
        )
        found.append(history(f"c{child}", [day]))
    return found


def true(percent: float, age: float) -> float:
    from statistics import NormalDist

    return 6 * age - 15 + age * NormalDist().inv_cdf(percent / 100)


@pytest.fixture(scope="module")
def norms() -> Norms:
    return club_norms(club(1200), BANDS, TODAY, draws=QUICK)


def test_true_percentiles_come_back(norms: Norms) -> None:
    for band in norms.bands:
        assert band.enough
        for percent, value in zip(norms.percents, band.values, strict=True):
            assert value == pytest.approx(true(percent, band.age), abs=2.5)


def test_the_ends_are_not_pulled_to_the_middle(norms: Norms) -> None:
    """A plain kernel mean would be about 2 s too high at 4 and too low at 9."""
    for place in (0, 4):
        assert norms.bands[place].values[2] == pytest.approx(true(50, norms.bands[place].age), abs=1.6)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("cap", [None, 25.0])
def test_percentiles_never_cross(seed: int, cap: float | None) -> None:
    found = club_norms(club(180, seed=seed, cap=cap), BANDS, TODAY, draws=0, needed=5)
    for band in found.bands:
        known = [value for value in band.values if value is not None]
        assert known == sorted(known)


def test_percentiles_above_the_cap_have_no_value_and_the_others_stay() -> None:
    plain, capped = (club_norms(club(1200, cap=cap), BANDS, TODAY, draws=0) for cap in (None, 30.0))
    oldest = capped.bands[-1]
    assert oldest.values[-1] is None
    for before, after in zip(plain.bands[1].values, capped.bands[1].values, strict=True):
        if after is not None and before is not None and before < 28:
            assert after == pytest.approx(before, abs=0.6)


def test_a_bands_interval_holds_its_value_and_widens_with_fewer_children(norms: Norms) -> None:
    few = club_norms(club(200), BANDS, TODAY, draws=QUICK)
    for many, less in zip(norms.bands, few.bands, strict=True):
        wide, narrow = less.intervals[2], many.intervals[2]
        assert wide is not None and narrow is not None
        assert narrow[0] <= (many.values[2] or 0) <= narrow[1]
        assert wide[1] - wide[0] > narrow[1] - narrow[0]


def test_eighty_percent_intervals_hold_the_truth_about_four_times_in_five() -> None:
    held = total = 0
    for seed in range(50):
        found = club_norms(club(240, seed=seed), BANDS[1:4], TODAY, draws=40, percents=(50,))
        for band in found.bands:
            interval = band.intervals[0]
            assert interval is not None
            held += interval[0] <= true(50, band.age) <= interval[1]
            total += 1
    assert 0.68 <= held / total <= 0.90


def test_an_interval_may_reach_above_the_cap() -> None:
    values = [*range(1, 13), *[60] * 10]  # 12 stopped, 10 held to the cap: half is near it
    found = [
        history(
            f"c{n}",
            [
                day_score(
                    value, TODAY, at_least=value == 60, outcome="scored" if value < 60 else "reached_cap"
                )
            ],
        )
        for n, value in enumerate(values)
    ]
    (band,) = club_norms(found, [Band("6", 6, 7)], TODAY, draws=200).bands
    assert band.values[2] is not None and band.intervals[2] is not None
    assert band.intervals[2][0] < band.values[2] < band.intervals[2][1] == math.inf
    assert (band.values[4], band.intervals[4]) == (None, None)


@pytest.mark.parametrize(("children", "enough"), [(19, False), (20, True)])
def test_a_band_with_few_children_says_nothing(children: int, enough: bool) -> None:
    found = [history(f"c{n}", [day_score(10 + n, TODAY, age=6.5)]) for n in range(children)]
    (band,) = club_norms(found, [Band("6", 6, 7)], TODAY, draws=QUICK).bands
    assert (band.children, band.enough, band.values[2] is not None) == (children, enough, enough)


def test_children_of_neighbouring_ages_help_and_do_not_count() -> None:
    inside = [history(f"c{n}", [day_score(10, TODAY, age=6.5)]) for n in range(20)]
    outside = [history(f"o{n}", [day_score(20, TODAY, age=7.2)]) for n in range(20)]
    (band,) = club_norms([*inside, *outside], [Band("6", 6, 7)], TODAY, draws=0).bands
    assert band.children == 20
    assert band.values[-1] is not None and band.values[-1] > 10


def test_a_child_counts_once_with_the_result_nearest_in_age() -> None:
    days = [
        day_score(value, TODAY - timedelta(weeks=week), age=age)
        for value, week, age in ((5, 30, 6.0), (9, 20, 6.4), (30, 1, 7.4))
    ]
    found = [history(f"c{n}", days) for n in range(20)]
    (band,) = club_norms(found, [Band("6", 6, 7)], TODAY, draws=0).bands
    assert (band.children, band.values[2]) == (20, 9)


def test_the_newer_of_two_results_as_near_is_taken() -> None:
    days = [day_score(5, TODAY - timedelta(weeks=30), age=6.25), day_score(9, TODAY, age=6.75)]
    found = [history(f"c{n}", days) for n in range(20)]
    (band,) = club_norms(found, [Band("6", 6, 7)], TODAY, draws=0).bands
    assert band.values == (9, 9, 9, 9, 9)


def test_first_looks_and_familiarisation_do_not_enter() -> None:
    found = [
        history(f"c{n}", [day_score(10, TODAY, first_look=n % 2 == 0, familiarisation=n % 2 == 1)])
        for n in range(30)
    ]
    (band,) = club_norms(found, [Band("6", 6, 7)], TODAY, draws=0).bands
    assert band.children == 0


def test_all_equal_children_share_every_percentile() -> None:
    found = [history(f"c{n}", [day_score(12, TODAY, age=6 + n / 40)]) for n in range(40)]
    (band,) = club_norms(found, [Band("6", 6, 7)], TODAY, draws=QUICK).bands
    assert band.values == pytest.approx((12,) * 5)
    assert band.intervals[2] == pytest.approx((12, 12))


def test_all_capped_children_have_no_percentiles() -> None:
    found = [
        history(f"c{n}", [day_score(60, TODAY, at_least=True, outcome="reached_cap")]) for n in range(25)
    ]
    (band,) = club_norms(found, [Band("6", 6, 7)], TODAY, draws=QUICK).bands
    assert (band.enough, band.values, band.intervals) == (True, (None,) * 5, (None,) * 5)


def test_values_are_cut_at_the_lowest_there_can_be() -> None:
    found = [history(f"c{n}", [day_score(-5, TODAY)]) for n in range(25)]
    cut = club_norms(found, [Band("6", 6, 7)], TODAY, draws=0)
    free = club_norms(found, [Band("6", 6, 7)], TODAY, draws=0, lowest=None)
    assert (cut.bands[0].values[2], free.bands[0].values[2]) == (0, -5)


def test_the_same_seed_gives_the_same_intervals() -> None:
    one, two = (club_norms(club(200), BANDS, TODAY, draws=QUICK, seed=7) for _ in range(2))
    other = club_norms(club(200), BANDS, TODAY, draws=QUICK, seed=8)
    assert one == two
    assert one != other


@pytest.mark.parametrize("percents", [(), (0, 50), (50, 100), (50, 25), (50, 50)])
def test_percentiles_that_cannot_be_are_refused(percents: tuple[float, ...]) -> None:
    with pytest.raises(ValueError):
        club_norms([], BANDS, TODAY, percents=percents)


def test_a_draft_takes_two_percentiles_rounded_down(norms: Norms) -> None:
    rows = draft_benchmarks(norms, "hollow_hold")
    assert [row.band for row in rows] == [band.id for band in BANDS]
    for row, band in zip(rows, norms.bands, strict=True):
        assert (row.building, row.aim) == (math.floor(band.values[1] or 0), math.floor(band.values[2] or 0))
        assert (row.item, row.support) == ("hollow_hold", "derived")
        assert row.note.startswith("Draft: percentiles 25 and 50 of ")


def made(values: tuple[float | None, ...]) -> Norms:
    return Norms((25, 50), (NormBand("6", 6.5, 30, True, values, (None, None)),), 20, 0.8)


def test_a_draft_aim_lies_a_step_above_building() -> None:
    (row,) = draft_benchmarks(made((12.9, 12.9)), "x", precision=0.5)
    assert (row.building, row.aim) == (12.5, 13.0)


@pytest.mark.parametrize("values", [(None, None), (12.0, None)])
def test_a_band_without_values_has_no_draft_row(values: tuple[float | None, ...]) -> None:
    assert draft_benchmarks(made(values), "x") == ()


@pytest.mark.parametrize(
    ("values", "cap"), [((None, None), None), ((12.0, None), None), ((50.0, 61.0), 60.0)]
)
def test_a_band_without_a_row_hides_no_other(values: tuple[float | None, ...], cap: float | None) -> None:
    bands = made(values).bands + made((10.0, 20.0)).bands
    (row,) = draft_benchmarks(replace(made(values), bands=bands), "x", cap=cap)
    assert (row.building, row.aim) == (10, 20)


@pytest.mark.parametrize(("building", "aim"), [(10, 50), (25, 60), (50, 25), (25, 25)])
def test_a_draft_needs_two_of_the_percentiles(building: float, aim: float) -> None:
    with pytest.raises(ValueError):
        draft_benchmarks(made((10, 20)), "x", building=building, aim=aim)


def near_the_cap() -> list[Interpretation]:
    """Older children of the band hold longer and half of them to the cap of 60: the shift to its middle points up."""
    found = []
    for n in range(40):
        age = 5.2 + n / 30
        value = min(60.0, 20 + 1.6 * n)
        day = day_score(
            value,
            TODAY,
            age=age,
            at_least=value == 60,
            outcome="reached_cap" if value == 60 else "scored",
        )
        found.append(history(f"c{n}", [day]))
    return found


def test_no_percentile_lies_above_the_cap() -> None:
    found = near_the_cap()
    bands, percents = [Band("6", 6, 7)], (5, 25, 50)
    free = club_norms(found, bands, TODAY, draws=QUICK, needed=10, percents=percents)
    assert max(value for value in free.bands[0].values if value is not None) > 60, "the story misses the cap"
    capped = club_norms(found, bands, TODAY, draws=QUICK, needed=10, percents=percents, cap=60)
    below = tuple(value if value is not None and value <= 60 else None for value in free.bands[0].values)
    assert capped.bands[0].values == below
    assert below[0] is not None
    assert all(one is None or one[0] <= 60 for one in capped.bands[0].intervals)


def test_a_draft_aim_never_lies_above_the_cap() -> None:
    norms = made((60.0, 60.0))
    assert draft_benchmarks(norms, "x", cap=60) == ()
    assert [row.aim for row in draft_benchmarks(norms, "x", cap=61)] == [61]


@pytest.mark.parametrize("percent", [25, 50, 75])
def test_a_year_younger_and_a_year_older_weigh_alike(percent: int) -> None:
    """Everybody younger scores 10, everybody older 30: at the age between them both are half of the children."""
    found = []
    for child, apart in enumerate(np.linspace(0.02, 1.2, 60)):
        for age, value in ((5.5 - apart, 10.0), (5.5 + apart, 30.0)):
            day = day_score(value, TODAY - timedelta(days=7), age=float(age), outcome="scored")
            found.append(history(f"c{child}-{value:g}", [day]))
    norms = club_norms(found, (Band("5", 5, 6),), TODAY, percents=(25.0, 50.0, 75.0), draws=QUICK)
    values = dict(zip(norms.percents, norms.bands[0].values, strict=True))
    mirrored = values[100 - percent]
    assert values[percent] is not None and mirrored is not None
    assert values[percent] + mirrored == pytest.approx(40, abs=0.5)
