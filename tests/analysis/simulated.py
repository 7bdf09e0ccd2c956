"""Children with known true levels, for tests that ask whether intervals keep their word."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from assessments.analysis.records import DayScore, ErrorModel, Interpretation, Outcome

TODAY = date(2026, 6, 1)
ERROR = ErrorModel(2.0, 0.20)


def day_score(
    value: float,
    on: date,
    *,
    age: float = 6.5,
    at_least: bool = False,
    outcome: Outcome = "scored",
    first_look: bool = False,
    familiarisation: bool = False,
    sem: float = 2.0,
) -> DayScore:
    """One scored day with everything else at its plainest."""
    return DayScore(
        on=on,
        day=f"d-{on:%Y%m%d}",
        value=value,
        at_least=at_least,
        outcome=outcome,
        trials=1,
        at_once=1,
        sem=sem,
        first_look=first_look,
        familiarisation=familiarisation,
        age=age,
        band=str(int(age)),
        zone="",
    )


def history(athlete: str, days: list[DayScore]) -> Interpretation:
    """One child on one measure."""
    return Interpretation(
        athlete, "hollow_hold", "v1", "", tuple(days), days[-1] if days else None, None, None
    )


@dataclass(frozen=True)
class Club:
    """How true levels are drawn: holds that rise with age and training, each child in its own way."""

    children: int = 24
    test_days: int = 5
    weeks_apart: int = 9
    cap: float | None = 60.0
    spread: float = 6.0  # between children, seconds
    rise: float = 0.25  # seconds a week
    rise_spread: float = 0.15
    noise: float = 1.0  # true noise / noise of the error model
    drift: float = 0.0  # random walk a week, as a share of the noise variance
    missing: float = 0.15  # share of days a child is away


@dataclass(frozen=True)
class Truth:
    """Where a simulated child really stands on TODAY and how fast the child rises."""

    level: float
    rise: float  # seconds a week

    def weeks_to(self, threshold: float) -> float:
        """Weeks from TODAY to the day on which the true level reaches a threshold; infinite for never."""
        if self.level >= threshold:
            return 0.0
        return (threshold - self.level) / self.rise if self.rise > 0 else math.inf


def simulate(club: Club, seed: int, *, age: int = 6) -> list[Interpretation]:
    """Histories up to TODAY of children of one age band."""
    return [found for found, _ in simulate_truly(club, seed, age=age)]


def simulate_truly(club: Club, seed: int, *, age: int = 6) -> list[tuple[Interpretation, Truth]]:
    """The same, each beside the truth that it was drawn from."""
    random = np.random.default_rng(seed)
    found = []
    for number in range(club.children):
        level = max(3.0, random.normal(6 + 2.5 * (age - 3), club.spread))
        rise = random.normal(club.rise, club.rise_spread)
        years = age + random.uniform(0, 1)
        days = []
        for step in range(club.test_days):
            weeks = club.weeks_apart * (step + 1 - club.test_days)
            true = max(1.0, level + rise * club.weeks_apart * step)
            if club.drift:
                level += random.normal(0, np.sqrt(club.drift * club.weeks_apart) * ERROR.sem(true))
            value = max(0.0, true + random.normal(0, club.noise * ERROR.sem(true)))
            away = random.random() < club.missing and step < club.test_days - 1
            if away:
                continue
            capped = club.cap is not None and value >= club.cap
            on = TODAY + timedelta(weeks=weeks)
            days.append(
                day_score(
                    club.cap if capped else float(np.floor(value)),
                    on,
                    age=years,
                    at_least=capped,
                    outcome="reached_cap" if capped else "scored",
                    first_look=not days,
                    sem=ERROR.sem(value),
                )
            )
        truth = Truth(level + rise * club.weeks_apart * (club.test_days - 1), rise)
        found.append((history(f"child-{age}-{number:03d}", days), truth))
    return found
