"""Forms about people and the club."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from club.access import Role
from club.models import ClubProfile, User


class SignInForm(AuthenticationForm):
    """E-mail and password. The answer is the same whether or not the address is known."""

    username = forms.EmailField(
        label="E-mail", widget=forms.EmailInput(attrs={"autofocus": True, "autocomplete": "username"})
    )
    error_messages = {
        "invalid_login": "This e-mail and password do not go together. Check both, or ask for a new password below.",
        "inactive": "This account is closed. Ask the director.",
    }

    def clean_username(self) -> str:
        """Addresses are kept in lower case."""
        return str(self.cleaned_data["username"]).lower()


class InviteForm(forms.Form):
    """Invite one person to one role."""

    name = forms.CharField(label="Name", max_length=120)
    email = forms.EmailField(label="E-mail")
    role = forms.ChoiceField(label="Role", choices=[(r.value, r.label) for r in (Role.COACH, Role.DIRECTOR)])

    def clean_email(self) -> str:
        """An address that is already in use needs no invitation."""
        email = str(self.cleaned_data["email"]).lower()
        if User.objects.filter(email=email, is_active=True).exists():
            raise ValidationError("This person already has an account. Change their role on the people page.")
        return email


class AcceptForm(forms.Form):
    """Choose a name and a password, once."""

    name = forms.CharField(
        label="Your name", max_length=120, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    password = forms.CharField(
        label="Choose a password",
        help_text="At least 10 characters. Three or four plain words make a good one.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, email: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.email = email

    def clean_password(self) -> str:
        """As strict as for everybody."""
        password = str(self.cleaned_data["password"])
        validate_password(password, User(email=self.email, name=str(self.data.get("name", ""))))
        return password


class MemberForm(forms.ModelForm):
    """Change a member's name or role, or close the account."""

    class Meta:
        model = User
        fields = ("name", "role", "is_active", "calibrated_until")
        labels = {"is_active": "May sign in", "calibrated_until": "Shape judging calibrated until"}
        help_texts = {
            "calibrated_until": "Usually set by confirming ten examples, on the page Numbers, Calibration."
        }
        widgets = {"calibrated_until": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")}


class ClubForm(forms.ModelForm):
    """The club's name, contacts and season."""

    class Meta:
        model = ClubProfile
        fields = (
            "name",
            "contact_email",
            "season_start_month",
            "safeguarding_name",
            "safeguarding_contact",
            "local_service",
            "emergency_number",
        )
        labels = {
            "contact_email": "E-mail for parents' questions",
            "season_start_month": "Month in which the season starts (1 to 12)",
            "safeguarding_name": "Safeguarding lead",
            "safeguarding_contact": "How to reach the safeguarding lead",
            "local_service": "Local child-protection service",
            "emergency_number": "Emergency number",
        }
