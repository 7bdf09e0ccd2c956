"""What a page with a chart puts into its head, so that the drawing library adds no style of its own."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from django import template
from django.contrib.staticfiles import finders
from django.templatetags.static import static
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()

_MAP_STYLE = re.compile(rb'getElementById\("([0-9a-f]{64})"\)')


@register.simple_tag
def chart_head() -> SafeString:
    """Our sheet under the id that plotly looks for, and the id of its map sheet, which no chart of ours needs."""
    own = format_html(
        '<link id="plotly.js-style-global" class="no-inline-styles" rel="stylesheet" href="{}">',
        static("club/plotly.css"),
    )
    unused = map_style_id()
    return own + format_html('<meta id="{}" name="map-style" content="none">', unused) if unused else own


@cache
def map_style_id() -> str:
    """The id under which the installed plotly would add the style of its maps; "" when it adds none.

    It looks for an element with this id first. Ours is there, so the page's content policy has nothing to refuse.
    """
    path = finders.find("plotly/plotly.min.js")
    if not path:
        return ""
    found = _MAP_STYLE.search(Path(path).read_bytes())
    return found.group(1).decode() if found else ""
