"""A whole test day of 24 children on two tablets with the network cut: every figure is where it belongs afterwards."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from assessments.models import Result
from tests.browser.floor_day import build_day
from tests.browser.law import check_law
from tests.browser.tablet import ARCH, COUNT, LANDINGS, SHAPE

CHILDREN = 24


@pytest.fixture
def floor_day(transactional_db):
    return build_day(CHILDREN)


def values_of(measure: str) -> dict[str, float]:
    rows = Result.objects.filter(measure__slug=measure, outcome="scored")
    return dict(rows.values_list("athlete__code", "value"))


def test_a_day_of_24_children_on_two_tablets_offline_arrives_whole(tablet, floor_day):
    one, two = tablet(), tablet()
    for which in (one, two):
        which.open_worker()
        which.offline()

    one.station(COUNT)
    for place in range(CHILDREN):
        one.count(1 + place % 7)
    one.at_the_end()
    one.station(ARCH)
    one.at_once(8)
    for _ in range(CHILDREN // 8):
        one.go()
        expect(one.page.locator(".tile.run")).to_have_count(8)
        one.finish_hold()
    one.says(f"On this tablet {2 * CHILDREN}")

    two.station(SHAPE)
    for place in range(CHILDREN):
        rows = two.page.locator(".criterion")
        for row in range(5):
            rows.nth(row).locator(".level").nth((place + row) % 3).tap()
        two.go()
    two.at_the_end()
    two.station(LANDINGS)
    for place in range(CHILDREN):
        for _ in range(1 + place % 5):
            two.page.locator(".plus").tap()
        two.go()
    two.says(f"On this tablet {2 * CHILDREN}")
    two.page.reload()
    two.says(f"On this tablet {2 * CHILDREN}")

    for which in (one, two):
        which.offline(False)
        which.says(f"All {2 * CHILDREN} saved at the club")
    check_law(one, two, made=4 * CHILDREN)

    order = [child.code for child in floor_day.children]
    counted, landed = values_of("double_heel_raises"), values_of("stick_landings")
    assert counted == {code: 1 + place % 7 for place, code in enumerate(order)}
    assert landed == {code: 1 + place % 5 for place, code in enumerate(order)}
    totals = dict(Result.objects.filter(measure__slug="hollow").values_list("athlete__code", "levels"))
    assert {code: sum(levels.values()) for code, levels in totals.items()} == {
        code: sum((place + row) % 3 for row in range(5)) for place, code in enumerate(order)
    }
    holds = Result.objects.filter(measure__slug="arch_hold")
    assert {row.athlete.code for row in holds.select_related("athlete")} == set(order)
    assert set(holds.values_list("at_once", flat=True)) == {8}
