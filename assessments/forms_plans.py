"""How long a block or a test day lasts, and how many children fit at a station."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from assessments.analysis.records import MeasureSpec, ShapeSpec
from assessments.rotations import FEWEST_MINUTES, MOST_MINUTES, USUAL_MINUTES

MOST_PLACES = 8


class BlockForm(forms.Form):
    """Minutes of a block; empty means the group's own."""

    minutes = forms.IntegerField(label="Minutes", min_value=5, max_value=30, required=False)


class RotationForm(forms.Form):
    """Minutes of a day, and the places of each station."""

    minutes = forms.IntegerField(
        label="Minutes there are", min_value=FEWEST_MINUTES, max_value=MOST_MINUTES, required=False
    )

    def __init__(self, data: Mapping[str, Any], *, stations: Sequence[MeasureSpec | ShapeSpec]) -> None:
        super().__init__(data)
        self.items = [spec.id for spec in stations]
        for spec in stations:
            self.fields[f"at_{spec.id}"] = forms.IntegerField(
                label=f"{spec.name}: children at once", min_value=1, max_value=MOST_PLACES, required=False
            )

    @property
    def given_minutes(self) -> int:
        """The minutes typed, or the usual ones."""
        return self.cleaned_data.get("minutes") or USUAL_MINUTES

    @property
    def places(self) -> dict[str, int]:
        """Children at once by item; one where nothing was typed."""
        return {item: self.cleaned_data.get(f"at_{item}") or 1 for item in self.items}
