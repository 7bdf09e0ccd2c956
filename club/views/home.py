"""The start page of each role."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from club.access import Can, requires
from club.http import ClubRequest


@require_GET
@requires(Can.SIGN_IN)
def home(request: ClubRequest) -> HttpResponse:
    """Guardians go to their family page; staff see today."""
    if request.viewer.is_guardian:
        return redirect("assessments:family")
    return render(request, "club/home.html")
