"""The US youth survey of 2012: its public records give back its published percentiles, and our tables fit both.

Published: BMC Public Health 2016, table 3, doi:10.1186/s12889-016-2791-9 (plank, both sexes, 6 to 9 y: 15, 28, 51,
72, 104 s). Records: 2012 NHANES National Youth Fitness Survey, public domain.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from assessments.analysis.centiles import LmsTable, pool_lms, weighted_percentiles, z_from_lms
from assessments.analysis.reference_file import ReferenceTable, read_reference

from .reading import columns, rows

FOLDER = Path(__file__).parents[2] / "assessments" / "reference_data" / "us_survey_2012_plank"
PERCENTS = (3, 5, 10, 25, 50, 75, 90, 95, 97)


@pytest.fixture(scope="module")
def survey() -> ReferenceTable:
    return read_reference(FOLDER)


def records(age_from: int, age_to: int, group: str = "all") -> tuple[list[float], list[float]]:
    found = [
        (float(row["plank_s"]), float(row["relative_weight"]))
        for row in rows("nnyfs2012_plank_pullup_records.csv")
        if row["plank_s"]
        and age_from <= int(row["age_years_completed"]) <= age_to
        and group in ("all", row["sex"])
    ]
    return [value for value, _ in found], [weight for _, weight in found]


@pytest.mark.parametrize(("age_from", "age_to", "tolerance"), [(6, 9, 1.0), (6, 15, 1.5), (13, 15, 2.0)])
def test_records_give_back_the_published_percentiles(age_from: int, age_to: int, tolerance: float) -> None:
    (published,) = [
        row
        for row in rows("bmc2016_nnyfs_strength_percentiles.csv")
        if (row["test"], row["age_from"], row["age_to"]) == ("plank_hold", str(age_from), str(age_to))
    ]
    expected = [float(published[name]) for name in ("p10", "p25", "p50", "p75", "p90")]
    found = weighted_percentiles(*records(age_from, age_to), (10, 25, 50, 75, 90))
    assert found == pytest.approx(expected, abs=tolerance)


def test_six_to_nine_is_15_28_51_72_104() -> None:
    found = weighted_percentiles(*records(6, 9), (10, 25, 50, 75, 90))
    assert found == pytest.approx((15, 28, 51, 72, 104), abs=1.0)


def test_bands_that_ship_are_those_of_the_records(survey: ReferenceTable) -> None:
    for group, table in survey.percentiles.items():
        for band in table.bands:
            values, weights = records(band.age_from, band.age_to, group)
            assert len(values) == band.count
            assert band.values == pytest.approx(weighted_percentiles(values, weights, PERCENTS), abs=0.051)


def test_tables_by_sex_that_ship_are_those_that_were_fitted(survey: ReferenceTable) -> None:
    for group in ("boys", "girls"):
        fitted = [row for row in rows("nnyfs2012_plank_lms_fitted.csv") if row["sex"] == group]
        table = survey.lms[group]
        assert table.ages == tuple(float(row["age_years"]) for row in fitted)
        for age, row in zip(table.ages, fitted, strict=True):
            for name, centile in (("p3", 3), ("p50", 50), ("p97", 97)):
                printed = float(row[name])  # one decimal, from L, M and S that are rounded themselves
                assert table.value(centile, age) == pytest.approx(printed, abs=0.05 + 0.0005 * printed)


def test_pooled_table_that_ships_is_the_pooling_of_both(survey: ReferenceTable) -> None:
    again = pool_lms(survey.lms["boys"], survey.lms["girls"])
    assert survey.lms["all"].l == pytest.approx(again.l, abs=6e-5)
    assert survey.lms["all"].m == pytest.approx(again.m, abs=6e-3)
    assert survey.lms["all"].s == pytest.approx(again.s, abs=6e-5)


def test_pooled_z_scores_of_the_records_are_standard_normal(survey: ReferenceTable) -> None:
    table, zs, weights = survey.lms["all"], [], []
    for row in rows("nnyfs2012_plank_pullup_records.csv"):
        if row["plank_s"] and float(row["plank_s"]) > 0:
            age = int(row["age_years_completed"]) + 0.5
            zs.append(z_from_lms(float(row["plank_s"]), *table.at(age)))
            weights.append(float(row["relative_weight"]))
    mean = float(np.average(zs, weights=weights))
    sd = float(np.sqrt(np.average((np.array(zs) - mean) ** 2, weights=weights)))
    # 1,370 records: standard error of the mean about 0.03, of the spread about 0.02.
    assert mean == pytest.approx(0, abs=0.05)
    assert sd == pytest.approx(1, abs=0.05)


@pytest.mark.parametrize(
    ("percent", "name"), [(10, "p10"), (25, "p25"), (50, "p50"), (75, "p75"), (90, "p90")]
)
def test_pooled_curve_passes_near_the_published_band(survey: ReferenceTable, percent: int, name: str) -> None:
    (published,) = [
        row
        for row in rows("bmc2016_nnyfs_strength_percentiles.csv")
        if (row["test"], row["age_to"]) == ("plank_hold", "9")
    ]
    table = survey.lms["all"]
    middle = float(np.mean([table.value(percent, age) for age in (6.5, 7.5, 8.5, 9.5)]))
    assert middle == pytest.approx(float(published[name]), rel=0.15)


def test_weighted_percentiles_without_weights_are_those_of_numpy() -> None:
    (values,) = columns("worked_tobit_capped_800.csv", "read")
    unique = sorted(set(values))  # the two definitions differ only where values are tied
    found = weighted_percentiles(unique, [1.0] * len(unique), PERCENTS)
    assert found == pytest.approx(np.percentile(unique, PERCENTS, method="hazen"), rel=1e-12)


def test_a_table_pooled_with_itself_is_itself(survey: ReferenceTable) -> None:
    girls = survey.lms["girls"]
    again: LmsTable = pool_lms(girls, girls, share=0.3)
    assert again.l == pytest.approx(girls.l, abs=1e-9)
    assert again.m == pytest.approx(girls.m, rel=1e-9)
    assert again.s == pytest.approx(girls.s, rel=1e-9)
