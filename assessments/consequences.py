"""What a draft of the programme would change for the children, before it counts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from assessments.analysis.interpret import interpretations
from assessments.analysis.records import Programme, Side, SkillWord, Zone
from assessments.models import ProgrammeEdition
from assessments.programme import current_programme, draft_programme
from assessments.programme_changes import Change, compare
from assessments.report_records import GroupReport
from assessments.reports import group_report
from athletes.models import Athlete

#: What a club has before its first edition.
NOTHING = Programme(edition=0, measures={}, shapes={}, skills={}, benchmarks={}, bands=())


@dataclass(frozen=True, slots=True)
class StateChange:
    """One child's state on one skill, now and under the draft."""

    athlete: str
    child: str
    skill: str
    name: str
    before: SkillWord
    after: SkillWord


@dataclass(frozen=True, slots=True)
class ZoneChange:
    """One child's zone on one measure or shape, now and under the draft."""

    athlete: str
    child: str
    item: str
    name: str
    variant: str
    side: Side
    before: Zone
    after: Zone


@dataclass(frozen=True, slots=True)
class Consequences:
    """What would change for whom. Skills and measures that only one edition holds stand in `changes` alone."""

    children: int
    changes: tuple[Change, ...]
    states: tuple[StateChange, ...]
    zones: tuple[ZoneChange, ...]

    @property
    def children_states(self) -> int:
        """How many children have another state on at least one skill."""
        return len({change.athlete for change in self.states})

    @property
    def children_zones(self) -> int:
        """How many children stand in another zone on at least one measure or shape."""
        return len({change.athlete for change in self.zones})


def what_would_change(draft: ProgrammeEdition, athletes: Iterable[Athlete], on: date) -> Consequences:
    """Every child's states and zones under the draft, against those of today. Refused as publishing would be."""
    children = list(athletes)
    new = draft_programme(draft)
    if not ProgrammeEdition.objects.published().exists():
        return Consequences(len(children), compare(NOTHING, new), (), ())
    old = current_programme()
    before, after = group_report(children, on), group_report(children, on, programme=new)
    return Consequences(
        children=len(children),
        changes=compare(old, new),
        states=tuple(_states(before, after)),
        zones=tuple(_zones(before, after)),
    )


def _states(before: GroupReport, after: GroupReport) -> list[StateChange]:
    kept = [skill for skill in after.programme.skills if skill in before.programme.skills]
    found = []
    for child in before.children:
        for skill in kept:
            was, becomes = before.word(child.code, skill), after.word(child.code, skill)
            if was != becomes:
                name = after.programme.skills[skill].name
                found.append(StateChange(child.code, child.name, skill, name, was, becomes))
    return found


def _zones(before: GroupReport, after: GroupReport) -> list[ZoneChange]:
    was, becomes = _latest_zones(before), _latest_zones(after)
    names = {child.code: child.name for child in before.children}
    place = {code: number for number, code in enumerate(names)}
    return [
        ZoneChange(
            athlete=athlete,
            child=names[athlete],
            item=item,
            name=after.programme.item(item).name,
            variant=_variant_words(after.programme, item, series),
            side=side,
            before=was[athlete, item, series, side],
            after=zone,
        )
        for (athlete, item, series, side), zone in sorted(
            becomes.items(), key=lambda found: (place[found[0][0]], *found[0][1:])
        )
        if (athlete, item, series, side) in was and was[athlete, item, series, side] != zone
    ]


def _variant_words(programme: Programme, item: str, series: str) -> str:
    variant = series.partition(":")[2]
    spec = programme.measures.get(item)
    return spec.variant_words.get(variant, variant).lower() if spec else variant


def _latest_zones(report: GroupReport) -> dict[tuple[str, str, str, Side], Zone]:
    """The zone of the newest counted day of every series."""
    born = {child.code: child.born_on for child in report.children}
    programme: Programme = report.programme
    found = interpretations(report.verdicts.scores, programme=programme, born_on=born, on=report.on)
    return {
        (one.athlete, one.item, one.series, one.side): one.latest.zone
        for one in found
        if one.latest is not None
    }
