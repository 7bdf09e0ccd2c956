"""Addresses of children, groups, guardians, rest notes, the roster and privacy."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "athletes"
urlpatterns: list[URLPattern] = []
