"""People who sign in, the club itself, and who did what."""

from __future__ import annotations

import hashlib
import secrets
import uuid
from datetime import datetime, timedelta
from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils import timezone

from club.access import Role, Viewer

#: Every model says what happens to its rows when a child is erased: "erase", "strip" or "keep".


class UserManager(BaseUserManager["User"]):
    """Users sign in with an e-mail address."""

    def create_user(self, email: str, password: str | None = None, **fields: Any) -> User:
        """Make a user; without a password they can only come in by invitation."""
        user = self.model(email=self.normalize_email(email).lower(), **fields)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def get_by_natural_key(self, username: str | None) -> User:
        """E-mail addresses are compared without regard to case."""
        return self.get(email=(username or "").strip().lower())


class User(AbstractBaseUser):
    """A member of the club's staff, or a parent. Children have no accounts."""

    privacy = "keep"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    email = models.EmailField(unique=True)
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=12, choices=Role.choices)
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    calibrated_until = models.DateField(null=True, blank=True)

    objects: ClassVar[UserManager] = UserManager()
    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name", "role"]

    class Meta:
        ordering = ("name", "email")
        constraints = (
            models.CheckConstraint(condition=models.Q(role__in=Role.values), name="user_role_known"),
        )

    def __str__(self) -> str:
        return self.name or self.email

    @property
    def first_name(self) -> str:
        """The name by which colleagues call each other."""
        return self.name.split(" ")[0]


class ExampleSet(models.Model):
    """Ten examples of one shape, live or drawn, with the totals that were agreed on. They name no child."""

    privacy = "keep"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    shape = models.SlugField("id of the shape in the programme", max_length=60)
    title = models.CharField(max_length=80)
    agreed = models.JSONField("agreed totals, in the order of the examples")
    agreed_on = models.DateField()
    made_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ("shape", "-agreed_on", "-pk")
        constraints = (models.UniqueConstraint(fields=("shape", "title"), name="example_set_named_once"),)

    def __str__(self) -> str:
        return self.title


class Calibration(models.Model):
    """One coach's totals of a set of examples, and the director's word on them. Nothing is adopted by itself."""

    class Word(models.TextChoices):
        WAITING = "waiting", "Waiting"
        CONFIRMED = "confirmed", "Confirmed"
        DECLINED = "declined", "Declined"

    privacy = "keep"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    examples = models.ForeignKey(ExampleSet, on_delete=models.PROTECT, related_name="calibrations")
    coach = models.ForeignKey(User, on_delete=models.CASCADE, related_name="calibrations")
    totals = models.JSONField("the coach's totals, in the order of the examples")
    scored_on = models.DateField()
    word = models.CharField(max_length=10, choices=Word.choices, default=Word.WAITING)
    until = models.DateField("calibrated until, as confirmed", null=True, blank=True)
    decided_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    decided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-scored_on", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(word="confirmed", until__isnull=False)
                | models.Q(word__in=("waiting", "declined"), until__isnull=True),
                name="calibration_until_when_confirmed",
            ),
        )

    def __str__(self) -> str:
        return f"{self.coach}: {self.examples}"


class ClubProfile(models.Model):
    """The one club of this installation."""

    privacy = "keep"
    name = models.CharField(max_length=120)
    contact_email = models.EmailField(
        blank=True, help_text="Where parents' questions go. A club address, not a coach's."
    )
    season_start_month = models.PositiveSmallIntegerField(default=9)
    safeguarding_name = models.CharField(max_length=120, blank=True)
    safeguarding_contact = models.CharField(max_length=200, blank=True)
    emergency_number = models.CharField(max_length=40, blank=True, default="112")
    local_service = models.CharField("local child-protection service", max_length=200, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=models.Q(season_start_month__range=(1, 12)), name="season_starts_in_a_month"
            ),
        )

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> ClubProfile:
        """The club, or an unsaved blank one before it is set up."""
        return cls.objects.order_by("pk").first() or cls(name="Groundwork")


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


class InvitationQuerySet(models.QuerySet["Invitation"]):
    """Invitations that can still be used."""

    def usable(self, token: str, now: datetime) -> Invitation | None:
        """The open invitation that this token opens, or nothing."""
        return self.filter(digest=_digest(token), used_at=None, withdrawn_at=None, expires_at__gt=now).first()

    def open(self, now: datetime) -> InvitationQuerySet:
        """Not used, not withdrawn, not expired."""
        return self.filter(used_at=None, withdrawn_at=None, expires_at__gt=now)

    def withdraw_for(self, email: str, now: datetime) -> int:
        """No open invitation of this address works any more."""
        return self.filter(email=email.lower()).open(now).update(withdrawn_at=now)


class Invitation(models.Model):
    """A single-use way in for one address. Only the digest of its token is kept."""

    privacy = "keep"
    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    email = models.EmailField()
    name = models.CharField(max_length=120, blank=True)
    role = models.CharField(max_length=12, choices=Role.choices)
    digest = models.CharField(max_length=64, unique=True)
    invited_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = InvitationQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at",)

    def __str__(self) -> str:
        return f"Invitation for {self.email}"

    @classmethod
    def issue(
        cls,
        *,
        email: str,
        role: str,
        now: datetime,
        invited_by: User | None = None,
        name: str = "",
        days: int = 14,
    ) -> tuple[Invitation, str]:
        """A new invitation and its token; the token is shown once and never stored."""
        token = secrets.token_urlsafe(32)
        row = cls.objects.create(
            email=email.strip().lower(),
            name=name,
            role=role,
            digest=_digest(token),
            invited_by=invited_by,
            created_at=now,
            expires_at=now + timedelta(days=days),
        )
        return row, token


class AuditEntryQuerySet(models.QuerySet["AuditEntry"]):
    """The trail of who opened, changed or took out what."""

    def about(self, code: uuid.UUID) -> AuditEntryQuerySet:
        """Everything noted about one subject."""
        return self.filter(subject_code=code)

    def visible_to(self, viewer: Viewer) -> AuditEntryQuerySet:
        """Only a director reads the trail."""
        return self.all() if viewer.is_director else self.none()


class AuditEntry(models.Model):
    """One act. It names people and codes, never a score or a note."""

    privacy = "keep"
    at = models.DateTimeField(default=timezone.now, db_index=True)
    actor = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    actor_name = models.CharField(max_length=160)
    verb = models.CharField(max_length=60)
    subject_type = models.CharField(max_length=40, blank=True)
    subject_code = models.UUIDField(null=True, db_index=True)
    detail = models.JSONField(default=dict, blank=True)

    objects = AuditEntryQuerySet.as_manager()

    class Meta:
        ordering = ("-at", "-pk")

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.actor_name} {self.verb}"
