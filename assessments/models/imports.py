"""What the club said once about the columns of its old sheets."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from assessments.models.results import SIDES
from club.models import User


class ImportMapping(models.Model):
    """One header and where its results go, remembered for the next file."""

    privacy = "keep"
    header = models.CharField("header without case and accents", max_length=200, unique=True)
    item = models.SlugField(max_length=60, blank=True)
    side = models.CharField(max_length=5, choices=SIDES, blank=True)
    trial = models.PositiveSmallIntegerField(default=1)
    variant = models.CharField(max_length=40, blank=True)
    ignored = models.BooleanField(default=False)
    set_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    set_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("header",)
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(ignored=True) | ~Q(item=""), name="mapping_leads_somewhere"),
            models.CheckConstraint(condition=Q(side__in=["", "left", "right"]), name="mapping_side_known"),
        ]

    def __str__(self) -> str:
        return f"{self.header}: {'left out' if self.ignored else self.item}"
