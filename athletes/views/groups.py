"""Groups and who coaches them."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes.forms import CoachingForm, GroupForm
from athletes.models import Athlete, Coaching, Group, RestNote
from club import audit
from club.access import Can, requires, visible_or_404
from club.http import ClubRequest


@require_GET
@requires(Can.SEE_CHILDREN)
def group_list(request: ClubRequest) -> HttpResponse:
    """Groups with their size, coaches and how many rest."""
    training = Q(athletes__left_on__isnull=True, athletes__isnull=False)
    resting = Q(athletes__rest_notes__isnull=False, athletes__rest_notes__ended_on__isnull=True) & training
    groups = (
        Group.objects.visible_to(request.viewer)
        .annotate(
            size=Count("athletes", filter=training, distinct=True),
            resting=Count("athletes", filter=resting, distinct=True),
        )
        .prefetch_related("coachings__coach")
        .order_by("-is_active", "name")
    )
    rows = [
        (g, [c.coach for c in g.coachings.all() if c.until_on is None or c.until_on >= request.viewer.today])
        for g in groups
    ]
    return render(request, "athletes/group_list.html", {"rows": rows})


@require_GET
@requires(Can.SEE_CHILDREN)
def group(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """One group: its children, its coaches, the way to its board."""
    found = visible_or_404(Group, request.viewer, code)
    children = Athlete.objects.visible_to(request.viewer).filter(group=found).training(request.viewer.today)
    resting = RestNote.objects.visible_to(request.viewer).open().filter(athlete__group=found)
    context = {
        "group": found,
        "children": list(children.in_name_order()),
        "resting": {note.athlete_id: note for note in resting},
        "coachings": list(found.coachings.on(request.viewer.today).select_related("coach")),
        "coaching_form": CoachingForm(initial={"from_on": request.viewer.today}),
    }
    return render(request, "athletes/group.html", context)


@require_http_methods(["GET", "POST"])
@requires(Can.MANAGE_PEOPLE)
def group_add(request: ClubRequest) -> HttpResponse:
    """A new group."""
    return edit(request, Group())


@require_http_methods(["GET", "POST"])
@requires(Can.MANAGE_PEOPLE)
def group_edit(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Rename a group, or let it rest."""
    return edit(request, visible_or_404(Group, request.viewer, code))


def edit(request: ClubRequest, row: Group) -> HttpResponse:
    """The one form behind adding and changing a group."""
    form = GroupForm(request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid():
        form.save()
        audit.note(request.viewer, "saved a group", row)
        messages.success(request, f"{row.name} is saved.")
        return redirect("athletes:group", row.code)
    return render(
        request, "athletes/group_edit.html", {"form": form, "group": row}, status=422 if form.errors else 200
    )


@require_POST
@requires(Can.MANAGE_PEOPLE)
def coaching_add(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """A coach begins with the group and sees its children from that day."""
    found = visible_or_404(Group, request.viewer, code)
    form = CoachingForm(request.POST, instance=Coaching(group=found))
    if not form.is_valid():
        messages.error(
            request, "Choose a coach and a date. If this coach began that day already, it is saved."
        )
        return redirect("athletes:group", code)
    form.save()
    audit.note(request.viewer, "gave a coach a group", found, coach=str(form.instance.coach.code))
    messages.success(
        request, f"{form.instance.coach.name} coaches {found.name} from {form.instance.from_on:%-d %B}."
    )
    return redirect("athletes:group", code)


@require_POST
@requires(Can.MANAGE_PEOPLE)
def coaching_end(request: ClubRequest, code: uuid.UUID, pk: int) -> HttpResponse:
    """The coach no longer sees this group, from the next page on."""
    found = visible_or_404(Group, request.viewer, code)
    row = get_object_or_404(Coaching, pk=pk, group=found)
    audit.note(request.viewer, "ended a coach's turn", found, coach=str(row.coach.code))
    row.delete()
    messages.success(request, f"{row.coach.name} no longer coaches {found.name}.")
    return redirect("athletes:group", code)
