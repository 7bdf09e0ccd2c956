"""Test days: what is planned, who is there, and which tablets have joined."""

from __future__ import annotations

import hashlib
import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from assessments.models.programme import Measure, ProgrammeEdition
from athletes.models import Athlete, Group
from club.access import Viewer
from club.models import User


class AssessmentDayQuerySet(models.QuerySet["AssessmentDay"]):
    """Test days."""

    def visible_to(self, viewer: Viewer) -> AssessmentDayQuerySet:
        """Days of a group that the viewer sees; a station only its own day."""
        if viewer.is_director:
            return self
        if viewer.station is not None:
            return self.filter(pk=viewer.station.day_id)
        return self.filter(groups__in=Group.objects.visible_to(viewer)).distinct()

    def open(self) -> AssessmentDayQuerySet:
        """Days that take results now."""
        return self.filter(status=AssessmentDay.Status.OPEN)

    def newest_first(self) -> AssessmentDayQuerySet:
        """As a list shows them."""
        return self.order_by("-held_on", "-pk")


class AssessmentDay(models.Model):
    """One test day of one or more groups."""

    class Status(models.TextChoices):
        """A day is planned, takes results, and is closed. A late result is still taken, and marked."""

        PLANNED = "planned", "Planned"
        OPEN = "open", "Open"
        CLOSED = "closed", "Closed"

    privacy = "keep"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    held_on = models.DateField()
    title = models.CharField(max_length=80, blank=True)
    status = models.CharField(max_length=8, choices=Status.choices, default=Status.PLANNED)
    groups = models.ManyToManyField(Group, related_name="days")
    coaches = models.ManyToManyField(User, blank=True, related_name="days")
    lead = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="led_days")
    familiarisation = models.BooleanField(
        "play day", default=False, help_text="Results are kept, but never count as progress."
    )
    open_space = models.BooleanField("two adults present, or open to view", default=False)
    imported = models.BooleanField(default=False)
    edition = models.ForeignKey(ProgrammeEdition, null=True, on_delete=models.PROTECT, related_name="days")
    created_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField(default=timezone.now)
    opened_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    closing_words = models.CharField("why it was closed before everything was in", max_length=200, blank=True)
    objects = AssessmentDayQuerySet.as_manager()

    class Meta:
        ordering = ("-held_on", "-pk")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(status__in=["planned", "open", "closed"]), name="day_status_known"
            )
        ]

    def __str__(self) -> str:
        return self.title or f"Test day {self.held_on:%-d %B %Y}"


class Station(models.Model):
    """One measure or shape, in one variant, on one day."""

    privacy = "keep"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    day = models.ForeignKey(AssessmentDay, on_delete=models.CASCADE, related_name="stations")
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="+")
    variant = models.CharField(max_length=40, blank=True)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ("order", "pk")
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["day", "measure", "variant"], name="one_station_a_measure_and_variant"
            )
        ]

    def __str__(self) -> str:
        return f"{self.measure} on {self.day}"


class AttendanceQuerySet(models.QuerySet["Attendance"]):
    """Who was there."""

    def visible_to(self, viewer: Viewer) -> AttendanceQuerySet:
        """As the child."""
        return self.filter(athlete__in=Athlete.objects.visible_to(viewer))


class Attendance(models.Model):
    """One child on one day: there or away, and the answer to 'anything sore, ill or new?'."""

    class Answer(models.TextChoices):
        """Not asked blocks scoring."""

        NOT_ASKED = "not_asked", "Not asked"
        NO = "no", "No"
        YES = "yes", "Yes"

    privacy = "erase"
    day = models.ForeignKey(AssessmentDay, on_delete=models.CASCADE, related_name="attendances")
    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="attendances")
    present = models.BooleanField(null=True, default=None)
    present_at = models.DateTimeField("when that was said", null=True, blank=True)
    sore = models.CharField(max_length=10, choices=Answer.choices, default=Answer.NOT_ASKED)
    asked_at = models.DateTimeField(null=True, blank=True)
    asked_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    stopped_at = models.DateTimeField(null=True, blank=True)
    order = models.PositiveSmallIntegerField(default=0)
    objects = AttendanceQuerySet.as_manager()

    class Meta:
        ordering = ("order", "athlete__first_name", "athlete__last_name", "pk")
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["day", "athlete"], name="one_attendance_a_child_and_day")
        ]

    def __str__(self) -> str:
        return f"{self.athlete} on {self.day}"


class StationPassQuerySet(models.QuerySet["StationPass"]):
    """Passes that tablets carry."""

    def visible_to(self, viewer: Viewer) -> StationPassQuerySet:
        """As the day."""
        return self.filter(day__in=AssessmentDay.objects.visible_to(viewer).values("pk"))

    def usable(self, token: str, now: datetime) -> StationPass | None:
        """The pass behind a token while it is in force."""
        return (
            self.filter(digest=StationPass.digest_of(token), ended_at__isnull=True, expires_at__gt=now)
            .select_related("day")
            .first()
        )


class StationPass(models.Model):
    """Lets a shared tablet join one day as a station. Only a digest of the token is kept."""

    privacy = "keep"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    day = models.ForeignKey(AssessmentDay, on_delete=models.CASCADE, related_name="passes")
    label = models.CharField(max_length=40)
    digest = models.CharField(max_length=64, unique=True)
    created_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    last_seen_at = models.DateTimeField(null=True, blank=True)
    objects = StationPassQuerySet.as_manager()

    class Meta:
        ordering = ("created_at",)

    def __str__(self) -> str:
        return self.label

    @staticmethod
    def digest_of(token: str) -> str:
        """What is stored instead of the token."""
        return hashlib.sha256(token.encode()).hexdigest()
