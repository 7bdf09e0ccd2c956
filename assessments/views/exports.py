"""Results taken out as a file, and written down in the trail."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET

from assessments.export_results import as_csv, entries_as_csv
from assessments.models import AssessmentDay
from athletes.models import Athlete, Group
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.EXPORT)
def child_export(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """One child's results; not while disclosure is restricted."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    if athlete.restricted:
        messages.error(request, "Disclosure is restricted for this child. Nothing was taken out.")
        return redirect("assessments:child", code)
    audit.note(request.viewer, "took out a child's results", athlete)
    return _file(as_csv([athlete]), f"results-{athlete.code}.csv")


@require_GET
@requires(Can.EXPORT)
def group_export(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The results of a group's children, without those whose disclosure is restricted."""
    group = visible_or_404(Group, request.viewer, code)
    children = Athlete.objects.visible_to(request.viewer).training(request.viewer.today)
    free = list(children.filter(group=group, restricted=False))
    audit.note(request.viewer, "took out a group's results", group, children=len(free))
    return _file(as_csv(free), f"results-{group.code}.csv")


@require_GET
@requires(Can.EXPORT)
def entries_export(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Every entry of one test day, whatever became of it, without children whose disclosure is restricted."""
    day = visible_or_404(AssessmentDay, request.viewer, code)
    audit.note(request.viewer, "took out every entry of a test day", day)
    return _file(entries_as_csv(day), f"entries-{day.code}.csv")


def _file(text: str, name: str) -> HttpResponse:
    # The mark at the start tells spreadsheet programs that accents are UTF-8.
    response = HttpResponse("\ufeff" + text, content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
