"""Forms about results: correct, take back, move to another child."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from assessments.analysis.records import MeasureSpec, ShapeSpec
from assessments.days import Spec
from assessments.models import Result
from athletes.models import Athlete

OUTCOMES = (
    ("scored", "Scored"),
    ("reached_cap", "Reached the cap"),
    ("chose_to_stop", "Chose to stop"),
    ("could_not_start", "Tried, could not start"),
    ("not_attempted", "Not attempted"),
    ("interrupted", "Interrupted"),
)
LEVELS = (("2", "On their own"), ("1", "With a reminder"), ("0", "Not yet"), ("", "Not seen that day"))
#: Units as a label says them.
UNITS = {"s": "in seconds", "cm": "in centimetres", "reps": "repetitions", "of_5": "out of 5"}
SIDES = (("left", "Left"), ("right", "Right"))


class ReasonForm(forms.Form):
    """Every second thought has a reason. The hidden id makes a form that was sent twice act once."""

    new_id = forms.UUIDField(widget=forms.HiddenInput)
    reason = forms.CharField(label="Why?", max_length=120, help_text="Kept in the history of this result.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["new_id"].initial = uuid.uuid4


class EndStopForm(ReasonForm):
    """The same, where a stop for pain may have been another child's. Ending it is somebody's own act, never automatic."""

    end_stop = forms.BooleanField(
        required=False,
        label="End the stop: this child was stopped by mistake",
        help_text="The rest note that it opened is closed as a mistake, and the child may go on today. "
        "Leave it open when anything did hurt.",
    )

    def __init__(self, *args: Any, may_end_stop: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not may_end_stop:
            del self.fields["end_stop"]


class CorrectForm(ReasonForm):
    """What was really seen."""

    outcome = forms.ChoiceField(label="What happened", choices=OUTCOMES)
    field_order = ("new_id", "outcome", "value", "side", "trial", "reason")

    def __init__(self, *args: Any, result: Result, spec: Spec, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.spec = spec
        self.fields["outcome"].initial = result.outcome
        self.fields["trial"] = forms.IntegerField(
            label="Try number", min_value=1, max_value=20, initial=result.trial
        )
        if isinstance(spec, ShapeSpec):
            self._add_levels(spec, result.levels or {})
        else:
            self._add_value(spec, result)
        self.order_fields(self.field_order)

    def _add_value(self, spec: MeasureSpec, result: Result) -> None:
        low, high = spec.limits.refuse
        self.fields["value"] = forms.FloatField(
            label=f"Value, {UNITS.get(spec.unit, spec.unit)}",
            required=False,
            initial=None if result.value is None else f"{result.value:g}",
            min_value=low,
            max_value=high if spec.cap is None else min(high, spec.cap),
            widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal", "class": "short"}),
        )
        if spec.sides:
            self.fields["side"] = forms.ChoiceField(label="Side", choices=SIDES, initial=result.side)

    def _add_levels(self, spec: ShapeSpec, levels: dict[str, int | None]) -> None:
        for criterion in spec.criteria:
            level = levels.get(criterion.id)
            self.fields[f"level_{criterion.id}"] = forms.ChoiceField(
                label=criterion.name,
                required=False,
                choices=LEVELS,
                widget=forms.RadioSelect,
                initial="" if level is None else str(level),
            )

    def clean(self) -> dict[str, Any]:
        """A value where something was scored, none where nothing was."""
        cleaned = super().clean() or {}
        scored = cleaned.get("outcome") in ("scored", "reached_cap", "chose_to_stop")
        missing = isinstance(self.spec, MeasureSpec) and cleaned.get("value") is None
        if scored and missing and "value" not in self.errors:
            raise ValidationError({"value": "Say how much it was, or choose what happened instead."})
        return cleaned

    def changes(self) -> dict[str, Any]:
        """The fields of the entry that this form speaks of."""
        said = self.cleaned_data
        outcome = said["outcome"]
        scored = outcome in ("scored", "reached_cap", "chose_to_stop")
        found = {"outcome": outcome, "trial": said["trial"]}
        if isinstance(self.spec, ShapeSpec):
            given = {c.id: said.get(f"level_{c.id}", "") for c in self.spec.criteria}
            levels = {name: int(level) if level else None for name, level in given.items()}
            return {**found, "levels": levels if scored else None, "value": None}
        if "side" in said:
            found["side"] = said["side"]
        return {**found, "value": said["value"] if scored else None}


class ChildField(forms.ModelChoiceField):
    """A child by name, group and birth month, so that two of one name are told apart."""

    def label_from_instance(self, obj: Any) -> str:
        """Large enough to be sure of."""
        group = f", {obj.group.name}" if obj.group else ""
        return f"{obj.full_name}{group}, born in {obj.born_on:%B}"


class MoveForm(EndStopForm):
    """Whose result it really was."""

    athlete = ChildField(
        label="Whose result is it?",
        queryset=Athlete.objects.none(),
        to_field_name="code",
        empty_label="Choose a child",
    )
    field_order = ("new_id", "athlete", "reason", "end_stop")

    def __init__(self, *args: Any, children: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["athlete"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = children
