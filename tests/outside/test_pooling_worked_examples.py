"""Partial pooling: the sleepstudy data with lme4's output, and Efron & Morris 1977.

Belenky and others 2003, J Sleep Res 12:1; Bates and others 2015, doi:10.18637/jss.v067.i01 (READ-1). Second opinion:
statsmodels MixedLM. Efron & Morris: inputs and shrinking factor READ-2, printed column FROM MEMORY, all COMPUTED.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from assessments.analysis.pooling import Line, Trends, fit_trends, shrink_means

from .reading import columns, rows


def lines() -> list[Line]:
    found: dict[str, list[tuple[float, float]]] = {}
    for row in rows("worked_trends_sleepstudy.csv"):
        found.setdefault(row["subject"], []).append((float(row["day"]), float(row["reaction_ms"])))
    return [
        Line(
            who,
            np.array([day for day, _ in days]),
            np.array([value for _, value in days]),
            np.ones(len(days)),
        )
        for who, days in found.items()
    ]


@pytest.fixture(scope="module")
def fitted() -> Trends:
    return fit_trends(lines())


def test_partial_pooling_sleepstudy_common_line(fitted: Trends) -> None:
    assert fitted.fixed == pytest.approx((251.405, 10.467), abs=0.001)  # lme4, READ-1
    assert np.sqrt(np.diag(fitted.fixed_covariance)) == pytest.approx((6.825, 1.546), abs=0.001)


def test_partial_pooling_sleepstudy_variances(fitted: Trends) -> None:
    spread = fitted.spread
    assert (spread[0, 0], spread[1, 1]) == pytest.approx((612.09, 35.07), abs=0.05)  # lme4, READ-1
    assert spread[0, 1] / np.sqrt(spread[0, 0] * spread[1, 1]) == pytest.approx(0.07, abs=0.005)
    assert fitted.residual == pytest.approx(654.94, abs=0.05)
    assert fitted.criterion == pytest.approx(1743.6, abs=0.05)
    assert fitted.criterion == pytest.approx(1743.62827, abs=1e-4)  # COMPUTED
    assert (spread[0, 0], spread[1, 1]) == pytest.approx((612.08981, 35.07166), rel=1e-5)
    assert spread[0, 1] / np.sqrt(spread[0, 0] * spread[1, 1]) == pytest.approx(
        0.0656, abs=5e-5
    )  # lme4 prints 0.066
    assert fitted.residual == pytest.approx(654.94104, rel=1e-6)
    assert np.sqrt(np.diag(fitted.fixed_covariance)) == pytest.approx((6.824556, 1.545789), rel=1e-5)


def test_spread_between_children_is_restricted_likelihood_and_not_plain_likelihood(fitted: Trends) -> None:
    """Plain likelihood takes the common line for known and finds less spread: 565.51, 32.68 (MixedModels, READ-1)."""
    frame = pd.DataFrame(rows("worked_trends_sleepstudy.csv")).astype({"day": float, "reaction_ms": float})
    plain = smf.mixedlm("reaction_ms ~ day", frame, groups="subject", re_formula="~day").fit(reml=False)
    found = plain.cov_re.to_numpy()
    assert (found[0, 0], found[1, 1], plain.scale) == pytest.approx((565.51, 32.68, 654.94), abs=0.01)
    assert plain.llf == pytest.approx(-875.96967, abs=5e-6)
    assert fitted.spread[0, 0] > found[0, 0] + 40 and fitted.spread[1, 1] > found[1, 1] + 2
    assert fitted.residual == pytest.approx(plain.scale, abs=0.01)


def test_partial_pooling_sleepstudy_blups(fitted: Trends) -> None:
    expected = rows("worked_trends_sleepstudy_expected.csv")
    assert len(expected) == 18
    for row in expected:
        effect = fitted.effects[fitted.children.index(row["subject"])]
        assert effect == pytest.approx((float(row["blup_intercept"]), float(row["blup_slope"])), abs=0.001)


def test_partial_pooling_pulls_slopes_towards_the_common_one(fitted: Trends) -> None:
    for who, alone, pooled in (("308", 21.7647, 19.6663), ("335", -2.8810, -0.2849)):  # COMPUTED
        (own,) = [line for line in lines() if line.child == who]
        assert np.polyfit(own.times, own.values, 1)[0] == pytest.approx(alone, abs=5e-5)
        assert fitted.line(who)[0][1] == pytest.approx(pooled, abs=0.001)


def test_partial_pooling_is_that_of_statsmodels(fitted: Trends) -> None:
    frame = pd.DataFrame(rows("worked_trends_sleepstudy.csv")).astype({"day": float, "reaction_ms": float})
    second = smf.mixedlm("reaction_ms ~ day", frame, groups="subject", re_formula="~day").fit(reml=True)
    assert fitted.fixed == pytest.approx(second.fe_params.to_numpy(), rel=1e-6)
    assert fitted.spread == pytest.approx(second.cov_re.to_numpy(), rel=1e-3)
    assert fitted.criterion == pytest.approx(-2 * second.llf, abs=1e-4)


def test_single_child_shrinks_fully_to_group(fitted: Trends) -> None:
    """A child never seen is the common line; one seen on one day lies between it and the day."""
    assert fitted.line(None)[0] == pytest.approx(fitted.fixed)
    one_day = Line("new", np.array([5.0]), np.array([500.0]), np.ones(1))
    found = fit_trends([*lines(), one_day])
    own, common = found.at("new", 5.0)[0], found.at(None, 5.0)[0]
    assert common < own < 500.0
    assert found.at("new", 5.0)[1] < found.at(None, 5.0)[1]  # and more is known about it


def test_shrinkage_efron_morris_factor() -> None:
    hits = np.array(columns("worked_shrinkage_efron_morris_1977.csv", "hits_of_45")[0])
    means = hits / 45
    common = float(means.mean())
    assert common == pytest.approx(0.265, abs=0.0005)  # READ-2
    _, kept = shrink_means(means, common * (1 - common) / 45)
    assert kept == pytest.approx(0.212, abs=0.001)  # READ-2; the paper rounds the averages first
    assert kept == pytest.approx(0.211653, abs=1e-6)  # COMPUTED


def test_shrinkage_efron_morris_estimates() -> None:
    hits, later = (
        np.array(row)
        for row in columns("worked_shrinkage_efron_morris_1977.csv", "hits_of_45", "rest_of_season_average")
    )
    means = hits / 45
    common = float(means.mean())
    found, _ = shrink_means(means, common * (1 - common) / 45)
    expected = (
        0.294, 0.289, 0.285, 0.280, 0.275, 0.275, 0.270, 0.266, 0.261,
        0.261, 0.256, 0.256, 0.256, 0.256, 0.256, 0.252, 0.247, 0.242,
    )  # fmt: skip
    assert found == pytest.approx(expected, abs=0.001)
    assert float(((means - later) ** 2).sum()) == pytest.approx(0.0753, abs=5e-5)  # COMPUTED
    assert float(((found - later) ** 2).sum()) == pytest.approx(0.0213, abs=5e-5)
