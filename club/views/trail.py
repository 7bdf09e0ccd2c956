"""Who opened, changed or took out what."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from club.access import Can, requires
from club.http import ClubRequest
from club.models import AuditEntry


@require_GET
@requires(Can.SEE_AUDIT)
def audit_trail(request: ClubRequest) -> HttpResponse:
    """Newest first, with a search by person or act."""
    words = request.GET.get("q", "").strip()
    rows = AuditEntry.objects.visible_to(request.viewer)
    if words:
        rows = rows.filter(actor_name__icontains=words) | rows.filter(verb__icontains=words)
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    return render(request, "club/audit_trail.html", {"page": page, "words": words, "query": f"&q={words}"})
