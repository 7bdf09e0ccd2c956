"""The guide inside the app, and the safeguarding page that is one tap from everywhere."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from club.access import Can, requires
from club.http import ClubRequest

PAGES = {
    "test-day": "How to run a test day",
    "numbers": "What every number means",
    "cautions": "Cautions and when to stop",
    "families": "Talking with families",
    "offline": "Tablets without wifi",
    "privacy": "Children's data",
    "sources": "Sources",
}


@require_GET
@requires(Can.SEE_CHILDREN)
def guide(request: ClubRequest) -> HttpResponse:
    """The table of contents."""
    return render(request, "club/guide.html", {"pages": PAGES})


@require_GET
@requires(Can.SEE_CHILDREN)
def guide_page(request: ClubRequest, page: str) -> HttpResponse:
    """One page of the guide."""
    if page not in PAGES:
        raise Http404
    name = page.replace("-", "_")
    return render(request, f"club/guide_{name}.html", {"pages": PAGES, "title": PAGES[page], "page": page})


@require_GET
@requires(Can.SIGN_IN)
def safeguarding(request: ClubRequest) -> HttpResponse:
    """Whom to call. The app itself takes no reports."""
    return render(request, "club/safeguarding.html")
