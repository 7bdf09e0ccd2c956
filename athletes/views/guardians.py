"""Grants to read about one child, consents, and restricted disclosure."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.forms import ConsentForm, GuardianForm, RestrictForm
from athletes.models import Athlete, Consent, Guardian
from club import audit
from club.access import Can, Role, requires, visible_or_404
from club.http import ClubRequest
from club.invitations import invite
from club.models import User


@require_POST
@requires(Can.MANAGE_PEOPLE)
def guardian_add(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Give one adult the right to read about this child; invite them when they have no account."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    form = GuardianForm(request.POST)
    if not form.is_valid():
        return render(request, "athletes/guardian_edit.html", {"form": form, "athlete": athlete}, status=422)
    email = form.cleaned_data["email"]
    member = User.objects.filter(email=email, role=Role.GUARDIAN, is_active=True).first()
    grant, _ = Guardian.objects.update_or_create(
        athlete=athlete,
        email=email,
        defaults={
            "name": form.cleaned_data["name"],
            "may_read": form.cleaned_data["may_read"],
            "member": member,
            "revoked_at": None,
            "granted_at": timezone.now(),
            "granted_by": request.viewer.member,
        },
    )
    audit.note(request.viewer, "gave a guardian access", athlete, grant=str(grant.code))
    if member is not None:
        messages.success(request, f"{grant.name or email} may now read notes about {athlete.first_name}.")
        return redirect("athletes:athlete", code)
    link = invite(
        request.viewer, email=email, name=grant.name, role=Role.GUARDIAN, absolute=request.build_absolute_uri
    )
    return render(request, "club/invitation_made.html", {"link": link, "email": email, "athlete": athlete})


@require_POST
@requires(Can.MANAGE_PEOPLE)
def guardian_revoke(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """End a grant. It takes effect on the next page; undo is to give it again."""
    grant = visible_or_404(Guardian, request.viewer, code)
    grant.revoked_at = timezone.now()
    grant.save(update_fields=["revoked_at"])
    audit.note(request.viewer, "ended a guardian's access", grant.athlete, grant=str(grant.code))
    messages.success(
        request, f"{grant.name or grant.email} can no longer read about {grant.athlete.first_name}."
    )
    return redirect("athletes:athlete", grant.athlete.code)


@require_POST
@requires(Can.MANAGE_PEOPLE)
def guardian_name(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Name, or no longer name, an adult who may read even under restricted disclosure."""
    grant = visible_or_404(Guardian, request.viewer, code)
    grant.named = not grant.named
    grant.save(update_fields=["named"])
    audit.note(request.viewer, "named a guardian" if grant.named else "unnamed a guardian", grant.athlete)
    return redirect("athletes:athlete", grant.athlete.code)


@require_http_methods(["GET", "POST"])
@requires(Can.ERASE)
def athlete_restrict(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Restricted disclosure: stops all reading by guardians who are not named, from the next page on."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    form = RestrictForm(request.POST or None, instance=athlete)
    if request.method == "POST" and form.is_valid():
        form.save()
        audit.note(
            request.viewer, "restricted disclosure" if athlete.restricted else "lifted a restriction", athlete
        )
        messages.success(request, "Saved. It holds from the next page that anybody opens.")
        return redirect("athletes:athlete", code)
    return render(
        request,
        "athletes/athlete_restrict.html",
        {"form": form, "athlete": athlete},
        status=422 if form.errors else 200,
    )


@require_POST
@requires(Can.EDIT_CHILDREN)
def consent_add(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Write down what the family agreed to."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    form = ConsentForm(request.POST, instance=Consent(athlete=athlete))
    if form.is_valid():
        form.save()
        audit.note(request.viewer, "noted a consent", athlete)
        messages.success(request, "The consent is noted.")
    else:
        messages.error(request, "Say what was agreed, who agreed and when.")
    return redirect("athletes:athlete", code)


@require_POST
@requires(Can.EDIT_CHILDREN)
def consent_withdraw(request: ClubRequest, code: uuid.UUID, pk: int) -> HttpResponse:
    """As easily as it was given."""
    athlete = visible_or_404(Athlete, request.viewer, code)
    row = get_object_or_404(Consent, pk=pk, athlete=athlete)
    row.withdrawn_on = request.viewer.today
    row.save(update_fields=["withdrawn_on"])
    audit.note(request.viewer, "withdrew a consent", athlete)
    messages.success(request, "The consent is withdrawn from today.")
    return redirect("athletes:athlete", code)
