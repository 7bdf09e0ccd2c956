"""Addresses of what is read: a child's progress, the group board, decisions, family notes, exports."""

from __future__ import annotations

from django.urls import path

from assessments.views import board, exports, family, progress, readiness

urlpatterns = [
    path("children/<uuid:code>/progress/", progress.child, name="child"),
    path("children/<uuid:code>/progress/summary/", progress.child_summary, name="child_summary"),
    path("children/<uuid:code>/skills/<slug:slug>/", readiness.skill, name="skill"),
    path("children/<uuid:code>/skills/<slug:slug>/decide/", readiness.skill_decide, name="skill_decide"),
    path("decisions/<uuid:code>/take-back/", readiness.decision_take_back, name="decision_take_back"),
    path("children/<uuid:code>/results.csv", exports.child_export, name="child_export"),
    path("groups/<uuid:code>/board/", board.board, name="board"),
    path("groups/<uuid:code>/board/print/", board.board_print, name="board_print"),
    path("groups/<uuid:code>/progress/", board.group_progress, name="group_progress"),
    path("groups/<uuid:code>/results.csv", exports.group_export, name="group_export"),
    path("family/", family.family, name="family"),
    path("family/notes/<uuid:code>/", family.family_report, name="family_report"),
    path("family/notes/<uuid:code>/edit/", family.family_report_edit, name="family_report_edit"),
    path("family/notes/<uuid:code>/approve/", family.family_report_approve, name="family_report_approve"),
    path("family/notes/<uuid:code>/withdraw/", family.family_report_withdraw, name="family_report_withdraw"),
    path("children/<uuid:code>/family-notes/", family.family_report_list, name="family_report_list"),
    path("children/<uuid:code>/family-notes/write/", family.family_report_write, name="family_report_write"),
]
