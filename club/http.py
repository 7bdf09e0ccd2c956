"""The request as the views know it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpRequest

if TYPE_CHECKING:
    from django_htmx.middleware import HtmxDetails

    from club.access import Viewer
    from club.models import User


class ClubRequest(HttpRequest):
    """A request after the middleware: it carries a viewer and the htmx details."""

    user: User
    viewer: Viewer
    htmx: HtmxDetails
