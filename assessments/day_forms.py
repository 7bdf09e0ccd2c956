"""Forms about test days: plan, attendance, passes, closing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.forms.boundfield import BoundField

from assessments.analysis.records import MeasureSpec, Programme
from assessments.days import Spec, in_good_order, seconds_of
from assessments.models import AssessmentDay
from athletes.models import AREA_WORDS, Group
from club.access import Role, Viewer
from club.models import User


@dataclass(frozen=True, slots=True)
class ItemRow:
    """One measure or shape that a day can hold."""

    spec: Spec
    tick: BoundField
    variant: BoundField | None
    seconds: int
    loads: str

    @property
    def is_shape(self) -> bool:
        """Judged by its criteria rather than measured."""
        return not isinstance(self.spec, MeasureSpec)


class DayPlanForm(forms.ModelForm):
    """When, who, and which stations. The order is suggested; the floor follows it."""

    class Meta:
        model = AssessmentDay
        fields = ("held_on", "title", "groups", "lead", "coaches", "familiarisation", "open_space")
        widgets = {
            "held_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "groups": forms.CheckboxSelectMultiple(attrs={"class": "checks"}),
            "coaches": forms.CheckboxSelectMultiple(attrs={"class": "checks"}),
        }
        labels = {
            "held_on": "Day",
            "title": "Name",
            "lead": "Lead of the day",
            "coaches": "Who judges",
            "familiarisation": "A play day: results are kept, never counted as progress",
            "open_space": "Two adults are present, or the space is open to view",
        }
        help_texts = {"title": "Optional, such as 'Autumn, first half'.", "familiarisation": ""}

    def __init__(self, *args: Any, viewer: Viewer, programme: Programme, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        staff = User.objects.filter(is_active=True, role__in=(Role.COACH, Role.DIRECTOR))
        self._offered = Group.objects.visible_to(viewer).active()
        self._choose("groups", self._offered)
        self._choose("lead", staff)
        self._choose("coaches", staff)
        self.specs = in_good_order([*programme.shapes.values(), *programme.measures.values()])
        planned = self._planned()
        for spec in self.specs:
            chosen = spec.id in planned
            self.fields[f"item_{spec.id}"] = forms.BooleanField(
                required=False, label=spec.name, initial=chosen
            )
            if isinstance(spec, MeasureSpec) and spec.variants:
                self.fields[f"variant_{spec.id}"] = forms.ChoiceField(
                    required=False,
                    label=f"Version of {spec.name}",
                    choices=[
                        (one, spec.variant_words.get(one, one.replace("_", " "))) for one in spec.variants
                    ],
                    initial=planned.get(spec.id) or spec.variants[0],
                )

    def _choose(self, name: str, queryset: Any) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = queryset

    def clean_groups(self) -> Any:
        """Groups that the planner does not see stay on the day as they are."""
        chosen = self.cleaned_data["groups"]
        if not self.instance.pk:
            return chosen
        unseen = self.instance.groups.exclude(pk__in=self._offered)
        return Group.objects.filter(Q(pk__in=chosen) | Q(pk__in=unseen))

    def _planned(self) -> dict[str, str]:
        if not self.instance.pk:
            return {}
        return dict(self.instance.stations.values_list("measure__slug", "variant"))

    def plain_fields(self) -> Iterator[BoundField]:
        """The fields about the day itself."""
        return (self[name] for name in self.Meta.fields)

    def rows(self) -> Iterator[ItemRow]:
        """The items in the suggested order."""
        for spec in self.specs:
            variant = f"variant_{spec.id}"
            yield ItemRow(
                spec,
                self[f"item_{spec.id}"],
                self[variant] if variant in self.fields else None,
                seconds_of(spec),
                ", ".join(AREA_WORDS.get(area, area).lower() for area in spec.loads),
            )

    def wanted(self) -> list[tuple[str, str]]:
        """The chosen stations by item and version, in order."""
        chosen = [spec for spec in self.specs if self.cleaned_data.get(f"item_{spec.id}")]
        return [(spec.id, self.cleaned_data.get(f"variant_{spec.id}") or "") for spec in chosen]

    def clean(self) -> dict[str, Any]:
        """At least one station, or there is nothing to enter."""
        cleaned = super().clean() or {}
        if not any(cleaned.get(f"item_{spec.id}") for spec in self.specs):
            raise ValidationError("Choose at least one measure or shape.")
        return cleaned


class CloseForm(forms.Form):
    """Close a day. When something is not in yet, say why it is closed all the same."""

    words = forms.CharField(
        label="Why close it now?", max_length=200, help_text="The director reads this in the day's history."
    )

    def __init__(self, *args: Any, green: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if green:
            del self.fields["words"]


class PassForm(forms.Form):
    """A name for the tablet, so that people can tell them apart."""

    label = forms.CharField(label="Name of the tablet", max_length=40, initial="Tablet 1")


class OutboxForm(forms.Form):
    """The file copy of a tablet."""

    file = forms.FileField(
        label="File copy from the tablet",
        help_text="Made on the tablet with 'Save a copy'. It can go in twice.",
    )
