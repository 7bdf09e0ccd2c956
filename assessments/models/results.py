"""Results: one trial a row, append-only. A correction is a new row that replaces an old one."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.utils import timezone

from assessments.models.days import AssessmentDay, StationPass
from assessments.models.programme import Measure, Protocol
from athletes.models import Athlete
from club.access import Viewer
from club.models import User

SIDES = (("", "Both or none"), ("left", "Left"), ("right", "Right"))
OUTCOMES = (
    ("scored", "Scored"),
    ("reached_cap", "Reached cap"),
    ("chose_to_stop", "Chose to stop"),
    ("could_not_start", "Could not start"),
    ("not_attempted", "Not attempted"),
    ("stopped_for_pain", "Stopped for pain"),
    ("interrupted", "Interrupted"),
    ("withdrawn", "Taken back"),
)
HOWS = (
    ("timed", "Timed"),
    ("counted", "Counted"),
    ("typed", "Typed"),
    ("rubric", "Judged"),
    ("imported", "Imported"),
)

#: Two standing entries with evidence in one of these places contradict each other.
PLACE = ("day", "athlete", "measure", "variant", "side", "trial", "second")
EVIDENCE = ("scored", "reached_cap", "chose_to_stop", "could_not_start")


class ResultQuerySet(models.QuerySet["Result"]):
    """Results of one or many children."""

    def visible_to(self, viewer: Viewer) -> ResultQuerySet:
        """As the child."""
        return self.filter(athlete__in=Athlete.objects.visible_to(viewer))

    def current(self) -> ResultQuerySet:
        """Entries that stand: replaced by none of the same child and day, and not themselves an undo."""
        # The sums keep SQLite from looking through the whole day of each entry instead of the few that replace one.
        newer = Result.objects.alias(child=F("athlete_id") + 0, held=F("day_id") + 0).filter(
            replaces=OuterRef("code"), child=OuterRef("athlete_id"), held=OuterRef("day_id")
        )
        return self.filter(~Exists(newer)).exclude(outcome="withdrawn")

    def contested(self) -> ResultQuerySet:
        """Standing entries that share their place with another one: a person says which one counts."""
        place = {name: OuterRef(name) for name in PLACE}
        others = Result.objects.current().filter(outcome__in=EVIDENCE, **place).exclude(pk=OuterRef("pk"))
        return self.current().filter(Exists(others), outcome__in=EVIDENCE)

    def for_day(self, day: AssessmentDay) -> ResultQuerySet:
        """Everything entered for one day."""
        return self.filter(day=day)


class Result(models.Model):
    """One trial of one child, as it was seen."""

    privacy = "erase"
    code = models.UUIDField("entry id, made on the tablet", unique=True)
    tablet = models.CharField(max_length=40)
    seq = models.PositiveIntegerField("number on this tablet and day")
    schema = models.PositiveSmallIntegerField(default=1)
    day = models.ForeignKey(AssessmentDay, on_delete=models.PROTECT, related_name="results")
    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="results")
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="results")
    protocol = models.ForeignKey(Protocol, on_delete=models.PROTECT, related_name="results")
    variant = models.CharField(max_length=40, blank=True)
    side = models.CharField(max_length=5, choices=SIDES, blank=True)
    trial = models.PositiveSmallIntegerField(default=1)
    value = models.FloatField(null=True, blank=True)
    levels = models.JSONField(null=True, blank=True)
    outcome = models.CharField(max_length=20, choices=OUTCOMES, default="scored")
    form_break = models.CharField("what broke first", max_length=60, blank=True)
    reminder = models.BooleanField("the one spoken cue was given", default=False)
    how = models.CharField(max_length=10, choices=HOWS)
    at_once = models.PositiveSmallIntegerField(default=1)
    second = models.BooleanField("second look by another coach", default=False)
    judge = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="judged")
    recorded_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    station_pass = models.ForeignKey(
        StationPass, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    t_wall = models.DateTimeField("the tablet's clock")
    t_mono_start = models.FloatField(null=True, blank=True)
    t_mono_stop = models.FloatField(null=True, blank=True)
    offset_s = models.FloatField("server clock minus tablet clock", null=True, blank=True)
    offline = models.BooleanField(default=False)
    late = models.BooleanField("came after the day was closed", default=False)
    flags = models.JSONField(default=list, blank=True)
    replaces = models.UUIDField(null=True, blank=True, db_index=True)
    reason = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=200, blank=True)
    content_hash = models.CharField(max_length=64)
    received_at = models.DateTimeField(default=timezone.now)
    objects = ResultQuerySet.as_manager()

    class Meta:
        ordering = ("day", "athlete", "measure", "side", "trial", "pk")
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["tablet", "day", "seq"], name="one_entry_a_tablet_day_and_number"
            ),
            models.CheckConstraint(condition=Q(side__in=["", "left", "right"]), name="result_side_known"),
            models.CheckConstraint(
                condition=Q(outcome__in=[word for word, _ in OUTCOMES]), name="result_outcome_known"
            ),
            models.CheckConstraint(condition=Q(trial__gte=1), name="result_trial_from_one"),
            models.CheckConstraint(
                condition=~Q(outcome__in=["scored", "reached_cap", "chose_to_stop"])
                | Q(value__isnull=False)
                | Q(levels__isnull=False),
                name="result_scored_has_a_value",
            ),
            models.CheckConstraint(
                condition=~Q(outcome__in=["stopped_for_pain", "interrupted", "withdrawn", "not_attempted"])
                | Q(value__isnull=True, levels__isnull=True),
                name="result_unscored_has_no_value",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["athlete", "measure", "day"], name="result_by_child_and_measure"),
        ]

    def __str__(self) -> str:
        return f"{self.athlete} {self.measure} {self.outcome}"


class RefusedEntryQuerySet(models.QuerySet["RefusedEntry"]):
    """Entries the club could not take; kept for a person to settle."""

    def visible_to(self, viewer: Viewer) -> RefusedEntryQuerySet:
        """Those of days that the viewer sees; a director also those of no known day."""
        if viewer.is_director:
            return self
        return self.filter(day__in=AssessmentDay.objects.visible_to(viewer).values("pk"))

    def waiting(self) -> RefusedEntryQuerySet:
        """Not settled yet."""
        return self.filter(settled_at__isnull=True)


class RefusedEntry(models.Model):
    """The body of a refused entry, kept 30 days, so that nothing vanishes."""

    privacy = "erase"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    entry = models.UUIDField(null=True, db_index=True)
    day = models.ForeignKey(AssessmentDay, null=True, on_delete=models.CASCADE, related_name="refused")
    athlete = models.ForeignKey(Athlete, null=True, on_delete=models.CASCADE, related_name="+")
    body = models.JSONField()
    body_hash = models.CharField(max_length=64)
    reason = models.CharField(max_length=200)
    received_at = models.DateTimeField(default=timezone.now)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    objects = RefusedEntryQuerySet.as_manager()

    class Meta:
        ordering = ("-received_at",)
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["entry", "body_hash"], name="one_refusal_a_body")
        ]

    def __str__(self) -> str:
        return self.reason


class TabletDay(models.Model):
    """What one tablet says that it holds for one day, beside what the club holds."""

    privacy = "keep"
    day = models.ForeignKey(AssessmentDay, on_delete=models.CASCADE, related_name="tablets")
    tablet = models.CharField(max_length=40)
    label = models.CharField(max_length=60, blank=True)
    made = models.PositiveIntegerField("entries made on the tablet", default=0)
    highest_seq = models.PositiveIntegerField(default=0)
    waiting = models.PositiveIntegerField(default=0)
    seen_at = models.DateTimeField(default=timezone.now)
    left_at = models.DateTimeField("when it was emptied, everything being here", null=True, blank=True)

    class Meta:
        ordering = ("label", "tablet")
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["day", "tablet"], name="one_line_a_tablet_and_day")
        ]

    def __str__(self) -> str:
        return f"{self.label or self.tablet} on {self.day}"
