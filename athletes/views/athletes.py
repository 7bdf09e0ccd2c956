"""The list of children and each child's details."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from athletes.forms import AthleteForm, ConsentForm, GuardianForm
from athletes.models import Athlete, Group, Guardian, RestNote
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.SEE_CHILDREN)
def athlete_list(request: ClubRequest) -> HttpResponse:
    """Children by name, with search and group; leavers on request."""
    words, group = request.GET.get("q", "").strip(), request.GET.get("group", "")
    gone = request.GET.get("left") == "1"
    rows = Athlete.objects.visible_to(request.viewer).select_related("group").in_name_order()
    rows = rows.filter(left_on__isnull=False) if gone else rows.training(request.viewer.today)
    for word in words.split():
        rows = rows.filter(Q(first_name__icontains=word) | Q(last_name__icontains=word))
    groups = list(Group.objects.visible_to(request.viewer).active())
    chosen = next((g for g in groups if str(g.code) == group), None)
    if chosen is not None:
        rows = rows.filter(group=chosen)
    page = Paginator(rows, 60).get_page(request.GET.get("page"))
    resting = set(
        RestNote.objects.open().filter(athlete__in=[a.pk for a in page]).values_list("athlete", flat=True)
    )
    context = {
        "page": page,
        "groups": groups,
        "chosen": chosen,
        "words": words,
        "gone": gone,
        "resting": resting,
        "query": f"&q={words}&group={group}" + ("&left=1" if gone else ""),
    }
    template = "athletes/athlete_list.html#rows" if request.htmx else "athletes/athlete_list.html"
    return render(request, template, context)


@require_GET
@requires(Can.SEE_CHILDREN)
def athlete(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Details: group, rest notes, who may read, what the family agreed to."""
    found = visible_or_404(Athlete, request.viewer, code)
    audit.note(request.viewer, "opened a child's details", found)
    context = {
        "athlete": found,
        "rest_notes": list(RestNote.objects.visible_to(request.viewer).filter(athlete=found)),
        "guardians": list(Guardian.objects.visible_to(request.viewer).filter(athlete=found)),
        "consents": list(found.consents.all()),
        "guardian_form": GuardianForm(),
        "consent_form": ConsentForm(initial={"given_on": request.viewer.today}),
    }
    return render(request, "athletes/athlete.html", context)


@require_http_methods(["GET", "POST"])
@requires(Can.EDIT_CHILDREN)
def athlete_add(request: ClubRequest) -> HttpResponse:
    """Add one child; the roster page takes many at once."""
    return edit(request, Athlete(joined_on=request.viewer.today))


@require_http_methods(["GET", "POST"])
@requires(Can.EDIT_CHILDREN)
def athlete_edit(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Change a child's name, date of birth or group."""
    return edit(request, visible_or_404(Athlete, request.viewer, code))


def edit(request: ClubRequest, row: Athlete) -> HttpResponse:
    """The one form behind adding and changing a child."""
    form = AthleteForm(
        request.POST or None,
        instance=row,
        today=request.viewer.today,
        groups=Group.objects.visible_to(request.viewer).filter(Q(is_active=True) | Q(pk=row.group_id)),
    )
    if request.method == "POST" and form.is_valid():
        added = row.pk is None
        form.save()
        audit.note(request.viewer, "added a child" if added else "changed a child's details", row)
        messages.success(request, f"{row.full_name} is saved.")
        return redirect("athletes:athlete", row.code)
    return render(
        request,
        "athletes/athlete_edit.html",
        {"form": form, "athlete": row},
        status=422 if form.errors else 200,
    )
