"""A group's report laid out as a board: children by name, skills by apparatus, one block a place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from assessments.analysis.interpret import interpretations
from assessments.analysis.records import (
    CoachWord,
    Interpretation,
    MeasureSpec,
    MeasureSummary,
    Programme,
    ShapeSpec,
    SkillSpec,
    SkillSummary,
    SkillWord,
)
from assessments.analysis.settling import Settling, best_use
from assessments.analysis.summaries import spread
from assessments.progress_words import change_words, figure, variant_words
from assessments.report_records import ChildLine, GroupReport
from assessments.sparks import Spark, spark
from athletes.ages import completed_years

Spec = MeasureSpec | ShapeSpec

STATES: tuple[SkillWord, ...] = ("ready", "nearly", "not_yet", "not_known", "resting")
AREAS = {"floor": "Floor", "bars": "Bars", "beam": "Beam", "vault": "Vault"}
SPOKEN = {
    "ready": "ready to try",
    "not_yet": "not yet",
    "not_known": "not known",
}


@dataclass(frozen=True, slots=True)
class Cell:
    """One place: what is shown, what is said, and where an apparatus begins."""

    skill: str
    glyph: str
    spoken: str
    begins: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One child."""

    child: ChildLine
    years: int
    cells: tuple[Cell, ...]
    unknown: int
    last_on: date | None


@dataclass(frozen=True, slots=True)
class Head:
    """One skill above its column and below it."""

    spec: SkillSpec
    begins: bool
    ready: int
    nearly: int
    summary: SkillSummary
    holds: str  # what decides most often, in words


@dataclass(frozen=True, slots=True)
class Bottleneck:
    """What decides most often, over all skills shown, and where most."""

    what: str
    places: int
    skill: str  # where it decides for most children
    children: int
    share: int  # beside the commonest, per cent of a bar's length


@dataclass(frozen=True, slots=True)
class BoardPage:
    """The whole board."""

    rows: tuple[Row, ...]
    heads: tuple[Head, ...]
    areas: tuple[tuple[str, str], ...]
    counts: tuple[tuple[str, int], ...]
    known: int
    places: int
    first_line: str
    bottlenecks: tuple[Bottleneck, ...]
    settling: Settling | None
    settling_names: tuple[str, ...]
    settling_what: str
    block: tuple[str, ...]
    oldest_weeks: int | None
    last_on: date | None
    ages: str


@dataclass(frozen=True, slots=True)
class ChildRow:
    """One child in the list for one measure."""

    child: ChildLine
    value: str
    on: date | None
    sentence: str
    zone: str
    spark: Spark
    version: str = ""  # in words, where the measure has several


def board_page(report: GroupReport, *, area: str = "", order: str = "name") -> BoardPage:
    """The board with all skills or those of one apparatus; children by name, or those who need a test first."""
    programme = report.programme
    skills = [skill for skill in programme.skills.values() if area in ("", skill.area)]
    skills.sort(key=lambda skill: list(AREAS).index(skill.area) if skill.area in AREAS else len(AREAS))
    begins = [place > 0 and skill.area != skills[place - 1].area for place, skill in enumerate(skills)]
    rows = [_row(report, child, skills, begins) for child in report.children]
    if order == "test":
        # By what is not known, never by what was scored.
        rows.sort(key=lambda row: -row.unknown)
    summaries = {one.skill: one for one in report.summary.skills}
    settling = best_use(report.verdicts)
    names = {child.code: child.name for child in report.children}
    shown = Counter(cell.glyph for row in rows for cell in row.cells)
    bottlenecks = _bottlenecks(report, skills)
    return BoardPage(
        rows=tuple(rows),
        heads=tuple(
            _head(programme, skill, starts, summaries[skill.id], rows, place)
            for place, (skill, starts) in enumerate(zip(skills, begins, strict=True))
        ),
        areas=tuple((key, word) for key, word in AREAS.items() if _has(programme, key)),
        counts=tuple((word, shown[word]) for word in ("consistent", "learning", *STATES)),
        known=sum(shown.values()) - shown["not_known"],
        places=sum(shown.values()),
        first_line=_first_line(shown, bottlenecks),
        bottlenecks=bottlenecks[:3],
        settling=settling,
        settling_names=tuple(names[code] for code in settling.athletes) if settling else (),
        settling_what=programme.item(settling.item).name if settling else "",
        block=_block(report),
        oldest_weeks=(report.on - report.summary.oldest_on).days // 7 if report.summary.oldest_on else None,
        last_on=max((row.last_on for row in rows if row.last_on), default=None),
        ages=_ages([row.years for row in rows]),
    )


def measure_rows(report: GroupReport, spec: Spec) -> tuple[ChildRow, ...]:
    """Every child's own line for one measure or shape, in name order; nothing compares them."""
    born = {child.code: child.born_on for child in report.children}
    lines: dict[str, list[Interpretation]] = {}
    scores = report.verdicts.scores
    for line in interpretations(scores, programme=report.programme, born_on=born, on=report.on):
        if line.item == spec.id:
            lines.setdefault(line.athlete, []).append(line)
    return tuple(_child_row(child, lines.get(child.code, []), spec) for child in report.children)


def measure_summary(report: GroupReport, item: str) -> MeasureSummary:
    """How much is known of one item over the group."""
    return next(one for one in report.summary.measures if one.item == item)


def spread_words(report: GroupReport, spec: Spec) -> str:
    """What half of a group reaches in one item, in words; the version is named, and who is left out of it."""
    found = spread(report.verdicts, spec.id)
    weeks = report.programme.rules.expiry_weeks
    old = f"{_are(found.stale)} last tested more than {weeks} weeks ago." if found.stale else ""
    if not found.enough:
        where = " in one version" if found.others else ""
        none = f"Fewer than five children have a score{where} from the last {weeks} weeks, so no spread is shown: it"
        return " ".join(filter(None, (f"{none} would show single children.", old)))
    verb = "hold" if spec.kind == "hold" else "reach"
    low, middle, high = (
        None if value is None else figure(spec, value) for value in (found.low, found.middle, found.high)
    )
    who = f"{found.children} children" if found.others or found.stale else "children"
    if middle:
        last = f"a quarter {high}" if high else "what a quarter reach was not seen to its end"
        said = f"Half of the {who} {verb} {middle} or more; three quarters {low}, {last}."
    else:
        said = (
            f"More than half of the {who} were not at their end when the try was over, so there is no middle."
        )
        said += f" Three quarters {verb} {low} or more." if low else ""
    if found.variant:
        said = f"{variant_words(spec, found.variant).capitalize()}: {said[0].lower()}{said[1:]}"
    if found.at_least:
        said += f" {found.at_least} of {found.children} reached the cap or chose to stop: theirs counts as ‘at least’."
    if found.late:
        said += " Times taken with several clocks count less their mean lateness."
    if found.others:
        named = ", ".join(
            f"{count} {variant_words(spec, name) or 'no version named'}"
            for name, count in found.others.items()
        )
        said += f" Left out, because another version was their last: {named}."
    return " ".join(filter(None, (said, old)))


def _are(count: int) -> str:
    return "1 child was" if count == 1 else f"{count} children were"


def _row(report: GroupReport, child: ChildLine, skills: Sequence[SkillSpec], begins: Sequence[bool]) -> Row:
    cells = []
    for skill, starts in zip(skills, begins, strict=True):
        word = report.word(child.code, skill.id)
        said = report.coach_word(child.code, skill.id)
        glyph = said if said and word != "resting" else word
        spoken = _spoken(child, skill, word, said)
        if word == "ready" and report.put_off(child.code, skill.id):
            # The coach's word outranks the suggestion, until a newer test day asks again.
            glyph, spoken = "not_yet", f"{child.name}, {skill.name}: not yet, by the coach"
        cells.append(Cell(skill.id, glyph, spoken, starts))
    return Row(
        child=child,
        years=completed_years(child.born_on, report.on),
        cells=tuple(cells),
        unknown=sum(cell.glyph == "not_known" for cell in cells),
        last_on=report.last_on(child.code),
    )


def _spoken(child: ChildLine, skill: SkillSpec, word: SkillWord, said: CoachWord) -> str:
    state = SPOKEN.get(word, word)
    if said and word == "resting":
        state = f"{said}, resting now"
    elif said:
        state = said
    return f"{child.name}, {skill.name}: {state}"


def _head(
    programme: Programme,
    skill: SkillSpec,
    starts: bool,
    summary: SkillSummary,
    rows: Sequence[Row],
    place: int,
) -> Head:
    shown = Counter(row.cells[place].glyph for row in rows)
    return Head(
        skill, starts, shown["ready"], shown["nearly"], summary, _name_of(programme, summary.deciding)
    )


def _first_line(shown: Counter[str], bottlenecks: Sequence[Bottleneck]) -> str:
    """The answer in words before the table."""
    parts = []
    if shown["ready"]:
        places = "place looks" if shown["ready"] == 1 else "places look"
        parts.append(f"{shown['ready']} {places} ready to try and wait for a coach’s word.")
    else:
        parts.append("Nothing waits for a coach’s word.")
    if bottlenecks:
        most = bottlenecks[0]
        parts.append(
            f"{most.what} decides most often ({most.places} place{'' if most.places == 1 else 's'})."
        )
    if shown["not_known"]:
        parts.append(f"{shown['not_known']} places are not known.")
    return " ".join(parts)


def _bottlenecks(report: GroupReport, skills: Sequence[SkillSpec]) -> tuple[Bottleneck, ...]:
    """The items that decide, over the skills shown; a skill that comes first is no item to train."""
    names = {skill.id: skill.name for skill in skills}
    found: dict[str, list[SkillSummary]] = {}
    for one in report.summary.skills:
        if one.skill in names and one.deciding and one.deciding not in report.programme.skills:
            found.setdefault(one.deciding, []).append(one)
    totals = {item: sum(one.deciding_count for one in rows) for item, rows in found.items()}
    made = []
    for item in sorted(found, key=lambda item: (-totals[item], item)):
        most = max(found[item], key=lambda one: one.deciding_count)
        share = round(100 * totals[item] / max(totals.values()))
        name = _name_of(report.programme, item)
        made.append(Bottleneck(name, totals[item], names[most.skill], most.deciding_count, share))
    return tuple(made)


def _block(report: GroupReport) -> tuple[str, ...]:
    """The measures that decide most often: what a block could train next."""
    counted: Counter[str] = Counter()
    for one in report.summary.skills:
        spec = report.programme.measures.get(one.deciding)
        if spec is not None and spec.kind in ("hold", "count"):
            counted[spec.name] += one.deciding_count
    return tuple(name for name, _ in sorted(counted.items(), key=lambda pair: (-pair[1], pair[0]))[:3])


def _child_row(child: ChildLine, lines: Sequence[Interpretation], spec: Spec) -> ChildRow:
    scored = [line for line in lines if line.latest is not None]
    newest = max(scored, key=lambda line: line.latest.on if line.latest else date.min, default=None)
    if newest is None or newest.latest is None:
        return ChildRow(child, "", None, "Not tested yet.", "", spark([]))
    latest = newest.latest
    value = figure(spec, latest.value, at_least=latest.at_least)
    version = variant_words(spec, newest.variant)
    return ChildRow(child, value, latest.on, change_words(newest, spec), latest.zone, spark(lines), version)


def _name_of(programme: Programme, name: str) -> str:
    if name in programme.skills:
        return programme.skills[name].name
    return programme.item(name).name if name else ""


def _has(programme: Programme, area: str) -> bool:
    return any(skill.area == area for skill in programme.skills.values())


def _ages(years: Sequence[int]) -> str:
    if not years:
        return ""
    low, high = min(years), max(years)
    return f"{low} years" if low == high else f"{low} to {high} years"
