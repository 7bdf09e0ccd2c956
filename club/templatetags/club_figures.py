"""Line drawings in a page. Nothing here decides what is shown; it only draws."""

from __future__ import annotations

from django import template
from django.utils.safestring import SafeString, mark_safe

from club import figures

register = template.Library()


@register.simple_tag
def figure(
    name: str, *, variant: str = "", fault: str = "", size: str = "", decorative: bool = False
) -> SafeString:
    """{% figure "hollow" fault="low_back" size="thumb" %}: inline SVG, or nothing when there is no drawing.

    `decorative=True` hides it from screen readers when its name stands beside it.
    """
    drawn = figures.figure(
        name, variant=variant or "", fault=fault or "", css=size, decorative=bool(decorative)
    )
    return mark_safe(drawn)  # built by us from numbers and escaped labels


@register.simple_tag
def figure_symbols(*names: str) -> SafeString:
    """{% figure_symbols "hollow" "arch" %}: a hidden sprite for script to use by href."""
    return mark_safe(figures.symbols(names))


@register.filter
def has_figure(name: str) -> bool:
    """{% if item.id|has_figure %}: whether there is a drawing."""
    return figures.find(name) is not None
