"""The request as the views know it, and where it came from."""

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


def client_address(request: HttpRequest) -> str:
    """Whose address it is when a proxy stands in front: the last one named, which the proxy wrote itself.

    What stands before it came with the request, and can be made up.
    """
    named = str(request.META.get("HTTP_X_FORWARDED_FOR", "")).split(",")[-1].strip()
    return named or str(request.META.get("REMOTE_ADDR", ""))
