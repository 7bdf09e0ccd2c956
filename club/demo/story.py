"""An invented club: who is in it, when it tested, and what happened to some of its children. Pure and seeded."""

from __future__ import annotations

import random
import uuid
from dataclasses import dataclass, field
from datetime import date, timedelta

SPACE = uuid.UUID("6f1e2c64-3a53-4f0e-9d0a-5d7a0c0ffee1")
CLUB = "Fernleigh Gymnastics"
PASSWORD = "flat backs and tall arms"


def code(*parts: object) -> uuid.UUID:
    """The same parts give the same code, so that building twice makes nothing twice."""
    return uuid.uuid5(SPACE, "/".join(str(part) for part in parts))


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who signs in."""

    name: str
    email: str
    role: str
    calibrated_weeks: int | None = None


@dataclass(frozen=True, slots=True)
class Child:
    """One child and the thread of the plot that they carry."""

    first_name: str
    last_name: str
    group: str
    born_on: date
    joined_on: date
    ability: float  # 0 = at 'building', 1 = at the club aim of their age
    plot: str = ""

    @property
    def code(self) -> uuid.UUID:
        """Stable across builds."""
        return code("child", self.first_name, self.last_name)


@dataclass(frozen=True, slots=True)
class StoryDay:
    """One test day of one or two groups."""

    groups: tuple[str, ...]
    held_on: date
    part: str  # "a" or "b": which stations
    round: int  # 0 is the play day
    lead: str
    familiarisation: bool = False

    @property
    def code(self) -> uuid.UUID:
        """Stable across builds."""
        return code("day", self.held_on.isoformat(), *self.groups)


@dataclass(frozen=True, slots=True)
class Rest:
    """A rest note of the story."""

    child: Child
    areas: tuple[str, ...]
    opened_on: date
    note: str
    ended_on: date | None = None
    ground: str = ""
    adult: str = ""


@dataclass(frozen=True, slots=True)
class Story:
    """The whole club on one day."""

    today: date
    people: tuple[Person, ...]
    coaching: tuple[tuple[str, str], ...]  # coach's e-mail, group
    groups: tuple[str, ...]
    children: tuple[Child, ...]
    days: tuple[StoryDay, ...]
    rests: tuple[Rest, ...]
    guardians: tuple[tuple[Child, str], ...] = field(default=())  # child, e-mail

    def named(self, first_name: str) -> Child:
        """One child of the plot, by first name."""
        return next(child for child in self.children if child.first_name == first_name)


PEOPLE = (
    Person("Dagny Ferris", "director@fernleigh.example", "director", 30),
    Person("Ines Marlow", "ines@fernleigh.example", "coach", 40),
    Person("Tomé Okafor", "tome@fernleigh.example", "coach", 12),
    Person("Wren Halloran", "wren@fernleigh.example", "coach", 22),
    Person("Bao Linden", "bao@fernleigh.example", "coach"),
    Person("Petra Silva", "petra@fernleigh.example", "coach", 3),
    Person("Salma Abidi", "salma@home.example", "guardian"),
    Person("Jon Birch", "jon@home.example", "guardian"),
)
GROUPS = {
    # name: (youngest, oldest age in years, number of children, coach)
    "Wrens": (5.2, 7.4, 8, "ines@fernleigh.example"),
    "Finches": (4.0, 5.2, 11, "tome@fernleigh.example"),
    "Robins": (4.8, 6.1, 11, "wren@fernleigh.example"),
    "Swifts": (6.0, 7.6, 10, "bao@fernleigh.example"),
    "Martins": (6.8, 8.2, 10, "petra@fernleigh.example"),
    "Kestrels": (7.6, 9.6, 10, "ines@fernleigh.example"),
}
PAIRS = (("Wrens", "Kestrels"), ("Finches", "Robins"), ("Swifts", "Martins"))
#: Weeks before the day of the story: a play day, then six rounds in two seasons; the third season began this autumn.
ROUNDS_WEEKS = (61, 57, 46, 36, 25, 11, 2)
FIRST = (
    "Ada Jonah Lucía Noor Oskar Tomasz Zuri Amara Anselm Beatrix Caleb Dário Edie Emeka Esme Farid Freya Gus Hana "
    "Idris Ilse Imani Ivo Jun Kaja Kofi Lale Leif Lina Maeve Malik Marta Milo Nadia Nell Obi Odile Otis Pia Priya "
    "Quinn Rafe Rosa Rune Saba Sefa Silvan Sorrel Tess Thea Tobi Uma Vera Viggo Wanda Xiu Yara Yusuf Zeki Zora"
).split()
LAST = (
    "Kowal Mensah Ferreira Abidi Dahl Birch Edwards Castell Novak Ashby Laurent Petrov Quayle Ribeiro Sandoval "
    "Tanaka Underhill Varga Whitlock Yilmaz Zeller Brandt Cho Drummond Eriksen"
).split()
PLOTS = {
    # first name: (plot, ability)
    "Noor": ("steady", 0.95),
    "Oskar": ("plateau", 0.35),
    "Ada": ("leap", 0.25),
    "Wilhelmina-Rose": ("resting", 0.9),
    "Tomasz": ("one_side", 0.7),
    "Zuri": ("new", 0.5),
    "Thea": ("at_the_cap", 1.9),
    "Jonah": ("coach_disagrees", 0.85),
}


def story(today: date, *, seed: int = 20) -> Story:
    """The club as it stands on `today`; every date is told from there, so that evidence is never stale."""
    chance = random.Random(seed)
    children = _children(today, chance)
    days = tuple(_days(today))
    by_name = {child.first_name: child for child in children}
    rests = (
        Rest(by_name["Wilhelmina-Rose"], ("wrist",), today - timedelta(days=11), "Sore left wrist after bars."),
        Rest(
            by_name["Jonah"], ("ankle",), today - timedelta(weeks=30), "Rolled ankle at school.",
            today - timedelta(weeks=28), "professional", "Dr Halvorsen",
        ),
    )  # fmt: skip
    return Story(
        today=today,
        people=PEOPLE,
        coaching=tuple((coach, group) for group, (_, _, _, coach) in GROUPS.items()),
        groups=tuple(GROUPS),
        children=children,
        days=days,
        rests=rests,
        guardians=((by_name["Noor"], "salma@home.example"), (by_name["Jonah"], "jon@home.example")),
    )


def _children(today: date, chance: random.Random) -> tuple[Child, ...]:
    wrens = ("Ada", "Jonah", "Lucía", "Noor", "Oskar", "Tomasz", "Wilhelmina-Rose", "Zuri")
    others = [name for name in FIRST if name not in wrens]
    found: list[Child] = []
    for group, (youngest, oldest, size, _) in GROUPS.items():
        for place in range(size):
            first = wrens[place] if group == "Wrens" else others.pop(0)
            age = youngest + (oldest - youngest) * (place + chance.random()) / size
            plot, ability = PLOTS.get(first, ("", round(chance.gauss(0.75, 0.4), 2)))
            if group == "Swifts":
                plot = plot or "loose_hollow"
            joined = today - timedelta(weeks=3 if plot == "new" else 64)
            if age < 5.1:
                joined = max(joined, today - timedelta(weeks=50))
            found.append(
                Child(
                    first_name=first,
                    last_name="Pemberton-Achterberg"
                    if first == "Wilhelmina-Rose"
                    else LAST[len(found) % len(LAST)],
                    group=group,
                    born_on=today - timedelta(days=round(age * 365.25)),
                    joined_on=joined,
                    ability=ability,
                    plot=plot,
                )
            )
    return tuple(found)


def _days(today: date) -> list[StoryDay]:
    """For each round two test days a week apart for each pair of groups, on the groups' own weekdays."""
    days: list[StoryDay] = []
    for turn, weeks in enumerate(ROUNDS_WEEKS):
        for shift, pair in enumerate(PAIRS):
            lead = GROUPS[pair[0]][3]
            first = today - timedelta(weeks=weeks, days=5 - shift)
            days.append(StoryDay(pair, first, "a", turn, lead, familiarisation=turn == 0))
            if turn:
                days.append(StoryDay(pair, first + timedelta(days=8), "b", turn, lead))
    return sorted(days, key=lambda day: (day.held_on, day.groups))
