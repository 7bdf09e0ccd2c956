"""What needs a person: two entries in one place, and entries that could not be taken."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from assessments import amending
from assessments.days import units_of
from assessments.models import AssessmentDay, RefusedEntry, Result
from assessments.unsettled import contested_places, refused_lines
from club.access import Can, Viewer, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.SEE_DAYS)
def day_unsettled(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Both entries of each conflict side by side, and each refused entry with its reason."""
    day = visible_or_404(AssessmentDay, request.viewer, code)
    here = {
        "day": day,
        "units": units_of(day),
        "places": contested_places(day, request.viewer),
        "refused": refused_lines(day, request.viewer),
        "may_settle": amending.may_settle(day, request.viewer),
    }
    return render(request, "assessments/day_unsettled.html", here)


@require_POST
@requires(Can.PLAN_DAYS)
def conflict_settle(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """This entry counts; the other one stays in the history."""
    kept = visible_or_404(Result, request.viewer, code)
    _must_settle(kept.day, request.viewer)
    if amending.settle(kept, request.viewer, reason=request.POST.get("reason", "")[:120]):
        messages.success(request, f"Settled for {kept.athlete}. The other entry stays in the history.")
    else:
        messages.warning(request, "Nothing was left to settle there. Look at what stands now.")
    return redirect("assessments:day_unsettled", kept.day.code)


@require_POST
@requires(Can.PLAN_DAYS)
def refused_settle(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Try the entry once more in one's own name, or put it aside."""
    refused = visible_or_404(RefusedEntry, request.viewer, code)
    if refused.day is not None:
        _must_settle(refused.day, request.viewer)
    take = request.POST.get("act") == "take"
    answer = amending.settle_refused(refused, request.viewer, take=take)
    if answer is not None and answer.word == "refused":
        messages.error(request, f"It cannot be taken: {answer.reason}")
    else:
        messages.success(request, "The entry is in." if take else "Put aside. Its text is kept for 30 days.")
    if refused.day is None:
        return redirect("assessments:day_list")
    return redirect("assessments:day_unsettled", refused.day.code)


def _must_settle(day: AssessmentDay, viewer: Viewer) -> None:
    """The director, or the lead of the day."""
    if not amending.may_settle(day, viewer):
        raise PermissionDenied
