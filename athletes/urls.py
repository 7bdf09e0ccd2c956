"""Addresses of children, groups, guardians, rest notes, the roster and privacy."""

from __future__ import annotations

from django.urls import path

from athletes.views import athletes, groups, guardians, privacy, rest_notes, roster

app_name = "athletes"
urlpatterns = [
    path("children/", athletes.athlete_list, name="athlete_list"),
    path("children/add/", athletes.athlete_add, name="athlete_add"),
    path("children/list/", roster.roster, name="roster"),
    path("children/list/preview/", roster.roster_preview, name="roster_preview"),
    path("children/list/apply/", roster.roster_apply, name="roster_apply"),
    path("children/list/drop/", roster.roster_drop, name="roster_drop"),
    path("children/<uuid:code>/", athletes.athlete, name="athlete"),
    path("children/<uuid:code>/edit/", athletes.athlete_edit, name="athlete_edit"),
    path("children/<uuid:code>/restrict/", guardians.athlete_restrict, name="athlete_restrict"),
    path("children/<uuid:code>/guardians/add/", guardians.guardian_add, name="guardian_add"),
    path("children/<uuid:code>/consents/add/", guardians.consent_add, name="consent_add"),
    path(
        "children/<uuid:code>/consents/<int:pk>/withdraw/",
        guardians.consent_withdraw,
        name="consent_withdraw",
    ),
    path("children/<uuid:code>/rest/open/", rest_notes.rest_note_open, name="rest_note_open"),
    path("children/<uuid:code>/export/", privacy.athlete_export, name="athlete_export"),
    path("children/<uuid:code>/erase/", privacy.athlete_erase, name="athlete_erase"),
    path("guardians/<uuid:code>/revoke/", guardians.guardian_revoke, name="guardian_revoke"),
    path("guardians/<uuid:code>/name/", guardians.guardian_name, name="guardian_name"),
    path("rest-notes/", rest_notes.rest_note_list, name="rest_note_list"),
    path("rest-notes/<uuid:code>/narrow/", rest_notes.rest_note_narrow, name="rest_note_narrow"),
    path("rest-notes/<uuid:code>/end/", rest_notes.rest_note_end, name="rest_note_end"),
    path("groups/", groups.group_list, name="group_list"),
    path("groups/add/", groups.group_add, name="group_add"),
    path("groups/<uuid:code>/", groups.group, name="group"),
    path("groups/<uuid:code>/edit/", groups.group_edit, name="group_edit"),
    path("groups/<uuid:code>/coaches/add/", groups.coaching_add, name="coaching_add"),
    path("groups/<uuid:code>/coaches/<int:pk>/end/", groups.coaching_end, name="coaching_end"),
]
