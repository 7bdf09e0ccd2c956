"""Do forecasts keep their word? Shares inside the 80 % range, of simulated children and of the demo club. By hand:

    python -m tests.bench.bench_forecast

Simulated children have a known true level, so that dates can be checked too: the true day on which a level reaches a
threshold beside the earliest and latest day that the forecast named. The demo club is built in a database of its own; the
newest test day of each child is held out and predicted by what the director's page uses. The tables count ranges with both
ends open; those cut at 0 or at the cap, which can be missed on one side only, stand beside. Nothing here passes or fails.
"""

from __future__ import annotations

import math
import os
import tempfile
from collections.abc import Iterable
from datetime import date
from pathlib import Path

import django

from assessments.analysis import Coverage, Held, fit_pool, forecast, forecast_coverage, held_out
from tests.analysis.simulated import ERROR, TODAY, Club, simulate, simulate_truly

AGES = (4, 5, 6, 7, 8)
CLUBS_A_BAND = 12


def main() -> None:
    """Print one table each: simulated scores, simulated dates, the demo club's newest days."""
    _table("Simulated: newest scores inside their range", scores(Club()))
    named = dates(Club())
    _table("Simulated: true dates inside earliest to latest (nine in ten where no latest is named)", named)
    print(f"  latest named: {sum(math.isfinite(one.high) for one in named)}")
    with tempfile.TemporaryDirectory() as folder:
        _table("Demo club: newest scores held out, inside their range", _demo(Path(folder)))


def scores(club: Club, clubs: int = CLUBS_A_BAND) -> list[Held]:
    """The newest day of simulated children held out, some clubs of each age."""
    return [
        one
        for age in AGES
        for seed in range(clubs)
        for one in held_out(simulate(club, 1000 * age + seed, age=age), error=ERROR, cap=club.cap)
    ]


def dates(club: Club, clubs: int = CLUBS_A_BAND, *, above: float = 3.0) -> list[Held]:
    """Weeks to the true crossing beside the weeks that a forecast named, where it named an earliest date.

    The threshold lies a little above the mean of the age. A forecast speaks in whole weeks, so its earliest week counts
    from its beginning. Where no latest day is named within six months the range is open.
    """
    held = []
    for age in AGES:
        threshold = 6 + 2.5 * (age - 3) + club.rise * club.weeks_apart * (club.test_days - 1) + above
        for seed in range(clubs):
            children = simulate_truly(club, 5000 + 1000 * age + seed, age=age)
            pool = fit_pool([own for own, _ in children], TODAY, error=ERROR, cap=club.cap)
            for own, truth in children:
                found = forecast(pool, own, threshold)
                if found.word in ("within", "later") and found.earliest_on is not None:
                    low = max((found.earliest_on - TODAY).days / 7 - 1, 0.0)
                    high = (found.latest_on - TODAY).days / 7 if found.latest_on else math.inf
                    held.append(Held(str(age), low, high, truth.weeks_to(threshold)))
    return held


def _demo(folder: Path) -> list[Held]:
    os.environ["GROUNDWORK_DATABASE"] = str(folder / "bench.sqlite3")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "club.settings")
    django.setup()
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connections

    connections["default"].close()
    settings.DATABASES["default"]["NAME"] = str(folder / "bench.sqlite3")
    connections["default"].settings_dict["NAME"] = str(folder / "bench.sqlite3")
    call_command("migrate", verbosity=0)
    from club.demo import build
    from tests.factories import TODAY as TODAY_OF_DEMO

    build.build(TODAY_OF_DEMO)
    return demo_club(TODAY_OF_DEMO)


def demo_club(on: date, *, step: int = 1) -> list[Held]:
    """Every measure and shape of the club that is built, or every `step`th, by what the page of forecasts uses."""
    from assessments.numbers import club_evidence, forecasts_kept

    evidence = club_evidence(on)
    items = list(evidence.programme.items())[::step]
    return [one for spec in items for one in forecasts_kept(evidence, spec.id).held]


def _table(title: str, held: Iterable[Held]) -> None:
    print(f"\n{title}\n  {'band':<8}{'inside':>8}{'of':>7}{'share':>8}   95 % interval")
    for one in forecast_coverage(held):
        print(_row(one))


def _row(one: Coverage) -> str:
    low, high = one.interval or (0.0, 1.0)
    cut = f"   (cut: {one.cut_covered} of {one.cut})" if one.cut else ""
    stopped = f"   ({one.stopped} chose to stop)" if one.stopped else ""
    share = f"{one.covered:>8}{one.count:>7}{one.share:>8.3f}   {low:.3f} to {high:.3f}"
    return f"  {one.group or 'all':<8}{share}{cut}{stopped}"


if __name__ == "__main__":
    main()
