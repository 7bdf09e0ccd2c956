"""The coach's word about a skill, and what a family was given."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from assessments.models.programme import ProgrammeEdition, Skill
from athletes.models import Athlete
from club.access import Can, Viewer
from club.models import User


class SkillDecisionQuerySet(models.QuerySet["SkillDecision"]):
    """Decisions; the newest one speaks."""

    def visible_to(self, viewer: Viewer) -> SkillDecisionQuerySet:
        """Staff who see the child."""
        if not viewer.can(Can.SEE_PROGRESS):
            return self.none()
        return self.filter(athlete__in=Athlete.objects.visible_to(viewer))

    def in_order(self) -> SkillDecisionQuerySet:
        """Oldest first, so that a reader can fold them."""
        return self.order_by("decided_at", "pk")


class SkillDecision(models.Model):
    """What a coach decided that day, with the reasons as they were shown. Never edited."""

    class Word(models.TextChoices):
        """A decision about starting, or the coach's word for where the child is."""

        AGREE = "agree", "Agree: start it"
        NOT_YET = "not_yet", "Not yet"
        OVERRIDE = "override", "Start it all the same"
        LEARNING = "learning", "Learning"
        CONSISTENT = "consistent", "Consistent"
        REOPENED = "reopened", "Back to learning"
        WITHDRAWN = "withdrawn", "Decision taken back"

    privacy = "erase"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="decisions")
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="decisions")
    word = models.CharField(max_length=10, choices=Word.choices)
    reason = models.CharField(max_length=300, blank=True)
    seen_on = models.JSONField("days on which consistency was seen", default=list, blank=True)
    decided_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    decided_at = models.DateTimeField(default=timezone.now)
    state_shown = models.CharField(max_length=10, blank=True)
    inputs = models.JSONField(default=dict, blank=True)
    edition = models.ForeignKey(ProgrammeEdition, null=True, on_delete=models.PROTECT, related_name="+")
    objects = SkillDecisionQuerySet.as_manager()

    class Meta:
        ordering = ("-decided_at", "-pk")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~Q(word="override") | ~Q(reason=""), name="override_states_its_reason"
            )
        ]

    def __str__(self) -> str:
        return f"{self.athlete} {self.skill}: {self.get_word_display()}"


class FamilyReportQuerySet(models.QuerySet["FamilyReport"]):
    """Family notes."""

    def visible_to(self, viewer: Viewer) -> FamilyReportQuerySet:
        """Staff see all states of children that they see; a guardian only what is approved."""
        mine = self.filter(athlete__in=Athlete.objects.visible_to(viewer))
        if viewer.can(Can.FAMILY_NOTES):
            return mine
        if viewer.can(Can.READ_FAMILY_NOTES):
            return mine.filter(status=FamilyReport.Status.APPROVED)
        return self.none()


class FamilyReport(models.Model):
    """A note for a child's family, kept as it was given."""

    class Status(models.TextChoices):
        """Written, released, or taken back."""

        DRAFT = "draft", "Draft"
        APPROVED = "approved", "Approved"
        WITHDRAWN = "withdrawn", "Withdrawn"

    privacy = "erase"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="family_reports")
    title = models.CharField(max_length=80)
    body = models.JSONField(default=dict)
    status = models.CharField(max_length=10, choices=Status.choices, default=Status.DRAFT)
    edition = models.ForeignKey(ProgrammeEdition, null=True, on_delete=models.PROTECT, related_name="+")
    written_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    written_at = models.DateTimeField(default=timezone.now)
    approved_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    approved_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    objects = FamilyReportQuerySet.as_manager()

    class Meta:
        ordering = ("-written_at", "-pk")

    def __str__(self) -> str:
        return f"{self.title} for {self.athlete}"
