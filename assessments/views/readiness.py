"""One skill of one child: the suggestion with its reasons, the coach's decision, and what was decided before."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from assessments.decisions import CannotDecide, decide, standing_code, take_back
from assessments.models import SkillDecision
from assessments.progress_page import skill_card
from assessments.read_forms import DecisionForm
from assessments.report_records import AthleteReport
from assessments.reports import athlete_report
from athletes.models import Athlete
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.SEE_PROGRESS)
def skill(request: ClubRequest, code: uuid.UUID, slug: str) -> HttpResponse:
    """State, requirements, what comes before, and the decisions so far."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    audit.note(request.viewer, "opened a child's skill", athlete, skill=slug)
    return _page(request, athlete, slug, DecisionForm(today=request.viewer.today))


@require_POST
@requires(Can.DECIDE_SKILLS)
def skill_decide(request: ClubRequest, code: uuid.UUID, slug: str) -> HttpResponse:
    """Keep the coach's word with what was shown."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    report = _report(request, athlete, slug)
    form = DecisionForm(request.POST, today=request.viewer.today)
    if form.is_valid():
        given = form.cleaned_data
        try:
            made = decide(
                athlete, given["word"], report=report, skill=slug, viewer=request.viewer,
                reason=given["reason"], seen_on=form.days(),
            )  # fmt: skip
        except CannotDecide as problem:
            form.add_error(None, str(problem))
        else:
            messages.success(request, f"Kept: {made.get_word_display().lower()}. It can be taken back below.")
            return redirect("assessments:skill", athlete.code, slug)
    return _page(request, athlete, slug, form, status=422)


@require_POST
@requires(Can.DECIDE_SKILLS)
def decision_take_back(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Undo a decision; both stay in the list."""
    decision = visible_or_404(SkillDecision, request.viewer, code)
    if take_back(decision, viewer=request.viewer) is None:
        messages.warning(request, "That decision no longer stands: something was decided after it.")
    else:
        messages.success(request, "Taken back. Both lines stay in the list.")
    return redirect("assessments:skill", decision.athlete.code, decision.skill.slug)


def _report(request: ClubRequest, athlete: Athlete, slug: str) -> AthleteReport:
    report = athlete_report(athlete, request.viewer.today)
    if slug not in report.programme.skills:
        raise Http404("No such skill in the programme.")
    return report


def _page(
    request: ClubRequest, athlete: Athlete, slug: str, form: DecisionForm, status: int = 200
) -> HttpResponse:
    report = _report(request, athlete, slug)
    decisions = list(
        SkillDecision.objects.visible_to(request.viewer)
        .filter(athlete=athlete, skill__slug=slug)
        .select_related("decided_by", "edition")
    )
    context = {
        "athlete": athlete,
        "report": report,
        "card": skill_card(report, report.skill(slug)),
        "decisions": decisions,
        "standing": standing_code(decisions),
        "form": form,
    }
    return render(request, "assessments/skill.html", context, status=status)
