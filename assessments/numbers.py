"""What stands behind the numbers: the club's own error of measurement, and forecasts with their record.

Everything is worked out when it is read. Rows of the whole club are pooled here; only counts, ranges and words leave
this module, never a line about another child. Queries do not grow with the children.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.core.cache import cache

from assessments.analysis import (
    Coverage,
    ErrorEstimate,
    Forecast,
    Held,
    admissible,
    counting_from,
    counts_whole,
    day_scores,
    detectable_change,
    estimate_error,
    fit_pool,
    forecast,
    forecast_coverage,
    held_out,
    interpretations,
    line_of,
    near_in_age,
    one_a_child,
    repeat_pair,
    series_parts,
    smallest_worthwhile_change,
)
from assessments.analysis.records import (
    ErrorModel,
    Interpretation,
    MeasureSpec,
    Programme,
    Requirement,
    RequirementState,
    ShapeSpec,
)
from assessments.frames import trials_frame
from assessments.models import ProgrammeEdition, Result
from assessments.programme import begin_draft, current_programme
from assessments.programme_editing import put
from assessments.programme_file import starter
from assessments.programme_yaml import Documents
from assessments.report_records import AthleteReport
from athletes.models import Athlete
from club.access import Viewer

Spec = MeasureSpec | ShapeSpec
KEPT_SECONDS = 60 * 60
CHILDREN_TO_COMPARE = 10


class NothingToDraft(ValueError):
    """There is not enough behind a number to make a draft of it."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """Every scored day of the club's children as of a day, by item."""

    programme: Programme
    on: date
    lines: Mapping[str, tuple[Interpretation, ...]]
    mark: str  # changes when anything behind it changes

    def of(self, item: str) -> tuple[Interpretation, ...]:
        """Lines of one measure or shape under its present protocol; nothing is joined across protocols."""
        version = self.programme.item(item).version
        return tuple(one for one in self.lines.get(item, ()) if series_parts(one.series)[0] == version)


def club_evidence(on: date, *, items: Iterable[str] = ()) -> Evidence:
    """The whole club's scored days up to a day, of some items or of all."""
    wanted = tuple(items)
    programme = current_programme()
    rows = Result.objects.filter(measure__slug__in=wanted) if wanted else Result.objects.all()
    scores = day_scores(trials_frame(rows), programme, on=on)
    born = {str(code): day for code, day in Athlete.objects.values_list("code", "born_on")}
    found: dict[str, list[Interpretation]] = {}
    for one in interpretations(scores, programme=programme, born_on=born, on=on):
        found.setdefault(one.item, []).append(one)
    newest = rows.order_by("-pk").values_list("pk", flat=True).first()
    mark = f"{programme.edition}.{on:%Y%m%d}.{newest}.{len(scores)}.{len(born)}"
    return Evidence(programme, on, {item: tuple(lines) for item, lines in found.items()}, mark)


# --- the error of measurement -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ErrorLine:
    """One measure or shape: the starter's error beside the one that the club's repeat tests show."""

    spec: Spec  # its error is the one in use
    found: ErrorEstimate

    @property
    def is_own(self) -> bool:
        """Whether the error in use is no longer the starter's."""
        return (self.spec.error.a, self.spec.error.b) != (self.found.starter.a, self.found.starter.b)

    @property
    def may_be_taken(self) -> bool:
        """Whether enough children stand behind it, not only after a good day, for a director to take it over."""
        return self.found.enough and self.found.model is not None


def error_lines(evidence: Evidence) -> tuple[ErrorLine, ...]:
    """Every measure and shape in the order of the programme; one pair a child, never across versions or sides."""
    return tuple(_error_line(evidence, spec) for spec in evidence.programme.items())


def _error_line(evidence: Evidence, spec: Spec) -> ErrorLine:
    timed = spec.kind == "hold"
    pairs = (repeat_pair(one.athlete, one.days, timed=timed) for one in evidence.of(spec.id))
    return ErrorLine(spec, estimate_error([pair for pair in pairs if pair is not None], starter_error(spec)))


def starter_error(spec: Spec) -> ErrorModel:
    """The error that a new club begins with, also after the club took over its own; its own for its own tests."""
    begun = starter()
    return begun.item(spec.id).error if spec.id in {**begun.measures, **begun.shapes} else spec.error


@dataclass(frozen=True, slots=True)
class WorthwhileLine:
    """A change worth having beside the smallest one that two test days show."""

    spec: Spec
    children: int
    change: float  # a fifth of the spread between children
    detectable: float  # with the error in use, at the children's mean

    @property
    def is_seen(self) -> bool:
        """Whether two test days can show a change that small."""
        return self.change >= self.detectable


def worthwhile_lines(evidence: Evidence) -> tuple[WorthwhileLine, ...]:
    """Measures and shapes with ten children or more, in the order of the programme.

    The newest value of each child in the version and on the side with most children; 'at least' is left out.
    """
    found = (_worthwhile(evidence, spec) for spec in evidence.programme.items())
    return tuple(one for one in found if one is not None)


def _worthwhile(evidence: Evidence, spec: Spec) -> WorthwhileLine | None:
    newest = [
        [one.latest.value for one in pool if one.latest and not one.latest.at_least]
        for pool in _pools(evidence.of(spec.id))
    ]
    values = max(newest, key=len, default=[])
    if len(values) < CHILDREN_TO_COMPARE:
        return None
    sem = spec.error.sem(sum(values) / len(values))
    return WorthwhileLine(
        spec, len(values), smallest_worthwhile_change(values), detectable_change(sem, df=spec.error.df)
    )


def draft_own_error(items: Sequence[str], viewer: Viewer) -> ProgrammeEdition:
    """A draft edition with the club's own error of some items. It counts only when a director publishes it."""
    evidence = club_evidence(viewer.today, items=items)
    taken = [line for line in error_lines(evidence) if line.spec.id in items and line.may_be_taken]
    if not taken:
        raise NothingToDraft(
            "Not enough children were measured twice to take over an error of your own, or only after a good day."
        )
    documents = current_documents()
    for line in taken:
        file = "shapes" if isinstance(line.spec, ShapeSpec) else "measures"
        assert line.found.model is not None
        documents = put(
            documents, file, line.spec.id, {"error_model": _written(line.found.model, line.found.children)}
        )
    names = ", ".join(line.spec.name for line in taken)
    return begin_draft(viewer, title=f"Own error: {names}"[:80], documents=documents)


def _written(model: ErrorModel, children: int) -> dict[str, object]:
    return {
        "a": round(model.a, 2),
        "b": round(model.b, 3),
        "support": model.support,
        "note": model.note,
        "children": children,
    }


def current_documents() -> Documents:
    """The documents that a draft begins from."""
    current = ProgrammeEdition.objects.current()
    if current is None:
        raise NothingToDraft("There is no edition to begin from.")
    documents: Documents = current.document
    return documents


# --- forecasts --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class KeptWord:
    """How often the newest day of a child lay inside the range that all earlier days gave."""

    spec: Spec
    held: tuple[Held, ...]  # one a child
    coverage: tuple[Coverage, ...]  # all children first, then by band


def forecasts_kept(evidence: Evidence, item: str) -> KeptWord:
    """The newest day of every child held out, for one item; kept for an hour, because it takes seconds."""
    spec = evidence.programme.item(item)
    key = f"forecasts-held.{item}.{evidence.mark}"
    held: tuple[Held, ...] | None = cache.get(key)
    if held is None:
        held = one_a_child(
            one
            for lines in _pools(evidence.of(item))
            for one in held_out(lines, error=spec.error, cap=spec.cap, floor=lowest_of(spec))
        )
        cache.set(key, held, KEPT_SECONDS)
    return KeptWord(spec, held, forecast_coverage(held))


def _pools(lines: Sequence[Interpretation]) -> list[list[Interpretation]]:
    """Lines of one version and one side together: nothing else may be pooled."""
    pools: dict[tuple[str, str], list[Interpretation]] = {}
    for one in lines:
        pools.setdefault((one.series, one.side), []).append(one)
    return list(pools.values())


def lowest_of(spec: Spec) -> float | None:
    """Seconds, counts and totals end at 0; a reach may lie below it."""
    return None if spec.kind == "distance" else 0.0


@dataclass(frozen=True, slots=True)
class RequirementForecast:
    """When one requirement of one child may be met, beside how it stands now."""

    spec: Spec
    state: RequirementState
    found: Forecast

    @property
    def requirement(self) -> Requirement:
        """What is asked."""
        return self.state.requirement


def forecast_for(
    report: AthleteReport, state: RequirementState, *, evidence: Evidence, resting: bool = False
) -> RequirementForecast | None:
    """When a requirement of a child will be met: a wide honest range, or why nothing can be said.

    `state` is how it stands now; what a rest or its limit on old evidence made void counts here no more. `resting`
    says that the whole skill rests. `evidence` is the club's (`club_evidence(report.on, items=[...])`): the trends of
    the other children steady the few days of this one. None where nothing can be forecast: the child has no line in the
    version that is asked, or one side alone where both are asked. Of two sides the one expected later speaks.
    """
    requirement = state.requirement
    spec = report.programme.item(requirement.item)
    # A harder version only says that a child can do at least as much: it has no date at which this line is reached.
    own = [
        one
        for one in report.of(spec.id)
        if one.latest and admissible(spec, requirement, one.series) == "asked"
    ]
    if not own:
        return None
    newest = max(one.latest.on for one in own if one.latest)
    series = next(one.series for one in own if one.latest and one.latest.on == newest)
    sides = [line for line in own if line.series == series]
    if requirement.both_sides and spec.sides and len(sides) < 2:
        return None
    resting = resting or state.word == "resting"
    found = [_one_side(report, state, line, evidence=evidence, resting=resting) for line in sides]
    return RequirementForecast(spec, state, max(found, key=_lateness))


def skill_forecasts(report: AthleteReport, skill: str) -> tuple[RequirementForecast, ...]:
    """Forecasts of what one skill asks and is not met yet, of shapes the total alone; rests are never forecast away."""
    state = report.skill(skill)
    asked = [one for one in state.requirements if one.word not in ("met", "advice")]
    if not asked:
        return ()
    evidence = club_evidence(report.on, items=[one.requirement.item for one in asked])
    rests = state.word == "resting"
    found = (forecast_for(report, one, evidence=evidence, resting=rests) for one in asked)
    return tuple(one for one in found if one is not None)


def _one_side(
    report: AthleteReport,
    state: RequirementState,
    line: Interpretation,
    *,
    evidence: Evidence,
    resting: bool,
) -> Forecast:
    spec = report.programme.item(state.requirement.item)
    line = counting_from(line, state.since)
    same = [
        line if one.athlete == line.athlete else one
        for one in evidence.of(spec.id)
        if (one.series, one.side) == (line.series, line.side)
    ]
    near = near_in_age(same, report.child.age, report.on)
    pool = fit_pool(near, report.on, error=spec.error, cap=spec.cap, floor=lowest_of(spec))
    line_asked = line_of(state.requirement.minimum, whole=counts_whole(spec))
    return forecast(pool, line, line_asked, resting=resting, fresh_weeks=state.expiry_weeks)


def _lateness(found: Forecast) -> tuple[bool, date]:
    """Nothing known is later than any date: two sides are only as sure as the one that is less sure."""
    known = found.word in ("now", "within", "later")
    return (not known, found.likely_on or date.max)
