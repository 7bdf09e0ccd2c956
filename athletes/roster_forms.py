"""The forms of the roster pages: a file, and what a person says about it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from athletes.roster import RosterPreview
from athletes.sheet_file import MAX_BYTES, UnreadableFile, read_sheets

ORDERS = (
    ("", "Ask me"),
    ("day_first", "The day comes first: 4/3/2019 is 4 March"),
    ("month_first", "The month comes first: 4/3/2019 is 3 April"),
)
ANSWERS = (("", "Leave this line out for now"), ("same", "One child"), ("two", "Two children"))
_ANSWER = "answer:"


class RadioChoices(forms.RadioSelect):
    """Radio buttons with room for a thumb."""

    def __init__(self) -> None:
        super().__init__(attrs={"class": "checks"})


class SheetUploadForm(forms.Form):
    """One CSV or XLSX file that can be read."""

    file = forms.FileField(
        label="File",
        help_text="A CSV or XLSX file, at most 5 MB and 5,000 rows.",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.xlsx,.txt"}),
    )
    content = b""

    def clean_file(self) -> Any:
        """Read it once, so that a wrong file is named here."""
        upload = self.cleaned_data["file"]
        if upload.size > MAX_BYTES:
            raise ValidationError("The file is larger than 5 MB. Split it and bring in one part at a time.")
        self.content = upload.read()
        try:
            read_sheets(self.content, upload.name)
        except UnreadableFile as error:
            raise ValidationError(str(error)) from error
        return upload


class RosterUploadForm(SheetUploadForm):
    """The club's list of children."""


class RosterChoicesForm(forms.Form):
    """Which part of a date comes first, and who is who."""

    order = forms.ChoiceField(
        label="Dates written with numbers only", choices=ORDERS, required=False, widget=RadioChoices
    )

    @classmethod
    def for_preview(cls, preview: RosterPreview, choices: Mapping[str, Any]) -> RosterChoicesForm:
        """A form that asks only what this file leaves open, with what was said already."""
        answers = choices.get("answers", {})
        form = cls(initial={"order": choices.get("order", "")})
        if not preview.asks_order and not choices.get("order"):
            del form.fields["order"]
        for question in preview.questions:
            form.fields[_ANSWER + question.row.place] = forms.ChoiceField(
                label=f"{question.row.where}: {question.text}",
                choices=ANSWERS,
                required=False,
                widget=RadioChoices,
            )
        form.initial.update({_ANSWER + place: answer for place, answer in answers.items()})
        return form

    @staticmethod
    def chosen_in(data: QueryDict, earlier: Mapping[str, Any]) -> dict[str, Any]:
        """What was said so far, known words only. What the page no longer asks keeps its earlier answer."""
        answers: dict[str, str] = dict(earlier.get("answers", {}))
        for name, answer in data.items():
            place = name.removeprefix(_ANSWER)
            if name == place:
                continue
            answers.pop(place, None)
            if answer in ("same", "two"):
                answers[place] = str(answer)
        order = data.get("order", earlier.get("order", ""))
        return {"order": order if order in dict(ORDERS) else "", "answers": answers}
