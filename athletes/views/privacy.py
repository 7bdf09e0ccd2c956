"""A child's data as a whole: take it out, or erase it."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from athletes import privacy
from athletes.forms import EraseForm
from athletes.models import Athlete
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.EXPORT)
def athlete_export(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Everything about one child, as a file."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    if athlete.restricted:
        messages.error(
            request, "Disclosure is restricted for this child. Lift it first, or answer in person."
        )
        return redirect("athletes:athlete", code)
    audit.note(request.viewer, "took out a child's data", athlete)
    response = HttpResponse(privacy.as_json(privacy.export(athlete)), content_type="application/json")
    response.headers["Content-Disposition"] = f'attachment; filename="child-{athlete.code}.json"'
    return response


@require_http_methods(["GET", "POST"])
@requires(Can.ERASE)
def athlete_erase(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Erase a child for good. This is the one act that cannot be undone, so it asks for the name."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    form = EraseForm(request.POST or None, athlete=athlete)
    if request.method == "POST" and form.is_valid():
        gone = privacy.erase(athlete, request.viewer)
        messages.success(request, f"Erased, with {gone} rows. Backups follow on their own rota.")
        return redirect("athletes:athlete_list")
    return render(
        request,
        "athletes/athlete_erase.html",
        {"form": form, "athlete": athlete},
        status=422 if form.errors else 200,
    )
