"""Start-up checks: every model says what happens on erasure, and who may see it when it leads to a child."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig, apps
from django.core.checks import CheckMessage, Error, register
from django.db import models

OUR_APPS = ("club", "athletes", "assessments")
PRIVACY_WORDS = frozenset({"erase", "strip", "keep"})


def leads_to_a_child(model: type[models.Model]) -> bool:
    """Whether a model is, or points straight to, a child."""
    if model._meta.label == "athletes.Athlete":
        return True
    return any(
        isinstance(field, models.ForeignKey) and field.related_model._meta.label == "athletes.Athlete"
        for field in model._meta.get_fields()
    )


@register()
def every_model_keeps_the_rules(
    app_configs: Sequence[AppConfig] | None = None, **_: Any
) -> list[CheckMessage]:
    """A model without a privacy word, or one about a child without visible_to, stops the start."""
    found: list[CheckMessage] = []
    for label in OUR_APPS:
        for model in apps.get_app_config(label).get_models():
            if getattr(model, "privacy", None) not in PRIVACY_WORDS:
                found.append(
                    Error(
                        f"{model._meta.label} does not say what happens on erasure.",
                        hint="Set privacy = 'erase', 'strip' or 'keep'.",
                        id="groundwork.E001",
                    )
                )
            if leads_to_a_child(model) and not hasattr(model._default_manager.all(), "visible_to"):
                found.append(
                    Error(
                        f"{model._meta.label} leads to a child and has no visible_to(viewer).",
                        hint="Add it to the queryset, in one line through Athlete.",
                        id="groundwork.E002",
                    )
                )
    return found
