"""A group's states, bottlenecks, coverage and spread. Counts and shares; no child is ranked."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping

import numpy as np

from assessments.analysis.censored import held_by, survival
from assessments.analysis.conformity import normal_share
from assessments.analysis.interpret import age_and_band, zone_of
from assessments.analysis.must_haves import MISSING
from assessments.analysis.records import GroupSummary, MeasureSummary, SkillSummary, Spread, Zone
from assessments.analysis.scoring import Flags, Floats, Ints, date_of, days_of, opens, series_parts
from assessments.analysis.settling import places_settled
from assessments.analysis.trend import newest_rows
from assessments.analysis.verdicts import NOT_YET, READY, RESTING, SKILL_WORDS, Verdicts, in_force

#: Quartiles of fewer children would show single children.
FEWEST_FOR_SPREAD = 5


def group_summary(verdicts: Verdicts) -> GroupSummary:
    """Counts per state, expected number ready, what decides most often, what test would settle most places."""
    holdups = [_deciding(verdicts, k) for k in range(len(verdicts.skills))]
    skills = tuple(_skill(verdicts, k, held) for k, held in enumerate(holdups))
    settled = Counter({item: int(counts.sum()) for item, counts in places_settled(verdicts).items()})
    newest, zones, nothing = _newest_rows(verdicts), _Zones(verdicts), np.empty(0, dtype=np.int64)
    measures = tuple(
        _measure(verdicts, item, rows, settles=settled[item], zones=zones.count(item, rows))
        for item in _items(verdicts)
        for rows in (newest.get(item, nothing),)
    )
    deciding = Counter[str]()
    for held in holdups:
        deciding.update(held)
    items = set(_items(verdicts))
    train = Counter({name: count for name, count in deciding.items() if name in items})
    commonest, commonest_count = _most(train)
    settles, settles_count = _most(settled)
    evidence = [measure.oldest_on for measure in measures if measure.oldest_on is not None]
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
        oldest_on=min(evidence, default=None),
        resting=sum(
            any(in_force(spell, verdicts.on) for spell in child.rests) for child in verdicts.children
        ),
    )


def expected_ready(verdicts: Verdicts, skill: int) -> Floats:
    """p of the deciding requirement for each child whom only measured requirements hold back.

    Left out are children who already learn or do it, who rest, whose state is not known, who wait for an earlier skill or
    an age, or who lack a must-have: no measured probability speaks for them.
    """
    state, column = verdicts.state[:, skill], verdicts.deciding[:, skill]
    counts = (
        ~decided(verdicts, skill)
        & (state >= NOT_YET)
        & (verdicts.blocked[:, skill] < 0)
        & ~verdicts.too_young[:, skill]
        & (column >= 0)
    )
    rows = np.flatnonzero(counts)
    rows = rows[verdicts.must[rows, column[rows]] != MISSING]
    return np.array([normal_share(z) for z in verdicts.z[rows, column[rows]].tolist()], dtype=np.float64)


def spread(verdicts: Verdicts, item: str) -> Spread:
    """What three quarters, half and a quarter of the children reach, in the version that most of them did last.

    Nothing is joined across versions: each child stands in the version of their newest scored day, of two sides with the
    lower one, and the commonest version is told (of two as common the harder); how many stand in another one is counted.
    Scores older than the programme's limit on evidence are left out and counted. Values that are only 'at least' enter
    as in Kaplan & Meier 1958 (`censored.survival`): they count as reaching whatever they reached, and never as a low
    score. A time taken with several clocks counts less its mean lateness. Needs five children with a score in that version.
    """
    rows = _newest_rows(verdicts).get(item, np.empty(0, dtype=np.int64))
    scores = verdicts.scores
    fresh = _fresh(verdicts, rows)
    stale, rows = int((~fresh).sum()), rows[fresh]
    variants = np.array([series_parts(scores.series_names[code])[1] for code in scores.series[rows]], object)
    counted = Counter(variants.tolist())
    ladder = _ladder(verdicts, item)
    commonest = max(counted, key=lambda name: (counted[name], ladder.get(name, -1), name), default="")
    rows = rows[variants == commonest]
    bound = scores.at_least[rows]
    enough = len(rows) >= FEWEST_FOR_SPREAD
    reached = np.where(scores.late[rows] > 0, np.maximum(scores.held[rows], 0.0), scores.value[rows])
    curve = survival(reached, (~bound).tolist()) if enough else ()
    low, middle, high = (held_by(curve, share) for share in (0.75, 0.5, 0.25))
    others = {name: counted[name] for name in sorted(counted, key=lambda name: (ladder.get(name, -1), name))}
    others.pop(commonest, None)
    late = int((scores.late[rows] > 0).sum())
    return Spread(len(rows), int(bound.sum()), enough, low, middle, high, commonest, others, stale, late)


def _fresh(verdicts: Verdicts, rows: Ints) -> Flags:
    """Whether a score is no older than the programme's limit on evidence."""
    recent: Flags = (
        days_of(verdicts.on) - verdicts.scores.on[rows] <= 7 * verdicts.programme.rules.expiry_weeks
    )
    return recent


def _ladder(verdicts: Verdicts, item: str) -> dict[str, int]:
    """The place of each version of an item, the easiest first."""
    spec = verdicts.programme.measures.get(item)
    return {name: place for place, name in enumerate(spec.variants if spec else ())}


def _skill(verdicts: Verdicts, k: int, held: Counter[str]) -> SkillSummary:
    state = verdicts.state[:, k]
    chances = expected_ready(verdicts, k)
    deciding, count = _most(held)
    return SkillSummary(
        skill=verdicts.skills[k].id,
        counts={word: int((state == place).sum()) for place, word in enumerate(SKILL_WORDS)},
        expected_ready=float(chances.sum()),
        expected_spread=math.sqrt(float((chances * (1.0 - chances)).sum())),
        deciding=deciding,
        deciding_count=count,
    )


def decided(verdicts: Verdicts, k: int) -> Flags:
    """Children of whom a coach has said that they learn this skill, or do it: nothing holds them back from it."""
    said: Flags = verdicts.decided[:, k]
    return said


def _deciding(verdicts: Verdicts, k: int) -> Counter[str]:
    """What decides in the children who are neither ready, resting nor past it: an item, or a skill that comes first."""
    state, column = verdicts.state[:, k], verdicts.deciding[:, k]
    counts: Counter[str] = Counter()
    skill = verdicts.skills[k]
    open_ = (state != READY) & (state != RESTING) & ~decided(verdicts, k)
    known = column >= 0
    short = np.zeros(len(state), dtype=np.bool_)
    short[known] = verdicts.word[np.flatnonzero(known), column[known]] <= 1
    waits = open_ & (state == NOT_YET) & ~short
    for place, number in Counter(verdicts.blocked[waits, k].tolist()).items():
        counts[skill.after[place]] += number
    for q, number in Counter(column[open_ & ~waits & known].tolist()).items():
        counts[verdicts.columns[q].requirement.item] += number
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


def _measure(
    verdicts: Verdicts, item: str, rows: Ints, *, settles: int, zones: Mapping[Zone, int]
) -> MeasureSummary:
    oldest_on = date_of(verdicts.scores.on[rows].min()) if len(rows) else None
    return MeasureSummary(item, len(rows), zones, oldest_on, settles)


def _newest_rows(verdicts: Verdicts) -> dict[str, Ints]:
    """Row that stands for each listed child, by item: of the version tested last, of two sides the lower one.

    Of two versions on one date the harder one stands. A side that is too old to count says nothing beside one that does;
    where all is too old the newest stands all the same.
    """
    scores, laid = verdicts.scores, verdicts.laid
    if not len(laid.series):
        return {}
    listed = {child.athlete for child in verdicts.children}
    known = np.array([name in listed for name in scores.athletes], dtype=np.bool_)
    items = {name: verdicts.programme.item(name) for name in scores.items if _in_edition(verdicts, name)}
    version = np.array([items[name].version if name in items else 0 for name in scores.items], dtype=np.int64)
    written = np.array([series_parts(name)[0] for name in scores.series_names], dtype=np.int64)
    first = scores.start[laid.series]
    ours = known[scores.athlete[first]] & (written[scores.series[first]] == version[scores.item[first]])
    newest = newest_rows(laid)[ours]
    ladders = [_ladder(verdicts, name) for name in scores.items]
    harder = np.array(
        [[ladder.get(series_parts(name)[1], -1) for name in scores.series_names] for ladder in ladders],
        dtype=np.int64,
    )
    old = ~_fresh(verdicts, newest)
    item, athlete, series = scores.item[newest], scores.athlete[newest], scores.series[newest]
    order = np.lexsort((-harder[item, series], -scores.on[newest], old, athlete, item))
    newest, old, series = newest[order], old[order], series[order]
    begins = opens(scores.item[newest] * len(scores.athletes) + scores.athlete[newest])
    lead = np.flatnonzero(begins)[np.cumsum(begins) - 1]
    newest = newest[(series == series[lead]) & (old == old[lead])]
    newest = newest[np.lexsort((scores.held[newest], scores.athlete[newest], scores.item[newest]))]
    newest = newest[opens(scores.item[newest] * len(scores.athletes) + scores.athlete[newest])]
    edges = np.searchsorted(scores.item[newest], np.arange(len(scores.items) + 1))
    return {name: newest[edges[code] : edges[code + 1]] for code, name in enumerate(scores.items)}


def _in_edition(verdicts: Verdicts, item: str) -> bool:
    return item in verdicts.programme.measures or item in verdicts.programme.shapes


class _Zones:
    """Counts zones; each child's band on a day is worked out once."""

    def __init__(self, verdicts: Verdicts) -> None:
        self._verdicts = verdicts
        born = {child.athlete: child.born_on for child in verdicts.children}
        self._born = [born.get(name) for name in verdicts.scores.athletes]
        self._variants = [series_parts(name)[1] for name in verdicts.scores.series_names]
        self._bands: dict[tuple[int, int], str] = {}

    def count(self, item: str, rows: Ints) -> dict[Zone, int]:
        """How many of these rows lie in each zone."""
        scores, counts = self._verdicts.scores, Counter[Zone]()
        columns = (scores.athlete[rows], scores.on[rows], scores.series[rows], scores.value[rows])
        groups: dict[tuple[str, str], list[float]] = {}
        for athlete, on, series, value in zip(*(column.tolist() for column in columns), strict=True):
            groups.setdefault((self._band(athlete, on), self._variants[series]), []).append(value)
        for (band, variant), values in groups.items():
            for value in values:
                counts[zone_of(self._verdicts.programme, item, band=band, value=value, variant=variant)] += 1
        return dict(counts)

    def _band(self, athlete: int, on: int) -> str:
        key = (athlete, on)
        if key not in self._bands:
            born = self._born[athlete]
            bands = self._verdicts.programme.bands
            self._bands[key] = "" if born is None else age_and_band(born, date_of(on), bands)[1]
        return self._bands[key]
