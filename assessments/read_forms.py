"""Forms of the pages that are read: a decision about a skill, a family note."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from assessments.family_text import never_used, too_long
from assessments.models import FamilyReport, SkillDecision


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


class FamilyNoteForm(forms.Form):
    """The words of a draft. Words that judge or compare do not go to families."""

    title = forms.CharField(label="Heading", max_length=80)
    lead = forms.CharField(label="First words", max_length=300, widget=forms.Textarea(attrs={"rows": 3}))
    grew = forms.CharField(
        label="This season",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="What grew, or that things are about the same. Leave it empty to leave it out.",
    )
    next_step = forms.CharField(label="Next", max_length=300, widget=forms.Textarea(attrs={"rows": 2}))
    home = forms.CharField(
        label="Play at home",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="No equipment, nothing on the hands, nothing for the back. Leave it empty to leave it out.",
    )
    learning = forms.MultipleChoiceField(
        label="Learning now",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Untick to leave out.",
    )

    def __init__(self, *args: Any, note: FamilyReport, **kwargs: Any) -> None:
        kwargs["initial"] = note.body
        super().__init__(*args, **kwargs)
        skills = note.body.get("learning", [])
        field = self.fields["learning"]
        if isinstance(field, forms.MultipleChoiceField):
            field.choices = [(name, name) for name in skills]
        if not skills:
            del self.fields["learning"]

    def clean(self) -> dict[str, Any]:
        """Plain and kind, or the field says what to change."""
        given = super().clean() or {}
        for name in ("title", "lead", "grew", "next_step", "home"):
            text = given.get(name, "")
            if found := never_used(text):
                self.add_error(
                    name, f"Families are not given these words: {', '.join(found)}. Say it another way."
                )
            if too_long(text):
                self.add_error(name, "One sentence is longer than 25 words. Make two of it.")
        return given
