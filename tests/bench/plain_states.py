"""The states of every child on every skill by a plain loop over tuples: slow to read nothing into, easy to check.

Written apart from the product's calculation, as a second opinion and as the thing to be faster than.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from statistics import NormalDist

from assessments.analysis.records import ChildFacts, MeasureSpec, Programme
from athletes.ages import completed_years

#: athlete, item, version, variant, side, day, on, trial, value, outcome, at_once, second, familiarisation, levels, judge
Row = tuple
RANK = {"not_known": 0, "not_yet": 1, "likely": 2, "unconfirmed": 3, "met": 4}
BOUND = {"reached_cap": "cap", "chose_to_stop": "stop"}
CLOCK_LATE = {1: 0.27, 2: 1.25, 3: 1.375, 4: 1.50, 5: 1.645, 6: 1.79, 7: 1.97, 8: 2.15}
CLOCK_SD = {1: 0.06, 2: 0.28, 3: 0.375, 4: 0.47, 5: 0.585, 6: 0.70, 7: 0.84, 8: 0.98}


def plain_states(
    rows: Iterable[Row], programme: Programme, children: Sequence[ChildFacts], on: date
) -> dict[tuple[str, str], str]:
    """State by (child, skill)."""
    histories = _histories(rows, programme, on)
    states = {}
    for child in children:
        for skill in programme.skills.values():
            states[child.athlete, skill.id] = _skill(child, skill, histories, programme, on)
    return states


def _histories(rows, programme, on):
    """(athlete, item) -> {(version, variant, side): [(on, value, at_least, at_once, levels, second levels)]}."""
    slots, seconds, broken, partial = (
        defaultdict(list),
        defaultdict(list),
        defaultdict(int),
        defaultdict(list),
    )
    for row in rows:
        athlete, item, version, variant, side, day, held_on, number, value, outcome, at_once, second, play = (
            row[:13]
        )
        levels, judge = row[13:15]
        if held_on > on:
            continue
        key = (athlete, item, version, variant, side, held_on, day, play)
        if second:
            if outcome in ("scored", "could_not_start", "reached_cap", "chose_to_stop") and levels:
                seconds[key].append((levels, judge, number))
            continue
        broken[(*key, number)] += 1
        if outcome == "could_not_start":
            value = 0.0
        if levels:
            value = None if None in levels.values() else float(sum(levels.values()))
        evidence = outcome in ("scored", "could_not_start", "reached_cap", "chose_to_stop")
        usable = value is not None and evidence
        if levels and evidence and value is None and not play:
            partial[athlete, item, version, variant].append((held_on, levels, (*key, number)))
        slots[key].append(
            (
                number,
                value,
                BOUND.get(outcome, ""),
                at_once,
                levels,
                judge,
                usable,
                outcome == "could_not_start",
            )
        )
    found, whole = defaultdict(lambda: defaultdict(list)), set()
    for key, tried in slots.items():
        athlete, item, version, variant, side, held_on, day, play = key
        spec = programme.item(item)
        attempts = spec.attempts if isinstance(spec, MeasureSpec) else 2
        doubled = {one[0] for one in tried if broken[(*key, one[0])] > 1}
        counted = [one for one in sorted(tried, key=lambda one: one[0]) if one[6] or one[0] in doubled][
            :attempts
        ]
        if play or not counted or any(one[0] in doubled for one in counted):
            continue
        if spec.combine == "best":
            score = max(counted, key=lambda one: (one[1] - _late(spec, one), one[2] != "", -one[0]))
        elif spec.combine == "first":
            score = counted[0]
        else:
            if spec.combine == "sum" and len(counted) < attempts:
                continue
            total = sum(one[1] for one in counted)
            value = total if spec.combine == "sum" else total / len(counted)
            # With a part that is only 'at least' the whole is; the first part says why, or it counts as a stop.
            bound = (counted[0][2] or "stop") if any(one[2] for one in counted) else ""
            clocks = max(one[3] for one in counted)
            score = (1, value, bound, clocks, counted[0][4], counted[0][5], True, counted[0][7])
        others = [
            levels
            for levels, judge, number in seconds[key]
            if judge and score[5] and judge != score[5] and number == score[0]
        ]
        clocks = 1 if score[2] == "cap" or score[7] else score[3]
        day_score = (held_on, score[1] - _late(spec, score), score[2], clocks, score[4], others)
        found[athlete, item][version, variant, side].append(day_score)
        whole.add(key)
    for series in found.values():
        for days in series.values():
            days.sort(key=lambda one: (one[0], bool(one[2]), one[1]))
    for (athlete, item, version, variant), looks in partial.items():
        counted = [one[:2] for one in looks if broken[one[2]] == 1 and one[2][:-1] not in whole]
        found[athlete, item, "partial"][version, variant] = counted
    return found


def _late(spec, score):
    if spec.kind != "hold" or score[2] == "cap" or score[7]:
        return 0.0
    return CLOCK_LATE[score[3]] - CLOCK_LATE[1]


def _skill(child, skill, histories, programme, on):
    def touched(spell, areas):
        return set(spell.areas) & areas or set(spell.areas) & set(programme.areas_blocking_all)

    years = completed_years(child.born_on, on) if child.born_on <= on else 0
    resting = [
        rest for rest in child.rests if rest.began_on <= on and (rest.ended_on is None or rest.ended_on > on)
    ]
    loads = set(skill.loads)
    for requirement in skill.requirements:
        loads |= set(programme.item(requirement.item).loads)
    if any(touched(rest, loads) for rest in resting):
        return "resting"
    words = []
    for requirement in skill.requirements:
        if requirement.soft_under is not None and years < requirement.soft_under:
            continue
        areas = set(skill.loads) | set(programme.item(requirement.item).loads)
        ended = [
            rest.ended_on
            for rest in child.rests
            if rest.ended_on and rest.ended_on <= on and touched(rest, areas)
        ]
        series = histories.get((child.athlete, requirement.item), {})
        partial = histories.get((child.athlete, requirement.item, "partial"), {})
        since = max(ended, default=date.min)
        words.append(_requirement(requirement, skill, series, partial, programme, on, since))
    worst = min(words, key=RANK.__getitem__, default="not_known")
    if worst == "not_known":
        return "not_known"
    open_ = all(child.words.get(name) and child.words[name].word == "consistent" for name in skill.after)
    if worst == "not_yet" or not open_:
        return "not_yet"
    return "ready" if worst == "met" and years >= skill.min_age else "nearly"


def _requirement(requirement, skill, series, partial, programme, on, since):
    spec = programme.item(requirement.item)
    rules = programme.rules
    whole = spec.kind in ("count", "score_count", "shape")
    line = requirement.minimum - 0.5 if whole else requirement.minimum
    error = max(spec.error.a, spec.error.b * abs(requirement.minimum))
    careful = skill.risk == "high" and {"wrist", "neck"} & set(skill.loads)
    expiry = 7 * (rules.expiry_weeks_careful if careful else rules.expiry_weeks)
    best = None
    ladder = getattr(spec, "variants", ())
    admitted = {}
    for (version, variant, side), days in series.items():
        if version != spec.version or (
            requirement.variant and variant not in ladder[ladder.index(requirement.variant) :]
        ):
            continue
        if (
            requirement.variant and variant != requirement.variant
        ):  # a harder one is a lower bound, like a stop
            days = [(one[0], one[1], "stop", *one[3:]) for one in days]
        name = "" if requirement.variant else variant
        admitted.setdefault(name, {}).setdefault(side, []).extend(one for one in days if one[0] >= since)
    for name, by_side in admitted.items():
        sides = []
        for side in ("", "left", "right"):
            days = sorted(by_side.get(side, ()), key=lambda one: (one[0], bool(one[2]), one[1]))
            chance = _chance(days, line, error, rules.drift_weeks, on, expiry, spec.kind == "hold")
            if chance is not None:
                sides.append((chance, days))
        if requirement.both_sides:
            sides = [] if len(sides) < (2 if spec.sides else 1) else [
                (min(one[0] for one in sides), [one[1] for one in sides])
            ]  # fmt: skip
        else:
            sides = [(chance, [days]) for chance, days in sides]
        for chance, histories in sides:
            if best is None or chance > best[0]:
                best = (chance, histories, partial.get((spec.version, name), ()))
    if best is None:
        return "not_known"
    return _word(best, requirement, skill, rules, line, expiry)


def _word(best, requirement, skill, rules, line, expiry):
    z, histories, partial = best
    twice = True
    if requirement.must_have:
        must = _must(histories[0], partial, requirement.must_have, expiry)
        if must == "missing":
            return "not_yet"
        twice = must == "twice"
    if z < -1e-9:
        return "not_yet"
    if z < NormalDist().inv_cdf(rules.confidence[skill.risk]) - 1e-9 or not twice:
        return "likely"
    if skill.risk == "high":
        for days in histories:
            telling = [one for one in days if not (one[2] and one[1] < line)]
            newest = telling[-1][0]
            last = [one[1] for one in telling if one[0] == newest]
            before = [one for one in telling if (newest - one[0]).days >= rules.confirm_days]
            if min(last) < line or not before or (newest - before[-1][0]).days > expiry:
                return "unconfirmed"
            if min(one[1] for one in before if one[0] == before[-1][0]) < line:
                return "unconfirmed"
    return "met"


def _must(days, partial, criteria, expiry):
    """Whether all criteria were there on the last two dates on which they were seen, or for two coaches on the newest."""

    def says(levels):
        found = [levels.get(name) for name in criteria]
        return "yes" if all(one == 2 for one in found) else "no" if 0 in found or 1 in found else "unseen"

    said, two = defaultdict(list), set()
    for held_on, _value, _bound, _clocks, levels, others in days:
        if not levels:
            said[held_on].append("unseen")
            continue
        first, again = says(levels), [says(one) for one in others]
        # Of several second coaches each criterion counts as the lowest saw it, and as not seen where one did not see it.
        lowest = {}
        for name in criteria:
            seen = [one.get(name) for one in others]
            lowest[name] = None if None in seen or not seen else min(seen)
        second = says(lowest) if again else "unseen"
        said[held_on].append("doubt" if first == "yes" and second == "no" else first)
        if first == second == "yes":
            two.add(held_on)
    for held_on, levels in partial:
        if held_on >= days[0][0]:
            said[held_on].append(says(levels))
    word = {}
    for held_on, found in said.items():
        for one in ("no", "doubt", "yes"):
            if one in found:
                word[held_on] = one
                break
    dates = sorted(word)
    if not dates or word[dates[-1]] == "no":
        return "missing"
    if word[dates[-1]] == "doubt":
        return "once"
    if dates[-1] in two:
        return "twice"
    earlier = len(dates) > 1 and word[dates[-2]] == "yes" and (dates[-1] - dates[-2]).days <= expiry
    return "twice" if earlier else "once"


def _chance(days, line, error, drift_weeks, on, expiry, timed):
    bounds = [place for place, one in enumerate(days) if one[2] and one[1] >= line]
    choices = [set()]
    for place in bounds:
        choices.append({place})
        choices += [{place, other} for other in bounds if other > place]
    chances = []
    for chosen in choices:
        counted = [one for place, one in enumerate(days) if not one[2] or place in chosen]
        if counted and (on - counted[-1][0]).days <= expiry:
            z = _filtered(counted, line, error, drift_weeks, on, expiry, timed)
            exact = [one[0] for one in counted if one[2] != "stop"]
            if exact and (on - exact[-1]).days > expiry:
                bounds_alone = [one for one in counted if one[2] == "stop"]
                z = min(z, _filtered(bounds_alone, line, error, drift_weeks, on, expiry, timed))
            doubled = any(days[place][2] == "stop" for place in chosen)
            chances.append(_twice_the_doubt(z) if doubled and z > 0 else z)
    return max(chances, default=None)


def _twice_the_doubt(z):
    doubt = math.erfc(z / math.sqrt(2))
    return (
        z
        if doubt == 0
        else max(0.0, NormalDist().inv_cdf(1 - doubt))
        if doubt > 1e-9
        else -NormalDist().inv_cdf(doubt)
    )


def _filtered(days, line, error, drift_weeks, on, expiry, timed):
    mean = variance = last = scored = None
    for held_on, value, bound, at_once, *_ in days:
        noise = error**2
        if timed and at_once > 1:
            noise += CLOCK_SD[at_once] ** 2 - CLOCK_SD[1] ** 2
        long_ago = bound != "stop" and scored is not None and (held_on - scored).days > expiry
        scored = scored if bound == "stop" else held_on
        if mean is None or (held_on - last).days > expiry or long_ago:
            mean, variance, last = value, noise, held_on
            continue
        ahead = variance + error**2 / drift_weeks * (held_on - last).days / 7
        gain = ahead / (ahead + noise)
        mean, variance, last = mean + gain * (value - mean), (1 - gain) * ahead, held_on
    return (mean - line) / math.sqrt(variance + error**2 / drift_weeks * (on - last).days / 7)


def by_child(states: Mapping[tuple[str, str], str]) -> dict[str, dict[str, str]]:
    """The same, nested."""
    nested: dict[str, dict[str, str]] = defaultdict(dict)
    for (athlete, skill), word in states.items():
        nested[athlete][skill] = word
    return dict(nested)
