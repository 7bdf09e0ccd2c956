"""A draft of the programme from its beginning to its publication."""

from __future__ import annotations

import uuid
from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from assessments import programme as door
from assessments.consequences import Consequences, what_would_change
from assessments.forms_editions import NewPartForm, PublishForm
from assessments.models import ProgrammeEdition
from assessments.programme_editing import entries, entry_of, mark_of, move, put, take_away
from assessments.programme_file import read
from assessments.programme_words import zone_rows
from assessments.programme_yaml import Documents
from athletes.models import Athlete
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest

LISTS = ("measures", "shapes", "skills")


def open_draft(request: ClubRequest, code: uuid.UUID) -> ProgrammeEdition:
    """The draft behind an address; a published edition is none any more."""
    found = visible_or_404(ProgrammeEdition, request.viewer, code)
    if found.number is not None:
        raise Http404("This draft was published.")
    return found


@require_POST
@requires(Can.EDIT_PROGRAMME)
def draft_begin(request: ClubRequest) -> HttpResponse:
    """A draft that begins as the current edition."""
    try:
        found = door.begin_draft(request.viewer, title=request.POST.get("title", "")[:80])
    except door.NoProgramme as none:
        messages.error(request, str(none))
        return redirect("assessments:programme")
    return redirect("assessments:draft", found.code)


@require_GET
@requires(Can.EDIT_PROGRAMME)
def draft(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Everything in a draft, with what keeps it from being published."""
    found = visible_or_404(ProgrammeEdition, request.viewer, code)
    if found.number is not None:
        return redirect("assessments:edition", found.number)
    return _draft(request, found, NewPartForm())


def _draft(request: ClubRequest, found: ProgrammeEdition, form: NewPartForm) -> HttpResponse:
    reading = read(found.document)
    programme = reading.partial
    context = {
        "draft": found,
        "reading": reading,
        "programme": programme,
        "notes": [problem for problem in reading.problems if not problem.refuses],
        "parts": [
            ("Measures", "measures", "assessments:draft_measure", programme.measures.values()),
            ("Shapes", "shapes", "assessments:draft_shape", programme.shapes.values()),
            ("Skills", "skills", "assessments:draft_skill", programme.skills.values()),
        ],
        "zones": zone_rows(programme),
        "form": form,
    }
    return render(request, "assessments/draft.html", context, status=422 if form.errors else 200)


@require_GET
@requires(Can.EDIT_PROGRAMME)
def draft_compare(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The draft beside the current edition, and what it would change for the children."""
    return _comparison(request, open_draft(request, code))


@require_POST
@requires(Can.EDIT_PROGRAMME)
def draft_publish(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The draft becomes the next edition, with a reason."""
    found = open_draft(request, code)
    form = PublishForm(request.POST)
    if not form.is_valid():
        return _comparison(request, found, form=form)
    found.draft_version = form.cleaned_data["version"]
    try:
        edition = door.publish(
            found, request.viewer, form.cleaned_data["reason"], against=form.cleaned_data["against"]
        )
    except (door.Stale, door.Refused) as refused:
        messages.error(request, f"Nothing was published. {refused}")
        return redirect("assessments:draft_compare", code)
    messages.success(request, f"{edition} counts from now on.")
    return redirect("assessments:programme")


def _comparison(
    request: ClubRequest, found: ProgrammeEdition, *, form: PublishForm | None = None
) -> HttpResponse:
    current = ProgrammeEdition.objects.current()
    children = list(Athlete.objects.visible_to(request.viewer).training(request.viewer.today))
    outcome: Consequences | None = None
    reasons: tuple[object, ...] = ()
    try:
        outcome = what_would_change(found, children, request.viewer.today)
    except door.Refused as refused:
        reasons = refused.problems
    seen = {"against": current.number if current else None, "version": found.draft_version}
    context = {
        "draft": found,
        "current": current,
        "outcome": outcome,
        "reasons": reasons,
        "form": form or PublishForm(initial=seen),
    }
    return render(request, "assessments/draft_compare.html", context, status=422 if form else 200)


@require_POST
@requires(Can.EDIT_PROGRAMME)
def draft_drop(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Throw a draft away."""
    door.drop_draft(open_draft(request, code), request.viewer)
    messages.success(request, "The draft is gone. The edition in force was not touched.")
    return redirect("assessments:programme")


@require_POST
@requires(Can.EDIT_PROGRAMME)
def draft_add(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """A new measure, shape or skill in a draft."""
    found = open_draft(request, code)
    taken = {str(one.get("id")) for file in LISTS for one in entries(found.document, file)}
    form = NewPartForm(request.POST, taken=taken)
    if not form.is_valid():
        return _draft(request, found, form)
    file, item, entry = form.cleaned_data["file"], form.cleaned_data["id"], form.entry()
    seen = mark_of(found.document, file, item)
    if _changed(request, found, (file, item), seen, lambda documents: put(documents, file, item, entry)):
        return redirect(f"assessments:draft_{file[:-1]}", code, item)
    return redirect("assessments:draft", code)


def _changed(
    request: ClubRequest,
    found: ProgrammeEdition,
    part: tuple[str, str],
    seen: str,
    change: Callable[[Documents], Documents],
) -> bool:
    """Whether the draft took the change; when it did not, the page says why."""
    try:
        door.change_draft(found, change, part=part, seen=seen, viewer=request.viewer)
    except (door.Refused, door.Stale) as refused:
        messages.error(request, f"Nothing was changed. {refused}")
        return False
    return True


def _with_item(request: ClubRequest, code: uuid.UUID, file: str, item: str) -> ProgrammeEdition:
    found = open_draft(request, code)
    if file not in LISTS or entry_of(found.document, file, item) is None:
        raise Http404("Nothing in this draft has this id.")
    return found


@require_POST
@requires(Can.EDIT_PROGRAMME)
def draft_remove(request: ClubRequest, code: uuid.UUID, file: str, item: str) -> HttpResponse:
    """Take an item out of a draft. What was recorded for it stays."""
    found = _with_item(request, code, file, item)
    seen = request.POST.get("seen", "")
    if _changed(request, found, (file, item), seen, lambda documents: take_away(documents, file, item)):
        messages.success(request, f"{item} is no longer in the draft. Its results are kept.")
    return redirect("assessments:draft", code)


@require_POST
@requires(Can.EDIT_PROGRAMME)
def draft_move(request: ClubRequest, code: uuid.UUID, file: str, item: str) -> HttpResponse:
    """One place up or down in the list."""
    found = _with_item(request, code, file, item)
    by = -1 if request.POST.get("to") == "up" else 1
    seen = mark_of(found.document, file, item)
    _changed(request, found, (file, item), seen, lambda documents: move(documents, file, item, by=by))
    return redirect("assessments:draft", code)
