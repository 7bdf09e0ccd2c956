"""A whole test day of 24 children on two tablets with the network cut: every figure is where it belongs afterwards."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from assessments.models import Attendance, Result
from athletes.models import RestNote
from tests.browser.floor_day import build_day
from tests.browser.law import check_law
from tests.browser.quick_hand import hold_group, take_turns
from tests.browser.tablet import ARCH, COUNT, HOLD, JUMP, LANDINGS, SHAPE, SIDES, SUPPORT

CHILDREN = 24
HERE = CHILDREN - 1  # the last is away
TRIES = ("First", "Second", "Third")


@pytest.fixture
def floor_day(transactional_db):
    return build_day(CHILDREN)


def values_of(measure: str, **where: object) -> dict[object, float]:
    rows = Result.objects.current().filter(measure__slug=measure, outcome="scored", **where)
    return dict(rows.values_list("athlete__code", "value"))


def levels_of(place: int) -> list[int]:
    return [(place + row) % 3 for row in range(5)]


def taps(times: int) -> list[str]:
    return ["ArrowUp"] * times


def groups(one, station: int, sizes: list[int], *, pain: bool = False) -> dict[str, str]:
    """Group after group at one station, started from the screen of the one before; the last tile of all may hurt."""
    one.station(station)
    one.at_once(8)
    one.go()
    shown: dict[str, str] = {}
    for number, size in enumerate(sizes):
        last = number == len(sizes) - 1
        shown |= hold_group(
            one, [place // 4 for place in range(size)], pain=size - 1 if pain and last else None
        )
        if not last:
            one.go()
    return shown


def work_of_one(one, who: list[str]) -> dict[str, dict[str, str]]:
    """Counts with an undo, centimetres, and the holds, of which the last ends in pain."""
    one.station(COUNT)
    take_turns(one, [{"who": who[0], "keys": taps(9)}])
    one.page.locator(".toast [data-part=undo]").click()
    take_turns(one, [{"who": name, "keys": taps(1 + place % 7)} for place, name in enumerate(who)])
    one.at_the_end()
    one.station(JUMP)
    jumps = [(name, place, number) for place, name in enumerate(who) for number in range(3)]
    take_turns(
        one,
        [
            {"who": name, "tries": TRIES[number], "keys": list(str(90 + place + number))}
            for name, place, number in jumps
        ],
    )
    one.at_the_end()
    shown = {"arch_hold": groups(one, ARCH, [8, 8, 7])}
    one.look_first()
    shown["hollow_hold"] = groups(one, HOLD, [8])
    one.look_first()
    shown["side_support_hold"] = groups(one, SUPPORT, [8], pain=True)
    one.page.locator("dialog .chip", has_text="Wrist").click(timeout=20_000)
    one.page.locator("dialog [data-part=save]").click()
    one.look_first()
    return shown


def work_of_two(two, who: list[str]) -> None:
    """Shape cards, landings, both sides, and one child whom the other tablet counts too."""
    two.station(SHAPE)
    take_turns(two, [{"who": name, "levels": levels_of(place)} for place, name in enumerate(who)])
    two.at_the_end()
    two.station(LANDINGS)
    take_turns(two, [{"who": name, "keys": taps(1 + place % 5)} for place, name in enumerate(who)])
    two.at_the_end()
    two.station(SIDES)
    both = [(name, side, place) for place, name in enumerate(who) for side in ("left", "right")]
    take_turns(
        two,
        [
            {"who": name, "side": side, "keys": taps(2 + place % 3 + (side == "right"))}
            for name, side, place in both
        ],
    )
    two.at_the_end()
    two.station(COUNT)
    two.page.locator(".queue .child", has_text=who[2]).click()
    take_turns(two, [{"who": who[2], "keys": taps(12)}])


def test_a_day_of_24_children_on_two_tablets_offline_arrives_whole(tablet, floor_day):
    one, two = tablet(), tablet()
    for which in (one, two):
        which.open_worker()
        which.offline()
        which.page.locator(".roll-line").nth(HERE).locator("[data-part=away]").click()
    who = [f"{child.first_name} {child.last_name[0]}." for child in floor_day.children[:HERE]]
    work_of_two(two, who)
    shown = work_of_one(one, who)
    of_one, of_two = HERE + 2 + 3 * HERE + HERE + 8 + 8, 4 * HERE + 1
    assert (len(one.records()), len(two.records())) == (of_one, of_two)
    two.page.reload()
    expect(two.page.locator("#screen > *").first).to_be_visible()
    for which, number in ((one, of_one), (two, of_two)):
        which.offline(False)
        which.saved(number)
    check_law(one, two, made=of_one + of_two)

    order = [child.code for child in floor_day.children[:HERE]]
    counted = {code: 1 + place % 7 for place, code in enumerate(order)}
    assert sorted(Result.objects.contested().values_list("value", flat=True)) == [counted.pop(order[2]), 12]
    found = values_of("double_heel_raises")
    found.pop(order[2])
    assert found == counted
    assert Result.objects.filter(outcome="withdrawn").get().athlete.code == order[0]
    assert values_of("stick_landings") == {code: 1 + place % 5 for place, code in enumerate(order)}
    for side, more in (("left", 0), ("right", 1)):
        expected = {code: 2 + place % 3 + more for place, code in enumerate(order)}
        assert values_of("single_heel_raises", side=side) == expected
    for number in range(3):
        expected = {code: 90 + place + number for place, code in enumerate(order)}
        assert values_of("standing_long_jump", trial=number + 1) == expected
    cards = dict(Result.objects.filter(measure__slug="hollow").values_list("athlete__code", "levels"))
    assert {code: list(levels.values()) for code, levels in cards.items()} == {
        code: levels_of(place) for place, code in enumerate(order)
    }
    for measure, tiles in shown.items():
        rows = Result.objects.filter(measure__slug=measure)
        assert {
            str(row.athlete.code): "–" if row.value is None else f"{row.value:g}" for row in rows
        } == tiles
        assert set(rows.values_list("at_once", flat=True)) <= {7, 8}
    assert not Result.objects.filter(athlete=floor_day.children[HERE]).exists()
    hurt = Result.objects.get(outcome="stopped_for_pain").athlete
    assert RestNote.objects.get().areas == ["wrist"] and RestNote.objects.get().athlete == hurt
    assert Attendance.objects.get(athlete=hurt).stopped_at is not None
    assert Attendance.objects.get(athlete=floor_day.children[HERE]).present is False
