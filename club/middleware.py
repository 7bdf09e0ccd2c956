"""Builds request.viewer from a signed-in member or from a tablet's station pass, and forbids caching."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.urls import Resolver404, resolve
from django.utils import timezone
from django.utils.cache import add_never_cache_headers, patch_vary_headers

from assessments.models import StationPass
from club.access import Role, Station, Viewer

STATION_COOKIE = "station"
STATION_HEADER = "X-Station-Pass"
#: The only pages that a station pass reaches.
STATION_URLS = frozenset(
    {
        "assessments:floor",
        "assessments:floor_data",
        "assessments:station_join",
        "assessments:station_leave",
        "assessments:sync",
        "assessments:sync_reconcile",
        "assessments:sync_roll",
    }
)


class ViewerMiddleware:
    """Every view can rely on request.viewer."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.viewer = self.viewer_of(request)  # type: ignore[attr-defined]
        response = self.get_response(request)
        if not response.has_header("Cache-Control"):
            add_never_cache_headers(response)
        patch_vary_headers(response, ["HX-Request"])
        return response

    def viewer_of(self, request: HttpRequest) -> Viewer:
        """A station pass in the header wins, then the signed-in member, then a pass in the cookie."""
        today = timezone.localdate()
        header = request.headers.get(STATION_HEADER, "")
        if header:
            return Viewer(today=today, station=self.station_of(request, header))
        if request.user.is_authenticated:
            member = request.user
            return Viewer(today=today, member=member, role=Role(member.role))
        return Viewer(today=today, station=self.station_of(request, request.COOKIES.get(STATION_COOKIE, "")))

    def station_of(self, request: HttpRequest, token: str) -> Station | None:
        """The station behind a token, if the pass is in force and the page is one that it reaches."""
        if not token or self.url_name(request) not in STATION_URLS:
            return None
        found = StationPass.objects.usable(token, timezone.now())
        if found is None:
            return None
        groups = frozenset(found.day.groups.values_list("pk", flat=True))
        return Station(
            pass_id=found.pk,
            day_id=found.day_id,
            day_code=found.day.code,
            group_ids=groups,
            label=found.label,
        )

    @staticmethod
    def url_name(request: HttpRequest) -> str:
        """The name of the page asked for; empty when there is none."""
        try:
            return resolve(request.path_info).view_name
        except Resolver404:
            return ""
