"""One result: its history, and second thoughts about it."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from assessments import amending, days
from assessments.days import Spec
from assessments.floor_sheet import programme_for
from assessments.models import AssessmentDay, Result
from assessments.recording import Answer
from assessments.result_forms import CorrectForm, EndStopForm, MoveForm
from athletes.models import Athlete
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest

RIGHTS = (Can.PLAN_DAYS,)


@require_GET
@requires(Can.SEE_DAYS)
def result_list(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Everything entered on a day, station by station."""
    day = visible_or_404(AssessmentDay, request.viewer, code)
    audit.note(request.viewer, "opened the results of a test day", day)
    rows = Result.objects.for_day(day).visible_to(request.viewer).current()
    rows = rows.select_related("athlete", "measure", "judge").order_by(
        "measure__name", "variant", "athlete__first_name", "athlete__last_name", "side", "trial"
    )
    contested = set(Result.objects.for_day(day).contested().values_list("pk", flat=True))
    here = {"day": day, "rows": rows, "contested": contested, "units": days.units_of(day)}
    return render(request, "assessments/result_list.html", here)


@require_GET
@requires(Can.SEE_DAYS)
def result(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Who entered what, when, and what took its place."""
    found = visible_or_404(Result, request.viewer, code)
    audit.note(request.viewer, "opened a child's result", found.athlete)
    return render(request, "assessments/result.html", _about(found))


@require_http_methods(["GET", "POST"])
@requires(*RIGHTS)
def result_correct(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Something else was seen. The first entry stays in the history."""
    found = visible_or_404(Result, request.viewer, code)
    about = _about(found)
    if about["spec"] is None:
        raise Http404("The programme of this day does not know the measure any more.")
    form = CorrectForm(request.POST or None, result=found, spec=about["spec"])
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        answer = amending.correct(
            found, request.viewer, reason=said["reason"], new_id=said["new_id"], changes=form.changes()
        )
        return _done(request, "assessments/result_correct.html", about, form, answer)
    return render(
        request,
        "assessments/result_correct.html",
        {**about, "form": form},
        status=422 if form.errors else 200,
    )


@require_http_methods(["GET", "POST"])
@requires(*RIGHTS)
def result_take_back(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """It should not count at all."""
    found = visible_or_404(Result, request.viewer, code)
    form = EndStopForm(request.POST or None, may_end_stop=amending.may_end_stop(found, request.viewer))
    page = "assessments/result_take_back.html"
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        answer = amending.take_back(found, request.viewer, **said)
        return _done(request, page, _about(found), form, answer)
    return render(request, page, {**_about(found), "form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@requires(*RIGHTS)
def result_move(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """It was another child's."""
    found = visible_or_404(Result, request.viewer, code)
    children = Athlete.objects.visible_to(request.viewer).exclude(pk=found.athlete_id)
    form = MoveForm(
        request.POST or None,
        children=children.select_related("group").in_name_order(),
        may_end_stop=amending.may_end_stop(found, request.viewer),
    )
    page = "assessments/result_move.html"
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        answer = amending.move_to_child(found, viewer=request.viewer, **said)
        return _done(request, page, _about(found), form, answer)
    return render(request, page, {**_about(found), "form": form}, status=422 if form.errors else 200)


def _about(found: Result) -> dict[str, Any]:
    spec: Spec | None = days.spec_of(programme_for(found.day), found.measure.slug)
    sharing = set(amending.place_of(found).values_list("pk", flat=True))
    return {
        "units": days.units_of(found.day),
        "contested": sharing if len(sharing) > 1 else set(),
        "result": found,
        "spec": spec,
        "variant": days.variant_words(spec, found.variant),
        "history": amending.history_of(found),
    }


def _done(
    request: ClubRequest, page: str, about: dict[str, Any], form: forms.Form, answer: Answer
) -> HttpResponse:
    if answer.word == "refused":
        form.add_error(None, answer.reason)
        return render(request, page, {**about, "form": form}, status=422)
    if answer.word == "conflict":
        messages.warning(request, "Another entry stands in the same place. Say which one counts.")
    else:
        messages.success(request, "Done. The history keeps what was there before.")
    return redirect("assessments:result", answer.id)
