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

Rows come as tuples, never as model objects, and words are coded once: that is most of the speed.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from assessments.models import AssessmentDay, Protocol
from assessments.models.results import EVIDENCE, ResultQuerySet
from athletes.models import Athlete
from club.models import User

FIELDS = (
    "athlete_id", "measure_id", "protocol_id", "variant", "side", "day_id", "trial", "value", "outcome", "at_once",
    "second", "levels", "judge_id", "form_break",
)  # fmt: skip


def trials_frame(results: ResultQuerySet, *, athletes: Mapping[int, str] | None = None) -> pd.DataFrame:
    """The frame of the entries in a queryset that stand; a fixed number of queries whatever their number.

    `athletes` gives codes by primary key where the caller has them already.
    """
    rows = list(results.current().order_by().values_list(*FIELDS))
    columns = list(zip(*rows, strict=True)) if rows else [() for _ in FIELDS]
    named = dict(zip(FIELDS, columns, strict=True))
    days = {pk: (str(code), held_on, play) for pk, code, held_on, play in _days(named["day_id"])}
    dates = np.array([days[pk][1] for pk in days], dtype="datetime64[ns]")
    plays = np.array([days[pk][2] for pk in days], dtype=np.bool_)
    day = _coded(named["day_id"], {pk: facts[0] for pk, facts in days.items()})
    known = _codes(Athlete.objects, named["athlete_id"]) if athletes is None else athletes
    athlete = _coded(named["athlete_id"], known)
    protocols = list(Protocol.objects.values_list("pk", "version", "measure_id", "measure__slug"))
    item = _coded(named["measure_id"], {measure: slug for _, _, measure, slug in protocols})
    series = _series({pk: version for pk, version, _, _ in protocols}, named["protocol_id"], named["variant"])
    side, trial = _words(named["side"]), np.array(named["trial"], dtype=np.int64)
    second = np.array(named["second"], dtype=np.bool_)
    return pd.DataFrame(
        {
            "athlete": athlete,
            "item": item,
            "series": series,
            "side": side,
            "day": day,
            "on": dates[day.codes] if len(dates) else np.empty(0, "datetime64[ns]"),
            "trial": trial,
            "value": _values(named["value"], named["levels"]),
            "outcome": _words(named["outcome"]),
            "at_once": np.array(named["at_once"], dtype=np.int64),
            "second": second,
            "familiarisation": plays[day.codes] if len(plays) else np.empty(0, np.bool_),
            "levels": _objects(named["levels"]),
            "judge": _coded(named["judge_id"], {None: "", **_codes(User.objects, named["judge_id"])}),
            "form_break": _words(named["form_break"]),
            "conflict": _conflicts(
                (athlete, item, series, side, day), trial, second, _evidence(named["outcome"])
            ),
        }
    )


def _days(keys: Iterable[Any]) -> Iterable[tuple[Any, ...]]:
    return AssessmentDay.objects.filter(pk__in=set(keys)).values_list(
        "pk", "code", "held_on", "familiarisation"
    )


def _codes(manager: Any, keys: Iterable[Any]) -> dict[Hashable, str]:
    """Codes by primary key. All of them once there are many: long lists of keys are slower than the table."""
    wanted = set(keys) - {None}
    found = manager.filter(pk__in=wanted) if len(wanted) < 500 else manager.all()
    return {pk: str(code) for pk, code in found.values_list("pk", "code")}


def _coded(keys: Sequence[Any], names: Mapping[Any, str]) -> pd.Categorical:
    """A column of words from a column of keys; every name is a category, in the order given."""
    place = {key: code for code, key in enumerate(names)}
    codes = np.fromiter(map(place.__getitem__, keys), dtype=np.int64, count=len(keys))
    return pd.Categorical.from_codes(codes, categories=pd.Index(list(names.values()), dtype=object))


def _words(words: Sequence[str]) -> pd.Categorical:
    return _coded(words, {word: word for word in sorted(set(words))})


def _series(versions: Mapping[int, int], protocols: Sequence[int], variants: Sequence[str]) -> pd.Categorical:
    pairs = list(zip(protocols, variants, strict=True))
    names = {
        (protocol, variant): f"v{versions[protocol]}:{variant}" if variant else f"v{versions[protocol]}"
        for protocol, variant in sorted(set(pairs))
    }
    shared = {name: code for code, name in enumerate(dict.fromkeys(names.values()))}
    place = {pair: shared[name] for pair, name in names.items()}
    codes = np.fromiter(map(place.__getitem__, pairs), dtype=np.int64, count=len(pairs))
    return pd.Categorical.from_codes(codes, categories=pd.Index(list(shared), dtype=object))


def _values(
    values: Sequence[float | None], levels: Sequence[Mapping[str, int | None] | None]
) -> npt.NDArray[Any]:
    """Values as entered; a shape's total is the sum of its levels, missing when one was not seen."""
    filled = np.array(values, dtype=np.float64)
    for place in [place for place, seen in enumerate(levels) if seen]:
        given = list((levels[place] or {}).values())
        filled[place] = np.nan if None in given else sum(level for level in given if level is not None)
    return filled


def _objects(things: Sequence[Any]) -> npt.NDArray[np.object_]:
    made = np.empty(len(things), dtype=object)
    made[:] = things
    return made


def _evidence(outcomes: Sequence[str]) -> npt.NDArray[np.bool_]:
    return np.fromiter(map(frozenset(EVIDENCE).__contains__, outcomes), dtype=np.bool_, count=len(outcomes))


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
