"""What stands behind the numbers, for the director: words first, then figures beside what they are compared with."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from assessments import agreement_pages, coach_agreement, norm_pages, number_pages, own_norms
from assessments import numbers as door
from assessments.analysis.records import MeasureSpec, Programme
from assessments.outcomes import outcomes
from assessments.programme import NoProgramme, current_programme
from club.access import Can, requires
from club.http import ClubRequest


@require_GET
@requires(Can.SEE_NUMBERS)
def numbers(request: ClubRequest) -> HttpResponse:
    """One card a question; each card fetches its own first sentence, so that the page itself is quick."""
    return render(request, "assessments/numbers.html", {"cards": number_pages.CARDS})


@require_GET
@requires(Can.SEE_NUMBERS)
def numbers_error(request: ClubRequest) -> HttpResponse:
    """The error of each measure: the starter's beside what the club's own repeat tests show."""
    evidence = _evidence(request)
    page = number_pages.error_page(door.error_lines(evidence), door.worthwhile_lines(evidence))
    return render(request, "assessments/numbers_error.html", {"page": page})


@require_POST
@requires(Can.EDIT_PROGRAMME)
def numbers_error_draft(request: ClubRequest) -> HttpResponse:
    """Take the club's own error over into a draft edition. Nothing counts until it is published."""
    try:
        draft = door.draft_own_error(request.POST.getlist("item"), request.viewer)
    except door.NothingToDraft as nothing:
        messages.warning(request, str(nothing))
        return redirect("assessments:numbers_error")
    messages.success(
        request, "A draft was made. Look at what it would change, then publish it or throw it away."
    )
    return redirect("assessments:draft", draft.code)


@require_GET
@requires(Can.SEE_NUMBERS)
def numbers_agreement(request: ClubRequest) -> HttpResponse:
    """Do coaches see the same shape, and who needs calibration. Coaches stand by name, never by size."""
    page = agreement_pages.agreement_page(coach_agreement.agreement(request.viewer.today))
    return render(request, "assessments/numbers_agreement.html", {"page": page})


@require_GET
@requires(Can.SEE_NUMBERS)
def numbers_outcomes(request: ClubRequest) -> HttpResponse:
    """Does 'ready to try' mean anything: what became of children in each state."""
    found = outcomes(request.viewer.today)
    return render(request, "assessments/numbers_outcomes.html", {"page": number_pages.outcome_page(found)})


@require_GET
@requires(Can.SEE_NUMBERS)
def numbers_norms(request: ClubRequest) -> HttpResponse:
    """Smoothed percentiles of the club's own children over age, one measure and version at a time."""
    spec = _measure(request)
    found = own_norms.norm_lines(_evidence(request, spec.id), spec.id, request.GET.get("variant", ""))
    context = {"page": norm_pages.norm_page(found), "measures": current_programme().measures.values()}
    return render(request, "assessments/numbers_norms.html", context)


@require_POST
@requires(Can.EDIT_PROGRAMME)
def numbers_norms_draft(request: ClubRequest) -> HttpResponse:
    """Offer the club's own percentiles as benchmarks in a draft edition."""
    item, variant = request.POST.get("item", ""), request.POST.get("variant", "")
    if item not in current_programme().measures:
        raise Http404("No such measure in the current edition.")
    try:
        draft = own_norms.draft_norms(item, variant, request.viewer)
    except door.NothingToDraft as nothing:
        messages.warning(request, str(nothing))
        return redirect(f"{reverse('assessments:numbers_norms')}?item={item}")
    messages.success(
        request, "A draft was made. Percentiles say what is, not what should be: look at each figure."
    )
    return redirect("assessments:draft", draft.code)


@require_GET
@requires(Can.SEE_NUMBERS)
def numbers_reference(request: ClubRequest) -> HttpResponse:
    """Published values beside the club's own middle. For the director alone."""
    found = own_norms.reference_lines(_evidence(request, *own_norms.referenced()))
    return render(request, "assessments/numbers_reference.html", {"tables": norm_pages.reference_page(found)})


@require_GET
@requires(Can.SEE_NUMBERS)
def numbers_forecasts(request: ClubRequest) -> HttpResponse:
    """Did the forecasts' ranges hold what came, for one measure or shape."""
    items = {spec.id: spec for spec in _programme().items()}
    spec = items.get(request.GET.get("item", ""), next(iter(items.values())))
    kept = door.forecasts_kept(_evidence(request, spec.id), spec.id)
    context = {"page": number_pages.forecast_page(kept), "items": items.values()}
    return render(request, "assessments/numbers_forecasts.html", context)


def _programme() -> Programme:
    try:
        return current_programme()
    except NoProgramme as none:
        raise Http404(str(none)) from none


def _evidence(request: ClubRequest, *items: str) -> door.Evidence:
    _programme()
    return door.club_evidence(request.viewer.today, items=items)


def _measure(request: ClubRequest) -> MeasureSpec:
    """The measure asked about, or the first of the programme."""
    measures = _programme().measures
    return measures.get(request.GET.get("item", ""), next(iter(measures.values())))
