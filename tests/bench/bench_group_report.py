"""Cost of a group's report beside the bare query, a plain loop, and bare arrays. Ratios in one run, by hand:

    python -m tests.bench.bench_group_report [--children 30 1000] [--repeats 5]
    python -m tests.bench.bench_group_report --children 100 1000 10000 --repeats 1 --without-loops

It fills a database of its own in a temporary folder: 20 measures and shapes, 8 test days a child, one trial a day and side.
Times are processor time of this process. With several sizes the last lines say what one child costs at each size beside the
smallest: 1 is linear growth, less is better than linear. Nothing here passes or fails; read the ratios.
"""

from __future__ import annotations

import argparse
import math
import os
import tempfile
import time
import tracemalloc
import uuid
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import django

ON = date(2026, 11, 25)
DAYS = 8
MEASURES = 20
BARE = (
    "athlete_id", "measure_id", "protocol_id", "variant", "side", "day_id", "trial", "value", "outcome", "at_once",
    "second", "levels", "judge_id", "form_break",
)  # fmt: skip


def main() -> None:
    """Fill a database and print one table a size."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--children", type=int, nargs="+", default=[30, 1000])
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument(
        "--without-loops", action="store_true", help="leave out (b) and (b'), which take minutes"
    )
    asked = parser.parse_args()
    found: dict[int, Mapping[str, float]] = {}
    for count in asked.children:
        with tempfile.TemporaryDirectory() as folder:
            _fill(Path(folder) / "bench.sqlite3", count)
            found[count] = _report(count, asked.repeats, loops=not asked.without_loops)
    if len(found) > 1:
        _growth(found)


def _fill(path: Path, count: int) -> None:
    os.environ["GROUNDWORK_DATABASE"] = str(path)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "club.settings")
    django.setup()
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connections

    connections["default"].close()
    settings.DATABASES["default"]["NAME"] = str(path)
    connections["default"].settings_dict["NAME"] = str(path)
    call_command("migrate", verbosity=0)
    _rows(count)


def _rows(count: int) -> None:
    from assessments.models import AssessmentDay, Protocol, Result
    from assessments.programme import current_programme, load
    from athletes.models import Athlete, Group

    load()
    programme = current_programme()
    group = Group.objects.create(name="Bench")
    athletes = Athlete.objects.bulk_create(
        Athlete(
            first_name=f"Child {n}",
            last_name="Bench",
            born_on=date(2018 + n % 4, 1 + n % 12, 1 + n % 28),
            group=group,
            joined_on=date(2025, 9, 1),
        )
        for n in range(count)
    )
    days = AssessmentDay.objects.bulk_create(
        AssessmentDay(held_on=ON - timedelta(weeks=6 * (DAYS - n) - 5), status="closed") for n in range(DAYS)
    )
    protocols = {one.measure.slug: one for one in Protocol.objects.select_related("measure")}
    specs = list(programme.measures.values())[:14] + list(programme.shapes.values())[: MEASURES - 14]
    at, seq = datetime(2026, 11, 25, tzinfo=UTC), 0
    for day in days:
        made = []
        for place, athlete in enumerate(athletes):
            for spec in specs:
                protocol = protocols[spec.id]
                for side in ("left", "right") if spec.sides else ("",):
                    seq += 1
                    shape = spec.kind == "shape"
                    value = (
                        None
                        if shape
                        else float((place * 7 + seq * 3) % 40)
                        if spec.cap != 5
                        else float(seq % 6)
                    )
                    levels = {one.id: (seq + n) % 3 for n, one in enumerate(spec.criteria)} if shape else None
                    made.append(
                        Result(
                            code=uuid.uuid4(), tablet="bench", seq=seq, day=day, athlete=athlete,
                            measure_id=protocol.measure_id, protocol=protocol, side=side, value=value, levels=levels,
                            variant=spec.variants[0] if getattr(spec, "variants", ()) else "", how="typed", t_wall=at,
                            content_hash="",
                        )
                    )  # fmt: skip
        Result.objects.bulk_create(made, batch_size=2000)


def _report(count: int, repeats: int, *, loops: bool = True) -> Mapping[str, float]:
    from assessments.analysis import day_scores, group_summary, verdicts
    from assessments.frames import trials_frame
    from assessments.models import Result
    from assessments.programme import current_programme
    from assessments.reports import group_report
    from athletes.models import Athlete
    from tests.bench.plain_states import plain_states

    programme = current_programme()
    athletes = list(Athlete.objects.all())
    keys = {one.pk: str(one.code) for one in athletes}
    results = Result.objects.filter(athlete__in=list(keys))
    report = group_report(athletes, ON)
    table = trials_frame(results, athletes=keys)
    scores = day_scores(table, programme, on=ON)
    children, skills = report.verdicts.children, report.verdicts.skills
    flat = ("athlete__code", "measure__slug", "protocol__version", "variant", "side", "day_id", "day__held_on", "trial",
            "value", "outcome", "at_once", "second", "day__familiarisation", "levels", "judge_id")  # fmt: skip
    tuples = list(results.current().values_list(*flat))
    tuples = [(str(row[0]), *row[1:]) for row in tuples]

    def judged() -> Any:
        found = verdicts(skills, scores, programme=programme, children=children, on=ON)
        return group_summary(found)

    def objects() -> Any:
        rows = results.current().select_related("athlete", "measure", "protocol", "day")
        made = [
            (str(one.athlete.code), one.measure.slug, one.protocol.version, one.variant, one.side, one.day_id,
             one.day.held_on, one.trial, one.value, one.outcome, one.at_once, one.second, one.day.familiarisation,
             one.levels, one.judge_id)
            for one in rows
        ]  # fmt: skip
        return plain_states(made, programme, children, ON)

    steps: dict[str, Callable[[], Any]] = {
        "(a) bare query": lambda: list(results.current().order_by().values_list(*BARE)),
        "(b) plain loop, tuples at hand": lambda: plain_states(tuples, programme, children, ON),
        "(b') plain loop, model objects": objects,
        "(c) bare arrays: states and summary": judged,
        "frame (query included)": lambda: trials_frame(results, athletes=keys),
        "frame -> day scores": lambda: day_scores(table, programme, on=ON),
        "group_report, whole": lambda: group_report(athletes, ON),
    }
    if not loops:
        steps = {name: step for name, step in steps.items() if not name.startswith("(b")}
    took = {name: _least(step, 1 if "objects" in name else repeats) for name, step in steps.items()}
    print(
        f"\n{count} children, {len(tuples)} rows, {len(skills)} skills, {len(report.verdicts.columns)} requirements"
    )
    _print(took)
    tracemalloc.start()
    group_report(athletes, ON)
    peak = tracemalloc.get_traced_memory()[1] / 1024
    tracemalloc.stop()
    print(f"  peak memory a child                   {peak / count:>10.1f} KiB")
    return {**took, "peak memory": peak}


def _growth(found: Mapping[int, Mapping[str, float]]) -> None:
    smallest = min(found)
    names = ("(a) bare query", "frame -> day scores", "(c) bare arrays: states and summary", "group_report, whole",
             "peak memory")  # fmt: skip
    print(f"\nCost a child beside {smallest} children" + "".join(f"{count:>10,}" for count in sorted(found)))
    for name in names:
        base = found[smallest][name] / smallest
        print(f"  {name:<38}" + "".join(f"{found[n][name] / n / base:>10.2f}" for n in sorted(found)))


def _print(took: Mapping[str, float]) -> None:
    for name, seconds in took.items():
        print(f"  {name:<38}{1000 * seconds:>10.1f} ms")
    whole, query = took["group_report, whole"], took["(a) bare query"]
    calculation = took["frame -> day scores"] + took["(c) bare arrays: states and summary"]
    ratios = {
        "whole / (a)": whole / query,
        "(b) / calculation from the frame": took.get("(b) plain loop, tuples at hand", math.nan)
        / calculation,
        "(b') / whole": took.get("(b') plain loop, model objects", math.nan) / whole,
        "calculation from the frame / (c)": calculation / took["(c) bare arrays: states and summary"],
    }
    for name, ratio in ratios.items():
        if math.isnan(ratio):
            continue
        print(f"  {name:<38}{ratio:>10.2f}")


def _least(step: Callable[[], Any], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        begun = time.process_time()
        step()
        times.append(time.process_time() - begun)
    return min(times)


if __name__ == "__main__":
    main()
