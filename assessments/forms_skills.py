"""Forms for a skill: where it stands, what it comes after, and what it asks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from assessments.analysis.records import Programme
from assessments.forms_programme import KnownChoicesField, LoadedForm, choices, number, offer, plain, text
from assessments.programme_file import RISKS


class SkillForm(LoadedForm):
    """A skill: where it stands, what it comes after, why and with what care."""

    field_order = ("name", "area", "risk", "min_age", "why", "safety", "support", "sources", "after", "loads")

    area = text("Apparatus", required=True, length=20, help_text="floor, bars, beam, vault or your own word.")
    risk = forms.ChoiceField(choices=choices(RISKS), label="Risk")
    min_age = forms.IntegerField(label="Usually from age", min_value=2, max_value=18)
    after = KnownChoicesField(required=False, label="Comes after")
    why = text("Why", rows=3)
    safety = text("Care", rows=2)

    def __init__(self, *args: Any, programme: Programme, skill: str, **kwargs: Any) -> None:
        super().__init__(*args, programme=programme, **kwargs)
        others = [
            (one.id, f"{one.name} ({one.area})") for one in programme.skills.values() if one.id != skill
        ]
        offer(self, "after", others)

    def entry(self, requirements: Sequence[tuple[str, Mapping[str, Any]]]) -> dict[str, Any]:
        """The keys of the skill with what it asks."""
        data = self.cleaned_data
        asked = {
            kind: [dict(one) for name, one in requirements if name == kind] for kind in ("measure", "shape")
        }
        return {
            **{key: data[key] for key in ("name", "area", "risk", "min_age")},
            **{key: data[key] or None for key in ("why", "safety", "loads")},
            "requires": {"skills": data["after"], "measures": asked["measure"], "shapes": asked["shape"]},
            **self.about(),
            "support": data["support"] if data["support"] != "common_practice" else None,
        }


class RequirementForm(forms.Form):
    """What a skill asks of one measure or shape. Versions and must-haves appear once the item is known."""

    item = forms.ChoiceField(label="Measure or shape")
    minimum = number("At least", required=True)
    variant = forms.ChoiceField(required=False, label="Version, or a harder one")
    both_sides = forms.BooleanField(required=False, label="Both sides")
    soft_under = forms.IntegerField(required=False, label="Advice only under age", min_value=2, max_value=18)
    must_have = KnownChoicesField(required=False, label="Must-haves on their own")

    def __init__(self, *args: Any, programme: Programme, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.programme = programme
        chosen = self["item"].value()
        measure, shape = programme.measures.get(chosen), programme.shapes.get(chosen)
        ladder = [(one, measure.variant_words.get(one, one)) for one in measure.variants] if measure else []
        criteria = [(one.id, one.name) for one in shape.criteria] if shape else []
        items = [
            ("", "Choose"),
            ("Measures", [(one.id, one.name) for one in programme.measures.values()]),
            ("Shapes", [(one.id, one.name) for one in programme.shapes.values()]),
        ]
        offer(self, "item", items)
        offer(self, "variant", [("", "any"), *ladder])
        offer(self, "must_have", criteria)
        for name, needed in (
            ("variant", ladder),
            ("must_have", criteria),
            ("both_sides", measure and measure.sides),
        ):
            if not needed:
                self.fields[name].widget = self.fields[name].hidden_widget()

    def entry(self) -> tuple[str, dict[str, Any]]:
        """'measure' or 'shape', and the keys of the requirement."""
        data = self.cleaned_data
        if data["item"] in self.programme.shapes:
            return "shape", {
                "shape": data["item"],
                "min": plain(data["minimum"]),
                "must_have": data["must_have"],
            }
        asked: dict[str, Any] = {"measure": data["item"], "min": plain(data["minimum"])}
        spec = self.programme.measures[data["item"]]
        asked |= {"side": "both"} if data["both_sides"] and spec.sides else {}
        asked |= {"variant": data["variant"]} if data["variant"] else {}
        asked |= {"soft_under": data["soft_under"]} if data["soft_under"] else {}
        return "measure", asked
