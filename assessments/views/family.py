"""Family notes: what a guardian reads, and how a coach writes, releases and takes back."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from assessments.family_reports import CannotRelease, approve, change, warnings_about, withdraw, write
from assessments.models import FamilyReport
from assessments.read_forms import FamilyNoteForm
from assessments.reports import athlete_report
from athletes.models import Athlete
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.READ_FAMILY_NOTES)
def family(request: ClubRequest) -> HttpResponse:
    """A guardian's own children and the notes that were released to them."""
    notes: dict[int, list[FamilyReport]] = {}
    for note in FamilyReport.objects.visible_to(request.viewer).order_by("-approved_at", "-pk"):
        notes.setdefault(note.athlete_id, []).append(note)
    children = Athlete.objects.visible_to(request.viewer).in_name_order()
    shown = [(child, notes.get(child.pk, [])) for child in children]
    return render(request, "family/family.html", {"shown": shown})


@require_GET
@requires(Can.READ_FAMILY_NOTES, Can.FAMILY_NOTES)
def family_report(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """One note: as the family reads it, with the staff's buttons above it for staff."""
    note = visible_or_404(FamilyReport, request.viewer, code)
    context = {"note": note, "body": note.body, "staff": request.viewer.can(Can.FAMILY_NOTES)}
    if context["staff"]:
        circle = Athlete.objects.visible_to(request.viewer).exclude(pk=note.athlete_id)
        context["warnings"] = warnings_about(note, dict.fromkeys(circle.values_list("first_name", flat=True)))
    else:
        audit.note(request.viewer, "read a family note", note.athlete)
    return render(request, "family/family_report.html", context)


@require_GET
@requires(Can.FAMILY_NOTES)
def family_report_list(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """All notes about one child, with what became of them."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    audit.note(request.viewer, "opened a child's family notes", athlete)
    notes = FamilyReport.objects.visible_to(request.viewer).filter(athlete=athlete)
    context = {"athlete": athlete, "notes": list(notes.select_related("written_by", "approved_by"))}
    return render(request, "assessments/family_report_list.html", context)


@require_POST
@requires(Can.FAMILY_NOTES)
def family_report_write(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Compose a draft from today's results."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    note = write(athlete, report=athlete_report(athlete, request.viewer.today), viewer=request.viewer)
    return redirect("assessments:family_report_edit", note.code)


@require_http_methods(["GET", "POST"])
@requires(Can.FAMILY_NOTES)
def family_report_edit(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Put a draft into the coach's own words."""
    note = visible_or_404(FamilyReport, request.viewer, code)
    if note.status != FamilyReport.Status.DRAFT:
        return redirect("assessments:family_report", note.code)
    form = FamilyNoteForm(request.POST or None, note=note)
    if request.method == "POST" and form.is_valid():
        if not change(note, form.cleaned_data, viewer=request.viewer):
            messages.warning(request, "This note was released meanwhile. Nothing was changed.")
        return redirect("assessments:family_report", note.code)
    context = {"note": note, "form": form}
    return render(request, "assessments/family_report_edit.html", context, status=422 if form.errors else 200)


@require_POST
@requires(Can.FAMILY_NOTES)
def family_report_approve(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Release a note to the family."""
    note = visible_or_404(FamilyReport, request.viewer, code)
    try:
        approve(note, viewer=request.viewer)
    except CannotRelease as problem:
        messages.error(request, str(problem))
    else:
        messages.success(request, "Released. The family can read it now; you can take it back at any time.")
    return redirect("assessments:family_report", note.code)


@require_POST
@requires(Can.FAMILY_NOTES)
def family_report_withdraw(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Take a note back."""
    note = visible_or_404(FamilyReport, request.viewer, code)
    withdraw(note, viewer=request.viewer)
    messages.success(request, "Taken back. The family no longer sees it.")
    return redirect("assessments:family_report_list", note.athlete.code)
