"""One factory per model. Traits tell stories: AthleteFactory(leaver=True)."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, timedelta

import factory
from django.contrib.auth.hashers import make_password
from factory.django import DjangoModelFactory

from assessments import models as assessed
from athletes import models as children
from club import models as club_models
from club.access import Role

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 16, 30, tzinfo=UTC)


class UserFactory(DjangoModelFactory):
    class Meta:
        model = club_models.User
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Member {n}")
    email = factory.Sequence(lambda n: f"member{n}@fernleigh.example")
    role = Role.COACH
    password = factory.LazyFunction(lambda: make_password(None))


class ExampleSetFactory(DjangoModelFactory):
    class Meta:
        model = club_models.ExampleSet

    shape = "hollow"
    title = factory.Sequence(lambda n: f"Drawings {n}")
    agreed = [3, 3, 4, 5, 6, 7, 7, 6, 5, 6]
    agreed_on = TODAY


class CalibrationFactory(DjangoModelFactory):
    class Meta:
        model = club_models.Calibration

    examples = factory.SubFactory(ExampleSetFactory)
    coach = factory.SubFactory(UserFactory)
    totals = [3, 3, 4, 5, 6, 7, 6, 6, 7, 5]
    scored_on = TODAY


class ClubProfileFactory(DjangoModelFactory):
    class Meta:
        model = club_models.ClubProfile

    name = "Fernleigh Gymnastics"
    contact_email = "hello@fernleigh.example"
    safeguarding_name = "Rosalind Achterberg"
    safeguarding_contact = "safe@fernleigh.example"


class GroupFactory(DjangoModelFactory):
    class Meta:
        model = children.Group

    name = factory.Sequence(lambda n: f"Group {n}")


class CoachingFactory(DjangoModelFactory):
    class Meta:
        model = children.Coaching

    coach = factory.SubFactory(UserFactory)
    group = factory.SubFactory(GroupFactory)
    from_on = date(2025, 9, 1)


class AthleteFactory(DjangoModelFactory):
    class Meta:
        model = children.Athlete

    class Params:
        leaver = factory.Trait(left_on=date(2026, 6, 30))

    first_name = factory.Sequence(lambda n: f"Child{n}")
    last_name = "Example"
    born_on = date(2020, 3, 14)
    joined_on = date(2025, 9, 1)
    group = factory.SubFactory(GroupFactory)


class GuardianFactory(DjangoModelFactory):
    class Meta:
        model = children.Guardian

    athlete = factory.SubFactory(AthleteFactory)
    email = factory.Sequence(lambda n: f"parent{n}@home.example")


class RestNoteFactory(DjangoModelFactory):
    class Meta:
        model = children.RestNote

    class Params:
        ended = factory.Trait(
            ended_on=TODAY - timedelta(days=7), ended_ground="no_symptoms", ended_adult="A parent"
        )

    athlete = factory.SubFactory(AthleteFactory)
    areas = ["wrist"]
    opened_on = TODAY - timedelta(days=14)


class MeasureFactory(DjangoModelFactory):
    class Meta:
        model = assessed.Measure
        django_get_or_create = ("slug",)

    slug = "hollow_hold"
    name = "Hollow hold"
    kind = "hold"


class ProtocolFactory(DjangoModelFactory):
    class Meta:
        model = assessed.Protocol
        django_get_or_create = ("measure", "version")

    measure = factory.SubFactory(MeasureFactory)
    version = 1


class SkillFactory(DjangoModelFactory):
    class Meta:
        model = assessed.Skill
        django_get_or_create = ("slug",)

    slug = "bunny_hop"
    name = "Bunny hop"
    area = "floor"


class DayFactory(DjangoModelFactory):
    class Meta:
        model = assessed.AssessmentDay
        skip_postgeneration_save = True

    class Params:
        closed = factory.Trait(status="closed", closed_at=NOW)
        planned = factory.Trait(status="planned", opened_at=None)

    held_on = TODAY
    status = "open"
    opened_at = NOW

    @factory.post_generation
    def groups(self, create, extracted, **kwargs):
        if create and extracted:
            self.groups.set(extracted)


class StationFactory(DjangoModelFactory):
    class Meta:
        model = assessed.Station

    day = factory.SubFactory(DayFactory)
    measure = factory.SubFactory(MeasureFactory)


class AttendanceFactory(DjangoModelFactory):
    class Meta:
        model = assessed.Attendance

    day = factory.SubFactory(DayFactory)
    athlete = factory.SubFactory(AthleteFactory)
    present = True
    sore = "no"


class StationPassFactory(DjangoModelFactory):
    """The token is `token`, so that a test can carry it."""

    class Meta:
        model = assessed.StationPass
        exclude = ("token",)

    token = factory.Sequence(lambda n: f"station-token-{n}")
    day = factory.SubFactory(DayFactory)
    label = "Tablet 1"
    digest = factory.LazyAttribute(lambda o: assessed.StationPass.digest_of(o.token))
    expires_at = NOW + timedelta(days=3650)


class ResultFactory(DjangoModelFactory):
    """A bare row, for tests of queries. Tests of meaning go through recording.record."""

    class Meta:
        model = assessed.Result

    code = factory.LazyFunction(uuid.uuid4)
    tablet = "tablet-a"
    seq = factory.Sequence(lambda n: n + 1)
    day = factory.SubFactory(DayFactory)
    athlete = factory.SubFactory(AthleteFactory)
    measure = factory.SubFactory(MeasureFactory)
    protocol = factory.LazyAttribute(lambda o: ProtocolFactory(measure=o.measure))
    value = 20.0
    how = "timed"
    t_wall = NOW
    content_hash = "0" * 64


class SkillDecisionFactory(DjangoModelFactory):
    class Meta:
        model = assessed.SkillDecision

    athlete = factory.SubFactory(AthleteFactory)
    skill = factory.SubFactory(SkillFactory)
    word = "consistent"
    decided_at = NOW


class FamilyReportFactory(DjangoModelFactory):
    class Meta:
        model = assessed.FamilyReport

    class Params:
        approved = factory.Trait(status="approved", approved_at=NOW)

    athlete = factory.SubFactory(AthleteFactory)
    title = "Autumn"
    body = factory.LazyFunction(dict)
