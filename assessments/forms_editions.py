"""Forms for whole editions: begin, bring in, publish; and for benchmarks, rules and new parts."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from assessments.analysis.records import Benchmark, MeasureSpec, Programme
from assessments.forms_programme import PartForm, number, offer, plain, text
from assessments.programme_file import RISKS
from assessments.programme_yaml import FILES, LARGEST_FILE
from athletes.sheet_file import DAMAGED

LARGEST_UPLOAD = 2_000_000  # bytes


class BenchmarkForm(PartForm):
    """The zones of one measure or shape, band by band. Two empty boxes: not offered in that band."""

    note = text("Note", rows=2)

    def __init__(self, *args: Any, programme: Programme, item: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.programme, self.item = programme, item
        spec = programme.item(item)
        ladder = [(one, spec.variant_words.get(one, one)) for one in spec.variants] if isinstance(
            spec, MeasureSpec
        ) else []  # fmt: skip
        for band in programme.bands:
            self.fields[f"from_{band.id}"] = number(f"Building from, at {band.id}")
            self.fields[f"aim_{band.id}"] = number(f"Club aim, at {band.id}")
            if ladder:
                self.fields[f"variant_{band.id}"] = forms.ChoiceField(
                    required=False, choices=[("", "any version"), *ladder], label=f"Version, at {band.id}"
                )

    @classmethod
    def initial_of(cls, programme: Programme, item: str) -> dict[str, Any]:
        """What the form begins with."""
        rows = {band.id: programme.benchmarks.get((item, band.id)) for band in programme.bands}
        first = next((row for row in rows.values() if row is not None), Benchmark(item, "", 0, 0))
        found: dict[str, Any] = {"support": first.support, "sources": first.sources, "note": first.note}
        for band, row in rows.items():
            if row is not None:
                found |= {f"from_{band}": plain(row.building), f"aim_{band}": plain(row.aim)}
                found[f"variant_{band}"] = row.variant
        return found

    def rows(self) -> Iterator[tuple[str, list[forms.BoundField]]]:
        """The boxes of each band, for the table."""
        for band in self.programme.bands:
            names = [f"{kind}_{band.id}" for kind in ("from", "aim", "variant")]
            yield band.id, [self[name] for name in names if name in self.fields]

    def about_fields(self) -> list[forms.BoundField]:
        """What stands behind the zones."""
        return [self["support"], self["sources"], self["note"]]

    def clean(self) -> dict[str, Any]:
        """Both boxes of a band, or neither."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        for band in self.programme.bands:
            low, aim = data.get(f"from_{band.id}"), data.get(f"aim_{band.id}")
            if (low is None) != (aim is None):
                self.add_error(
                    f"from_{band.id}" if low is None else f"aim_{band.id}", "Fill both, or neither."
                )
        return data

    def zones(self) -> dict[str, Mapping[str, Any] | None]:
        """The zones as they stand in the file."""
        found: dict[str, Mapping[str, Any] | None] = {}
        for band in self.programme.bands:
            low, aim = self.cleaned_data.get(f"from_{band.id}"), self.cleaned_data.get(f"aim_{band.id}")
            variant = self.cleaned_data.get(f"variant_{band.id}") or None
            offered = low is not None and aim is not None
            found[band.id] = {"from": plain(low), "aim": plain(aim), "variant": variant} if offered else None
        return found


class RulesForm(forms.Form):
    """How sure the club wants to be, and how long evidence lasts."""

    seen = forms.CharField(widget=forms.HiddenInput, required=False)
    low = number("Sure enough for low risk", required=True, help_text="0.60 to 0.99.")
    medium = number("Sure enough for medium risk", required=True)
    high = number("Sure enough for high risk", required=True)
    drift_weeks = number("Weeks until one day is worth half", required=True)
    expiry_weeks = forms.IntegerField(label="Weeks that evidence lasts", min_value=1, max_value=104)
    expiry_weeks_careful = forms.IntegerField(
        label="Weeks for high risk on wrists or neck", min_value=1, max_value=104
    )
    confirm_days = forms.IntegerField(label="Days between two confirming days", min_value=1, max_value=90)
    KEYS = ("drift_weeks", "expiry_weeks", "expiry_weeks_careful", "confirm_days")

    @classmethod
    def initial_of(cls, programme: Programme) -> dict[str, Any]:
        """What the form begins with."""
        rules = programme.rules
        return {**dict(rules.confidence), **{key: plain(getattr(rules, key)) for key in cls.KEYS}}

    def entry(self) -> dict[str, Any]:
        """The rules as they stand in the file."""
        data = self.cleaned_data
        return {
            "confidence": {risk: data[risk] for risk in RISKS},
            **{key: plain(data[key]) for key in self.KEYS},
        }


class NewPartForm(forms.Form):
    """A new measure, shape or skill: its kind, id and name."""

    KINDS = (("measures", "Measure"), ("shapes", "Shape"), ("skills", "Skill"))
    file = forms.ChoiceField(choices=KINDS, label="What is it", widget=forms.RadioSelect)
    name = text("Name", required=True, length=80)
    id = forms.RegexField(
        r"^[a-z][a-z0-9_]*$", label="Id", max_length=60,
        help_text="Small letters, digits and _. It never changes: results point to it.",
    )  # fmt: skip

    def __init__(self, *args: Any, taken: set[str] | frozenset[str] = frozenset(), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.taken = taken

    def clean_id(self) -> str:
        """An id that nothing else has."""
        found: str = self.cleaned_data["id"]
        if found in self.taken:
            raise ValidationError("Something in this draft already has this id.")
        return found

    def entry(self) -> dict[str, Any]:
        """As little as an entry needs to be opened in its form."""
        name = self.cleaned_data["name"]
        if self.cleaned_data["file"] == "skills":
            asks: dict[str, list[Any]] = {"skills": [], "measures": [], "shapes": []}
            return {"name": name, "area": "floor", "risk": "low", "min_age": 5, "requires": asks}
        if self.cleaned_data["file"] == "shapes":
            return {"name": name, "position": "", "viewpoint": "side", "age_min": 4, "criteria": []}
        error = {"a": 2, "b": 0.2, "support": "placeholder"}
        limits = {"warn": [0, 30], "refuse": [0, 120]}
        return {
            "name": name, "kind": "hold", "unit": "s", "sides": "none", "age_min": 4, "attempts": 1,
            "combine": "first", "cap": 30, "plausible": limits, "error_model": error,
        }  # fmt: skip


class ConnectForm(forms.Form):
    """One line of the map: which skill comes before which."""

    before = forms.ChoiceField(label="This skill")
    after = forms.ChoiceField(label="comes before")

    def __init__(self, *args: Any, programme: Programme, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("before", "after"):
            skills = [(one.id, one.name) for one in programme.skills.values()]
            offer(self, name, skills)


class PublishForm(forms.Form):
    """The reason for an edition, and what was looked at."""

    reason = text(
        "Why this edition", required=True, length=300, help_text="Coaches read this. One sentence is enough."
    )
    against = forms.IntegerField(widget=forms.HiddenInput, required=False)
    version = forms.IntegerField(widget=forms.HiddenInput)


class SeveralFiles(forms.ClearableFileInput):
    """A file field that takes more than one."""

    allow_multiple_selected = True


class SeveralFilesField(forms.FileField):
    """One file or more."""

    def clean(self, data: Any, initial: Any = None) -> list[UploadedFile[Any]]:
        """Each file on its own; none is an error in words."""
        given = data if isinstance(data, list | tuple) else [data]
        return [super(SeveralFilesField, self).clean(one, initial) for one in given or [None]]


class ProgrammeFilesForm(forms.Form):
    """The five files of a programme, or one archive with them."""

    upload = SeveralFilesField(
        label="Files",
        widget=SeveralFiles(attrs={"multiple": True, "accept": ".zip,.yaml,.yml"}),
        help_text="The archive that this page hands out, or the five files together.",
    )
    title = text("Name of the draft", length=80)

    def texts(self) -> dict[str, str]:
        """The text of each file by its name; ValueError in words when one cannot be taken."""
        found: dict[str, str] = {}
        for upload in self.cleaned_data["upload"]:
            found |= _archive(upload) if (upload.name or "").lower().endswith(".zip") else _single(upload)
        if not found:
            raise ValueError(f"None of these is a file of a programme. They are called {', '.join(FILES)}.")
        return found


def _single(upload: UploadedFile[Any]) -> dict[str, str]:
    name = (upload.name or "").rpartition(".")[0]
    if name not in FILES:
        return {}
    return {name: _words(upload.read(LARGEST_UPLOAD), name)}


def _archive(upload: UploadedFile[Any]) -> dict[str, str]:
    try:
        archive = zipfile.ZipFile(upload)
        members = [one for one in archive.infolist() if one.filename.rpartition("/")[2].endswith(".yaml")]
        found = {}
        for member in members:
            name = member.filename.rpartition("/")[2].removesuffix(".yaml")
            if name in FILES:
                if member.file_size > LARGEST_FILE * 4:
                    raise ValueError(f"{name}.yaml is too large.")
                found[name] = _words(archive.read(member), name)
    except DAMAGED as broken:
        raise ValueError("The archive cannot be opened.") from broken
    return found


def _words(content: bytes, name: str) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise ValueError(f"{name}.yaml is not written in UTF-8.") from wrong
