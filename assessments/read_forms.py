"""Forms of the pages that are read: a decision about a skill, a family note."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from assessments.models import SkillDecision


class DecisionForm(forms.Form):
    """A coach's word; the reason and the days depend on the word."""

    word = forms.ChoiceField(choices=SkillDecision.Word.choices, widget=forms.HiddenInput)
    reason = forms.CharField(
        max_length=300,
        required=False,
        label="Why",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text="Facts about the skill, in a few words. It stays with the decision.",
    )
    first_seen = forms.DateField(
        required=False, label="First day", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    second_seen = forms.DateField(
        required=False, label="Second day", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("first_seen", "second_seen"):
            self.fields[name].widget.attrs["max"] = today.isoformat()

    def days(self) -> list[date]:
        """The days on which it was seen."""
        return [day for name in ("first_seen", "second_seen") if (day := self.cleaned_data.get(name))]
