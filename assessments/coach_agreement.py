"""Do coaches see the same shape, and whose calibration still stands? For calibration, never a league table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from assessments.analysis import (
    CalibrationState,
    CoachBias,
    CriterionAgreement,
    SecondLook,
    ShapeAgreement,
    calibration_states,
    coach_bias,
    second_looks,
    shape_agreement,
)
from assessments.analysis.records import ShapeSpec
from assessments.frames import trials_frame
from assessments.models import Result
from assessments.number_words import signed
from assessments.programme import current_programme
from club.access import Role
from club.models import User

WEEKS_BACK = 52
SHARE_WANTED = 0.10  # of shape tries, by a blind second coach


@dataclass(frozen=True, slots=True)
class CoachLine:
    """One coach: habit beside others, and calibration. Listed by name."""

    name: str
    code: str
    bias: CoachBias | None
    calibration: CalibrationState

    @property
    def words(self) -> str:
        """The habit in a sentence; a difference that rounds to nothing is none."""
        if self.bias is None or self.bias.interval is None:
            return self.bias.reason if self.bias is not None else ""
        low, high = self.bias.interval
        side = "higher" if self.bias.mean > 0 else "lower"
        size = f"{abs(self.bias.mean):.1f} of 10 {side} than" if round(abs(self.bias.mean), 1) else "As"
        return f"{size} others (between {signed(low)} and {signed(high)}), from {self.bias.children} children seen twice."


@dataclass(frozen=True, slots=True)
class ShapeLine:
    """One shape with its agreement."""

    spec: ShapeSpec
    found: ShapeAgreement

    @property
    def rows(self) -> tuple[tuple[str, CriterionAgreement], ...]:
        """Criteria by their names, in the order of the shape."""
        by_id = {one.criterion: one for one in self.found.criteria}
        return tuple((one.name, by_id[one.id]) for one in self.spec.criteria if one.id in by_id)


@dataclass(frozen=True, slots=True)
class Agreement:
    """Everything that the director reads about judging."""

    since: date
    looks: int
    tries: int  # first looks at shapes in the same time
    shapes: tuple[ShapeLine, ...]
    coaches: tuple[CoachLine, ...]

    @property
    def alarms(self) -> tuple[str, ...]:
        """What is beyond the club's limits with enough second looks behind it."""
        shapes = tuple(
            f"{one.spec.name}: {one.found.reason}" for one in self.shapes if one.found.alarm == "alarm"
        )
        coaches = tuple(
            f"{one.name}: {one.words}"
            for one in self.coaches
            if one.bias is not None and one.bias.alarm == "alarm"
        )
        return (*shapes, *coaches)

    @property
    def to_calibrate(self) -> tuple[CoachLine, ...]:
        """Coaches whose calibration has ended or never began."""
        return tuple(one for one in self.coaches if one.calibration.word in ("due", "never"))


def agreement(on: date) -> Agreement:
    """Second looks of the last year at the shapes of the current edition, and every coach's calibration."""
    since = on - timedelta(weeks=WEEKS_BACK)
    programme = current_programme()
    judged = Result.objects.filter(
        day__held_on__gt=since, day__held_on__lte=on, measure__kind="shape", outcome="scored"
    )
    trials = trials_frame(judged)
    looks = tuple(one for one in second_looks(trials) if one.item in programme.shapes)
    return Agreement(
        since=since,
        looks=len(looks),
        tries=int((~trials["second"]).sum()),
        shapes=tuple(ShapeLine(spec, shape_agreement(looks, spec.id)) for spec in programme.shapes.values()),
        coaches=_coaches(looks, on),
    )


def _coaches(looks: Sequence[SecondLook], on: date) -> tuple[CoachLine, ...]:
    staff = list(
        User.objects.filter(is_active=True, role__in=(Role.COACH, Role.DIRECTOR))
        .order_by("name", "pk")
        .values_list("code", "name", "role", "calibrated_until")
    )
    habits = {one.coach: one for one in coach_bias(looks)}
    states = {
        one.coach: one for one in calibration_states({str(code): until for code, _, _, until in staff}, on)
    }
    # A director who never judged a shape and was never calibrated is not asked to be.
    return tuple(
        CoachLine(name, str(code), habits.get(str(code)), states[str(code)])
        for code, name, role, until in staff
        if role == Role.COACH or until is not None or str(code) in habits
    )
