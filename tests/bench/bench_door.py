"""Entries a second through the door beside Django's bulk_create of the same rows. Ratios in one run, by hand:

    python -m tests.bench.bench_door [--batches 40] [--size 50] [--repeats 5]

Both write to SQLite files of their own in a temporary folder, WAL and synchronous FULL, one transaction a batch. The
door reads the JSON, checks each entry, inserts, reads back and answers; bulk_create inserts rows that are ready.
Nothing here passes or fails; read the ratios.
"""

from __future__ import annotations

import argparse
import os
import statistics
import tempfile
import time
import uuid
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import django

NOW = datetime.now(UTC)


def main() -> None:
    """Fill a club, send the same batches both ways, print the ratio of the medians."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--batches", type=int, default=40)
    parser.add_argument("--size", type=int, default=50)
    parser.add_argument("--repeats", type=int, default=5)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        _begin(Path(folder) / "bench.sqlite3")
        group, children, viewer = _club()
        door, bare, again = [], [], []
        for _ in range(asked.repeats):
            batches = [_bodies(_day(group, children), children, asked.size) for _ in range(asked.batches)]
            door.append(_through_the_door(batches, viewer))
            again.append(_through_the_door(batches, viewer))
            bare.append(_bulk_create(len(batches), asked.size))
    entries = asked.batches * asked.size
    rate = {name: entries / statistics.median(times) for name, times in
            (("door", door), ("door, all there already", again), ("bulk_create", bare))}  # fmt: skip
    print(f"{asked.batches} batches of {asked.size}, median of {asked.repeats}:")
    for name, per_second in rate.items():
        print(f"  {name:<24} {per_second:>9,.0f} entries/s   1 : {rate['bulk_create'] / per_second:.2f}")


def _begin(path: Path) -> None:
    os.environ["GROUNDWORK_DATABASE"] = str(path)
    os.environ["GROUNDWORK_LOCAL"] = "yes"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "club.settings")
    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)


def _club() -> tuple[Any, list[Any], Any]:
    from assessments.programme import load
    from club.access import Role, Viewer
    from tests import factories

    load()
    group = factories.GroupFactory()
    director = factories.UserFactory(role=Role.DIRECTOR)
    children = [factories.AthleteFactory(group=group) for _ in range(24)]
    return group, children, Viewer(today=NOW.date(), member=director, role=Role.DIRECTOR)


def _day(group: Any, children: list[Any]) -> Any:
    """A day of its own for each batch, so that no two entries stand in one place."""
    from assessments.models import Measure
    from tests import factories

    day = factories.DayFactory(groups=[group], held_on=NOW.date(), opened_at=NOW)
    factories.StationFactory(day=day, measure=Measure.objects.get(slug="hollow_hold"), variant="tucked")
    for child in children:
        factories.AttendanceFactory(day=day, athlete=child)
    return day


def _bodies(day: Any, children: list[Any], size: int) -> list[dict[str, Any]]:
    tablet = uuid.uuid4().hex
    return [
        {
            "id": str(uuid.uuid4()), "tablet": tablet, "seq": number + 1, "schema": 1, "day": str(day.code),
            "child": str(children[number % len(children)].code), "measure": "hollow_hold", "variant": "tucked",
            "side": "", "trial": 1 + number // len(children), "value": 20 + number % 30, "outcome": "scored",
            "how": "timed", "at_once": 4, "t_wall": NOW.isoformat(),
        }
        for number in range(size)
    ]  # fmt: skip


def _through_the_door(batches: list[list[dict[str, Any]]], viewer: Any) -> float:
    from assessments.entries import entry_from_json
    from assessments.recording import record

    began = time.perf_counter()
    for batch in batches:
        answers = record([entry_from_json(one) for one in batch], viewer)
        assert all(answer.word in ("stored", "already_here") for answer in answers)
    return time.perf_counter() - began


def _bulk_create(batches: int, size: int) -> float:
    """The rows that the door has just made, with fresh ids."""
    from django.db import transaction

    from assessments.models import Result

    rows = list(Result.objects.order_by("-pk")[: batches * size])
    for row in rows:
        row.pk, row.code, row.tablet = None, uuid.uuid4(), f"bare-{uuid.uuid4().hex}"[:40]
    began = time.perf_counter()
    for start in range(0, len(rows), size):
        with transaction.atomic():
            Result.objects.bulk_create(rows[start : start + size])
    return time.perf_counter() - began


if __name__ == "__main__":
    main()
