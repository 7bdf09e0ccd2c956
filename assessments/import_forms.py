"""The forms of the results pages: what a person says about a file and its columns."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast, get_args

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from assessments.analysis.records import Programme
from assessments.imports import ResultsPreview
from assessments.programme import NoProgramme, current_programme
from assessments.result_columns import MAX_TRIAL, ColumnTarget, parse_mapping
from assessments.results_layout import Choices
from assessments.written_results import Zeros
from athletes.roster_forms import ORDERS, RadioChoices, SheetUploadForm
from athletes.sheet_file import fold
from athletes.written_dates import DateOrder

ZEROS = (
    ("", "Ask me: leave these cells out for now"),
    ("could_not", "Tried, could not"),
    ("not_tried", "Not tried"),
)
_PLACE, _TRIAL = "place:", "try:"


class ResultsUploadForm(SheetUploadForm):
    """A file of past results. Without a programme there is nothing to read it against."""

    def clean(self) -> dict[str, Any]:
        """Say so here, not on the next page."""
        try:
            current_programme()
        except NoProgramme as error:
            raise ValidationError(str(error)) from error
        return super().clean() or {}


class ImportChoicesForm(forms.Form):
    """Which part of a date comes first, what a bare 0 means, and where each column goes."""

    order = forms.ChoiceField(
        label="Dates written with numbers only", choices=ORDERS, required=False, widget=RadioChoices
    )
    zeros = forms.ChoiceField(
        label="A bare 0 in a hold or a count means", choices=ZEROS, required=False, widget=RadioChoices
    )

    @classmethod
    def for_preview(
        cls, preview: ResultsPreview, choices: Mapping[str, Any], programme: Programme
    ) -> ImportChoicesForm:
        """A form that asks only what this file leaves open, with what was said already."""
        form = cls(initial=dict(choices))
        if not preview.file.asks_order and not choices.get("order"):
            del form.fields["order"]
        if not preview.file.asks_zeros and not choices.get("zeros"):
            del form.fields["zeros"]
        places = [("", "Leave it out for now"), ("ignore", "Never read it"), *places_of(programme)]
        for column in preview.file.unmatched:
            example = f" First value: {column.example}." if column.example else ""
            reason = f"{column.where}: {column.reason}.{example}"
            form.ask_place(column.header, reason, places=places)
        for header, said in choices.get("mapping", {}).items():
            if _PLACE + header not in form.fields:
                form.ask_place(header, "As you chose.", places=places)
                place, trial = _apart(said)
                form.initial.update({_PLACE + header: place, _TRIAL + header: trial})
        return form

    def ask_place(self, header: str, reason: str, *, places: list[tuple[str, str]]) -> None:
        """One column: where it goes, and which try it is."""
        self.fields[_PLACE + header] = forms.ChoiceField(
            label=f"Column '{header}'", help_text=reason, choices=places, required=False
        )
        self.fields[_TRIAL + header] = forms.IntegerField(
            label=f"Which try is '{header}'?", min_value=1, max_value=MAX_TRIAL, initial=1, required=False
        )


def _apart(said: str) -> tuple[str, int]:
    place, _, last = said.rpartition(":")
    return (place, int(last)) if last.isdigit() else (said, 1)


def places_of(programme: Programme) -> list[tuple[str, str]]:
    """Every measure, side and variant that a column can hold."""
    places: list[tuple[str, str]] = []
    for spec in sorted(programme.measures.values(), key=lambda one: one.name):
        for variant in ("", *spec.variants):
            for side in ("left", "right") if spec.sides else ("",):
                value = ":".join(part for part in (spec.id, side, variant) if part)
                words = spec.variant_words.get(variant, variant.replace("_", " "))
                places.append((value, ", ".join(part for part in (spec.name, words, side) if part)))
    return places


def chosen_in(data: QueryDict, earlier: Mapping[str, Any], programme: Programme) -> dict[str, Any]:
    """What was said so far, known words only, ready to be kept as JSON."""
    mapping: dict[str, str] = dict(earlier.get("mapping", {}))
    allowed = {"ignore", *(value for value, _ in places_of(programme))}
    for name, place in data.items():
        header = name.removeprefix(_PLACE)
        if not name.startswith(_PLACE) or not fold(header):
            continue
        if not place:
            mapping.pop(header, None)
        elif place in allowed:
            trial = data.get(_TRIAL + header, "1")
            numbered = place != "ignore" and trial in {str(number) for number in range(2, MAX_TRIAL + 1)}
            mapping[header] = f"{place}:{trial}" if numbered else str(place)
    order, zeros = data.get("order", earlier.get("order", "")), data.get("zeros", earlier.get("zeros", ""))
    return {
        "order": order if order in get_args(DateOrder) else "",
        "zeros": zeros if zeros in get_args(Zeros) else "",
        "mapping": mapping,
    }


def choices_from(kept: Mapping[str, Any], programme: Programme) -> Choices:
    """The kept words as the reader of the file wants them."""
    mapping: dict[str, ColumnTarget] = {}
    for header, place in kept.get("mapping", {}).items():
        key, target = parse_mapping(f"{header}={place}", programme)
        mapping[key] = target
    return Choices(cast(DateOrder, kept.get("order", "")), cast(Zeros, kept.get("zeros", "")), mapping)
