"""All addresses. Each app lists its own; the club's pages stand here."""

from __future__ import annotations

from django.urls import include, path

from club.views import accounts, device, errors, guide, home, settings_page, trail

club_pages = (
    [
        path("", home.home, name="home"),
        path("sign-in/", accounts.SignIn.as_view(), name="sign_in"),
        path("sign-out/", accounts.sign_out, name="sign_out"),
        path("account/", accounts.account, name="account"),
        path("password/", accounts.PasswordChange.as_view(), name="password_change"),
        path("password/forgotten/", accounts.PasswordReset.as_view(), name="password_reset"),
        path("password/forgotten/sent/", accounts.PasswordResetSent.as_view(), name="password_reset_sent"),
        path(
            "password/new/<uidb64>/<token>/", accounts.PasswordResetNew.as_view(), name="password_reset_new"
        ),
        path("invitation/<str:token>/", accounts.invitation_accept, name="invitation_accept"),
        path("people/", accounts.member_list, name="member_list"),
        path("people/invite/", accounts.member_invite, name="member_invite"),
        path("people/<uuid:code>/", accounts.member, name="member"),
        path(
            "people/invitations/<uuid:code>/withdraw/",
            accounts.invitation_withdraw,
            name="invitation_withdraw",
        ),
        path("club/", settings_page.club_settings, name="club_settings"),
        path("club/trail/", trail.audit_trail, name="audit_trail"),
        path("guide/", guide.guide, name="guide"),
        path("guide/<slug:page>/", guide.guide_page, name="guide_page"),
        path("safeguarding/", guide.safeguarding, name="safeguarding"),
        path("sw.js", device.service_worker, name="service_worker"),
        path("manifest.webmanifest", device.manifest, name="manifest"),
        path("offline/", device.offline, name="offline"),
        path("leaving/", device.leaving, name="leaving"),
        path("health/", device.health, name="health"),
    ],
    "club",
)

urlpatterns = [
    path("", include(club_pages)),
    path("", include("athletes.urls")),
    path("", include("assessments.urls")),
]

handler403 = errors.forbidden
handler404 = errors.not_found
handler500 = errors.broken
