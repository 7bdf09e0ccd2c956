"""The cast, the clock, and the network switched off."""

from __future__ import annotations

import socket
from types import SimpleNamespace

import pytest
from django.utils import timezone
from hypothesis import settings

from club.access import Role, Station, Viewer
from tests import factories

LOCAL_HOSTS = {"127.0.0.1", "localhost", "::1", ""}

# A busy machine is no reason for a property to fail.
settings.register_profile("suite", deadline=None)
settings.load_profile("suite")


@pytest.fixture(autouse=True)
def no_network(monkeypatch):
    """A test that reaches for another host breaks."""
    connect = socket.socket.connect

    def guarded(self, address):
        host = address[0] if isinstance(address, tuple) else ""
        if host not in LOCAL_HOSTS:
            raise AssertionError(f"A test reached for {host}")
        return connect(self, address)

    monkeypatch.setattr(socket.socket, "connect", guarded)


@pytest.fixture(autouse=True)
def fixed_clock(monkeypatch, request):
    """It is the afternoon of 25 November 2026 for every page; browser tests keep the real clock."""
    if request.node.get_closest_marker("browser"):
        return
    monkeypatch.setattr(timezone, "now", lambda: factories.NOW)


@pytest.fixture
def cast(db):
    """Director, coach of the Tigers, coach of the Bears, guardian of one Tiger, a station, an outsider."""
    factories.ClubProfileFactory()
    tigers = factories.GroupFactory(name="Tigers")
    bears = factories.GroupFactory(name="Bears")
    director = factories.UserFactory(
        name="Dagny Ferris", email="director@fernleigh.example", role=Role.DIRECTOR
    )
    coach = factories.UserFactory(name="Ines Marlow", email="ines@fernleigh.example")
    other_coach = factories.UserFactory(name="Bo Tran", email="bo@fernleigh.example")
    guardian = factories.UserFactory(name="Pat Alder", email="pat@home.example", role=Role.GUARDIAN)
    outsider = factories.UserFactory(name="Oz Stray", email="oz@home.example", role=Role.GUARDIAN)
    factories.CoachingFactory(coach=coach, group=tigers)
    factories.CoachingFactory(coach=other_coach, group=bears)
    mia = factories.AthleteFactory(first_name="Mia", last_name="Alder", group=tigers)
    tom = factories.AthleteFactory(first_name="Tom", last_name="Birch", group=tigers)
    bea = factories.AthleteFactory(first_name="Bea", last_name="Cole", group=bears)
    factories.GuardianFactory(athlete=mia, member=guardian, email=guardian.email)
    day = factories.DayFactory(groups=[tigers], lead=coach)
    tablet = factories.StationPassFactory(day=day, token="tigers-token")
    return SimpleNamespace(
        director=director,
        coach=coach,
        other_coach=other_coach,
        guardian=guardian,
        outsider=outsider,
        tigers=tigers,
        bears=bears,
        mia=mia,
        tom=tom,
        bea=bea,
        day=day,
        tablet=tablet,
        token="tigers-token",
    )


def viewer_of(user) -> Viewer:
    """The viewer that the middleware would build for a member."""
    return Viewer(today=factories.TODAY, member=user, role=Role(user.role))


def station_viewer(tablet) -> Viewer:
    """The viewer that the middleware would build for a station pass."""
    groups = frozenset(tablet.day.groups.values_list("pk", flat=True))
    station = Station(
        pass_id=tablet.pk,
        day_id=tablet.day_id,
        day_code=tablet.day.code,
        group_ids=groups,
        label=tablet.label,
    )
    return Viewer(today=factories.TODAY, station=station)


@pytest.fixture
def as_member(client):
    """A client signed in as one member: as_member(cast.coach).get(...)."""

    def sign_in(user):
        client.logout()
        client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
        return client

    return sign_in


@pytest.fixture
def programme(db):
    """The starter programme, published as edition 1."""
    from assessments.programme import load

    return load()
