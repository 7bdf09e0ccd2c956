"""Paper: station sheets to print, a grid to type them in, and the file copy of a tablet."""

from __future__ import annotations

import json
import uuid
from typing import Any

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from assessments import attendance, paper
from assessments.day_forms import OutboxForm
from assessments.entries import MOST_AT_ONCE, entry_from_json
from assessments.floor_sheet import judges_of
from assessments.models import AssessmentDay
from assessments.recording import Answer, record
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest

LARGEST_FILE = 5 * 1024 * 1024
MOST_ENTRIES = 10_000


@require_GET
@requires(Can.SEE_DAYS)
def station_sheets(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """One sheet a station and group, to print before the day."""
    day = visible_or_404(AssessmentDay, request.viewer, code)
    audit.note(request.viewer, "opened the sheets of a test day", day)
    here = {"day": day, "sheets": paper.by_group(paper.sheets(day, request.viewer))}
    return render(request, "assessments/station_sheets.html", here)


@require_http_methods(["GET", "POST"])
@requires(Can.PLAN_DAYS)
def station_grid(request: ClubRequest, code: uuid.UUID, station: uuid.UUID) -> HttpResponse:
    """Type one sheet in, by keyboard: Enter goes down, Tab goes on. All of it is read, or none is kept."""
    day = visible_or_404(AssessmentDay, request.viewer, code)
    found = paper.sheets(day, request.viewer, station=station)
    if not found:
        raise Http404("No such station on this day.")
    sheet, judges = found[0], judges_of(day)
    here: dict[str, Any] = {
        "day": day,
        "sheet": sheet,
        "rows": sheet.rows,
        "judges": judges,
        "page": uuid.uuid4(),
        "at_once": 1,
        "numbers": range(1, MOST_AT_ONCE + 1),
    }
    if request.method != "POST":
        return render(request, "assessments/station_grid.html", here)
    judge = next((found for found, _ in judges if str(found) == request.POST.get("judge")), None)
    page = _code(request.POST.get("page")) or uuid.uuid4()
    said = request.POST.get("at_once", "")
    at_once = next((number for number in here["numbers"] if str(number) == said), 1)
    entries, rows = paper.typed_entries(sheet, request.POST, day=day, judge=judge, page=page, at_once=at_once)
    if any(cell.problem for row in rows for cell in row.cells):
        wrong = {**here, "rows": rows, "page": page, "judge": judge, "at_once": at_once}
        return render(request, "assessments/station_grid.html", wrong, status=422)
    _tell(request, record(entries, request.viewer))
    return redirect("assessments:station_grid", code, station)


@require_http_methods(["GET", "POST"])
@requires(Can.PLAN_DAYS)
def outbox_import(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """The file copy of a tablet, through the same door."""
    day = visible_or_404(AssessmentDay, request.viewer, code)
    form = OutboxForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        found = _copy_in(form.cleaned_data["file"])
        if found is None:
            form.add_error("file", "This is not the file copy of a tablet, or it is larger than 5 MB.")
        else:
            # The roll first: the club should know who was asked before a result of that child arrives.
            _mark_roll(request, found["roll"])
            _tell(request, record([entry_from_json(one) for one in found["entries"]], request.viewer))
            return redirect("assessments:day", code)
    return render(
        request,
        "assessments/outbox_import.html",
        {"day": day, "form": form},
        status=422 if form.errors else 200,
    )


def _copy_in(file: UploadedFile[Any]) -> dict[str, list[Any]] | None:
    """Entries and lines of the roll in a file copy; nothing when it is none."""
    if file.size is None or file.size > LARGEST_FILE:
        return None
    try:
        body = json.loads(file.read())
    except (ValueError, RecursionError):
        return None
    found = body if isinstance(body, dict) else {"entries": body}
    lists = {name: found.get(name, []) for name in ("entries", "roll")}
    if "entries" not in found or not all(isinstance(one, list) for one in lists.values()):
        return None
    return lists if len(lists["entries"]) <= MOST_ENTRIES and len(lists["roll"]) <= MOST_ENTRIES else None


def _mark_roll(request: ClubRequest, lines: list[Any]) -> None:
    """Who was there and who is sore, each line on its own day."""
    of_day: dict[str, list[attendance.RollLine]] = {}
    for one in lines:
        line = attendance.roll_line_from_json(one)
        if line is not None:
            of_day.setdefault(str(one.get("day")), []).append(line)
    codes = {code for code in map(_code, of_day) if code is not None}
    for day in AssessmentDay.objects.visible_to(request.viewer).filter(code__in=codes):
        known = attendance.mark(day, of_day[str(day.code)], request.viewer)
        if known:
            messages.success(request, f"Who is here and who is sore on {day}: {len(known)} children noted.")


def _tell(request: ClubRequest, answers: list[Answer]) -> None:
    """How many went where, in words."""
    count = {
        word: sum(one.word == word for one in answers)
        for word in ("stored", "already_here", "conflict", "refused")
    }
    parts = [f"{count['stored'] + count['conflict']} new at the club"]
    if count["already_here"]:
        parts.append(f"{count['already_here']} were here already")
    if count["conflict"]:
        parts.append(f"{count['conflict']} share a place with another entry")
    messages.success(request, ", ".join(parts) + ".")
    if count["refused"]:
        reasons = "; ".join(sorted({one.reason for one in answers if one.word == "refused"}))
        messages.warning(request, f"{count['refused']} could not be taken and wait for you: {reasons}")


def _code(text: str | None) -> uuid.UUID | None:
    try:
        return uuid.UUID(text or "")
    except ValueError:
        return None
