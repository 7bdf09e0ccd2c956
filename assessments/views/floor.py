"""The tablet's page. It holds no child: names come from floor_data and live in the tablet's own store."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from assessments.models import AssessmentDay, StationPass
from club import figures
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest
from club.middleware import STATION_COOKIE
from club.worker import version


@require_GET
@requires(Can.RECORD_RESULTS)
def floor(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """One page for all stations of a day; it works without the club once it has been opened."""
    day = visible_or_404(AssessmentDay, request.viewer, code)
    context = {"day": day, "config": config_of(request, day), "drawings": drawings_of(day)}
    response = render(request, "assessments/floor.html", context)
    # The worker keeps pages with this header only, so a sign-in page can never take this one's place.
    response.headers["X-Groundwork-Page"] = "floor"
    return response


def config_of(request: ClubRequest, day: AssessmentDay) -> dict[str, Any]:
    """What the script needs: whose tablet this is, and where the doors are."""
    viewer = request.viewer
    station, member = viewer.station, viewer.member
    passed = StationPass.objects.filter(pk=station.pass_id).first() if station is not None else None
    of_day = {"code": day.code}
    return {
        "day": str(day.code),
        "who": str(member.code) if member is not None else "",
        "pass": request.COOKIES.get(STATION_COOKIE, "") if passed is not None else "",
        "pass_code": str(passed.code) if passed is not None else "",
        "label": passed.label if passed is not None else "",
        "version": version(),
        "urls": {
            "data": reverse("assessments:floor_data", kwargs=of_day),
            "sync": reverse("assessments:sync", kwargs=of_day),
            "reconcile": reverse("assessments:sync_reconcile", kwargs=of_day),
            "roll": reverse("assessments:sync_roll", kwargs=of_day),
            "token": reverse("assessments:sync_token"),
            "worker": reverse("club:service_worker"),
        },
    }


def drawings_of(day: AssessmentDay) -> list[dict[str, str]]:
    """The line drawings of the day's stations, each once; the plain one too, for a variant without its own."""
    wanted = {
        pair
        for slug, variant in day.stations.values_list("measure__slug", "variant")
        if figures.find(slug) is not None
        for pair in ((slug, ""), (slug, variant))
    }
    return [{"name": name, "variant": variant} for name, variant in sorted(wanted)]
