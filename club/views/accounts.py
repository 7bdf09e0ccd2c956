"""Coming in, going out, and who the members are."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.contrib.auth import login, logout
from django.contrib.auth import views as auth_views
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse_lazy
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes.models import Guardian
from club import audit
from club.access import Can, Role, open_to_all, requires
from club.forms import AcceptForm, InviteForm, MemberForm, SignInForm
from club.http import ClubRequest
from club.invitations import invite
from club.models import Invitation, User


class SignIn(auth_views.LoginView):
    """Django's own sign-in."""

    template_name = "club/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True
    guard = ()


class PasswordChange(auth_views.PasswordChangeView):
    """A new password for somebody signed in."""

    template_name = "club/password_change.html"
    success_url = reverse_lazy("club:account")
    guard = ()


class PasswordReset(auth_views.PasswordResetView):
    """Ask for a link by e-mail. The answer does not tell whether the address is known."""

    template_name = "club/password_reset.html"
    email_template_name = "club/password_reset_mail.txt"
    subject_template_name = "club/password_reset_subject.txt"
    success_url = reverse_lazy("club:password_reset_sent")
    guard = ()


class PasswordResetSent(auth_views.PasswordResetDoneView):
    """Look into your mail."""

    template_name = "club/password_reset_sent.html"
    guard = ()


class PasswordResetNew(auth_views.PasswordResetConfirmView):
    """Choose a new password with the link from the mail."""

    template_name = "club/password_reset_new.html"
    success_url = reverse_lazy("club:sign_in")
    guard = ()


@require_POST
@open_to_all
def sign_out(request: ClubRequest) -> HttpResponse:
    """End the session. The pages kept for offline use are cleared by the page that follows."""
    logout(request)
    response = redirect("club:sign_in")
    response.headers["Clear-Site-Data"] = '"cache"'
    return response


@require_GET
@requires(Can.SIGN_IN)
def account(request: ClubRequest) -> HttpResponse:
    """One's own name, role and password."""
    return render(request, "club/account.html")


@require_GET
@requires(Can.MANAGE_PEOPLE)
def member_list(request: ClubRequest) -> HttpResponse:
    """Members and open invitations."""
    members = list(User.objects.order_by("-is_active", "role", "name"))
    context = {
        "staff": [m for m in members if m.role != Role.GUARDIAN],
        "guardians": [m for m in members if m.role == Role.GUARDIAN],
        "invitations": list(Invitation.objects.open(timezone.now())),
        "form": InviteForm(),
    }
    return render(request, "club/member_list.html", context)


@require_POST
@requires(Can.MANAGE_PEOPLE)
def member_invite(request: ClubRequest) -> HttpResponse:
    """Invite a coach or a director. The link goes by e-mail, or is handed over from the screen."""
    form = InviteForm(request.POST)
    if not form.is_valid():
        return render(request, "club/member_invite.html", {"form": form}, status=422)
    link = invite(request.viewer, **form.cleaned_data, absolute=request.build_absolute_uri)
    return render(request, "club/invitation_made.html", {"link": link, "email": form.cleaned_data["email"]})


@require_POST
@requires(Can.MANAGE_PEOPLE)
def invitation_withdraw(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """An invitation that was not used yet stops working."""
    row = get_object_or_404(Invitation, code=code, used_at=None)
    row.withdrawn_at = timezone.now()
    row.save(update_fields=["withdrawn_at"])
    audit.note(request.viewer, "withdrew an invitation", row)
    messages.success(request, f"The invitation for {row.email} no longer works.")
    return redirect("club:member_list")


@require_http_methods(["GET", "POST"])
@requires(Can.MANAGE_PEOPLE)
def member(request: ClubRequest, code: uuid.UUID) -> HttpResponse:
    """Change one member. The last director stays a director who can sign in."""
    found = get_object_or_404(User, code=code)
    form = MemberForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        others = User.objects.filter(role=Role.DIRECTOR, is_active=True).exclude(pk=found.pk)
        if not others.exists() and (
            form.cleaned_data["role"] != Role.DIRECTOR or not form.cleaned_data["is_active"]
        ):
            form.add_error(
                None, "The club needs at least one director who can sign in. Make another one first."
            )
        else:
            form.save()
            if not found.is_active:
                Invitation.objects.withdraw_for(found.email, timezone.now())
            audit.note(request.viewer, "changed a member", found, role=found.role, active=found.is_active)
            messages.success(request, f"{found.name} is saved.")
            return redirect("club:member_list")
    return render(
        request, "club/member.html", {"form": form, "found": found}, status=422 if form.errors else 200
    )


@require_http_methods(["GET", "POST"])
@open_to_all
def invitation_accept(request: ClubRequest, token: str) -> HttpResponse:
    """Choose a password with a single-use link."""
    row = Invitation.objects.usable(token, timezone.now())
    if row is None:
        return render(request, "club/invitation_gone.html", status=410)
    form = AcceptForm(request.POST or None, email=row.email, initial={"name": row.name})
    if request.method == "POST" and form.is_valid():
        user = accept(row, name=form.cleaned_data["name"], password=form.cleaned_data["password"])
        login(request, user, backend="django.contrib.auth.backends.ModelBackend")
        return redirect("club:home")
    return render(
        request, "club/invitation_accept.html", {"form": form, "row": row}, status=422 if form.errors else 200
    )


@transaction.atomic
def accept(row: Invitation, *, name: str, password: str) -> User:
    """Use an invitation up: a new member, or a closed account opened again."""
    if not Invitation.objects.filter(pk=row.pk, used_at=None).update(used_at=timezone.now()):
        raise Http404("This invitation was used a moment ago.")
    # A second link in an old mail would set the password again, or open an account that was closed since.
    Invitation.objects.withdraw_for(row.email, timezone.now())
    user = User.objects.filter(email=row.email).first() or User(email=row.email, role=row.role)
    user.name, user.role, user.is_active = name, row.role, True
    user.set_password(password)
    user.save()
    Guardian.objects.filter(email=row.email, member=None, revoked_at=None).update(member=user)
    return user
