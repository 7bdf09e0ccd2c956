"""Addresses of test days, results, station passes and what tablets speak to."""

from __future__ import annotations

from django.urls import URLPattern, path

from assessments.views import floor, sync

urlpatterns: list[URLPattern] = [
    path("days/<uuid:code>/sync/", sync.sync, name="sync"),
    path("days/<uuid:code>/sync/reconcile/", sync.sync_reconcile, name="sync_reconcile"),
    path("days/<uuid:code>/sync/roll/", sync.sync_roll, name="sync_roll"),
    path("sync/token/", sync.sync_token, name="sync_token"),
    path("days/<uuid:code>/floor/", floor.floor, name="floor"),
    path("days/<uuid:code>/floor/data/", sync.floor_data, name="floor_data"),
]
