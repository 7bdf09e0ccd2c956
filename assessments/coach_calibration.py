"""Ten shared examples: how close each coach came to the agreed totals, and the director's word on it.

Everything is worked out when it is read; kept are the totals, the word and the day until which it was confirmed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.utils import timezone

from assessments.analysis import CalibrationResult, SharedScores, calibrate, shared_scores
from assessments.analysis.records import Programme
from assessments.number_words import signed
from assessments.programme import current_programme
from club import audit
from club.access import Viewer
from club.models import Calibration, ExampleSet, User

Word = Calibration.Word
#: Customary limit of Krippendorff's alpha: from here up a total may come from any of the coaches.
ALPHA_ENOUGH = 0.8


class NothingToDecide(ValueError):
    """Decided already, replaced by newer totals, or not close enough to be confirmed."""


@dataclass(frozen=True, slots=True)
class ExampleLine:
    """One example: the agreed total beside the coach's."""

    number: int
    agreed: int
    own: int

    @property
    def apart(self) -> str:
        """The difference with its sign, '' when there is none."""
        gap = self.own - self.agreed
        return f"{'+' if gap > 0 else '−'}{abs(gap)}" if gap else ""


@dataclass(frozen=True, slots=True)
class CalibrationLine:
    """One coach on one set of examples."""

    row: Calibration
    shape: str  # its name
    top: int  # highest total of the shape
    found: CalibrationResult
    is_newest: bool  # of this coach on this set; older ones are history
    today: date

    @property
    def proposed(self) -> date | None:
        """The day that a director may confirm now; None when there is nothing to confirm."""
        until = self.found.until
        if self.row.word != Word.WAITING or not self.is_newest or until is None or until < self.today:
            return None
        return until

    @property
    def close_words(self) -> str:
        """How many examples came out the same, and how many within one point."""
        found = self.found
        if found.near == found.examples:
            return f"{found.same} of {found.examples} the same, every one within one point"
        return f"{found.same} of {found.examples} the same, {found.near} within one point"

    @property
    def bias_words(self) -> str:
        """The mean difference with its range, in words."""
        if self.found.bias_interval is None:
            return ""
        low, high = (signed(end) for end in self.found.bias_interval)
        size = abs(self.found.bias)
        side = "higher" if self.found.bias > 0 else "lower"
        said = f"{size:.1f} points {side} than agreed" if round(size, 1) else "as agreed"
        return f"on average {said} (between {low} and {high})"

    @property
    def outcome_words(self) -> str:
        """What became of it, for the history."""
        if self.row.word == Word.CONFIRMED:
            return "confirmed"
        if self.row.word == Word.DECLINED:
            return "not taken over"
        if not self.is_newest:
            return "entered again since"
        if not self.found.passed:
            return "not close enough yet"
        return "waits for your word" if self.proposed else "its year is over"

    @property
    def examples(self) -> tuple[ExampleLine, ...]:
        """Every example with both totals."""
        pairs = zip(self.row.examples.agreed, self.row.totals, strict=True)
        return tuple(ExampleLine(number, agreed, own) for number, (agreed, own) in enumerate(pairs, 1))


@dataclass(frozen=True, slots=True)
class ExampleSetLine:
    """One set of examples and how all who scored it agree."""

    row: ExampleSet
    shape: str
    coaches: tuple[str, ...]  # names, in order
    shared: SharedScores

    @property
    def words(self) -> str:
        """Agreement of all coaches with one another, in words, with its range."""
        found = self.shared
        if not found.coaches:
            return "Nobody has scored them yet."
        if found.interval is None or found.alpha is None or math.isnan(found.alpha):
            return f"How coaches agree with one another cannot be said yet. {found.reason}"
        low, high = found.interval
        said = (
            f"{found.coaches} coaches agree with one another to {found.alpha:.2f} (between {low:.2f} and {high:.2f}), "
            "where 1 is the same total every time and 0 is chance."
        )
        if low >= ALPHA_ENOUGH:
            return f"{said} A total may come from any of them."
        if high < ALPHA_ENOUGH:
            return f"{said} It matters who judges: judge together."
        return f"{said} Ten examples cannot say yet whether it matters who judges."


@dataclass(frozen=True, slots=True)
class CalibrationPage:
    """All sets, and every coach's history by name and shape."""

    sets: tuple[ExampleSetLine, ...]
    waiting: tuple[CalibrationLine, ...]
    history: tuple[CalibrationLine, ...]

    @property
    def sentence(self) -> str:
        """What there is to do."""
        if not self.sets:
            return "No examples yet. Ten with agreed totals are enough to see whether coaches judge alike."
        if not self.history:
            return "Nobody has scored the examples yet."
        if not self.waiting:
            return "Nothing waits for your word."
        people = len(self.waiting)
        return f"{people} {'result waits' if people == 1 else 'results wait'} for your word."


def calibration_page(on: date) -> CalibrationPage:
    """Every set and every coach's totals, worked out as of a day. The queries do not grow with the coaches."""
    programme = current_programme()
    rows = list(
        Calibration.objects.select_related("examples", "coach", "decided_by").order_by("scored_on", "pk")
    )
    newest = {(row.coach_id, row.examples_id): row.pk for row in rows}
    lines = [_line(row, programme, on, row.pk in newest.values()) for row in rows]
    counted: dict[int, dict[str, CalibrationLine]] = {}
    for line in lines:
        if line.is_newest:
            counted.setdefault(line.row.examples_id, {})[str(line.row.coach.code)] = line
    order = {shape: place for place, shape in enumerate(programme.shapes)}
    sets = sorted(ExampleSet.objects.all(), key=lambda row: order.get(row.shape, len(order)))
    return CalibrationPage(
        sets=tuple(_set_line(row, programme, counted.get(row.pk, {})) for row in sets),
        waiting=tuple(line for line in lines if line.proposed),
        history=tuple(sorted(lines, key=_by_coach_and_shape)),
    )


def _by_coach_and_shape(line: CalibrationLine) -> tuple[str, str, int, int]:
    """By name and shape, the newest first; never by how close anybody came."""
    return line.row.coach.name, line.shape, -line.row.scored_on.toordinal(), -line.row.pk


def calibration_line(row: Calibration, on: date) -> CalibrationLine:
    """One coach on one set, with what may be decided about it now."""
    newer = Calibration.objects.filter(coach=row.coach_id, examples=row.examples_id, pk__gt=row.pk)
    return _line(row, current_programme(), on, not newer.exists())


def _line(row: Calibration, programme: Programme, on: date, is_newest: bool) -> CalibrationLine:
    top = highest(row.examples, programme, row.totals)
    found = calibrate(row.totals, row.examples.agreed, row.scored_on, top=top)
    return CalibrationLine(row, shape_name(row.examples.shape, programme), top, found, is_newest, on)


def _set_line(row: ExampleSet, programme: Programme, scored: Mapping[str, CalibrationLine]) -> ExampleSetLine:
    totals: dict[str, Sequence[int]] = {coach: line.row.totals for coach, line in scored.items()}
    names = tuple(sorted(line.row.coach.name for line in scored.values()))
    top = max((line.top for line in scored.values()), default=10)
    return ExampleSetLine(row, shape_name(row.shape, programme), names, shared_scores(totals, top=top))


def shape_name(shape: str, programme: Programme) -> str:
    """A shape by its name; one that the edition holds no more by its id in words."""
    return programme.shapes[shape].name if shape in programme.shapes else shape.replace("_", " ").capitalize()


def highest(examples: ExampleSet, programme: Programme, totals: Sequence[int] = ()) -> int:
    """The highest total of the shape; of a shape that is gone or has fewer criteria now, at least what was given."""
    spec = programme.shapes.get(examples.shape)
    given: list[int] = [*examples.agreed, *totals]
    return max(spec.top if spec is not None else 10, *given)


def judges() -> list[User]:
    """Who may score examples: coaches and directors who sign in, by name."""
    return list(User.objects.filter(is_active=True, role__in=("coach", "director")).order_by("name", "pk"))


@transaction.atomic
def decide(row: Calibration, viewer: Viewer, *, confirm: bool) -> Calibration:
    """Confirm the proposed day, or leave the calibration as it stands. Said once; a later day already set stays."""
    held = Calibration.objects.select_for_update().select_related("coach", "examples").get(pk=row.pk)
    line = calibration_line(held, viewer.today)
    proposed = line.proposed
    if held.word != Word.WAITING:
        raise NothingToDecide(f"This was decided already: {line.outcome_words}.")
    if confirm and proposed is None:
        raise NothingToDecide(f"There is nothing to confirm: {line.outcome_words}.")
    held.word = Word.CONFIRMED if confirm else Word.DECLINED
    held.until = proposed if confirm else None
    held.decided_by, held.decided_at = viewer.member, timezone.now()
    held.save(update_fields=["word", "until", "decided_by", "decided_at"])
    coach = held.coach
    if held.until is not None and (coach.calibrated_until is None or coach.calibrated_until < held.until):
        coach.calibrated_until = held.until
        coach.save(update_fields=["calibrated_until"])
    audit.note(viewer, "calibrated a coach" if confirm else "declined a calibration", coach)
    return held
