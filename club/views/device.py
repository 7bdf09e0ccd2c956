"""What a tablet needs besides pages: service worker, manifest, offline page, health."""

from __future__ import annotations

import uuid

from django.db import connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_GET

from club import worker
from club.access import open_to_all
from club.models import ClubProfile

#: Stands for the day in an address; the script puts the entry's own day in its place.
_ANY_DAY = uuid.UUID(int=0)


@require_GET
@open_to_all
def service_worker(request: HttpRequest) -> HttpResponse:
    """The worker stands at the root, so that it may answer for every page of the floor."""
    context = {"shell": worker.shell(), "version": worker.version()}
    response = render(request, "club/sw.js", context, content_type="text/javascript")
    response.headers["Cache-Control"] = "no-cache"
    return response


@require_GET
@open_to_all
def manifest(request: HttpRequest) -> HttpResponse:
    """Lets a tablet put the app on its home screen."""
    body = {
        "name": f"Groundwork · {ClubProfile.current().name}",
        "short_name": "Groundwork",
        "start_url": reverse("club:home"),
        "display": "standalone",
        "background_color": "#f7f6f2",
        "theme_color": "#1b2330",
        "icons": [
            {"src": static("club/icon.svg"), "sizes": "any", "type": "image/svg+xml"},
            {"src": static("club/icon-192.png"), "sizes": "192x192", "type": "image/png"},
            {"src": static("club/icon-512.png"), "sizes": "512x512", "type": "image/png"},
            {
                "src": static("club/icon-maskable-512.png"),
                "sizes": "512x512",
                "type": "image/png",
                "purpose": "maskable",
            },
        ],
    }
    return JsonResponse(body, content_type="application/manifest+json")


@require_GET
@open_to_all
def offline(request: HttpRequest) -> HttpResponse:
    """Shown by the worker when a page is asked for that the tablet does not hold."""
    return render(request, "club/offline.html")


@require_GET
@open_to_all
def leaving(request: HttpRequest) -> HttpResponse:
    """What still waits on this tablet, and leaving it empty. The page itself knows nothing; its script looks."""
    config = {
        "token": reverse("assessments:sync_token"),
        "sync": reverse("assessments:sync", kwargs={"code": _ANY_DAY}),
        "roll": reverse("assessments:sync_roll", kwargs={"code": _ANY_DAY}),
        "reconcile": reverse("assessments:sync_reconcile", kwargs={"code": _ANY_DAY}),
        "day": str(_ANY_DAY),
        "leave": reverse("assessments:station_leave"),
        "sign_out": reverse("club:sign_out"),
        "sign_in": reverse("club:sign_in"),
    }
    return render(request, "club/leaving.html", {"config": config})


@require_GET
@open_to_all
def health(request: HttpRequest) -> HttpResponse:
    """Whether the server and its database answer."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return JsonResponse({"ok": True})
