"""Calibration of coaches on ten shared examples. The director proposes nothing alone and nothing is adopted by itself."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from assessments import coach_calibration as door
from assessments.analysis.records import Programme
from assessments.forms_calibration import ExamplesForm, ScoresForm
from assessments.programme import NoProgramme, current_programme
from club import audit
from club.access import Can, requires
from club.http import ClubRequest
from club.models import Calibration, ExampleSet


@require_GET
@requires(Can.SEE_NUMBERS)
def calibration_list(request: ClubRequest) -> HttpResponse:
    """Sets of examples, what waits for a word, and every coach's history."""
    _programme()
    page = door.calibration_page(request.viewer.today)
    return render(request, "assessments/calibration_list.html", {"page": page})


@require_http_methods(["GET", "POST"])
@requires(Can.MANAGE_PEOPLE)
def examples_add(request: ClubRequest) -> HttpResponse:
    """Ten examples of one shape with their agreed totals."""
    form = ExamplesForm(request.POST or None, shapes=tuple(_programme().shapes.values()))
    if request.method == "POST" and form.is_valid():
        row = ExampleSet.objects.create(
            shape=form.cleaned_data["shape"],
            title=form.cleaned_data["title"],
            agreed=form.totals,
            agreed_on=request.viewer.today,
            made_by=request.viewer.member,
        )
        audit.note(request.viewer, "added examples", row)
        messages.success(request, "The ten examples are there. Now each coach scores them, alone.")
        return redirect("assessments:examples_score", row.code)
    status = 422 if form.errors else 200
    return render(request, "assessments/examples_add.html", {"form": form}, status=status)


@require_http_methods(["GET", "POST"])
@requires(Can.MANAGE_PEOPLE)
def examples_score(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """One coach's totals. The agreed ones are shown only afterwards, so that nobody leans on them."""
    row, programme = get_object_or_404(ExampleSet, code=code), _programme()
    top = door.highest(row, programme)
    form = ScoresForm(request.POST or None, judges=door.judges(), top=top)
    if request.method == "POST" and form.is_valid():
        scored = Calibration.objects.create(
            examples=row, coach=form.judge, totals=form.totals, scored_on=request.viewer.today
        )
        audit.note(request.viewer, "entered scores of examples", form.judge)
        return redirect("assessments:calibration", scored.code)
    here = {"form": form, "row": row, "top": top, "shape": door.shape_name(row.shape, programme)}
    here["unscored"] = not row.calibrations.exists()
    return render(request, "assessments/examples_score.html", here, status=422 if form.errors else 200)


@require_POST
@requires(Can.MANAGE_PEOPLE)
def examples_remove(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """A set that nobody scored may go; one that was scored is history."""
    row = get_object_or_404(ExampleSet, code=code)
    if row.calibrations.exists():
        messages.warning(request, "A coach has scored these examples; they stay as they are.")
        return redirect("assessments:examples_score", row.code)
    audit.note(request.viewer, "removed examples", row)
    row.delete()
    messages.success(request, f"{row.title} is gone.")
    return redirect("assessments:calibration_list")


@require_GET
@requires(Can.SEE_NUMBERS)
def calibration(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """A coach's totals beside the agreed ones, and what follows from them."""
    row = get_object_or_404(Calibration.objects.select_related("coach", "examples", "decided_by"), code=code)
    _programme()
    line = door.calibration_line(row, request.viewer.today)
    return render(request, "assessments/calibration.html", {"line": line})


@require_POST
@requires(Can.MANAGE_PEOPLE)
def calibration_decide(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Confirm the proposed day, or leave things as they stand."""
    row, word = get_object_or_404(Calibration, code=code), request.POST.get("word")
    if word not in ("confirm", "decline"):
        messages.warning(request, "Choose one of the two buttons.")
        return redirect("assessments:calibration", row.code)
    try:
        said = door.decide(row, request.viewer, confirm=word == "confirm")
    except door.NothingToDecide as nothing:
        messages.warning(request, str(nothing))
        return redirect("assessments:calibration", row.code)
    done = "is calibrated" if said.until else "stays as before"
    messages.success(request, f"{said.coach.name} {done}. The totals stay in the history.")
    return redirect("assessments:calibration_list")


def _programme() -> Programme:
    try:
        return current_programme()
    except NoProgramme as none:
        raise Http404(str(none)) from none
