"""The programme as it stands: the current edition, one item's protocol, earlier editions, the files."""

from __future__ import annotations

import io
import zipfile

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from assessments import programme as door
from assessments.analysis.records import Programme
from assessments.forms_editions import ProgrammeFilesForm
from assessments.models import ProgrammeEdition
from assessments.programme_picture import asks_of, picture_of
from assessments.programme_words import (
    asked_words,
    ladder_words,
    names_of,
    rule_words,
    skill_lines,
    zone_rows,
)
from assessments.programme_yaml import documents_from_texts, texts_from_documents
from club import audit
from club.access import Can, requires
from club.http import ClubRequest


@require_GET
@requires(Can.SEE_PROGRAMME)
def programme(request: ClubRequest) -> HttpResponse:
    """The current edition: what is measured, judged and asked for, each with what stands behind it."""
    visible = ProgrammeEdition.objects.visible_to(request.viewer)
    current = visible.current()
    if current is None:
        return render(request, "assessments/programme_none.html")
    context = {
        **_whole(current),
        "can_edit": request.viewer.can(Can.EDIT_PROGRAMME),
        "drafts": list(visible.drafts().select_related("changed_by").order_by("-changed_at")),
        "earlier": list(visible.published().exclude(pk=current.pk).select_related("published_by")),
    }
    return render(request, "assessments/programme.html", context)


@require_GET
@requires(Can.SEE_PROGRAMME)
def edition(request: ClubRequest, number: int) -> HttpResponse:
    """An edition that counted once, as it was."""
    found = get_object_or_404(ProgrammeEdition.objects.visible_to(request.viewer).published(), number=number)
    context = {**_whole(found), "can_edit": request.viewer.can(Can.EDIT_PROGRAMME), "is_earlier": True}
    return render(request, "assessments/programme.html", context)


def _whole(edition: ProgrammeEdition) -> dict[str, object]:
    """What the overview says of an edition."""
    found = door.programme_of(edition)
    measures = [
        {"spec": spec, "rule": rule_words(spec), "versions": len(spec.variants)}
        for spec in found.measures.values()
    ]
    return {
        "edition": edition,
        "programme": found,
        "measures": measures,
        "skills": skill_lines(found),
        "zones": zone_rows(found),
    }


@require_GET
@requires(Can.SEE_PROGRAMME)
def programme_item(request: ClubRequest, item: str) -> HttpResponse:
    """One measure's protocol or one shape's criteria, its benchmarks, and which skills ask for it."""
    current = _current()
    if item not in current.measures and item not in current.shapes:
        raise Http404("No such measure or shape in the current edition.")
    spec = current.item(item)
    context = {
        "programme": current,
        "spec": spec,
        "is_shape": item in current.shapes,
        "rule": rule_words(spec),
        "ladder": ladder_words(spec),
        "picture": picture_of(current, item),
        "asks": asks_of(current, item),
        "zones": _zones(current, item),
        "sources": [(key, current.sources.get(key, "")) for key in spec.sources],
        "defaults": current.preamble.get("measures", {}).get("defaults", {}),
    }
    return render(request, "assessments/programme_item.html", context)


def _zones(programme: Programme, item: str) -> dict[str, object]:
    row = next(row for row in zone_rows(programme) if row.id == item)
    cells = [(band.id, *cell) for band, cell in zip(programme.bands, row.cells, strict=True)]
    return {"row": row, "cells": cells}


def _current() -> Programme:
    try:
        return door.current_programme()
    except door.NoProgramme as none:
        raise Http404(str(none)) from none


@require_GET
@requires(Can.SEE_PROGRAMME)
def programme_skill(request: ClubRequest, skill: str) -> HttpResponse:
    """One skill: what it comes after, what it asks and why."""
    current = _current()
    if skill not in current.skills:
        raise Http404("No such skill in the current edition.")
    found = current.skills[skill]
    context = {
        "programme": current,
        "skill": found,
        "after": list(zip(found.after, names_of(found.after, current), strict=True)),
        "asked": [(one.item, asked_words(one, current)) for one in found.requirements],
        "leads_to": [one for one in current.skills.values() if skill in one.after],
        "confidence": current.rules.confidence[found.risk],
        "sources": [(key, current.sources.get(key, "")) for key in found.sources],
    }
    return render(request, "assessments/programme_skill.html", context)


@require_GET
@requires(Can.EDIT_PROGRAMME)
def programme_export(request: ClubRequest, number: int) -> HttpResponse:
    """An edition as the five files, in one archive. Bringing them in again gives the same edition."""
    found = get_object_or_404(ProgrammeEdition.objects.visible_to(request.viewer).published(), number=number)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for file, text in texts_from_documents(found.document).items():
            archive.writestr(f"{file}.yaml", text)
    audit.note(request.viewer, "took out the files of the programme", found, number=number)
    response = HttpResponse(packed.getvalue(), content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="programme-edition-{number}.zip"'
    return response


@require_http_methods(["GET", "POST"])
@requires(Can.EDIT_PROGRAMME)
def programme_import(request: ClubRequest) -> HttpResponse:
    """Files become a draft, finished or not. Nothing counts until it is published."""
    form = ProgrammeFilesForm(request.POST or None, request.FILES or None)
    problems: tuple[object, ...] = ()
    if request.method == "POST" and form.is_valid():
        try:
            documents, problems = documents_from_texts(form.texts())
        except ValueError as wrong:
            form.add_error("upload", str(wrong))
        else:
            if not problems:
                title = form.cleaned_data["title"] or "From files"
                draft = door.begin_draft(request.viewer, title=title, documents=documents)
                messages.success(request, "The files are a draft now. Look at what they would change.")
                return redirect("assessments:draft", draft.code)
    status = 422 if form.errors or problems else 200
    return render(
        request, "assessments/programme_import.html", {"form": form, "problems": problems}, status=status
    )
