"""The starter programme beside published figures: right order of magnitude, never called a norm.

Sources, one a row: data/slj_group_means.csv, heel_rise_children.csv, reliability_children.csv and
bmc2016_nnyfs_strength_percentiles.csv. Protocols differ, so the checks are wide; they catch a wrong unit or a slip of
ten, and that the error models follow from the published figures they name.
"""

from __future__ import annotations

import networkx as nx
import pytest

from assessments.analysis.centiles import weighted_percentiles
from assessments.analysis.records import Programme
from assessments.analysis.reliability import detectable_change, sem_from_icc
from assessments.programme_file import starter

from .reading import rows


@pytest.fixture(scope="module")
def programme() -> Programme:
    return starter()


def published(name: str, **wanted: str) -> dict[str, str]:
    (found,) = [row for row in rows(name) if all(row[key] == value for key, value in wanted.items())]
    return found


def test_long_jump_aims_lie_within_the_published_spread(programme: Programme) -> None:
    young = published("slj_group_means.csv", age_from="3", age_to="6")
    mean, sd = float(young["mean"]), float(young["sd"])
    for band in ("4", "5"):
        assert abs(programme.benchmarks["standing_long_jump", band].aim - mean) < sd
    for sex in ("boys", "girls"):
        older = published("slj_group_means.csv", age_from="6", sex=sex)
        mean, sd = float(older["mean"]), float(older["sd"])
        for band in ("6", "7", "8-9"):
            assert abs(programme.benchmarks["standing_long_jump", band].aim - mean) < 2 * sd


def test_plank_zones_are_the_percentiles_they_name(programme: Programme) -> None:
    found = published("bmc2016_nnyfs_strength_percentiles.csv", test="plank_hold", age_from="6", age_to="9")
    six = programme.benchmarks["forearm_plank_hold", "6"]
    assert (six.building, six.aim) == (float(found["p10"]), float(found["p25"]))
    records = [
        (float(row["plank_s"]), float(row["relative_weight"]))
        for row in rows("nnyfs2012_plank_pullup_records.csv")
        if row["plank_s"] and row["age_years_completed"] in ("7", "8")
    ]
    seven = programme.benchmarks["forearm_plank_hold", "7"]
    tenth, quarter = weighted_percentiles(*zip(*records, strict=True), (10, 25))
    assert (seven.building, seven.aim) == pytest.approx((tenth, quarter), abs=1.1)
    assert programme.benchmarks["forearm_plank_hold", "8-9"].aim <= float(found["p50"])


def test_heel_raise_zones_lie_below_the_published_mean_but_within_two_spreads(programme: Programme) -> None:
    found = published("heel_rise_children.csv", age_from="5", age_to="8")
    mean, sd = float(found["mean"]), float(found["sd"])
    for band in ("5", "6", "7"):
        zone = programme.benchmarks["single_heel_raises", band]
        assert mean - 2.1 * sd <= zone.building < zone.aim <= mean


def test_three_published_heel_raise_means_disagree_two_fold() -> None:
    """Why no norm is taken over without its protocol: overlapping ages, means of 15, 21 and 36."""
    means = [
        float(row["mean"])
        for row in rows("heel_rise_children.csv")
        if row["mean"] and int(row["age_to"]) <= 12
    ]
    assert max(means) > 2 * min(means)


def test_long_jump_error_follows_from_the_published_figures(programme: Programme) -> None:
    found = published("reliability_children.csv", test="standing_long_jump", age="3-6 y", statistic="ICC")
    group = published("slj_group_means.csv", age_from="3", age_to="6")
    derived = sem_from_icc(float(group["sd"]), float(found["value"]))
    assert programme.measures["standing_long_jump"].error.a == pytest.approx(derived, abs=0.5)


def test_long_jump_detectable_change_is_near_the_published_one(programme: Programme) -> None:
    found = published("reliability_children.csv", test="standing_long_jump", statistic="MDC95 cm")
    ours = detectable_change(programme.measures["standing_long_jump"].error.a, 0.95)
    assert ours / float(found["value"]) == pytest.approx(
        1, abs=0.4
    )  # ours is wider: it includes a day effect


def test_one_foot_heel_raise_error_follows_from_the_published_figures(programme: Programme) -> None:
    found = published("reliability_children.csv", test="single_leg_heel_rise", statistic="ICC test-retest")
    group = published("heel_rise_children.csv", age_from="8", age_to="12")
    derived = sem_from_icc(float(group["sd"]), float(found["value"]))
    assert programme.measures["single_heel_raises"].error.a == pytest.approx(derived, abs=0.05)


def test_plank_error_follows_from_the_published_figures(programme: Programme) -> None:
    found = published("reliability_children.csv", test="plank_hold", statistic="ICC test-retest")
    band = published("bmc2016_nnyfs_strength_percentiles.csv", test="plank_hold", age_from="6", age_to="9")
    spread = (float(band["p75"]) - float(band["p25"])) / 1.349  # normal spread from the middle half
    share = sem_from_icc(spread, float(found["value"])) / float(band["mean"])
    assert programme.measures["forearm_plank_hold"].error.b == pytest.approx(share, abs=0.05)


def test_skill_graph_is_acyclic_and_known_to_networkx(programme: Programme) -> None:
    graph = nx.DiGraph((before, skill.id) for skill in programme.skills.values() for before in skill.after)
    assert nx.is_directed_acyclic_graph(graph)
    assert set(graph) <= set(programme.skills)


def test_no_skill_asks_less_than_a_skill_that_must_come_first(programme: Programme) -> None:
    graph = nx.DiGraph((before, skill.id) for skill in programme.skills.values() for before in skill.after)
    for skill in programme.skills.values():
        if skill.id not in graph:
            continue
        asked = {need.item: need.minimum for need in skill.requirements}
        for ancestor in nx.ancestors(graph, skill.id):
            for need in programme.skills[ancestor].requirements:
                assert asked.get(need.item, need.minimum) >= need.minimum, (skill.id, ancestor, need.item)
