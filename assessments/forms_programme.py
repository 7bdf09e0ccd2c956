"""Forms for the parts of a programme. Each turns into the keys of its entry in the files."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from django import forms

from assessments.analysis.records import MeasureSpec, Programme, ShapeSpec
from assessments.programme_file import COMBINES, KINDS, SUPPORTS, VIEWPOINTS
from club.templatetags.club_format import SUPPORT_WORDS

if TYPE_CHECKING:
    FormSet = forms.BaseFormSet[Any]
else:
    FormSet = forms.BaseFormSet

KIND_WORDS = {
    "hold": "hold, in seconds",
    "count": "count",
    "score_count": "count out of a few tries",
    "distance": "distance",
}
COMBINE_WORDS = {
    "best": "the best try",
    "mean": "the mean of the tries",
    "sum": "the sum of the tries",
    "first": "the only try",
}
UNITS = {"s": "seconds", "reps": "repetitions", "cm": "centimetres", "of_5": "out of five"}


def plain(number: float | None) -> float | None:
    """A whole number without a point."""
    return int(number) if number is not None and number == int(number) else number


class LinesField(forms.CharField):
    """A list, one entry a line."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        super().__init__(widget=forms.Textarea(attrs={"rows": 3}), **kwargs)

    def prepare_value(self, value: Any) -> Any:
        """A list as lines."""
        return "\n".join(str(one) for one in value) if isinstance(value, list | tuple) else value

    def clean(self, value: Any) -> list[str]:
        """Lines as a list."""
        return [line.strip() for line in str(value or "").splitlines() if line.strip()]


class WordsField(LinesField):
    """A list, with commas between."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget = forms.TextInput()

    def prepare_value(self, value: Any) -> Any:
        """A list with commas."""
        return ", ".join(str(one) for one in value) if isinstance(value, list | tuple) else value

    def clean(self, value: Any) -> list[str]:
        """Commas to a list."""
        return [word.strip() for word in str(value or "").split(",") if word.strip()]


class KnownChoicesField(forms.MultipleChoiceField):
    """Boxes to tick; what is no longer offered is left out without a word."""

    widget = forms.CheckboxSelectMultiple

    def clean(self, value: Any) -> list[str]:
        """The ticked values that exist."""
        return [one for one in self.to_python(value) if self.valid_value(one)]


def text(
    label: str, *, rows: int = 0, help_text: str = "", required: bool = False, length: int = 600
) -> forms.CharField:
    """A field of words; with rows it is a box."""
    widget = forms.Textarea(attrs={"rows": rows}) if rows else forms.TextInput()
    return forms.CharField(
        label=label, required=required, widget=widget, help_text=help_text, max_length=length
    )


def number(label: str, *, required: bool = False, help_text: str = "") -> forms.FloatField:
    """A number in any step."""
    widget = forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"})
    return forms.FloatField(label=label, required=required, widget=widget, help_text=help_text)


def choices(words: Mapping[str, str] | Sequence[str]) -> list[tuple[str, str]]:
    """Choices of a select."""
    named = words if isinstance(words, Mapping) else {one: one for one in words}
    return list(named.items())


def offer(form: forms.Form, name: str, offered: Sequence[Any]) -> None:
    """Give a field the choices of this programme."""
    field: Any = form.fields[name]
    field.choices = offered


class PartForm(forms.Form):
    """What every part has: the mark of what was seen, support and sources."""

    seen = forms.CharField(widget=forms.HiddenInput, required=False)
    support = forms.ChoiceField(
        choices=[(one, SUPPORT_WORDS[one]) for one in SUPPORTS], label="What stands behind it"
    )
    sources = WordsField(label="Sources", help_text="Their short keys, such as S40, S41.")

    def about(self) -> dict[str, Any]:
        """Support and sources as keys of the entry."""
        return {"support": self.cleaned_data["support"], "sources": self.cleaned_data["sources"] or None}


class LoadedForm(PartForm):
    """A part that loads body areas."""

    name = text("Name", required=True, length=80)
    loads = KnownChoicesField(required=False, label="Body areas that it loads")

    def __init__(self, *args: Any, programme: Programme, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.programme = programme
        areas = [(area, area.replace("_", " ")) for area in programme.body_areas]
        offer(self, "loads", areas)


class MeasureForm(LoadedForm):
    """A measure and its protocol."""

    aliases = WordsField(label="Other names", help_text="As your old spreadsheets call it. Commas between.")
    kind = forms.ChoiceField(choices=[(one, KIND_WORDS[one]) for one in KINDS], label="What is counted")
    unit = forms.ChoiceField(choices=choices(UNITS), label="Unit")
    two_sides = forms.BooleanField(required=False, label="Left and right apart")
    age_min = forms.IntegerField(label="Youngest age", min_value=2, max_value=18)
    attempts = forms.IntegerField(label="Tries", min_value=1, max_value=9)
    combine = forms.ChoiceField(choices=[(one, COMBINE_WORDS[one]) for one in COMBINES], label="What counts")
    cap = number("Cap", help_text="Where the clock or the count stops. Empty for distances.")
    warn_low = number("Ask below", required=True)
    warn_high = number("Ask above", required=True)
    refuse_low = number("Refuse below", required=True)
    refuse_high = number("Refuse above", required=True)
    seconds_per_child = forms.IntegerField(label="Seconds a child", min_value=1, max_value=1800)
    equipment = WordsField(label="Equipment")
    set_up = text("Set-up", rows=3)
    start = text("Start", rows=2)
    form_standard = text("Form", rows=3)
    stop_rules = LinesField(label="Stop when", help_text="One a line.")
    say = text("Say", rows=2, help_text="Two lines, the same for every child.")
    show = text("Show", rows=2)
    cue = text("The one cue", length=120)
    gate = text("Offer it only when", rows=2)
    exit_rule = text("The way out", rows=2)
    side_rule = text("Left and right", rows=2)
    ladder = LinesField(
        label="Versions, easiest first", help_text="One a line: id | short name | what the child does."
    )
    error_a = number("Error: at least", required=True, help_text="In the unit of the measure.")
    error_b = number("Error: part of the value", required=True, help_text="0.2 is a fifth of the value.")
    error_support = forms.ChoiceField(
        choices=[(one, SUPPORT_WORDS[one]) for one in SUPPORTS], label="What stands behind the error"
    )
    SECTIONS = (
        ("Name", "", ("name", "aliases", "age_min", "equipment", "seconds_per_child", "loads")),
        ("Protocol", "The same words and the same set-up for every child.", (
            "set_up", "start", "form_standard", "stop_rules", "say", "show", "cue", "gate", "exit_rule", "side_rule",
        )),
        ("Result", "", ("kind", "unit", "two_sides", "attempts", "combine", "cap")),
        ("Typing errors", "Outside the inner limits the page asks; outside the outer ones it refuses.", (
            "warn_low", "warn_high", "refuse_low", "refuse_high",
        )),
        ("Versions", "Each version is a series of its own and never shares a line.", ("ladder",)),
        ("What stands behind it", "", ("support", "sources", "error_a", "error_b", "error_support")),
    )  # fmt: skip
    TEXTS = ("set_up", "start", "form_standard", "say", "show", "cue", "gate", "exit_rule", "side_rule")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        own = self.initial.get("unit", "s")
        offer(self, "unit", choices({**UNITS, own: UNITS.get(own, own)}))

    def sections(self) -> Iterator[tuple[str, str, list[forms.BoundField]]]:
        """The fields in the order of the page."""
        for title, words, names in self.SECTIONS:
            yield title, words, [self[name] for name in names]

    @classmethod
    def initial_of(cls, spec: MeasureSpec) -> dict[str, Any]:
        """What the form begins with."""
        return {
            **{key: getattr(spec, key) for key in (
                "name", "aliases", "kind", "unit", "age_min", "attempts", "combine", "seconds_per_child",
                "equipment", "stop_rules", "support", "sources", "loads",
            )},
            **{key: spec.text.get(key, "") for key in cls.TEXTS},
            "two_sides": spec.sides, "cap": plain(spec.cap),
            "warn_low": plain(spec.limits.warn[0]), "warn_high": plain(spec.limits.warn[1]),
            "refuse_low": plain(spec.limits.refuse[0]), "refuse_high": plain(spec.limits.refuse[1]),
            "error_a": plain(spec.error.a), "error_b": plain(spec.error.b), "error_support": spec.error.support,
            "ladder": [
                " | ".join((one, spec.variant_words.get(one, ""), spec.variant_texts.get(one, "")))
                for one in spec.variants
            ],
        }  # fmt: skip

    def entry(self) -> dict[str, Any]:
        """The keys of the measure."""
        data = self.cleaned_data
        ladder = [[part.strip() for part in line.split("|", 2)] + ["", ""] for line in data["ladder"]]
        error = {"a": plain(data["error_a"]), "b": plain(data["error_b"]), "support": data["error_support"]}
        kept = ("name", "kind", "unit", "age_min", "attempts", "combine", "seconds_per_child")
        lists = ("aliases", "equipment", "stop_rules", "loads")
        return {
            **{key: data[key] for key in kept},
            **{key: data[key].replace("\r\n", "\n") or None for key in self.TEXTS},
            **{key: data[key] or None for key in lists},
            "sides": "left_right" if data["two_sides"] else "none",
            "cap": plain(data["cap"]),
            "plausible": {
                "warn": [plain(data["warn_low"]), plain(data["warn_high"])],
                "refuse": [plain(data["refuse_low"]), plain(data["refuse_high"])],
            },
            "error_model": error,
            "variants": [one[0] for one in ladder] or None,
            "variant_words": {one[0]: one[1] for one in ladder if one[1]} or None,
            "variant_texts": {one[0]: one[2] for one in ladder if one[2]} or None,
            **self.about(),
        }


class ShapeForm(LoadedForm):
    """A shape; its criteria are forms of their own."""

    field_order = (
        "name",
        "position",
        "viewpoint",
        "age_min",
        "aliases",
        "gate",
        "error_a",
        "support",
        "sources",
    )

    aliases = WordsField(label="Other names")
    position = text("Position", required=True, length=120)
    viewpoint = forms.ChoiceField(choices=choices(VIEWPOINTS), label="Seen from")
    age_min = forms.IntegerField(label="Youngest age", min_value=2, max_value=18)
    gate = text("Offer it only when", rows=2)
    holds = KnownChoicesField(required=False, label="Measures that hold this shape")
    error_a = number("Error, in points", required=True)

    def __init__(self, *args: Any, programme: Programme, **kwargs: Any) -> None:
        super().__init__(*args, programme=programme, **kwargs)
        held = [(one.id, one.name) for one in programme.measures.values() if one.kind == "hold"]
        offer(self, "holds", held)

    @classmethod
    def initial_of(cls, spec: ShapeSpec) -> dict[str, Any]:
        """What the form begins with."""
        keys = (
            "name",
            "aliases",
            "position",
            "viewpoint",
            "age_min",
            "gate",
            "holds",
            "support",
            "sources",
            "loads",
        )
        return {**{key: getattr(spec, key) for key in keys}, "error_a": plain(spec.error.a)}

    def entry(self, criteria: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
        """The keys of the shape with its criteria."""
        data = self.cleaned_data
        return {
            **{key: data[key] for key in ("name", "position", "viewpoint", "age_min")},
            **{key: data[key] or None for key in ("aliases", "gate", "holds", "loads")},
            "error_model": {"a": plain(data["error_a"]), "b": 0, "support": "placeholder"},
            "criteria": list(criteria),
            **self.about(),
        }


class Removable(FormSet):
    """Forms of one kind, each of which can be taken away."""

    def add_fields(self, form: Any, index: int | None) -> None:
        """The box that takes a form away says so."""
        super().add_fields(form, index)
        if "DELETE" in form.fields:
            form.fields["DELETE"].label = "Take it away"


class CriterionForm(forms.Form):
    """One criterion: what to look for, its cue, its fault and its three levels."""

    id = forms.SlugField(
        label="Id", max_length=40, help_text="Small letters and _. It stays when the words change."
    )
    name = text("Look for", required=True, length=80)
    must_have = forms.BooleanField(required=False, label="Must-have")
    cue = text("Cue", length=80)
    fault = text("What broke first", length=40)
    not_yet = text("Not yet", rows=2)
    with_reminder = text("With a reminder", rows=2)
    on_own = text("On their own", rows=2)

    def entry(self, before: Mapping[str, Any] | None) -> dict[str, Any]:
        """The keys of the criterion, laid over what it had."""
        return {**(before or {}), **{key: self.cleaned_data[key] for key in self.fields if key != "DELETE"}}
