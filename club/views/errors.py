"""Pages for what went wrong: what happened, what is safe, what to do."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Inside the circle, without the right."""
    return render(request, "club/forbidden.html", status=403)


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Nothing here, or nothing that this viewer is told of."""
    return render(request, "club/not_found.html", status=404)


def broken(request: HttpRequest) -> HttpResponse:
    """Our fault. The page needs no database."""
    # Without the request: the club's name and the menu come from the database.
    return HttpResponse(render_to_string("club/broken.html"), status=500)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The page was open for too long, or cookies are off."""
    return render(request, "club/page_too_old.html", status=403)
