"""Addresses of the programme: editions, drafts, the editor and the skill maps."""

from __future__ import annotations

from django.urls import path

from assessments.views import programme, programme_drafts, programme_editor, skill_maps

DRAFT = "programme/drafts/<uuid:code>/"

urlpatterns = [
    path("programme/", programme.programme, name="programme"),
    path("programme/map/", skill_maps.programme_map, name="programme_map"),
    path("programme/files/", programme.programme_import, name="programme_import"),
    path("programme/editions/<int:number>/", programme.edition, name="edition"),
    path("programme/editions/<int:number>/files/", programme.programme_export, name="programme_export"),
    path("programme/items/<slug:item>/", programme.programme_item, name="programme_item"),
    path("programme/skills/<slug:skill>/", programme.programme_skill, name="programme_skill"),
    path("programme/drafts/", programme_drafts.draft_begin, name="draft_begin"),
    path(DRAFT, programme_drafts.draft, name="draft"),
    path(DRAFT + "compare/", programme_drafts.draft_compare, name="draft_compare"),
    path(DRAFT + "publish/", programme_drafts.draft_publish, name="draft_publish"),
    path(DRAFT + "drop/", programme_drafts.draft_drop, name="draft_drop"),
    path(DRAFT + "add/", programme_drafts.draft_add, name="draft_add"),
    path(DRAFT + "map/", skill_maps.draft_map, name="draft_map"),
    path(DRAFT + "map/connect/", skill_maps.draft_connect, name="draft_connect"),
    path(DRAFT + "rules/", programme_editor.draft_rules, name="draft_rules"),
    path(DRAFT + "measures/<slug:item>/", programme_editor.draft_measure, name="draft_measure"),
    path(DRAFT + "shapes/<slug:item>/", programme_editor.draft_shape, name="draft_shape"),
    path(DRAFT + "skills/<slug:item>/", programme_editor.draft_skill, name="draft_skill"),
    path(DRAFT + "benchmarks/<slug:item>/", programme_editor.draft_benchmark, name="draft_benchmark"),
    path(DRAFT + "benchmarks/<slug:item>/picture/", programme_editor.draft_picture, name="draft_picture"),
    path(DRAFT + "<slug:file>/<slug:item>/remove/", programme_drafts.draft_remove, name="draft_remove"),
    path(DRAFT + "<slug:file>/<slug:item>/move/", programme_drafts.draft_move, name="draft_move"),
    path("children/<uuid:code>/map/", skill_maps.child_map, name="child_map"),
    path("groups/<uuid:code>/map/", skill_maps.group_map, name="group_map"),
]
