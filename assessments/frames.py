"""The only place where rows of the database become a frame for the calculation.

Columns of the trials frame, one row an entry that stands (replaced by none, not taken back):

| column | meaning |
|---|---|
| athlete, day, judge | codes, "" for a judge who is not known |
| item | id of the measure or shape |
| series | protocol version and variant, such as v1 or v1:tucked |
| side, outcome, form_break | as entered |
| on | date of the test day |
| trial, at_once | whole numbers |
| value | unit of the measure; for shapes the total, missing when a criterion was not seen |
| second, familiarisation | a blind second look; a day of play |
| levels | level by criterion for shapes, None otherwise |
| conflict | another entry with evidence stands in the same place (day, child, item, variant, side, trial) |

Rows come as tuples in pieces, never as model objects; every word and every set of levels is read once and then known by
its number. That is most of the speed, and it keeps the memory of a large club small.
"""

from __future__ import annotations

import json
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from django.db.models import TextField
from django.db.models.functions import Cast

from assessments.models import AssessmentDay, Protocol
from assessments.models.results import EVIDENCE, ResultQuerySet
from athletes.models import Athlete
from club.models import User

#: Columns that hold few different things are read as numbers of those things.
NUMBERED = (
    "athlete_id", "measure_id", "protocol_id", "variant", "side", "day_id", "outcome", "judge_id", "form_break",
    "levels_text",
)  # fmt: skip
PLAIN: dict[str, type[np.generic]] = {
    "trial": np.int64, "at_once": np.int64, "second": np.bool_, "value": np.float64,
}  # fmt: skip
PIECE = 4000


def trials_frame(results: ResultQuerySet, *, athletes: Mapping[int, str] | None = None) -> pd.DataFrame:
    """The frame of the entries in a queryset that stand; a fixed number of queries whatever their number.

    `athletes` gives codes by primary key where the caller has them already.
    """
    read = _read(results.current().order_by())
    known = _codes(Athlete.objects, read.things("athlete_id")) if athletes is None else athletes
    days = {pk: (str(code), held_on, play) for pk, code, held_on, play in _days(read.things("day_id"))}
    protocols = list(Protocol.objects.values_list("pk", "version", "measure_id", "measure__slug"))
    judges = {None: "", **_codes(User.objects, read.things("judge_id"))}
    athlete, day = (
        read.named("athlete_id", known),
        read.named("day_id", {pk: one[0] for pk, one in days.items()}),
    )
    item = read.named("measure_id", {measure: slug for _, _, measure, slug in protocols})
    series = _series(read, {pk: version for pk, version, _, _ in protocols})
    side, outcome = read.named("side"), read.named("outcome")
    levels, totals = _levels(read.things("levels_text"))
    judged, has_levels = (
        read.numbers["levels_text"],
        np.array([one is not None for one in levels], dtype=np.bool_),
    )
    second, trial = read.plain["second"], read.plain["trial"]
    facts = [days[pk] for pk in read.things("day_id")]
    return pd.DataFrame(
        {
            "athlete": athlete,
            "item": item,
            "series": series,
            "side": side,
            "day": day,
            "on": np.array([one[1] for one in facts], dtype="datetime64[ns]")[read.numbers["day_id"]],
            "trial": trial,
            "value": np.where(has_levels[judged], totals[judged], read.plain["value"]),
            "outcome": outcome,
            "at_once": read.plain["at_once"],
            "second": second,
            "familiarisation": np.array([one[2] for one in facts], dtype=np.bool_)[read.numbers["day_id"]],
            "levels": levels[judged],
            "judge": read.named("judge_id", judges),
            "form_break": read.named("form_break"),
            "conflict": _conflicts((athlete, item, series, side, day), trial, second, outcome.isin(EVIDENCE)),
        },
        copy=False,
    )


class _Numbers(dict[Any, int]):
    """Numbers things in the order in which they come."""

    def __missing__(self, thing: Any) -> int:
        self[thing] = number = len(self)
        return number


class _Read:
    """What came from the database, column by column."""

    def __init__(self, numbered: Mapping[str, _Numbers], columns: Mapping[str, npt.NDArray[Any]]) -> None:
        self.numbered = numbered
        self.numbers = {name: columns[name] for name in NUMBERED}
        self.plain = {name: columns[name] for name in PLAIN}

    def things(self, name: str) -> list[Any]:
        """The different things of a column, in the order of their numbers."""
        return list(self.numbered[name])

    def named(self, name: str, names: Mapping[Any, str] | None = None) -> pd.Categorical:
        """A column in words, sorted; `names` gives the word of each thing."""
        things = self.things(name)
        words = [thing if names is None else names[thing] for thing in things]
        return _categorical(words, self.numbers[name])


def _read(results: ResultQuerySet) -> _Read:
    numbered = {name: _Numbers() for name in NUMBERED}
    fields = (*NUMBERED, *PLAIN)
    found: dict[str, list[npt.NDArray[Any]]] = {name: [] for name in fields}
    rows = results.annotate(levels_text=Cast("levels", TextField())).values_list(*fields)
    for piece in _pieces(rows.iterator(PIECE)):
        for name, column in zip(fields, zip(*piece, strict=True), strict=True):
            if name in numbered:
                numbers = map(numbered[name].__getitem__, column)
                found[name].append(np.fromiter(numbers, dtype=np.int64, count=len(column)))
            else:
                found[name].append(np.array(column, dtype=PLAIN[name]))
    empty = {name: np.empty(0, PLAIN.get(name, np.int64)) for name in fields}
    return _Read(numbered, {name: np.concatenate([empty[name], *found[name]]) for name in fields})


def _pieces(rows: Iterator[tuple[Any, ...]]) -> Iterator[list[tuple[Any, ...]]]:
    while piece := list(islice(rows, PIECE)):
        yield piece


def _categorical(words: Sequence[str], numbers: npt.NDArray[np.int64]) -> pd.Categorical:
    categories = sorted(set(words))
    place = {word: code for code, word in enumerate(categories)}
    codes = np.array([place[word] for word in words], dtype=np.int64)
    return pd.Categorical.from_codes(codes[numbers], categories=pd.Index(categories, dtype=object))


def _days(keys: Iterable[Any]) -> Iterable[tuple[Any, ...]]:
    return AssessmentDay.objects.filter(pk__in=set(keys)).values_list(
        "pk", "code", "held_on", "familiarisation"
    )


def _codes(manager: Any, keys: Iterable[Any]) -> dict[Hashable, str]:
    """Codes by primary key. All of them once there are many: long lists of keys are slower than the table."""
    wanted = set(keys) - {None}
    found = manager.filter(pk__in=wanted) if len(wanted) < 500 else manager.all()
    return {pk: str(code) for pk, code in found.values_list("pk", "code")}


def _series(read: _Read, versions: Mapping[int, int]) -> pd.Categorical:
    """Version and variant together, written v1 or v1:variant."""
    protocols, variants = read.things("protocol_id"), read.things("variant")
    words = [
        f"v{versions[protocol]}:{variant}" if variant else f"v{versions[protocol]}"
        for protocol in protocols
        for variant in variants
    ]
    both = read.numbers["protocol_id"] * len(variants) + read.numbers["variant"]
    used, numbers = np.unique(both, return_inverse=True)
    return _categorical([words[place] for place in used.tolist()], numbers.astype(np.int64))


def _levels(texts: Sequence[str | None]) -> tuple[npt.NDArray[np.object_], npt.NDArray[np.float64]]:
    """Levels by their number, and a shape's total: their sum, missing when one was not seen."""
    levels, totals = np.empty(len(texts), dtype=object), np.full(len(texts), np.nan)
    for number, text in enumerate(texts):
        seen = json.loads(text) if text else None
        if isinstance(seen, dict):
            levels[number] = seen
            totals[number] = np.nan if None in seen.values() else sum(seen.values())
    return levels, totals


def _conflicts(
    keys: Iterable[pd.Categorical],
    trial: npt.NDArray[np.int64],
    second: npt.NDArray[np.bool_],
    evidence: npt.NDArray[np.bool_],
) -> npt.NDArray[np.bool_]:
    """Where more than one entry with evidence stands in one place; second looks have places of their own."""
    place = np.zeros(len(trial), dtype=np.int64)
    for key in keys:
        place = place * (len(key.categories) + 1) + key.codes
    place = ((place * (int(trial.max(initial=0)) + 1) + trial) * 2 + second)[evidence]
    order = np.argsort(place, kind="stable")
    same = place[order][1:] == place[order][:-1]
    doubled = np.zeros(len(place), dtype=np.bool_)
    doubled[order[1:]] |= same
    doubled[order[:-1]] |= same
    marked = np.zeros(len(trial), dtype=np.bool_)
    marked[evidence] = doubled
    return marked
