"""Addresses of test days, the floor, progress, the programme and family notes."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path

from assessments.views import imports

app_name = "assessments"
urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("assessments.day_urls")),
    path("", include("assessments.read_urls")),
    path("", include("assessments.edition_urls")),
    path("", include("assessments.number_urls")),
    path("results/import/", imports.results_import, name="results_import"),
    path("results/import/preview/", imports.results_import_preview, name="results_import_preview"),
    path("results/import/apply/", imports.results_import_apply, name="results_import_apply"),
    path("results/import/drop/", imports.results_import_drop, name="results_import_drop"),
    path(
        "results/import/columns/<int:pk>/forget/", imports.import_mapping_forget, name="import_mapping_forget"
    ),
]
