"""Forms about children, groups, guardians and rest notes."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from athletes.ages import age_on
from athletes.models import BODY_AREAS, Athlete, Coaching, Consent, Group, Guardian, RestNote
from club.access import Role
from club.models import User


def date_input() -> forms.DateInput:
    """The browser's own date field; it always sends the ISO form."""
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class AthleteForm(forms.ModelForm):
    """A child's name, date of birth and group. Nothing about the body."""

    class Meta:
        model = Athlete
        fields = ("first_name", "last_name", "born_on", "group", "joined_on", "left_on")
        widgets = {"born_on": date_input(), "joined_on": date_input(), "left_on": date_input()}
        labels = {"joined_on": "Joined on", "left_on": "Left on", "born_on": "Date of birth"}
        help_texts = {"left_on": "Leave empty while the child trains."}

    def __init__(self, *args: Any, today: date, groups: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["group"].queryset = groups  # type: ignore[attr-defined]
        self.fields["group"].empty_label = "No group"  # type: ignore[attr-defined]

    def clean_born_on(self) -> date:
        """A date that could be a child's."""
        born_on: date = self.cleaned_data["born_on"]
        if born_on > self.today:
            raise ValidationError("This date lies in the future. Check the year.")
        if age_on(born_on, self.today) > 19:
            raise ValidationError("This would make the child older than 18. Check the year.")
        return born_on


class GroupForm(forms.ModelForm):
    """A training group."""

    class Meta:
        model = Group
        fields = ("name", "block_minutes", "is_active")
        labels = {"is_active": "Trains now", "block_minutes": "Minutes for the foundation block"}


class CoachingForm(forms.ModelForm):
    """Who coaches the group, from when."""

    class Meta:
        model = Coaching
        fields = ("coach", "from_on")
        widgets = {"from_on": date_input()}
        labels = {"from_on": "From"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        staff = User.objects.filter(role__in=[Role.COACH, Role.DIRECTOR], is_active=True)
        self.fields["coach"].queryset = staff  # type: ignore[attr-defined]


class GuardianForm(forms.ModelForm):
    """Give one adult the right to read notes about one child."""

    class Meta:
        model = Guardian
        fields = ("name", "email", "may_read")

    def clean_email(self) -> str:
        """Lower case, and not a colleague's account."""
        email = str(self.cleaned_data["email"]).lower()
        if User.objects.filter(email=email).exclude(role=Role.GUARDIAN).exists():
            raise ValidationError(
                "This address belongs to a member of staff. A parent needs an address of their own."
            )
        return email


class ConsentForm(forms.ModelForm):
    """What the family agreed to, and when."""

    class Meta:
        model = Consent
        fields = ("purpose", "given_by", "given_on")
        widgets = {"given_on": date_input()}
        labels = {"given_by": "Who agreed", "given_on": "On"}


class AreasField(forms.MultipleChoiceField):
    """Body areas from the list."""

    widget = forms.CheckboxSelectMultiple

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            choices=BODY_AREAS, error_messages={"required": "Choose at least one body area."}, **kwargs
        )


class RestNoteForm(forms.ModelForm):
    """Something hurts, or the child is not well: testing and loading rest."""

    areas = AreasField(
        label="Which area rests?", help_text="Head, hip and 'ill or not well' stop everything."
    )

    class Meta:
        model = RestNote
        fields = ("areas", "note", "opened_on")
        widgets = {"opened_on": date_input()}
        labels = {"opened_on": "Since", "note": "Facts in one line"}
        help_texts = {"note": "What was seen or said. No diagnosis, no names."}


class RestNarrowForm(forms.ModelForm):
    """The rest now covers fewer areas."""

    areas = AreasField(label="Which areas still rest?")

    class Meta:
        model = RestNote
        fields = ("areas",)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.before = frozenset(self.instance.areas)
        shown = self.before if "general" not in self.before else {key for key, _ in BODY_AREAS}
        self.fields["areas"].choices = [pair for pair in BODY_AREAS if pair[0] in shown]  # type: ignore[attr-defined]


class RestEndForm(forms.ModelForm):
    """The rest ends: on what ground, and which adult said so."""

    class Meta:
        model = RestNote
        fields = ("ended_ground", "ended_adult", "ended_on")
        widgets = {"ended_on": date_input(), "ended_ground": forms.RadioSelect}
        labels = {
            "ended_ground": "On what ground?",
            "ended_adult": "Which adult said so?",
            "ended_on": "From",
        }
        help_texts = {
            "ended_adult": "The parent's or the professional's name. Keep no medical paper.",
        }

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        for name in ("ended_ground", "ended_adult", "ended_on"):
            self.fields[name].required = True
        self.fields["ended_ground"].choices = RestNote.GROUNDS  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Long, returning or serious pain needs a professional's word."""
        cleaned: dict[str, Any] = super().clean() or {}
        ground, ended_on = cleaned.get("ended_ground"), cleaned.get("ended_on")
        if ended_on and ended_on < self.instance.opened_on:
            self.add_error("ended_on", "This is before the rest began.")
        if ended_on and ended_on > self.today:
            self.add_error("ended_on", "This lies in the future. End the rest on the day.")
        if ground == "no_symptoms" and self.instance.needs_professional(ended_on or self.today):
            self.add_error(
                "ended_ground",
                "This rest lasted over a week, came back, or is about wrist, back, neck or head: "
                "a health professional's yes is needed.",
            )
        return cleaned


class RestrictForm(forms.ModelForm):
    """Restricted disclosure: nothing goes to a guardian who is not named."""

    class Meta:
        model = Athlete
        fields = ("restricted", "restricted_reference")
        labels = {
            "restricted": "Restrict disclosure",
            "restricted_reference": "Reference number",
        }
        help_texts = {"restricted_reference": "A number from the club's own files. Write no reason here."}


class EraseForm(forms.Form):
    """Type the child's first name to erase everything about them."""

    confirm = forms.CharField(label="Type the child's first name to erase")

    def __init__(self, *args: Any, athlete: Athlete, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.athlete = athlete

    def clean_confirm(self) -> str:
        """A slip of the finger erases nobody."""
        typed = str(self.cleaned_data["confirm"]).strip()
        if typed.casefold() != self.athlete.first_name.casefold():
            raise ValidationError("This is not the child's first name. Nothing was erased.")
        return typed
