"""A group's states, bottlenecks, coverage and spread. Counts and shares; no child is ranked."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable

import numpy as np

from assessments.analysis.cells import MISSING, UNKNOWN
from assessments.analysis.conformity import normal_share
from assessments.analysis.interpret import age_and_band, zone_of
from assessments.analysis.records import GroupSummary, MeasureSummary, SkillSummary, Zone
from assessments.analysis.scoring import Floats, Ints, date_of, series_parts
from assessments.analysis.verdicts import NOT_KNOWN, NOT_YET, READY, RESTING, SKILL_WORDS, Verdicts, in_force

#: Quartiles of fewer children would show single children.
FEWEST_FOR_SPREAD = 5


def group_summary(verdicts: Verdicts) -> GroupSummary:
    """Counts per state, expected number ready, what decides most often, what test would settle most places."""
    skills = tuple(_skill(verdicts, k) for k in range(len(verdicts.skills)))
    settled = settling_items(verdicts)
    measures = tuple(_measure(verdicts, item, settled[item]) for item in _items(verdicts))
    deciding = Counter[str]()
    for k in range(len(verdicts.skills)):
        deciding.update(_deciding(verdicts, k))
    items = set(_items(verdicts))
    train = Counter({name: count for name, count in deciding.items() if name in items})
    commonest, commonest_count = _most(train)
    settles, settles_count = _most(settled)
    newest = [measure.oldest_on for measure in measures if measure.oldest_on is not None]
    return GroupSummary(
        on=verdicts.on,
        children=len(verdicts.children),
        counts={word: int((verdicts.state == place).sum()) for place, word in enumerate(SKILL_WORDS)},
        skills=skills,
        measures=measures,
        commonest=commonest,
        commonest_count=commonest_count,
        settles=settles,
        settles_count=settles_count,
        oldest_on=min(newest, default=None),
        resting=sum(
            any(in_force(spell, verdicts.on) for spell in child.rests) for child in verdicts.children
        ),
    )


def expected_ready(verdicts: Verdicts, skill: int) -> Floats:
    """p of the deciding requirement for each child whom only measured requirements hold back.

    Children who rest, whose state is not known, who wait for an earlier skill or an age, or who lack a must-have, are
    left out: no measured probability speaks for them.
    """
    state, column = verdicts.state[:, skill], verdicts.deciding[:, skill]
    counts = (
        (state >= NOT_YET) & (verdicts.blocked[:, skill] < 0) & ~verdicts.too_young[:, skill] & (column >= 0)
    )
    rows = np.flatnonzero(counts)
    rows = rows[verdicts.must[rows, column[rows]] != MISSING]
    return np.array([normal_share(z) for z in verdicts.z[rows, column[rows]].tolist()], dtype=np.float64)


def settling_items(verdicts: Verdicts) -> Counter[str]:
    """How many places that are not known want one item alone; resting children do not wait for a test."""
    settled: Counter[str] = Counter()
    items = np.array([column.requirement.item for column in verdicts.columns], dtype=object)
    for k, (begin, end) in enumerate(verdicts.spans):
        waiting = verdicts.state[:, k] == NOT_KNOWN
        unknown = (verdicts.word[:, begin:end] == UNKNOWN) & ~verdicts.advice[:, begin:end] & waiting[:, None]
        names = items[begin:end]
        for name in dict.fromkeys(names.tolist()):
            mine = names == name
            alone = unknown[:, mine].any(axis=1) & ~unknown[:, ~mine].any(axis=1)
            settled[name] += int(alone.sum())
    return settled


def _skill(verdicts: Verdicts, k: int) -> SkillSummary:
    state = verdicts.state[:, k]
    chances = expected_ready(verdicts, k)
    deciding, count = _most(_deciding(verdicts, k))
    return SkillSummary(
        skill=verdicts.skills[k].id,
        counts={word: int((state == place).sum()) for place, word in enumerate(SKILL_WORDS)},
        expected_ready=float(chances.sum()),
        expected_spread=math.sqrt(float((chances * (1.0 - chances)).sum())),
        deciding=deciding,
        deciding_count=count,
    )


def _deciding(verdicts: Verdicts, k: int) -> Counter[str]:
    """What decides in the children who are neither ready nor resting: an item, or a skill that comes first."""
    state, column = verdicts.state[:, k], verdicts.deciding[:, k]
    counts: Counter[str] = Counter()
    skill = verdicts.skills[k]
    open_ = (state != READY) & (state != RESTING)
    known = column >= 0
    short = np.zeros(len(state), dtype=np.bool_)
    short[known] = verdicts.word[np.flatnonzero(known), column[known]] <= 1
    waits = open_ & (state == NOT_YET) & ~short
    for place, number in zip(*np.unique(verdicts.blocked[waits, k], return_counts=True), strict=True):
        counts[skill.after[place]] += int(number)
    for q, number in zip(*np.unique(column[open_ & ~waits & known], return_counts=True), strict=True):
        counts[verdicts.columns[q].requirement.item] += int(number)
    return counts


def _most(counts: Counter[str]) -> tuple[str, int]:
    """The commonest, by name where two are equal; "" and 0 when nothing was counted."""
    found = [(-count, name) for name, count in counts.items() if count]
    if not found:
        return "", 0
    count, name = min(found)
    return name, -count


def _items(verdicts: Verdicts) -> Iterable[str]:
    return (*verdicts.programme.measures, *verdicts.programme.shapes)


def _measure(verdicts: Verdicts, item: str, settles: int) -> MeasureSummary:
    rows = _newest_rows(verdicts, item)
    scores = verdicts.scores
    values = scores.value[rows]
    low, middle, high = (
        (float(q) for q in np.quantile(values, (0.25, 0.5, 0.75)))
        if len(rows) >= FEWEST_FOR_SPREAD
        else (None,) * 3
    )
    return MeasureSummary(
        item=item, children=len(rows), low=low, middle=middle, high=high,
        at_least=int(scores.at_least[rows].sum()), zones=_zones(verdicts, item, rows),
        oldest_on=date_of(scores.on[rows].min()) if len(rows) else None, settles=settles,
    )  # fmt: skip


def _newest_rows(verdicts: Verdicts, item: str) -> Ints:
    """Row of the newest scored day of each listed child in this item; of two sides that day the lower one."""
    scores, laid = verdicts.scores, verdicts.laid
    if item not in scores.items or not len(laid.series):
        return np.empty(0, dtype=np.int64)
    listed = {child.athlete for child in verdicts.children}
    known = np.array([name in listed for name in scores.athletes], dtype=np.bool_)
    version = verdicts.programme.item(item).version
    current = np.array([series_parts(name)[0] == version for name in scores.series_names], dtype=np.bool_)
    first = scores.start[laid.series]
    lines = np.flatnonzero(
        (scores.item[first] == scores.items.index(item))
        & known[scores.athlete[first]]
        & current[scores.series[first]]
    )
    newest = laid.row[lines, laid.seen[lines].sum(axis=1) - 1]
    order = np.lexsort((scores.value[newest], -scores.on[newest], scores.athlete[newest]))
    newest = newest[order]
    one: Ints = newest[np.diff(scores.athlete[newest], prepend=-1) != 0]
    return one


def _zones(verdicts: Verdicts, item: str, rows: Ints) -> dict[Zone, int]:
    born = {child.athlete: child.born_on for child in verdicts.children}
    scores, zones = verdicts.scores, Counter[Zone]()
    for row in rows.tolist():
        day = date_of(scores.on[row])
        _, band = age_and_band(born[scores.athletes[scores.athlete[row]]], day, verdicts.programme.bands)
        variant = series_parts(scores.series_names[scores.series[row]])[1]
        value = float(scores.value[row])
        zones[zone_of(verdicts.programme, item, band=band, value=value, variant=variant)] += 1
    return dict(zones)
