"""Bring in past test days: upload, look, map columns, apply."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from assessments import imports as door
from assessments.import_forms import ImportChoicesForm, ResultsUploadForm, choices_from, chosen_in
from assessments.models import ImportMapping
from assessments.programme import current_programme
from club import kept_files
from club.access import Can, requires
from club.http import ClubRequest
from club.kept_files import KeptFile

PURPOSE = "results"


@require_http_methods(["GET", "POST"])
@requires(Can.IMPORT)
def results_import(request: ClubRequest) -> HttpResponse:
    """Choose a file. It is read before it is kept, so that a wrong one is named at once."""
    form = ResultsUploadForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        kept_files.keep(request, PURPOSE, name=form.cleaned_data["file"].name, content=form.content)
        return redirect("assessments:results_import_preview")
    context = {
        "form": form,
        "waiting": kept_files.kept(request, PURPOSE),
        "mappings": list(ImportMapping.objects.all()),
    }
    return render(request, "assessments/results_import.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@requires(Can.IMPORT)
def results_import_preview(request: ClubRequest) -> HttpResponse:
    """What the file would record, with everything that a person has to settle. Nothing is written."""
    file = kept_files.kept(request, PURPOSE)
    if file is None:
        return _gone(request)
    if request.method == "POST":
        _choose(request, file)
        return redirect("assessments:results_import_preview")
    preview = _preview(request, file)
    form = ImportChoicesForm.for_preview(preview, file.choices, current_programme())
    return render(
        request, "assessments/results_import_preview.html", {"file": file, "preview": preview, "form": form}
    )


@require_POST
@requires(Can.IMPORT)
def results_import_apply(request: ClubRequest) -> HttpResponse:
    """Record what is clear. With something left to settle, the page comes back with the rest."""
    file = kept_files.kept(request, PURPOSE)
    if file is None:
        return _gone(request)
    preview = _preview(request, _choose(request, file))
    applied = door.apply(preview, request.viewer)
    messages.success(request, f"{applied.stored} result{'' if applied.stored == 1 else 's'} recorded.")
    for problem in applied.refused:
        messages.warning(request, str(problem))
    if not preview.is_clear or applied.refused:
        messages.warning(request, "What is left to settle is shown below. Nothing of it was recorded.")
        return redirect("assessments:results_import_preview")
    kept_files.drop(request, PURPOSE)
    return redirect("assessments:day_list")


@require_POST
@requires(Can.IMPORT)
def results_import_drop(request: ClubRequest) -> HttpResponse:
    """Forget the uploaded file."""
    kept_files.drop(request, PURPOSE)
    messages.success(request, "The file is forgotten. Nothing was changed.")
    return redirect("assessments:results_import")


@require_POST
@requires(Can.IMPORT)
def import_mapping_forget(request: ClubRequest, pk: int) -> HttpResponse:
    """Forget where one column goes; the next file asks again."""
    row = get_object_or_404(ImportMapping, pk=pk)
    row.delete()
    messages.success(request, f"'{row.header}' is asked again next time.")
    return redirect("assessments:results_import")


def _choose(request: ClubRequest, file: KeptFile) -> KeptFile:
    choices = chosen_in(request.POST, file.choices, current_programme())
    kept_files.choose(request, PURPOSE, choices)
    return KeptFile(file.name, file.content, choices)


def _preview(request: ClubRequest, file: KeptFile) -> door.ResultsPreview:
    choices = choices_from(file.choices, current_programme())
    return door.preview(file.content, file.name, choices=choices, today=request.viewer.today)


def _gone(request: ClubRequest) -> HttpResponse:
    messages.warning(request, "The file is kept for two hours only. Choose it again; nothing was lost.")
    return redirect("assessments:results_import")
