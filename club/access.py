"""Who may do what. Every page starts from a Viewer; every row about a child is reached through it."""

from __future__ import annotations

import functools
import logging
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING, Any, TypeVar

from django.core.exceptions import PermissionDenied
from django.db import models
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.urls import reverse

if TYPE_CHECKING:
    from club.models import User


logger = logging.getLogger(__name__)


class Role(models.TextChoices):
    """What a signed-in person is to the club."""

    DIRECTOR = "director", "Director"
    COACH = "coach", "Coach"
    GUARDIAN = "guardian", "Parent or guardian"


class Can(StrEnum):
    """Rights. A role holds a set of them; a page asks for one."""

    SIGN_IN = "sign in"
    SEE_CHILDREN = "see children"
    EDIT_CHILDREN = "edit children"
    REST_NOTES = "open and end rest notes"
    SEE_PROGRESS = "see progress"
    DECIDE_SKILLS = "decide about skills"
    SEE_DAYS = "see test days"
    PLAN_DAYS = "plan, open and close test days"
    RECORD_RESULTS = "record results"
    SETTLE_RESULTS = "settle conflicts"
    SEE_PROGRAMME = "see the programme"
    EDIT_PROGRAMME = "change the programme"
    FAMILY_NOTES = "write and approve family notes"
    READ_FAMILY_NOTES = "read notes about one's own child"
    IMPORT = "bring in files"
    EXPORT = "take data out"
    ERASE = "erase a child"
    MANAGE_PEOPLE = "invite people and change roles"
    MANAGE_CLUB = "change club settings"
    SEE_AUDIT = "read the audit trail"
    SEE_NUMBERS = "see agreement, norms and calibration"


_COACH = frozenset(
    {
        Can.SIGN_IN,
        Can.SEE_CHILDREN,
        Can.REST_NOTES,
        Can.SEE_PROGRESS,
        Can.DECIDE_SKILLS,
        Can.SEE_DAYS,
        Can.PLAN_DAYS,
        Can.RECORD_RESULTS,
        Can.SEE_PROGRAMME,
        Can.FAMILY_NOTES,
    }
)
ROLE_TABLE: dict[Role, frozenset[Can]] = {
    Role.DIRECTOR: frozenset(Can) - {Can.READ_FAMILY_NOTES},
    Role.COACH: _COACH,
    Role.GUARDIAN: frozenset({Can.SIGN_IN, Can.READ_FAMILY_NOTES}),
}
STATION_RIGHTS = frozenset({Can.RECORD_RESULTS})


@dataclass(frozen=True, slots=True)
class Station:
    """A tablet that joined one test day with a pass. It is a place, not a person."""

    pass_id: int
    day_id: int
    day_code: uuid.UUID
    group_ids: frozenset[int]
    label: str


@dataclass(frozen=True, slots=True)
class Viewer:
    """Who is looking: a member with a role, or a station, or nobody; and on which day."""

    today: date
    member: User | None = None
    role: Role | None = None
    station: Station | None = None

    def can(self, right: Can) -> bool:
        """Whether this viewer holds the right."""
        if self.role is not None:
            return right in ROLE_TABLE[self.role]
        return self.station is not None and right in STATION_RIGHTS

    @property
    def is_director(self) -> bool:
        """A director sees the whole club."""
        return self.role == Role.DIRECTOR

    @property
    def is_coach(self) -> bool:
        """A coach sees the groups that they coach now."""
        return self.role == Role.COACH

    @property
    def is_guardian(self) -> bool:
        """A guardian sees what was released about their own children."""
        return self.role == Role.GUARDIAN

    @property
    def name(self) -> str:
        """How an audit line names the viewer."""
        if self.member is not None:
            return self.member.name
        return f"Station {self.station.label}" if self.station is not None else "nobody"


View = TypeVar("View", bound=Callable[..., HttpResponse])


def requires(*rights: Can) -> Callable[[View], View]:
    """Guard a view: the viewer needs one of the rights. Strangers are asked to sign in; others get 403."""

    def guard(view: View) -> View:
        @functools.wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            viewer: Viewer = request.viewer  # type: ignore[attr-defined]
            if any(viewer.can(right) for right in rights):
                return view(request, *args, **kwargs)
            if viewer.role is None and viewer.station is None:
                where = QueryDict(mutable=True)
                where["next"] = request.get_full_path()
                return HttpResponseRedirect(f"{reverse('club:sign_in')}?{where.urlencode(safe='/')}")
            # Codes only: a log must name nobody.
            who = viewer.member.code if viewer.member is not None else "a station"
            logger.warning("Denied: %s to %s", view.__name__, who)
            raise PermissionDenied

        guarded.guard = rights  # type: ignore[attr-defined]
        return guarded  # type: ignore[return-value]

    return guard


def open_to_all(view: View) -> View:
    """Mark a view that needs no right: sign-in, health, the service worker."""
    view.guard = ()  # type: ignore[attr-defined]
    return view


Row = TypeVar("Row", bound=models.Model)


def visible_or_404(model: type[Row], viewer: Viewer, code: uuid.UUID) -> Row:
    """The row with this code inside the viewer's circle; outside it nothing is admitted to exist."""
    found: Row | None = model.objects.visible_to(viewer).filter(code=code).first()  # type: ignore[attr-defined]
    if found is None:
        raise Http404(f"No {model._meta.verbose_name} here.")
    return found
