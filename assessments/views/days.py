"""Test days: list, plan, watch, open, close."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from assessments import days
from assessments.amending import may_settle
from assessments.day_forms import CloseForm, DayPlanForm
from assessments.models import AssessmentDay
from assessments.programme import NoProgramme, current_programme
from assessments.unsettled import homeless_lines
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.SEE_DAYS)
def day_list(request: ClubRequest) -> HttpResponse:
    """Days of the viewer's groups, newest first."""
    found = AssessmentDay.objects.visible_to(request.viewer).newest_first().prefetch_related("groups")
    page = Paginator(found.defer("edition"), 30).get_page(request.GET.get("page"))
    return render(
        request, "assessments/day_list.html", {"page": page, "homeless": homeless_lines(request.viewer)}
    )


@require_http_methods(["GET", "POST"])
@requires(Can.PLAN_DAYS)
def day_plan(request: ClubRequest) -> HttpResponse:
    """A new test day."""
    member = request.viewer.member
    fresh = AssessmentDay(created_by=member, lead=member, held_on=request.viewer.today)
    return _planned(request, fresh, initial={"coaches": [member]})


@require_http_methods(["GET", "POST"])
@requires(Can.PLAN_DAYS)
def day_edit(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Other groups, stations or people."""
    return _planned(request, visible_or_404(AssessmentDay, request.viewer, code), initial={})


def _planned(request: ClubRequest, day: AssessmentDay, *, initial: dict[str, object]) -> HttpResponse:
    try:
        programme = current_programme()
    except NoProgramme:
        return render(request, "assessments/day_plan_empty.html", status=200)
    form = DayPlanForm(
        request.POST or None, instance=day, viewer=request.viewer, programme=programme, initial=initial
    )
    if request.method == "POST" and form.is_valid():
        planned = form.save()
        days.set_stations(planned, form.wanted())
        audit.note(request.viewer, "planned a test day", planned)
        if not planned.open_space:
            messages.warning(request, "Plan for two adults, or a space that is open to view.")
        return redirect("assessments:day", planned.code)
    return render(
        request, "assessments/day_plan.html", {"form": form, "day": day}, status=422 if form.errors else 200
    )


@require_GET
@requires(Can.SEE_DAYS)
def day(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Who is there, how far each station is, and what is not in yet."""
    found = visible_or_404(AssessmentDay, request.viewer, code)
    sheet = days.day_sheet(found, request.viewer)
    passes = found.passes.all()
    here = {
        "sheet": sheet, "day": found, "passes": passes, "may_settle": may_settle(found, request.viewer)
    }  # fmt: skip
    return render(request, "assessments/day.html", here)


@require_POST
@requires(Can.PLAN_DAYS)
def day_open(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """From now on results are taken."""
    found = visible_or_404(AssessmentDay, request.viewer, code)
    if found.held_on > request.viewer.today:
        messages.error(request, "This day has not come yet. Change its date, or open it on the day.")
    else:
        days.open_day(found, request.viewer)
        messages.success(request, "The day is open. Let tablets join, or use this device.")
        if not found.open_space:
            messages.warning(request, "Nobody has confirmed two adults or a space that is open to view.")
    return redirect("assessments:day", code)


@require_http_methods(["GET", "POST"])
@requires(Can.PLAN_DAYS)
def day_close(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Green when every tablet holds what the club holds; otherwise words are asked for."""
    found = visible_or_404(AssessmentDay, request.viewer, code)
    sheet = days.day_sheet(found, request.viewer)
    form = CloseForm(request.POST if request.method == "POST" else None, green=not sheet.open_ends)
    if request.method == "POST" and form.is_valid():
        days.close_day(found, request.viewer, words=form.cleaned_data.get("words", ""))
        messages.success(request, "The day is closed. What still arrives is taken and marked late.")
        return redirect("assessments:day", code)
    here = {"day": found, "sheet": sheet, "form": form}
    return render(request, "assessments/day_close.html", here, status=422 if form.errors else 200)


@require_POST
@requires(Can.PLAN_DAYS)
def day_reopen(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """A closed day takes results again."""
    found = visible_or_404(AssessmentDay, request.viewer, code)
    days.reopen_day(found, request.viewer)
    messages.success(request, "The day is open again.")
    return redirect("assessments:day", code)
