"""The skill map: of the programme, of a draft, of one child, of a group."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Mapping

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from assessments import programme as door
from assessments.analysis.records import SkillSpec, SkillState
from assessments.forms_editions import ConnectForm
from assessments.programme_editing import connect, mark_of
from assessments.programme_file import read
from assessments.reports import athlete_report, group_report
from assessments.skill_map import Mark, skill_map
from assessments.views.programme_drafts import open_draft
from athletes.models import Athlete, Group
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest
from club.templatetags.club_format import STATE_WORDS

#: States in the order in which a group's counts are said.
COUNTED = ("ready", "nearly", "not_yet", "not_known", "resting", "consistent")


@require_GET
@requires(Can.SEE_PROGRAMME)
def programme_map(request: ClubRequest) -> HttpResponse:
    """Every skill of the current edition, what it comes after and what it leads to."""
    try:
        skills = door.current_programme().skills
    except door.NoProgramme:
        return redirect("assessments:programme")
    marks = {
        skill.id: Mark(
            text=f"from {skill.min_age} · {skill.risk} risk",
            url=reverse("assessments:programme_skill", args=[skill.id]),
        )
        for skill in skills.values()
    }
    return _page(request, skills, marks, {})


@require_GET
@requires(Can.EDIT_PROGRAMME)
def draft_map(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The map of a draft, with a form that connects and separates skills."""
    return _draft_map(request, code, form=None)


@require_POST
@requires(Can.EDIT_PROGRAMME)
def draft_connect(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Put one skill before another, or take the line away. A ring is refused in words."""
    draft = open_draft(request, code)
    form = ConnectForm(request.POST, programme=read(draft.document).partial)
    if not form.is_valid():
        return _draft_map(request, code, form=form)
    before, after = form.cleaned_data["before"], form.cleaned_data["after"]
    joined = request.POST.get("act") != "separate"
    try:
        door.change_draft(
            draft,
            lambda documents: connect(documents, before, after, joined=joined),
            part=("skills", after),
            seen=mark_of(draft.document, "skills", after),
            viewer=request.viewer,
        )
    except (door.Refused, door.Stale) as refused:
        form.add_error(None, str(refused))
        return _draft_map(request, code, form=form)
    messages.success(request, "The map of the draft was changed.")
    return redirect("assessments:draft_map", code)


def _draft_map(request: ClubRequest, code: uuid.UUID, *, form: ConnectForm | None) -> HttpResponse:
    draft = open_draft(request, code)
    programme = read(draft.document).partial
    marks = {
        skill.id: Mark(
            text=f"from {skill.min_age} · {skill.risk} risk",
            url=reverse("assessments:draft_skill", args=[code, skill.id]),
        )
        for skill in programme.skills.values()
    }
    context = {"draft": draft, "form": form or ConnectForm(programme=programme)}
    return _page(request, programme.skills, marks, context, status=422 if form else 200)


@require_GET
@requires(Can.SEE_PROGRESS)
def child_map(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The map with one child's states on it."""
    child = visible_or_404(Athlete, request.viewer, code)
    audit.note(request.viewer, "opened a child's skill map", child)
    report = athlete_report(child, request.viewer.today)
    marks = {state.skill: _child_mark(state, code) for state in report.skills}
    return _page(request, report.programme.skills, marks, {"child": child})


def _child_mark(state: SkillState, code: uuid.UUID) -> Mark:
    """The coach's word stands where there is one; resting stands above everything."""
    word = state.word if state.word == "resting" else state.coach_word or state.word
    return Mark(word, STATE_WORDS[word], reverse("assessments:skill", args=[code, state.skill]))


@require_GET
@requires(Can.SEE_PROGRESS)
def group_map(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The map with a group's counts on it. Nobody is named or ranked."""
    group = visible_or_404(Group, request.viewer, code)
    audit.note(request.viewer, "opened a group's skill map", group)
    children = Athlete.objects.visible_to(request.viewer).filter(group=group).training(request.viewer.today)
    report = group_report(list(children), request.viewer.today)
    marks = {}
    for skill in report.programme.skills:
        counts = Counter(
            "consistent"
            if report.coach_word(one.code, skill) == "consistent"
            else report.word(one.code, skill)
            for one in report.children
        )
        found = tuple((word, counts[word]) for word in COUNTED if counts[word])
        said = " · ".join(f"{count} {STATE_WORDS[word]}" for word, count in found)
        marks[skill] = Mark(text=said, counts=found, url=reverse("assessments:programme_skill", args=[skill]))
    return _page(request, report.programme.skills, marks, {"group": group})


def _page(
    request: ClubRequest,
    skills: Mapping[str, SkillSpec],
    marks: Mapping[str, Mark],
    context: dict[str, object],
    *,
    status: int = 200,
) -> HttpResponse:
    drawn = {
        "map": skill_map(skills, marks),
        "names": {skill.id: skill.name for skill in skills.values()},
        "glyphs": [*COUNTED, "learning"],
    }
    return render(request, "assessments/programme_map.html", drawn | context, status=status)
