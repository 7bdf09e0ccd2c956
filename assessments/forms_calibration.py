"""Forms of the calibration pages: ten agreed totals, and a coach's own of the same examples."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from assessments.analysis.examples import EXAMPLES_NEEDED
from assessments.analysis.records import ShapeSpec
from club.models import ExampleSet, User

NUMBERS = range(1, EXAMPLES_NEEDED + 1)


class TotalsForm(forms.Form):
    """A whole total for each of ten examples."""

    top = 10

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number in NUMBERS:
            self.fields[f"total_{number}"] = forms.IntegerField(
                label=f"Example {number}",
                error_messages={
                    "required": f"Example {number} has no total yet.",
                    "invalid": f"Example {number}: a whole number.",
                },
                widget=forms.TextInput(
                    attrs={"inputmode": "numeric", "autocomplete": "off", "class": "short num"}
                ),
            )

    def clean(self) -> dict[str, Any]:
        """A total lies between 0 and the highest of the shape."""
        given = super().clean() or {}
        for number in NUMBERS:
            total = given.get(f"total_{number}")
            if total is not None and not 0 <= total <= self.top:
                self.add_error(f"total_{number}", f"Example {number}: between 0 and {self.top}.")
        return given

    @property
    def about_fields(self) -> list[forms.BoundField]:
        """What is asked beside the totals."""
        return [box for box in self if not box.name.startswith("total_")]

    @property
    def boxes(self) -> list[forms.BoundField]:
        """The ten boxes, in order."""
        return [self[f"total_{number}"] for number in NUMBERS]

    @property
    def totals(self) -> list[int]:
        """The ten totals, once they are valid."""
        return [self.cleaned_data[f"total_{number}"] for number in NUMBERS]


class ExamplesForm(TotalsForm):
    """A new set of examples of one shape, with its agreed totals."""

    shape = forms.ChoiceField(label="Shape")
    title = forms.CharField(
        label="Name of the ten",
        max_length=80,
        help_text="So that coaches find them again, such as ‘Drawings, autumn’. No child’s name.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args: Any, shapes: Sequence[ShapeSpec], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.tops = {spec.id: spec.top for spec in shapes}
        field = self.fields["shape"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(spec.id, spec.name) for spec in shapes]

    def clean(self) -> dict[str, Any]:
        """Ten that differ, under a name that the shape does not have yet."""
        self.top = self.tops.get(self.cleaned_data.get("shape", ""), self.top)
        given = super().clean()
        if not self.errors and len(set(self.totals)) == 1:
            raise ValidationError(
                "All ten totals are the same. Choose examples from the lower end to the upper one."
            )
        same = {"shape": given.get("shape"), "title": given.get("title")}
        if all(same.values()) and ExampleSet.objects.filter(**same).exists():
            self.add_error("title", "This shape has ten examples of that name already. Give another name.")
        return given


class ScoresForm(TotalsForm):
    """One coach's totals of the same ten examples."""

    coach = forms.ChoiceField(
        label="Coach", error_messages={"required": "Who scored them?", "invalid_choice": "Choose a coach."}
    )

    def __init__(self, *args: Any, judges: Sequence[User], top: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.top = top
        self.judges = {str(user.code): user for user in judges}
        field = self.fields["coach"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "Choose a coach"), *((code, user.name) for code, user in self.judges.items())]

    @property
    def judge(self) -> User:
        """The coach that was chosen, once it is valid."""
        return self.judges[self.cleaned_data["coach"]]
