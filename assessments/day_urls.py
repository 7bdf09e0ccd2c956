"""Addresses of test days, results, station passes and what tablets speak to."""

from __future__ import annotations

from django.urls import URLPattern, path

from assessments.views import days, exports, floor, paper, results, roll, settling, stations, sync

urlpatterns: list[URLPattern] = [
    path("days/", days.day_list, name="day_list"),
    path("days/plan/", days.day_plan, name="day_plan"),
    path("days/<uuid:code>/", days.day, name="day"),
    path("days/<uuid:code>/plan/", days.day_edit, name="day_edit"),
    path("days/<uuid:code>/open/", days.day_open, name="day_open"),
    path("days/<uuid:code>/close/", days.day_close, name="day_close"),
    path("days/<uuid:code>/reopen/", days.day_reopen, name="day_reopen"),
    path("days/<uuid:code>/attendance/", roll.attendance, name="attendance"),
    path("days/<uuid:code>/results/", results.result_list, name="result_list"),
    path("days/<uuid:code>/entries.csv", exports.entries_export, name="entries_export"),
    path("days/<uuid:code>/unsettled/", settling.day_unsettled, name="day_unsettled"),
    path("days/<uuid:code>/sheets/", paper.station_sheets, name="station_sheets"),
    path("days/<uuid:code>/grid/<uuid:station>/", paper.station_grid, name="station_grid"),
    path("days/<uuid:code>/file-copy/", paper.outbox_import, name="outbox_import"),
    path("days/<uuid:code>/passes/", stations.pass_create, name="pass_create"),
    path("passes/<uuid:code>/end/", stations.pass_end, name="pass_end"),
    path("join/<str:token>/", stations.station_join, name="station_join"),
    path("leave/", stations.station_leave, name="station_leave"),
    path("results/<uuid:code>/", results.result, name="result"),
    path("results/<uuid:code>/correct/", results.result_correct, name="result_correct"),
    path("results/<uuid:code>/take-back/", results.result_take_back, name="result_take_back"),
    path("results/<uuid:code>/move/", results.result_move, name="result_move"),
    path("results/<uuid:code>/keep/", settling.conflict_settle, name="conflict_settle"),
    path("refused/<uuid:code>/settle/", settling.refused_settle, name="refused_settle"),
    path("days/<uuid:code>/floor/", floor.floor, name="floor"),
    path("days/<uuid:code>/floor/data/", sync.floor_data, name="floor_data"),
    path("days/<uuid:code>/sync/", sync.sync, name="sync"),
    path("days/<uuid:code>/sync/reconcile/", sync.sync_reconcile, name="sync_reconcile"),
    path("days/<uuid:code>/sync/roll/", sync.sync_roll, name="sync_roll"),
    path("sync/token/", sync.sync_token, name="sync_token"),
]
