"""Addresses of test days, the floor, progress, the programme and family notes."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "assessments"
urlpatterns: list[URLPattern] = []
