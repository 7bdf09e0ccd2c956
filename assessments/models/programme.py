"""The programme: one document an edition, and the identities that results and decisions point to."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from club.access import Can, Viewer
from club.models import User


class ProgrammeEditionQuerySet(models.QuerySet["ProgrammeEdition"]):
    """Editions, the published ones in order."""

    def visible_to(self, viewer: Viewer) -> ProgrammeEditionQuerySet:
        """Published editions for staff; drafts for those who may change the programme."""
        if viewer.can(Can.EDIT_PROGRAMME):
            return self
        return self.published() if viewer.can(Can.SEE_PROGRAMME) else self.none()

    def published(self) -> ProgrammeEditionQuerySet:
        """Editions that count or counted."""
        return self.filter(number__isnull=False)

    def current(self) -> ProgrammeEdition | None:
        """The newest published edition."""
        return self.published().order_by("-number").first()

    def drafts(self) -> ProgrammeEditionQuerySet:
        """Editions that nobody has published."""
        return self.filter(number__isnull=True)


class ProgrammeEdition(models.Model):
    """A whole programme: measures, shapes, skills, benchmarks and rules. Never edited once published."""

    privacy = "keep"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    number = models.PositiveIntegerField(null=True, blank=True, unique=True)
    title = models.CharField(max_length=80, blank=True)
    document = models.JSONField(default=dict)
    based_on = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    draft_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(default=timezone.now)
    created_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    changed_at = models.DateTimeField(default=timezone.now)
    changed_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    reason = models.CharField(max_length=300, blank=True)
    objects = ProgrammeEditionQuerySet.as_manager()

    class Meta:
        ordering = ("-number", "-pk")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(number__isnull=True, published_at__isnull=True)
                | Q(number__isnull=False, published_at__isnull=False),
                name="edition_numbered_when_published",
            )
        ]

    def __str__(self) -> str:
        return f"Edition {self.number}" if self.number else f"Draft {self.title or self.pk}"


class Measure(models.Model):
    """The identity of a measure or a shape. What it means stands in the edition."""

    privacy = "keep"
    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=12)

    class Meta:
        ordering = ("slug",)

    def __str__(self) -> str:
        return self.name


class Protocol(models.Model):
    """One way to carry out a measure or judge a shape. A result points to the one that it used."""

    privacy = "keep"
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="protocols")
    version = models.PositiveIntegerField()
    body = models.JSONField(default=dict)
    since_edition = models.ForeignKey(ProgrammeEdition, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ("measure", "version")
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["measure", "version"], name="one_protocol_a_version")
        ]

    def __str__(self) -> str:
        return f"{self.measure} v{self.version}"


class Skill(models.Model):
    """The identity of a skill, so that a coach's decision outlives an edition."""

    privacy = "keep"
    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=80)
    area = models.CharField(max_length=20)

    class Meta:
        ordering = ("slug",)

    def __str__(self) -> str:
        return self.name
