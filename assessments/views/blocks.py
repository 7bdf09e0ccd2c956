"""A block plan for a group or a child, a rotation for a test day, and when a skill's requirements may be met."""

from __future__ import annotations

import uuid

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from assessments.blocks import USUAL_MINUTES, child_block, group_block
from assessments.forms_plans import BlockForm, RotationForm
from assessments.models import AssessmentDay
from assessments.number_pages import forecast_line
from assessments.numbers import skill_forecasts
from assessments.reports import athlete_report, day_sheet, group_report
from assessments.rotations import rotation_of, stations_of
from athletes.models import Athlete, Group
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.SEE_PROGRESS)
def block_plan(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The next block of a group: exercises in order, and each child's own amount."""
    group = visible_or_404(Group, request.viewer, code)
    audit.note(request.viewer, "opened a group's block plan", group)
    form = BlockForm(request.GET or None, initial={"minutes": group.block_minutes})
    minutes = (form.is_valid() and form.cleaned_data["minutes"]) or group.block_minutes
    viewer = request.viewer
    children = group.athletes.visible_to(viewer).training(viewer.today)
    plan = group_block(group_report(children, viewer.today), minutes=minutes)
    context = {"group": group, "plan": plan, "form": form}
    return render(request, "assessments/block_plan.html", context, status=422 if form.errors else 200)


@require_GET
@requires(Can.SEE_PROGRESS)
def child_block_plan(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The next block of one child: where to start, what to watch, what instead where an area rests."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    audit.note(request.viewer, "opened a child's block plan", athlete)
    usual = athlete.group.block_minutes if athlete.group else USUAL_MINUTES
    form = BlockForm(request.GET or None, initial={"minutes": usual})
    minutes = (form.is_valid() and form.cleaned_data["minutes"]) or usual
    plan = child_block(athlete_report(athlete, request.viewer.today), minutes=minutes)
    context = {"athlete": athlete, "plan": plan, "form": form}
    return render(request, "assessments/child_block_plan.html", context, status=422 if form.errors else 200)


@require_GET
@requires(Can.SEE_DAYS)
def day_rotation(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Who goes where and when on a test day."""
    day = visible_or_404(AssessmentDay, request.viewer, code)
    sheet = day_sheet(day)
    form = RotationForm(request.GET, stations=stations_of(sheet))
    plan = None
    if form.is_valid():
        seen = {
            str(code) for code in Athlete.objects.visible_to(request.viewer).values_list("code", flat=True)
        }
        plan = rotation_of(sheet, minutes=form.given_minutes, places=form.places, seen=seen)
    context = {"day": day, "form": form, "plan": plan}
    return render(request, "assessments/day_rotation.html", context, status=200 if plan else 422)


@require_GET
@requires(Can.SEE_PROGRESS)
def skill_forecast(request: ClubRequest, code: uuid.UUID, slug: str) -> HttpResponse:
    """When the open requirements of one skill may be met: a page, or a fragment for the child's page."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    audit.note(request.viewer, "opened a child's forecast", athlete)
    report = athlete_report(athlete, request.viewer.today)
    if slug not in report.programme.skills:
        raise Http404("No such skill in the current edition.")
    context = {
        "athlete": athlete,
        "skill": report.programme.skills[slug],
        "lines": [forecast_line(one) for one in skill_forecasts(report, slug)],
        "on": report.on,
    }
    template = "assessments/_forecast.html" if request.htmx else "assessments/skill_forecast.html"
    return render(request, template, context)
