"""The children, who coaches them, who may read about them, and what rests."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from datetime import date, timedelta
from typing import ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.utils import timezone

from club.access import Viewer
from club.models import User

BODY_AREAS = (
    ("wrist", "Wrist"),
    ("elbow", "Elbow"),
    ("shoulder", "Shoulder"),
    ("hand_skin", "Skin of the hands"),
    ("neck", "Neck"),
    ("lower_back", "Lower back"),
    ("hamstring", "Back of the thigh"),
    ("knee", "Knee"),
    ("ankle", "Ankle"),
    ("heel", "Heel"),
    ("head", "Head"),
    ("hip", "Hip"),
    ("general", "Ill or not well"),
)
AREA_WORDS = dict(BODY_AREAS)
#: A rest in one of these ends only on a health professional's word.
CAREFUL_AREAS = frozenset({"wrist", "lower_back", "neck", "head"})
#: A rest in one of these stops everything, whatever a measure loads.
AREAS_BLOCKING_ALL = frozenset({"head", "hip", "general"})


def resting_areas(named: Iterable[str]) -> list[str]:
    """The body areas that a rest note names: those that are known, each once; 'general' when none is."""
    return [area for area in dict.fromkeys(named) if area in AREA_WORDS] or ["general"]


class GroupQuerySet(models.QuerySet["Group"]):
    """Groups of children that train together."""

    def visible_to(self, viewer: Viewer) -> GroupQuerySet:
        """A director sees all; a coach the groups coached today; a station those of its day."""
        if viewer.is_director:
            return self
        if viewer.is_coach and viewer.member is not None:
            coached = Coaching.objects.filter(coach=viewer.member).on(viewer.today)
            return self.filter(pk__in=coached.values("group"))
        if viewer.station is not None:
            return self.filter(pk__in=viewer.station.group_ids)
        return self.none()

    def active(self) -> GroupQuerySet:
        """Groups that still train."""
        return self.filter(is_active=True)


class Group(models.Model):
    """A training group."""

    privacy = "keep"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=60, unique=True)
    is_active = models.BooleanField(default=True)
    block_minutes = models.PositiveSmallIntegerField(
        "minutes for a block", default=12, help_text="How long the foundation block of one practice lasts."
    )
    objects = GroupQuerySet.as_manager()

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class CoachingQuerySet(models.QuerySet["Coaching"]):
    """Who coaches which group, and when."""

    def on(self, day: date) -> CoachingQuerySet:
        """Coachings in force on a day."""
        return self.filter(Q(until_on__isnull=True) | Q(until_on__gte=day), from_on__lte=day)


class Coaching(models.Model):
    """A coach's turn with a group."""

    privacy = "keep"
    coach = models.ForeignKey(User, on_delete=models.CASCADE, related_name="coachings")
    group = models.ForeignKey(Group, on_delete=models.CASCADE, related_name="coachings")
    from_on = models.DateField(default=date.today)
    until_on = models.DateField(null=True, blank=True)
    objects = CoachingQuerySet.as_manager()

    class Meta:
        ordering = ("group", "coach")
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["coach", "group", "from_on"], name="one_coaching_a_start"),
            models.CheckConstraint(
                condition=Q(until_on__isnull=True) | Q(until_on__gte=models.F("from_on")),
                name="coaching_ends_after_it_starts",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.coach} with {self.group}"


class AthleteQuerySet(models.QuerySet["Athlete"]):
    """The one root rule about who may see which child."""

    def visible_to(self, viewer: Viewer) -> AthleteQuerySet:
        """Director: all. Coach: children of groups coached today. Guardian: own children, unless disclosure
        is restricted. Station: children of its day's groups."""
        if viewer.is_director:
            return self
        if viewer.is_coach or viewer.station is not None:
            here = Q(left_on__isnull=True) | Q(left_on__gt=viewer.today)
            return self.filter(here, group__in=Group.objects.visible_to(viewer))
        if viewer.is_guardian and viewer.member is not None:
            granted = Guardian.objects.filter(member=viewer.member, revoked_at__isnull=True, may_read=True)
            return self.filter(
                Q(pk__in=granted.values("athlete"), restricted=False)
                | Q(pk__in=granted.filter(named=True).values("athlete"), restricted=True)
            )
        return self.none()

    def training(self, on: date) -> AthleteQuerySet:
        """Children who have joined and not left by a day."""
        return self.filter(Q(left_on__isnull=True) | Q(left_on__gt=on), joined_on__lte=on)

    def in_name_order(self) -> AthleteQuerySet:
        """By the name that is called out in the gym."""
        return self.order_by("first_name", "last_name", "pk")


class Athlete(models.Model):
    """A child. No weight, height, sex, address, school or picture: the app does not need them."""

    privacy = "erase"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    first_name = models.CharField(max_length=60)
    last_name = models.CharField(max_length=60, blank=True)
    born_on = models.DateField("date of birth")
    group = models.ForeignKey(
        Group, null=True, blank=True, on_delete=models.SET_NULL, related_name="athletes"
    )
    joined_on = models.DateField(default=date.today)
    left_on = models.DateField(null=True, blank=True)
    restricted = models.BooleanField(
        "restricted disclosure", default=False, help_text="Check with the director before anything is told."
    )
    restricted_reference = models.CharField(max_length=40, blank=True)
    objects = AthleteQuerySet.as_manager()

    class Meta:
        ordering = ("first_name", "last_name", "pk")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(left_on__isnull=True) | Q(left_on__gte=models.F("joined_on")),
                name="athlete_leaves_after_joining",
            ),
            models.CheckConstraint(
                condition=Q(joined_on__gte=models.F("born_on")), name="athlete_joins_after_birth"
            ),
        ]

    def __str__(self) -> str:
        return self.short_name

    @property
    def short_name(self) -> str:
        """First name and initial, as a coach calls and a tablet shows."""
        initial = f" {self.last_name[0]}." if self.last_name else ""
        return f"{self.first_name}{initial}"

    @property
    def full_name(self) -> str:
        """First and last name."""
        return f"{self.first_name} {self.last_name}".strip()

    def clean(self) -> None:
        """Say kindly what the database would refuse."""
        if self.born_on and self.joined_on and self.joined_on < self.born_on:
            raise ValidationError({"joined_on": "This is before the child was born. Check both dates."})
        if self.left_on and self.joined_on and self.left_on < self.joined_on:
            raise ValidationError({"left_on": "This is before the child joined. Check both dates."})


class GuardianQuerySet(models.QuerySet["Guardian"]):
    """Grants to read about one child."""

    def visible_to(self, viewer: Viewer) -> GuardianQuerySet:
        """Staff see the grants of children that they see; a guardian only their own grant."""
        if viewer.is_guardian:
            return self.filter(member=viewer.member)
        return self.filter(athlete__in=Athlete.objects.visible_to(viewer))

    def in_force(self) -> GuardianQuerySet:
        """Not revoked."""
        return self.filter(revoked_at__isnull=True)


class Guardian(models.Model):
    """One adult's relation to one child: a revocable grant, never a right to another child."""

    privacy = "erase"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="guardians")
    email = models.EmailField()
    name = models.CharField(max_length=120, blank=True)
    member = models.ForeignKey(
        User, null=True, blank=True, on_delete=models.SET_NULL, related_name="guardianships"
    )
    may_read = models.BooleanField("may read family notes", default=True)
    named = models.BooleanField("may read even under restricted disclosure", default=False)
    granted_at = models.DateTimeField(default=timezone.now)
    granted_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    revoked_at = models.DateTimeField(null=True, blank=True)
    objects = GuardianQuerySet.as_manager()

    class Meta:
        ordering = ("email",)
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["athlete", "email"], name="one_grant_an_address_and_child")
        ]

    def __str__(self) -> str:
        return f"{self.email} for {self.athlete}"


class ConsentQuerySet(models.QuerySet["Consent"]):
    """What families agreed to."""

    def visible_to(self, viewer: Viewer) -> ConsentQuerySet:
        """As the child."""
        return self.filter(athlete__in=Athlete.objects.visible_to(viewer))

    def in_force(self) -> ConsentQuerySet:
        """Given and not withdrawn."""
        return self.filter(withdrawn_on__isnull=True)


class Consent(models.Model):
    """A family's yes to one purpose, dated, and as easily withdrawn."""

    privacy = "erase"
    PURPOSES = (("rest_notes", "Keep rest notes (health data)"), ("family_notes", "Family notes in the app"))
    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="consents")
    purpose = models.CharField(max_length=20, choices=PURPOSES)
    version = models.CharField(max_length=20, default="2026-09")
    given_on = models.DateField()
    given_by = models.CharField(max_length=120)
    withdrawn_on = models.DateField(null=True, blank=True)
    objects = ConsentQuerySet.as_manager()

    class Meta:
        ordering = ("purpose", "-given_on")

    def __str__(self) -> str:
        return f"{self.get_purpose_display()} for {self.athlete}"


class RestNoteQuerySet(models.QuerySet["RestNote"]):
    """Rest notes are health data: seen by staff of the child's circle, never by a guardian or a station."""

    def visible_to(self, viewer: Viewer) -> RestNoteQuerySet:
        """Staff who see the child."""
        if not (viewer.is_director or viewer.is_coach):
            return self.none()
        return self.filter(athlete__in=Athlete.objects.visible_to(viewer))

    def meant(self) -> RestNoteQuerySet:
        """Without those that were opened about the wrong child: nothing follows from them."""
        return self.exclude(ended_ground=RestNote.BY_MISTAKE)

    def open(self) -> RestNoteQuerySet:
        """Still resting."""
        return self.filter(ended_on__isnull=True)

    def returning(self) -> frozenset[int]:
        """Keys of those whose area already rested in the 90 days before; two queries for any number."""
        notes = list(self)
        earlier = RestNote.objects.meant().filter(athlete__in=[note.athlete_id for note in notes])
        spells = list(earlier.values_list("pk", "athlete_id", "areas", "opened_on"))
        return frozenset(
            note.pk
            for note in notes
            for pk, athlete, areas, opened_on in spells
            if athlete == note.athlete_id
            and pk != note.pk
            and set(areas) & set(note.areas)
            and timedelta(0) <= note.opened_on - opened_on <= timedelta(days=90)
        )

    def in_force(self, on: date) -> RestNoteQuerySet:
        """Resting on a day."""
        return self.filter(Q(ended_on__isnull=True) | Q(ended_on__gt=on), opened_on__lte=on)


class RestNote(models.Model):
    """Testing and training paused for some body areas. It outranks every score."""

    privacy = "erase"
    GROUNDS = (
        ("no_symptoms", "No symptoms, and the parent agrees"),
        ("professional", "A health professional says yes"),
    )
    #: Not a ground for ending a rest: it never was one. Set where an entry is taken back, never on the form.
    BY_MISTAKE = "by_mistake"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="rest_notes")
    areas = models.JSONField(default=list)
    note = models.CharField(max_length=200, blank=True, help_text="Facts only, in one line.")
    opened_on = models.DateField()
    opened_at = models.DateTimeField(default=timezone.now)
    opened_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    from_entry = models.UUIDField(null=True, blank=True, unique=True)
    narrowed_at = models.DateTimeField(null=True, blank=True)
    ended_on = models.DateField(null=True, blank=True)
    ended_ground = models.CharField(max_length=20, choices=GROUNDS, blank=True)
    ended_adult = models.CharField("named adult", max_length=120, blank=True)
    ended_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    objects = RestNoteQuerySet.as_manager()

    class Meta:
        ordering = ("-opened_on", "-pk")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True) | (~Q(ended_ground="") & ~Q(ended_adult="")),
                name="rest_ends_with_ground_and_adult",
            )
        ]

    def __str__(self) -> str:
        return f"Rest note for {self.athlete}: {self.area_words}"

    @property
    def area_words(self) -> str:
        """The resting areas in words."""
        return ", ".join(AREA_WORDS.get(area, area) for area in self.areas).lower()

    @property
    def ground_words(self) -> str:
        """On what ground the rest ended."""
        by_mistake = self.ended_ground == self.BY_MISTAKE
        return "Opened by mistake" if by_mistake else dict(self.GROUNDS).get(self.ended_ground, "")

    def needs_professional(self, on: date) -> bool:
        """Over a week, back within 90 days, or wrist, back, neck or head: more than a parent's yes."""
        if (on - self.opened_on).days > 7 or CAREFUL_AREAS.intersection(self.areas):
            return True
        return self.returning

    @property
    def returning(self) -> bool:
        """Whether one of the areas already rested in the 90 days before."""
        return self.pk in RestNote.objects.filter(pk=self.pk).returning()

    def clean(self) -> None:
        """Known areas, at least one."""
        unknown = [area for area in self.areas if area not in AREA_WORDS]
        if unknown or not self.areas:
            raise ValidationError({"areas": "Choose at least one body area from the list."})
