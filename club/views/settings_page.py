"""The club's settings."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from club import audit
from club.access import Can, requires
from club.forms import ClubForm
from club.http import ClubRequest
from club.models import ClubProfile


@require_http_methods(["GET", "POST"])
@requires(Can.MANAGE_CLUB)
def club_settings(request: ClubRequest) -> HttpResponse:
    """Name, contacts and season."""
    form = ClubForm(request.POST or None, instance=ClubProfile.current())
    if request.method == "POST" and form.is_valid():
        form.save()
        audit.note(request.viewer, "changed the club settings")
        messages.success(request, "The club settings are saved.")
        return redirect("club:club_settings")
    return render(request, "club/club_settings.html", {"form": form}, status=422 if form.errors else 200)
