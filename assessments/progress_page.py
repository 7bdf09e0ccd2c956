"""One child's report laid out for a page: what is said first, what is drawn, what stands in the tables."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from assessments.analysis import acceptance_limit, counts_whole
from assessments.analysis.reasons import step_up
from assessments.analysis.records import (
    Interpretation,
    MeasureSpec,
    Requirement,
    RequirementState,
    ShapeSpec,
    SkillSpec,
    SkillState,
    SkillWord,
)
from assessments.charts import Ask, Figure, progress_chart
from assessments.level_words import level_words
from assessments.progress_words import (
    CriterionRow,
    NumberRow,
    broke_first,
    cautions,
    change_words,
    criterion_rows,
    figure,
    found_words,
    how_words,
    must_have_names,
    number_rows,
    shape_words,
    sides_words,
)
from assessments.report_records import AthleteReport
from assessments.skill_words import Offer, offers
from assessments.sparks import Spark, spark

Spec = MeasureSpec | ShapeSpec

ORDER: tuple[SkillWord, ...] = ("ready", "nearly", "not_yet", "not_known", "resting")
AREA_WORDS = {"floor": "Floor", "bars": "Bars", "beam": "Beam", "vault": "Vault"}
MOST_ASKS = 2
MOST_NEAR = 5


@dataclass(frozen=True, slots=True)
class ItemLine:
    """One measure or shape in the list."""

    spec: Spec
    value: str
    on: date
    zone: str
    sentence: str
    spark: Spark


@dataclass(frozen=True, slots=True)
class ItemCard:
    """The measure or shape that is drawn."""

    spec: Spec
    how: str
    sentence: str
    level: str  # where the child is believed to stand today; "" where nothing counts
    sides: str
    broke: tuple[tuple[str, int], ...]
    broke_days: int
    cautions: tuple[str, ...]
    chart: Figure
    asked: tuple[str, ...]  # what stands on the dashed lines
    spoken: str
    rows: tuple[NumberRow, ...]
    several: bool  # more than one line, so the table says which
    support: str

    @property
    def chart_id(self) -> str:
        """Where the page's script finds the drawing."""
        return f"chart-{self.spec.id}"


@dataclass(frozen=True, slots=True)
class ShapeCard:
    """A shape by criterion, as it was last judged and over the newest days."""

    spec: ShapeSpec
    total: str
    on: date
    words: str
    rows: tuple[CriterionRow, ...]
    days: tuple[date, ...]
    second_look: bool


@dataclass(frozen=True, slots=True)
class RequirementLine:
    """One requirement in words."""

    state: RequirementState
    title: str
    found: str
    decides: bool
    one_day: str  # what one test day alone would need


@dataclass(frozen=True, slots=True)
class SkillCard:
    """One skill of the child with everything that a decision needs."""

    spec: SkillSpec
    state: SkillState
    glyph: str
    word: str
    requirements: tuple[RequirementLine, ...]
    before: tuple[tuple[str, str, bool, date | None], ...]  # id, name, consistent, since
    confidence: float
    put_off: bool  # looks ready, and the coach said not yet since the last test day
    offers: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class ChildPage:
    """The whole page of one child."""

    card: ItemCard | None
    lines: tuple[ItemLine, ...]
    shapes: tuple[ShapeCard, ...]
    unseen: tuple[str, ...]
    featured: SkillCard | None
    near: tuple[SkillCard, ...]
    areas: tuple[tuple[str, tuple[SkillCard, ...]], ...]
    counts: tuple[tuple[SkillWord, int], ...]
    days: int
    since: date | None


def child_page(report: AthleteReport, item: str = "") -> ChildPage:
    """Everything on a child's page, with one measure or shape drawn: the one asked for, or what decides most."""
    items = report.programme.items()
    seen = {spec.id: report.of(spec.id) for spec in items}
    cards = tuple(skill_card(report, state) for state in report.skills)
    waiting = _waiting(cards)
    chosen = item if seen.get(item) else _telling_item(report, [one for one, lines in seen.items() if lines])
    counted = [day for line in report.interpretations for day in line.days]
    return ChildPage(
        card=item_card(report, report.programme.item(chosen)) if chosen else None,
        lines=tuple(
            _item_line(spec, seen[spec.id])
            for spec in items
            if spec.kind != "shape" and _scored(seen[spec.id])
        ),
        shapes=tuple(
            card
            for shape in report.programme.shapes.values()
            if (card := _shape_card(shape, seen[shape.id])) is not None
        ),
        unseen=tuple(spec.name for spec in items if not seen[spec.id] and spec.age_min <= report.child.age),
        featured=waiting[0] if waiting else None,
        near=tuple(waiting[1 : 1 + MOST_NEAR]),
        areas=_by_area(cards),
        counts=tuple((word, sum(card.word == word for card in cards)) for word in ORDER),
        days=len({day.day for day in counted}),
        since=min((day.on for day in counted), default=None),
    )


def item_card(report: AthleteReport, spec: Spec) -> ItemCard:
    """One measure or shape drawn, with its sentence, its table and its cautions."""
    lines = report.of(spec.id)
    asks = _asks(report, spec)
    newest = _newest(lines)
    sentence = change_words(newest, spec) if newest else "Not tested yet. A test day starts the line."
    broke, days = broke_first(lines, report.programme)
    return ItemCard(
        spec=spec,
        how=how_words(spec),
        sentence=sentence,
        level=level_words(lines, spec, programme=report.programme, rests=report.rests, on=report.on),
        sides=sides_words(lines, spec) if spec.sides else "",
        broke=broke[:3],
        broke_days=days,
        cautions=cautions(lines, spec),
        chart=progress_chart(
            lines, spec=spec, steps=report.steps[spec.id], born_on=report.child.born_on, on=report.on,
            asks=asks,
        ),
        asked=tuple(ask.words for ask in asks),
        spoken=f"{spec.name} over time. {sentence}",
        rows=number_rows(lines, spec, report.interrupted),
        several=len(lines) > 1,
        support=report.steps[spec.id][0].benchmark.support if report.steps[spec.id] else spec.support,
    )  # fmt: skip


def skill_card(report: AthleteReport, state: SkillState) -> SkillCard:
    """One skill with its requirements and what a coach may decide now."""
    spec = report.programme.skills[state.skill]
    said = state.coach_word if state.coach_word and state.word != "resting" else state.word
    put_off = state.word == "ready" and _put_off(report, state)
    shown = "not_yet" if put_off else said
    return SkillCard(
        spec=spec,
        state=state,
        glyph=shown,
        word=shown,
        put_off=put_off,
        requirements=tuple(_requirement_line(report, state, one) for one in state.requirements),
        before=tuple(
            (one.skill, report.programme.skills[one.skill].name, one.consistent, one.since)
            for one in state.prerequisites
        ),
        confidence=report.programme.rules.confidence[spec.risk],
        offers=offers(state.word, state.coach_word),
    )


def _put_off(report: AthleteReport, state: SkillState) -> bool:
    if state.coach_word or state.coach_since is None:
        return False
    newest = max(_dates(report.interpretations), default=date.min)
    return newest <= state.coach_since


def asked_words(spec: Spec, requirement: Requirement) -> str:
    """What a requirement asks, such as 'Hollow hold, 15 s, arms by the sides'."""
    parts = [spec.name, figure(spec, requirement.minimum)]
    if requirement.variant and isinstance(spec, MeasureSpec):
        parts.append(
            spec.variant_words.get(requirement.variant, requirement.variant.replace("_", " ")).lower()
        )
    if requirement.both_sides:
        parts.append("both sides")
    return ", ".join(parts)


def _requirement_line(report: AthleteReport, state: SkillState, one: RequirementState) -> RequirementLine:
    programme = report.programme
    spec = programme.item(one.requirement.item)
    second = programme.rules.confirm_days if programme.skills[state.skill].risk == "high" else 0
    return RequirementLine(
        state=one,
        title=asked_words(spec, one.requirement),
        found=found_words(one),
        decides=state.deciding == one.requirement.item,
        one_day=_one_day_words(spec, one, second),
    )


def _one_day_words(spec: Spec, one: RequirementState, second: int) -> str:
    """What one day with one clock needs for a child of whom nothing else is known: the threshold and its guard band.

    `second` is how many days apart another day has to confirm it, 0 where none has to. Must-haves are wanted on two days
    or by two coaches.
    """
    asked = one.requirement.minimum
    needs = _one_day_needs(spec, one)
    if spec.cap is not None and needs > spec.cap:
        return f"One day alone is never enough: it would need {figure(spec, needs)}, more than the test can show."
    names = must_have_names(spec, one.requirement)
    margin = f"{figure(spec, asked)} and a margin for the test’s noise"
    if second:
        musts = f" On both days, or for two coaches, this on their own: {names}." if names else ""
        return (
            f"One day alone is never enough: it needs {figure(spec, needs)} ({margin}), and another day with "
            f"{figure(spec, asked)} or more that keeps it so, {second} or more days apart.{musts}"
        )
    if names:
        return (
            f"One day alone needs {figure(spec, needs)} ({margin}) and two coaches who see this on their own: {names}. "
            "With one coach it takes two days."
        )
    return f"One day alone needs {figure(spec, needs)}: {margin}."


def _one_day_needs(spec: Spec, one: RequirementState) -> float:
    """Line and guard band, rounded up to a step; with an error of the club's own Student's t in place of z, as the state."""
    asked, whole = one.requirement.minimum, counts_whole(spec)
    enough = acceptance_limit(asked, spec.error.sem(asked), one.confidence, whole=whole, df=spec.error.df)
    return step_up(enough, spec)


def _item_line(spec: Spec, lines: Sequence[Interpretation]) -> ItemLine:
    newest = _newest(lines)
    assert newest is not None and newest.latest is not None
    latest = newest.latest
    return ItemLine(
        spec=spec,
        value=figure(spec, latest.value, at_least=latest.at_least),
        on=latest.on,
        zone=latest.zone,
        sentence=change_words(newest, spec),
        spark=spark(lines),
    )


def _shape_card(spec: ShapeSpec, lines: Sequence[Interpretation]) -> ShapeCard | None:
    newest = _newest(lines)
    if newest is None or newest.latest is None or newest.latest.levels is None:
        return None
    latest = newest.latest
    return ShapeCard(
        spec=spec,
        total=figure(spec, latest.value),
        on=latest.on,
        words=shape_words(latest, spec),
        rows=criterion_rows(newest, spec),
        days=tuple(day.on for day in newest.days if day.levels is not None)[-6:],
        second_look=latest.second_levels is not None,
    )


def _asks(report: AthleteReport, spec: Spec) -> list[Ask]:
    """What the nearest skills ask of this item: those not met come first, then the lowest."""
    open_ = [
        (one.word == "met", one.requirement.minimum, report.programme.skills[state.skill].name)
        for state in report.skills
        if state.coach_word != "consistent"
        for one in state.requirements
        if one.requirement.item == spec.id
    ]
    named: dict[float, list[str]] = {}
    for _, minimum, name in sorted(open_):
        named.setdefault(minimum, []).append(name)
    return [
        Ask(minimum, f"{figure(spec, minimum)} asked by {_first_of(names)}", f"{figure(spec, minimum)} asked")
        for minimum, names in list(named.items())[:MOST_ASKS]
    ]


def _first_of(names: Sequence[str]) -> str:
    name = names[0][:1].lower() + names[0][1:]
    return name if len(names) == 1 else f"{name} and {len(names) - 1} more"


def _telling_item(report: AthleteReport, tested: Sequence[str]) -> str:
    """What decides for the skill that is nearest, if it was tested; else what was tested last."""
    for word in ("ready", "nearly", "not_yet"):
        for state in report.skills:
            if state.word == word and not state.coach_word and state.deciding in tested:
                return state.deciding
    newest = sorted(tested, key=lambda item: max(_dates(report.of(item)), default=date.min))
    return newest[-1] if newest else ""


def _waiting(cards: Iterable[SkillCard]) -> list[SkillCard]:
    """The skills that ask for a word now, ready ones first; those of which a coach has spoken are left out."""
    open_ = [
        card
        for card in cards
        if not card.state.coach_word and not card.put_off and card.state.word in ("ready", "nearly")
    ]
    return sorted(open_, key=lambda card: ORDER.index(card.state.word))


def _by_area(cards: Sequence[SkillCard]) -> tuple[tuple[str, tuple[SkillCard, ...]], ...]:
    areas = dict.fromkeys(card.spec.area for card in cards)
    return tuple(
        (AREA_WORDS.get(area, area.capitalize()), tuple(card for card in cards if card.spec.area == area))
        for area in areas
    )


def _scored(lines: Sequence[Interpretation]) -> bool:
    return any(line.latest is not None for line in lines)


def _dates(lines: Sequence[Interpretation]) -> list[date]:
    return [line.latest.on for line in lines if line.latest is not None]


def _newest(lines: Sequence[Interpretation]) -> Interpretation | None:
    """The line with the newest scored day; of two sides that day, the one that decides."""
    scored = [line for line in lines if line.latest is not None]
    if not scored:
        return None
    last = max(_dates(scored))
    return min((line for line in scored if line.latest and line.latest.on == last), key=_value)


def _value(line: Interpretation) -> float:
    return line.latest.value if line.latest else 0.0
