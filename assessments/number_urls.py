"""Addresses of the shape guide, and of the numbers behind what the app says."""

from __future__ import annotations

from django.urls import URLPattern, path

from assessments.views import shapes

urlpatterns: list[URLPattern] = [
    path("shapes/", shapes.shape_guide, name="shape_guide"),
    path("shapes/wall/", shapes.shape_wall, name="shape_wall"),
    path("shapes/<slug:slug>/", shapes.shape, name="shape"),
]
