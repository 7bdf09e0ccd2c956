"""Show a value with its unit, a date, an age. Formatting only: nothing is computed here."""

from __future__ import annotations

import math
from datetime import date

from django import template
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()

UNIT_WORDS = {"s": "s", "cm": "cm", "reps": "", "of_5": "of 5", "of_10": "of 10"}
STATE_WORDS = {
    "ready": "ready to try",
    "nearly": "nearly",
    "not_yet": "not yet",
    "not_known": "not known",
    "resting": "resting",
    "learning": "learning",
    "consistent": "consistent",
    "met": "met",
    "likely": "nearly",
    "advice": "advice only",
    "starting_out": "starting out",
    "building": "building",
    "club_aim": "club aim",
}
BLOCKS = {
    "ready": "ready",
    "met": "ready",
    "nearly": "nearly",
    "likely": "nearly",
    "not_yet": "notyet",
    "not_known": "unknown",
    "advice": "unknown",
    "resting": "resting",
    "consistent": "steady",
    "learning": "learning",
}
SUPPORT_WORDS = {
    "published": "published",
    "partly": "partly published",
    "derived": "worked out from published figures",
    "common_practice": "common practice, no source",
    "placeholder": "placeholder: use your own repeat tests",
}


@register.filter
def number(value: float | None) -> str:
    """A whole number without a point, another with one decimal; a dash for nothing."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return "–"
    rounded = round(float(value), 1)
    return f"{rounded:.0f}" if rounded == int(rounded) else f"{rounded:.1f}"


@register.simple_tag
def quantity(value: float | None, unit: str, at_least: bool = False) -> str:
    """A number with its unit in words: 'at least 60 s', '8 of 10', '12'."""
    if value is None:
        return "–"
    words = UNIT_WORDS.get(unit, unit)
    text = f"{number(value)} {words}".strip()
    return f"at least {text}" if at_least else text


@register.filter
def state_words(word: str) -> str:
    """A state as it is said on screen."""
    return STATE_WORDS.get(word, word.replace("_", " "))


@register.filter
def support_words(word: str) -> str:
    """What stands behind a number, in words."""
    return SUPPORT_WORDS.get(word, word.replace("_", " "))


@register.simple_tag
def glyph(word: str, label: str = "", hidden: bool = False) -> SafeString:
    """The block: one glyph for a state. Its text is near, or in its accessible name."""
    kind = BLOCKS.get(word, "unknown")
    if hidden:
        return format_html('<i class="block {}" aria-hidden="true"></i>', kind)
    words = label or state_words(word)
    return format_html('<i class="block {}" role="img" aria-label="{}" title="{}"></i>', kind, words, words)


@register.filter
def age_words(born_on: date, on: date | None = None) -> str:
    """'6 years 3 months' on a day; today when none is given."""
    from django.utils import timezone

    day = on or timezone.localdate()
    months = (day.year - born_on.year) * 12 + day.month - born_on.month - (day.day < born_on.day)
    years, rest = divmod(max(months, 0), 12)
    year_words = f"{years} year{'' if years == 1 else 's'}"
    return f"{year_words} {rest} month{'' if rest == 1 else 's'}" if rest else year_words


@register.filter
def day_words(value: date | None) -> str:
    """'14 November' this year, with the year otherwise."""
    from django.utils import timezone

    if value is None:
        return "–"
    return date_format(value, "j F" if value.year == timezone.localdate().year else "j F Y")


@register.filter
def percent(value: float | None) -> str:
    """A probability in whole per cent, for staff only; never 0 or 100."""
    if value is None:
        return "–"
    return f"{min(max(round(value * 100), 1), 99)} %"


@register.filter
def get(mapping: dict[object, object], key: object) -> object:
    """A value of a mapping by key; nothing when it is missing."""
    return mapping.get(key)
