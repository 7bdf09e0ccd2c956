"""The day that the tests of the floor are held on."""

from __future__ import annotations

from types import SimpleNamespace

from django.utils import timezone

from assessments.models import Measure
from assessments.programme import load
from tests import factories

#: Measure and variant of the day's stations, in order: two holds, counts, sides, centimetres, a shape card.
STATIONS = (
    ("hollow_hold", "tucked"),
    ("arch_hold", "legs_only"),
    ("double_heel_raises", "feet_together"),
    ("single_heel_raises", ""),
    ("standing_long_jump", ""),
    ("hollow", ""),
    ("stick_landings", ""),
    ("side_support_hold", "knee_down"),
)
NAMES = (
    ("Ada", "Kern"),
    ("Ben", "Lowe"),
    ("Cara", "Moss"),
    ("Dev", "Nair"),
    ("Elif", "Oz"),
    ("Finn", "Park"),
    ("Gwen", "Quist"),
    ("Hugo", "Rowe"),
)


def build_day(children: int = 8, *, asked: bool = True) -> SimpleNamespace:
    """Group, coaches, children, stations and pass; `asked` means that everybody was asked and is well."""
    now, today = timezone.now(), timezone.localdate()
    edition = load()
    factories.ClubProfileFactory()
    group = factories.GroupFactory(name="Tigers")
    ines = factories.UserFactory(name="Ines Marlow", email="ines@fernleigh.example")
    bo = factories.UserFactory(name="Bo Tran", email="bo@fernleigh.example")
    for coach in (ines, bo):
        factories.CoachingFactory(coach=coach, group=group)
    names = [*NAMES, *((f"Child{number}", "Zed") for number in range(max(0, children - len(NAMES))))]
    kids = [
        factories.AthleteFactory(first_name=first, last_name=last, group=group)
        for first, last in names[:children]
    ]
    day = factories.DayFactory(groups=[group], lead=ines, edition=edition, held_on=today, opened_at=now)
    day.coaches.set([ines, bo])
    for order, (slug, variant) in enumerate(STATIONS):
        factories.StationFactory(
            day=day, measure=Measure.objects.get(slug=slug), variant=variant, order=order
        )
    for order, child in enumerate(kids if asked else ()):
        factories.AttendanceFactory(day=day, athlete=child, present=True, sore="no", order=order)
    station_pass = factories.StationPassFactory(day=day, token="floor-token", label="Tablet 1")
    return SimpleNamespace(
        day=day, ines=ines, bo=bo, children=kids, group=group, token="floor-token", station_pass=station_pass
    )
