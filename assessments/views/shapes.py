"""The shape guide on screen and for the wall."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from assessments.programme import NoProgramme, current_programme
from assessments.shape_guide import Guide, ShapeLines, guide
from club.access import Can, requires
from club.http import ClubRequest


@require_GET
@requires(Can.SEE_PROGRAMME)
def shape_guide(request: ClubRequest) -> HttpResponse:
    """All shapes, each drawn as it is judged."""
    return render(request, "assessments/shape_guide.html", {"guide": _guide()})


@require_GET
@requires(Can.SEE_PROGRAMME)
def shape(request: ClubRequest, slug: str) -> HttpResponse:
    """One shape: drawing, criteria with their levels, faults with one cue each."""
    found = _guide()
    return render(request, "assessments/shape.html", {"guide": found, "shape": _one(found, slug)})


@require_GET
@requires(Can.SEE_PROGRAMME)
def shape_wall(request: ClubRequest) -> HttpResponse:
    """For the wall, one page a shape; `?shape=` prints only one."""
    found = _guide()
    wanted = request.GET.get("shape", "")
    shapes = (_one(found, wanted),) if wanted else found.shapes
    return render(request, "assessments/shape_wall.html", {"guide": found, "shapes": shapes})


def _guide() -> Guide:
    try:
        return guide(current_programme())
    except NoProgramme as none:
        raise Http404(str(none)) from none


def _one(found: Guide, slug: str) -> ShapeLines:
    try:
        return found.shape(slug)
    except KeyError as unknown:
        raise Http404("No such shape in the current edition.") from unknown
