"""Bring in a list of children: upload, look, settle, apply."""

from __future__ import annotations

from dataclasses import replace

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from athletes import roster as door
from athletes.roster_file import read_roster
from athletes.roster_forms import RosterChoicesForm, RosterUploadForm
from club import kept_files
from club.access import Can, requires
from club.http import ClubRequest
from club.kept_files import KeptFile

PURPOSE = "roster"


@require_http_methods(["GET", "POST"])
@requires(Can.IMPORT)
def roster(request: ClubRequest) -> HttpResponse:
    """Choose a file. It is read before it is kept, so that a wrong one is named at once."""
    form = RosterUploadForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        upload = form.cleaned_data["file"]
        kept_files.keep(request, PURPOSE, name=upload.name, content=form.content)
        return redirect("athletes:roster_preview")
    waiting = kept_files.kept(request, PURPOSE)
    return render(
        request,
        "athletes/roster.html",
        {"form": form, "waiting": waiting},
        status=422 if form.errors else 200,
    )


@require_http_methods(["GET", "POST"])
@requires(Can.IMPORT)
def roster_preview(request: ClubRequest) -> HttpResponse:
    """What the list would do, with everything that a person has to settle. Nothing is written."""
    file = kept_files.kept(request, PURPOSE)
    if file is None:
        return _gone(request)
    if request.method == "POST":
        _choose(request, file)
        return redirect("athletes:roster_preview")
    preview = _preview(request, file)
    form = RosterChoicesForm.for_preview(preview, file.choices)
    context = {"file": file, "preview": preview, "form": form}
    return render(request, "athletes/roster_preview.html", context)


@require_POST
@requires(Can.IMPORT)
def roster_apply(request: ClubRequest) -> HttpResponse:
    """Write what is clear. With something left to settle, the page comes back with the rest."""
    file = kept_files.kept(request, PURPOSE)
    if file is None:
        return _gone(request)
    preview = _preview(request, _choose(request, file))
    changed = door.apply(preview, request.viewer)
    messages.success(
        request, f"{changed} {'child was' if changed == 1 else 'children were'} added or changed."
    )
    if not preview.is_clear:
        messages.warning(request, "Lines with something to settle were left out. They are shown below.")
        return redirect("athletes:roster_preview")
    kept_files.drop(request, PURPOSE)
    return redirect("athletes:athlete_list")


@require_POST
@requires(Can.IMPORT)
def roster_drop(request: ClubRequest) -> HttpResponse:
    """Forget the uploaded list."""
    kept_files.drop(request, PURPOSE)
    messages.success(request, "The file is forgotten. Nothing was changed.")
    return redirect("athletes:roster")


def _choose(request: ClubRequest, file: KeptFile) -> KeptFile:
    """Keep what the form says beside what was said before, and give the file back with both."""
    choices = RosterChoicesForm.chosen_in(request.POST, file.choices)
    kept_files.choose(request, PURPOSE, choices)
    return replace(file, choices=choices)


def _preview(request: ClubRequest, file: KeptFile) -> door.RosterPreview:
    order = file.choices.get("order", "")
    read = read_roster(file.content, file.name, order=order, today=request.viewer.today)
    return door.preview(read, file.choices.get("answers", {}))


def _gone(request: ClubRequest) -> HttpResponse:
    messages.warning(request, "The file is kept for two hours only. Choose it again; nothing was lost.")
    return redirect("athletes:roster")
