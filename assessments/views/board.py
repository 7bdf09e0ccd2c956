"""A group: the board of children and skills, and one measure over the group."""

from __future__ import annotations

import uuid

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from assessments.board_page import board_page, measure_rows, measure_summary, spread_words
from assessments.report_records import GroupReport
from assessments.reports import group_report
from athletes.models import Athlete, Group
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.SEE_PROGRESS)
def board(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Children by skills; `?area=` keeps one apparatus, `?order=test` puts those who need a test first."""
    group = visible_or_404(Group, request.viewer, code)
    audit.note(request.viewer, "opened a group's board", group)
    report = _report(request, group)
    area, order = request.GET.get("area", ""), request.GET.get("order", "name")
    page = board_page(report, area=area, order=order)
    context = {"group": group, "report": report, "page": page, "area": area, "order": order}
    return render(request, "assessments/board.html", context)


@require_GET
@requires(Can.SEE_PROGRESS)
def board_print(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The board on one sheet of paper."""
    group = visible_or_404(Group, request.viewer, code)
    audit.note(request.viewer, "printed a group's board", group)
    report = _report(request, group)
    return render(
        request,
        "assessments/board_print.html",
        {"group": group, "report": report, "page": board_page(report)},
    )


@require_GET
@requires(Can.SEE_PROGRESS)
def group_progress(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """One measure or shape over the group: each child's own line, and how far the evidence reaches."""
    group = visible_or_404(Group, request.viewer, code)
    audit.note(request.viewer, "opened a group's progress", group)
    report = _report(request, group)
    items = report.programme.items()
    asked = request.GET.get("item", "")
    tested = {one.item: one.children for one in report.summary.measures}
    spec = next((one for one in items if one.id == asked), None) or max(items, key=lambda one: tested[one.id])
    context = {
        "group": group,
        "report": report,
        "items": items,
        "spec": spec,
        "summary": measure_summary(report, spec.id),
        "spread": spread_words(report, spec),
        "rows": measure_rows(report, spec),
    }
    return render(request, "assessments/group_progress.html", context)


def _report(request: ClubRequest, group: Group) -> GroupReport:
    children = Athlete.objects.visible_to(request.viewer).training(request.viewer.today).filter(group=group)
    return group_report(children, request.viewer.today)
