"""Attendance: who is there, and 'anything sore, ill or new?' before anything is tested."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from assessments.attendance import RollLine, mark, roll_of
from assessments.models import AssessmentDay
from athletes.models import BODY_AREAS
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest

_PRESENT = {"yes": True, "no": False}


@require_http_methods(["GET", "POST"])
@requires(Can.PLAN_DAYS)
def attendance(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """One line a child; a yes opens a rest note and ends that child's testing for the day."""
    day = visible_or_404(AssessmentDay, request.viewer, code)
    roll = roll_of(day, request.viewer)
    if request.method == "POST":
        lines = [line for row in roll if (line := _line(request, row.athlete.code)) is not None]
        mark(day, lines, request.viewer)
        hurt = sum(line.sore == "yes" for line in lines)
        messages.success(request, "Attendance is saved.")
        if hurt:
            messages.warning(
                request, f"{hurt} child{'' if hurt == 1 else 'ren'} rest today. Speak with the parent."
            )
        return redirect("assessments:day", code)
    return render(request, "assessments/attendance.html", {"day": day, "roll": roll, "areas": BODY_AREAS})


def _line(request: ClubRequest, child: uuid.UUID) -> RollLine | None:
    """What the page says about a child; nothing when nothing was touched."""
    present = _PRESENT.get(request.POST.get(f"present_{child}", ""))
    sore = request.POST.get(f"sore_{child}", "")
    if present is None and sore not in ("yes", "no"):
        return None
    return RollLine(
        child=child,
        at=timezone.now(),
        present=present,
        sore=sore if sore in ("yes", "no") else None,
        areas=tuple(request.POST.getlist(f"areas_{child}")),
    )
