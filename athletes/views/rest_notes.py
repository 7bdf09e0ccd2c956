"""Rest notes: open, narrow, end. A rest outranks every score."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from athletes.forms import RestEndForm, RestNarrowForm, RestNoteForm
from athletes.models import Athlete, RestNote
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.REST_NOTES)
def rest_note_list(request: ClubRequest) -> HttpResponse:
    """Who rests now, and which rests came back within 90 days."""
    audit.note(request.viewer, "looked at who rests")
    notes = RestNote.objects.visible_to(request.viewer).open().select_related("athlete__group")
    context = {"notes": notes, "came_back": notes.returning()}
    return render(request, "athletes/rest_note_list.html", context)


@require_http_methods(["GET", "POST"])
@requires(Can.REST_NOTES)
def rest_note_open(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Something hurts, or the child is not well."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    note = RestNote(athlete=athlete, opened_by=request.viewer.member, opened_on=request.viewer.today)
    form = RestNoteForm(request.POST or None, instance=note)
    if request.method == "POST" and form.is_valid():
        form.save()
        audit.note(request.viewer, "opened a rest note", athlete)
        messages.success(
            request, f"{athlete.first_name} rests: {note.area_words}. Speak with the parent today."
        )
        if note.returning:
            messages.warning(request, "This area rested within the last 90 days. The director sees it too.")
        return redirect("athletes:athlete", code)
    return render(
        request,
        "athletes/rest_note_open.html",
        {"form": form, "athlete": athlete},
        status=422 if form.errors else 200,
    )


@require_http_methods(["GET", "POST"])
@requires(Can.REST_NOTES)
def rest_note_narrow(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Fewer areas rest; the others may be tested again."""
    note = visible_or_404(RestNote, request.viewer, code)
    form = RestNarrowForm(request.POST or None, instance=note)
    if request.method == "POST" and form.is_valid():
        note.narrowed_at = timezone.now()
        form.save()
        audit.note(request.viewer, "narrowed a rest note", note.athlete)
        messages.success(request, f"Now resting: {note.area_words}.")
        return redirect("athletes:athlete", note.athlete.code)
    return render(
        request,
        "athletes/rest_note_narrow.html",
        {"form": form, "note": note},
        status=422 if form.errors else 200,
    )


@require_http_methods(["GET", "POST"])
@requires(Can.REST_NOTES)
def rest_note_end(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The rest ends with a ground and a named adult; suggestions wait for a fresh test."""
    note = visible_or_404(RestNote, request.viewer, code)
    initial = {"ended_on": request.viewer.today}
    form = RestEndForm(request.POST or None, instance=note, today=request.viewer.today, initial=initial)
    if request.method == "POST" and form.is_valid():
        note.ended_by = request.viewer.member
        form.save()
        audit.note(request.viewer, "ended a rest note", note.athlete)
        messages.success(
            request, "The rest has ended. Earlier results do not count as evidence: plan a fresh test."
        )
        return redirect("athletes:athlete", note.athlete.code)
    return render(
        request,
        "athletes/rest_note_end.html",
        {"form": form, "note": note},
        status=422 if form.errors else 200,
    )
