"""One child's progress, and the short form of it for other pages."""

from __future__ import annotations

import uuid

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from assessments.progress_page import child_page
from assessments.reports import athlete_report
from athletes.models import Athlete
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.SEE_PROGRESS)
def child(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Measures, shapes and skills of one child; `?item=` chooses what is drawn."""
    found = visible_or_404(Athlete, request.viewer, code)
    audit.note(request.viewer, "opened a child's progress", found)
    report = athlete_report(found, request.viewer.today)
    context = {"athlete": found, "report": report, "page": child_page(report, request.GET.get("item", ""))}
    return render(request, f"assessments/child.html{'#item' if request.htmx else ''}", context)


@require_GET
@requires(Can.SEE_PROGRESS)
def child_summary(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The states and the newest sentences of one child, as a fragment for the child's details."""
    found = visible_or_404(Athlete, request.viewer, code)
    audit.note(request.viewer, "opened a child's progress in short", found)
    report = athlete_report(found, request.viewer.today)
    return render(
        request,
        "assessments/child_summary.html",
        {"athlete": found, "report": report, "page": child_page(report)},
    )
