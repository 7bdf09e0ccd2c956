"""The start page of each role."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from assessments.programme import NoProgramme
from assessments.today import today_for
from club.access import Can, requires
from club.http import ClubRequest


@require_GET
@requires(Can.SIGN_IN)
def home(request: ClubRequest) -> HttpResponse:
    """Guardians go to their family page; staff see what waits today."""
    if request.viewer.is_guardian:
        return redirect("assessments:family")
    try:
        today = today_for(request.viewer)
    except NoProgramme:
        return render(request, "club/home_without_programme.html")
    return render(request, "club/home.html", {"today": today})
