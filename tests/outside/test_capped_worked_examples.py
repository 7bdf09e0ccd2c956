"""Values that are only 'at least': Freireich 1963 with R survfit output, and scores capped at 800.

Freireich and others 1963, Blood 21:699; Kaplan & Meier 1958 (READ-1, R output). Capped scores: UCLA teaching data with
the output of AER::tobit and VGAM (READ-1).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import CensoredData, chi2, ecdf, norm

from assessments.analysis.censored import capped_normal, capped_regression, held_by_half, survival

from .reading import columns, rows

SURVFIT = [  # time, at risk, events, share, standard error, 95 % interval on the log scale
    (6, 21, 3, 0.857, 0.0764, 0.720, 1.000),
    (7, 17, 1, 0.807, 0.0869, 0.653, 0.996),
    (10, 15, 1, 0.753, 0.0963, 0.586, 0.968),
    (13, 12, 1, 0.690, 0.1068, 0.510, 0.935),
    (16, 11, 1, 0.627, 0.1141, 0.439, 0.896),
    (22, 7, 1, 0.538, 0.1282, 0.337, 0.858),
    (23, 6, 1, 0.448, 0.1346, 0.249, 0.807),
]


def freireich() -> tuple[list[float], list[bool]]:
    weeks, relapsed = columns("worked_km_freireich_6mp.csv", "weeks", "relapsed")
    return weeks, [flag == 1 for flag in relapsed]


def test_km_freireich_survival_and_se() -> None:
    curve = survival(*freireich())
    assert [(step.time, step.at_risk, step.stopped) for step in curve] == [row[:3] for row in SURVFIT]
    for step, row in zip(curve, SURVFIT, strict=True):
        assert (step.share, step.low, step.high) == pytest.approx((row[3], row[5], row[6]), abs=0.0005)
        assert step.error == pytest.approx(row[4], abs=0.00005)


def test_km_freireich_median() -> None:
    assert held_by_half(survival(*freireich())) == 23  # READ-1


def test_km_interval_is_on_the_log_scale_and_not_on_the_log_log_scale() -> None:
    """Programs differ in the scale of the interval: log-log gives 0.620 to 0.952 at week 6 (lifelines, COMPUTED).

    Both come from the same share and standard error, so ours give the other interval too.
    """
    first = survival(*freireich())[0]
    assert (first.low, first.high) == pytest.approx((0.720, 1.000), abs=0.0005)
    reach = norm.ppf(0.975) * first.error / (first.share * np.log(first.share))
    other = [np.exp(np.log(first.share) * np.exp(sign * reach)) for sign in (-1, 1)]
    assert other == pytest.approx([0.620, 0.952], abs=0.0005)


def test_km_censored_at_event_time_counts_at_risk() -> None:
    weeks, relapsed = freireich()
    assert (6.0, False) in zip(
        weeks, relapsed, strict=True
    )  # one patient is censored at week 6, when three relapse
    assert survival(weeks, relapsed)[0].at_risk == 21


def test_km_is_that_of_scipy() -> None:
    weeks, relapsed = (np.array(row) for row in freireich())
    second = ecdf(CensoredData(uncensored=weeks[relapsed], right=weeks[~relapsed])).sf
    share = dict(zip(second.quantiles, second.probabilities, strict=True))
    for step in survival(weeks, relapsed):
        assert step.share == pytest.approx(share[step.time], rel=1e-12)


def capped_800() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    found = rows("worked_tobit_capped_800.csv")
    scores = np.array([float(row["score_capped_800"]) for row in found])
    design = np.array(
        [
            (
                1,
                float(row["read"]),
                float(row["math"]),
                row["program"] == "general",
                row["program"] == "vocational",
            )
            for row in found
        ],
        dtype=float,
    )
    return design, scores, scores >= 800


def test_tobit_capped_800_coefficients() -> None:
    found = capped_regression(*capped_800())
    assert found.coefficients == pytest.approx(
        (209.566, 2.698, 5.914, -12.715, -46.144), abs=0.001
    )  # AER, READ-1
    assert found.errors == pytest.approx((32.772, 0.619, 0.710, 12.406, 13.724), abs=0.001)
    assert found.coefficients == pytest.approx(
        (209.559557, 2.697959, 5.914596, -12.714581, -46.143271), abs=0.01
    )  # VGAM, READ-1: another way of maximising, which stops a little earlier
    assert np.log(found.sigma) == pytest.approx(4.184759, abs=5e-5)  # VGAM
    assert np.log(found.sigma) == pytest.approx(4.185, abs=0.0005)
    assert found.capped == 17


def test_tobit_capped_800_likelihood() -> None:
    design, scores, capped = capped_800()
    found, without = (
        capped_regression(design, scores, capped),
        capped_regression(design[:, :3], scores, capped),
    )
    assert 2 * 6 - 2 * found.log_likelihood == pytest.approx(2094.1, abs=0.05)  # AIC, READ-1
    assert found.log_likelihood == pytest.approx(-1041.062873, abs=5e-7)  # COMPUTED, and below
    assert 2 * 6 - 2 * found.log_likelihood == pytest.approx(2094.126, abs=5e-4)
    assert found.sigma == pytest.approx(65.676721, rel=1e-6)
    assert found.coefficients == pytest.approx(
        (209.565968, 2.697939, 5.914485, -12.714764, -46.143900), rel=1e-5
    )
    assert found.errors == pytest.approx((32.771959, 0.618806, 0.709815, 12.406399, 13.724166), rel=1e-5)
    p = chi2.sf(2 * (found.log_likelihood - without.log_likelihood), 2)
    assert p == pytest.approx(0.003155176, abs=1e-8)  # VGAM, READ-1


def test_least_squares_would_be_drawn_towards_zero() -> None:
    design, scores, capped = capped_800()
    plain = np.linalg.lstsq(design, scores, rcond=None)[0]
    assert plain[1:3] == pytest.approx((2.553, 5.383), abs=0.0005)  # READ-1
    naive = np.std(scores, ddof=0)
    assert naive == pytest.approx(99.219, abs=0.3)  # COMPUTED, the spread that a capped fit widens to 106.8
    assert all(np.abs(capped_regression(design, scores, capped).coefficients[1:3]) > plain[1:3])


def test_capped_mean_exceeds_naive_mean() -> None:
    _, scores, capped = capped_800()
    found = capped_normal(scores, capped)
    assert (found.coefficients[0], found.sigma) == pytest.approx((644.0736, 106.8231), abs=0.001)  # COMPUTED
    assert float(scores.mean()) == pytest.approx(640.035)
    assert found.coefficients[0] > scores.mean()


def test_capped_mean_is_that_of_scipy() -> None:
    _, scores, capped = capped_800()
    second = norm.fit(CensoredData.right_censored(scores, capped))
    found = capped_normal(scores, capped)
    assert (found.coefficients[0], found.sigma) == pytest.approx(second, rel=1e-6)


def test_no_capped_values_equals_plain_normal_fit() -> None:
    _, scores, _ = capped_800()
    found = capped_normal(scores, [False] * len(scores))
    assert found.coefficients[0] == pytest.approx(float(scores.mean()), rel=1e-6)
    assert found.sigma == pytest.approx(float(scores.std()), rel=1e-6)
    assert found.errors[0] == pytest.approx(float(scores.std()) / np.sqrt(len(scores)), rel=1e-6)
