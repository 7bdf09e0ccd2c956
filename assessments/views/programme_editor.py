"""The editor of a draft: one page for each measure, shape, skill, row of benchmarks, and for the rules."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from typing import Any

from django import forms
from django.contrib import messages
from django.forms import formset_factory
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from assessments import programme as door
from assessments.analysis.records import Programme, Requirement
from assessments.forms_editions import BenchmarkForm, RulesForm
from assessments.forms_programme import (
    CriterionForm,
    MeasureForm,
    Removable,
    ShapeForm,
    plain,
)
from assessments.forms_skills import RequirementForm, SkillForm
from assessments.models import ProgrammeEdition
from assessments.programme_editing import (
    differences,
    entry_of,
    mark_of,
    part_of,
    put,
    put_benchmarks,
    put_top,
)
from assessments.programme_file import read
from assessments.programme_picture import asks_of, picture
from assessments.programme_yaml import Documents
from assessments.views.programme_drafts import open_draft
from club.access import Can, requires
from club.http import ClubRequest

CriterionForms = formset_factory(CriterionForm, formset=Removable, extra=1, can_delete=True, max_num=12)
RequirementForms = formset_factory(RequirementForm, formset=Removable, extra=1, can_delete=True, max_num=16)
PAGES = {
    "measures": "assessments/draft_measure.html",
    "shapes": "assessments/draft_shape.html",
    "skills": "assessments/draft_skill.html",
    "benchmarks": "assessments/draft_benchmark.html",
    "rules": "assessments/draft_rules.html",
}
Change = Callable[[Documents], Documents]


@require_http_methods(["GET", "POST"])
@requires(Can.EDIT_PROGRAMME)
def draft_measure(request: ClubRequest, code: uuid.UUID, item: str) -> HttpResponse:
    """A measure and its protocol."""
    draft = open_draft(request, code)
    programme = read(draft.document).partial
    spec = _known(programme.measures, item)
    form = MeasureForm(
        request.POST or None,
        initial=_seen(draft, "measures", item) | MeasureForm.initial_of(spec),
        programme=programme,
    )
    if request.method == "POST" and form.is_valid():
        entry = form.entry()
        return _saved(request, draft, ("measures", item), form, lambda old: put(old, "measures", item, entry))
    return _page(request, draft, "measures", form, {"spec": spec, "programme": programme})


@require_http_methods(["GET", "POST"])
@requires(Can.EDIT_PROGRAMME)
def draft_shape(request: ClubRequest, code: uuid.UUID, item: str) -> HttpResponse:
    """A shape and its criteria."""
    draft = open_draft(request, code)
    programme = read(draft.document).partial
    spec = _known(programme.shapes, item)
    first = [{key: getattr(one, key) for key in CriterionForm.base_fields} for one in spec.criteria]
    form = ShapeForm(
        request.POST or None,
        initial=_seen(draft, "shapes", item) | ShapeForm.initial_of(spec),
        programme=programme,
    )
    criteria = CriterionForms(request.POST or None, initial=first, prefix="criteria")
    if request.method == "POST" and form.is_valid() and criteria.is_valid():
        before = {
            one.get("id"): one for one in (entry_of(draft.document, "shapes", item) or {}).get("criteria", [])
        }
        kept = [one.entry(before.get(one.cleaned_data["id"])) for one in _kept(criteria, "id")]
        entry = form.entry(kept)
        return _saved(
            request,
            draft,
            ("shapes", item),
            form,
            lambda old: put(old, "shapes", item, entry),
            formset=criteria,
        )
    return _page(request, draft, "shapes", form, {"spec": spec, "programme": programme, "formset": criteria})


@require_http_methods(["GET", "POST"])
@requires(Can.EDIT_PROGRAMME)
def draft_skill(request: ClubRequest, code: uuid.UUID, item: str) -> HttpResponse:
    """A skill, what it comes after and what it asks."""
    draft = open_draft(request, code)
    programme = read(draft.document).partial
    spec = _known(programme.skills, item)
    first = _seen(draft, "skills", item) | {
        name: getattr(spec, name, None) for name in SkillForm.base_fields if name != "seen"
    }
    form = SkillForm(request.POST or None, initial=first, programme=programme, skill=item)
    asked = RequirementForms(
        request.POST or None,
        initial=[_asked(one) for one in spec.requirements],
        prefix="asks",
        form_kwargs={"programme": programme},
    )
    if request.method == "POST" and form.is_valid() and asked.is_valid():
        entry = form.entry([one.entry() for one in _kept(asked, "item")])
        return _saved(
            request, draft, ("skills", item), form, lambda old: put(old, "skills", item, entry), formset=asked
        )
    return _page(request, draft, "skills", form, {"spec": spec, "programme": programme, "formset": asked})


@require_http_methods(["GET", "POST"])
@requires(Can.EDIT_PROGRAMME)
def draft_benchmark(request: ClubRequest, code: uuid.UUID, item: str) -> HttpResponse:
    """The zones of one measure or shape by age band, with their picture."""
    draft = open_draft(request, code)
    programme = read(draft.document).partial
    spec = _known({one.id: one for one in programme.items()}, item)
    first = _seen(draft, "benchmarks", item) | BenchmarkForm.initial_of(programme, item)
    form = BenchmarkForm(request.POST or None, initial=first, programme=programme, item=item)
    if request.method == "POST" and form.is_valid():
        section = "measures" if item in programme.measures else "shapes"
        zones, about = form.zones(), form.about() | {"note": form.cleaned_data["note"] or None}
        return _saved(
            request,
            draft,
            ("benchmarks", item),
            form,
            lambda old: put_benchmarks(old, section, item, zones=zones, about=about),
        )
    context = {"spec": spec, "programme": programme, "picture": _picture(form, programme, item)}
    return _page(request, draft, "benchmarks", form, context)


@require_POST
@requires(Can.EDIT_PROGRAMME)
def draft_picture(request: ClubRequest, code: uuid.UUID, item: str) -> HttpResponse:
    """The picture of zones as they are typed. Nothing is saved."""
    programme = read(open_draft(request, code).document).partial
    _known({one.id: one for one in programme.items()}, item)
    form = BenchmarkForm(request.POST, programme=programme, item=item)
    form.is_valid()
    return render(request, "assessments/_picture.html", {"picture": _picture(form, programme, item)})


@require_http_methods(["GET", "POST"])
@requires(Can.EDIT_PROGRAMME)
def draft_rules(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """How sure the club wants to be, and how long evidence lasts."""
    draft = open_draft(request, code)
    programme = read(draft.document).partial
    form = RulesForm(
        request.POST or None, initial=_seen(draft, "rules", "") | RulesForm.initial_of(programme)
    )
    if request.method == "POST" and form.is_valid():
        entry = form.entry()
        return _saved(
            request, draft, ("skills", ""), form, lambda old: put_top(old, "skills", {"rules": entry})
        )
    return _page(request, draft, "rules", form, {"programme": programme})


def _known(items: Mapping[str, Any], item: str) -> Any:
    if item not in items:
        raise Http404("Nothing in this draft has this id.")
    return items[item]


def _seen(draft: ProgrammeEdition, file: str, item: str) -> dict[str, Any]:
    return {"seen": mark_of(draft.document, "skills" if file == "rules" else file, item)}


def _kept(formset: Any, key: str) -> list[Any]:
    """The forms of a formset that say something and are not ticked away."""
    return [one for one in formset.forms if one.cleaned_data.get(key) and not one.cleaned_data.get("DELETE")]


def _asked(requirement: Requirement) -> dict[str, Any]:
    keys = ("item", "variant", "both_sides", "soft_under", "must_have")
    return {**{key: getattr(requirement, key) for key in keys}, "minimum": plain(requirement.minimum)}


def _picture(form: BenchmarkForm, programme: Programme, item: str) -> Any:
    """The zones as they stand in the form, so far as they can be read."""
    data: Mapping[str, Any] = form.cleaned_data if form.is_bound else form.initial
    typed = {band.id: (data.get(f"from_{band.id}"), data.get(f"aim_{band.id}")) for band in programme.bands}
    zones = {band: (low, aim) for band, (low, aim) in typed.items() if low is not None and aim is not None}
    spec = programme.item(item)
    return picture(zones, programme.bands, cap=spec.cap, asks=asks_of(programme, item))


def _saved(
    request: ClubRequest,
    draft: ProgrammeEdition,
    part: tuple[str, str],
    form: forms.Form,
    change: Change,
    *,
    formset: Any = None,
) -> HttpResponse:
    """Save one part. A refusal and a stale page come back with everything that was typed."""
    programme = read(draft.document).partial
    context: dict[str, Any] = {"programme": programme, "formset": formset, "item": part[1]}
    if part[0] == "benchmarks" and isinstance(form, BenchmarkForm):
        context["picture"] = _picture(form, programme, part[1])
    page = part[0] if part[1] else "rules"
    try:
        door.change_draft(draft, change, part=part, seen=form.cleaned_data["seen"], viewer=request.viewer)
    except door.Refused as refused:
        return _page(request, draft, page, form, {**context, "reasons": refused.problems})
    except door.Stale as stale:
        theirs, mine = part_of(stale.theirs.document, *part), part_of(stale.mine, *part)
        typed: Any = form.data
        form.data = typed.copy() | {"seen": mark_of(stale.theirs.document, *part)}
        context |= {"stale": stale, "both": differences(theirs, mine)}
        return _page(request, draft, page, form, context, status=409)
    messages.success(request, "Saved in the draft.")
    return redirect("assessments:draft", draft.code)


def _page(
    request: ClubRequest,
    draft: ProgrammeEdition,
    page: str,
    form: forms.Form,
    context: dict[str, Any],
    *,
    status: int = 0,
) -> HttpResponse:
    wrong = (
        form.errors or context.get("reasons") or getattr(context.get("formset"), "total_error_count", int)()
    )
    spec = context.get("spec") or _spec(context)
    item = spec.id if spec is not None else ""
    problems = [one for one in read(draft.document).problems if item and one.item.split(",")[0] == item]
    shown = {"draft": draft, "form": form, "spec": spec, "problems": problems, **context}
    return render(request, PAGES[page], shown, status=status or (422 if form.is_bound and wrong else 200))


def _spec(context: Mapping[str, Any]) -> Any:
    programme, item = context["programme"], context.get("item", "")
    for found in (programme.measures, programme.shapes, programme.skills):
        if item in found:
            return found[item]
    return None
