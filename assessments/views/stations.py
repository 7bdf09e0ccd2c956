"""Station passes: a shared tablet joins a day as a place, not as a person."""

from __future__ import annotations

import io
import uuid

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST

from assessments import days
from assessments.day_forms import PassForm
from assessments.models import AssessmentDay, StationPass
from assessments.views.tablet_door import token_is_good
from club.access import Can, open_to_all, requires, visible_or_404
from club.http import ClubRequest
from club.middleware import STATION_COOKIE, STATION_HEADER


@require_http_methods(["GET", "POST"])
@requires(Can.PLAN_DAYS)
def pass_create(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Make a pass and show its code once: scan it with the tablet, or type the address."""
    day = visible_or_404(AssessmentDay, request.viewer, code)
    label = f"Tablet {day.passes.count() + 1}"
    form = PassForm(request.POST or None, initial={"label": label})
    if request.method == "POST" and form.is_valid():
        made, token = days.make_pass(day, request.viewer, label=form.cleaned_data["label"])
        link = request.build_absolute_uri(reverse("assessments:station_join", args=[token]))
        here = {"day": day, "made": made, "link": link, "code": _qr(link), "secure": request.is_secure()}
        return render(request, "assessments/pass_made.html", here)
    return render(
        request,
        "assessments/pass_create.html",
        {"day": day, "form": form},
        status=422 if form.errors else 200,
    )


def _qr(link: str) -> SafeString:
    """The link as a drawing, black on white in the dark theme too: cameras need it so."""
    drawn = io.BytesIO()
    import segno  # only this page draws a code

    segno.make(link, error="m").save(
        drawn,
        kind="svg",
        scale=6,
        border=2,
        xmldecl=False,
        svgns=True,
        svgclass="qr",
        lineclass=None,
        light="#fff",
    )
    return mark_safe(drawn.getvalue().decode())  # made here from our own address


@require_POST
@requires(Can.PLAN_DAYS)
def pass_end(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The pass ends at once."""
    station_pass = visible_or_404(StationPass, request.viewer, code)
    days.end_pass(station_pass, request.viewer)
    messages.success(request, f"The pass of {station_pass.label} has ended.")
    return redirect("assessments:day", station_pass.day.code)


@require_http_methods(["GET", "POST"])
@open_to_all
def station_join(request: ClubRequest, token: str) -> HttpResponse:
    """Carry the pass on this device. Whoever is signed in here is asked first, then signed out."""
    found = StationPass.objects.usable(token, timezone.now())
    if found is None:
        return render(request, "assessments/station_gone.html", status=410)
    if request.user.is_authenticated and request.method != "POST":
        return render(request, "assessments/station_join.html", {"station_pass": found})
    if request.user.is_authenticated:
        logout(request)
    StationPass.objects.filter(pk=found.pk).update(last_seen_at=timezone.now())
    response = redirect("assessments:floor", found.day.code)
    response.set_cookie(
        STATION_COOKIE,
        token,
        expires=found.expires_at,
        httponly=True,
        samesite="Lax",
        secure=not settings.LOCAL,
    )
    return response


@csrf_exempt  # the header stands for the token, see below
@require_http_methods(["GET", "POST"])
@open_to_all
def station_leave(request: ClubRequest) -> HttpResponse:
    """Put the pass down. The floor asks first when entries still wait."""
    if request.method != "POST":
        return render(request, "assessments/station_leave.html")
    # Another site's page cannot send this header, so a tablet that names its pass needs no token. The pass may have
    # ended meanwhile; it is put down all the same.
    by_script = bool(request.headers.get(STATION_HEADER))
    if not by_script and not token_is_good(request):
        return render(request, "club/page_too_old.html", status=403)
    response = HttpResponse(status=204) if by_script else redirect("club:sign_in")
    response.delete_cookie(STATION_COOKIE, samesite="Lax")
    return response
