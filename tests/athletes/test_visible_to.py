"""The root rule: who may see which child, group, grant and rest note."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from athletes.models import Athlete, Coaching, Group, Guardian, RestNote
from club.access import Viewer
from tests import factories
from tests.conftest import station_viewer, viewer_of


def seen(model, viewer):
    return set(model.objects.visible_to(viewer))


def test_each_role_sees_its_circle(cast):
    assert seen(Athlete, viewer_of(cast.director)) == {cast.mia, cast.tom, cast.bea}
    assert seen(Athlete, viewer_of(cast.coach)) == {cast.mia, cast.tom}
    assert seen(Athlete, viewer_of(cast.other_coach)) == {cast.bea}
    assert seen(Athlete, viewer_of(cast.guardian)) == {cast.mia}
    assert seen(Athlete, station_viewer(cast.tablet)) == {cast.mia, cast.tom}
    assert seen(Athlete, viewer_of(cast.outsider)) == set()
    assert seen(Athlete, Viewer(today=factories.TODAY)) == set()


def test_a_coach_loses_sight_the_day_after_the_turn_ends(cast):
    turn = Coaching.objects.get(coach=cast.coach)
    turn.until_on = factories.TODAY
    turn.save()
    assert seen(Athlete, viewer_of(cast.coach)) == {cast.mia, cast.tom}
    turn.until_on = factories.TODAY - timedelta(days=1)
    turn.save()
    assert seen(Athlete, viewer_of(cast.coach)) == set()
    assert seen(Group, viewer_of(cast.coach)) == set()


def test_a_leaver_stays_with_the_director_only(cast):
    Athlete.objects.filter(pk=cast.tom.pk).update(left_on=factories.TODAY + timedelta(days=1))
    assert cast.tom in seen(Athlete, viewer_of(cast.coach))
    Athlete.objects.filter(pk=cast.tom.pk).update(left_on=factories.TODAY)
    assert cast.tom in seen(Athlete, viewer_of(cast.director))
    assert seen(Athlete, viewer_of(cast.coach)) == {cast.mia}


@pytest.mark.parametrize(
    "change",
    [{"revoked_at": timezone.now()}, {"may_read": False}, {"member": None}],
    ids=["revoked", "contact", "gone"],
)
def test_a_grant_that_does_not_hold_shows_nothing(cast, change):
    assert seen(Athlete, viewer_of(cast.guardian)) == {cast.mia}
    Guardian.objects.filter(athlete=cast.mia).update(**change)
    assert seen(Athlete, viewer_of(cast.guardian)) == set()


def test_restricted_disclosure_leaves_only_named_adults(cast):
    Athlete.objects.filter(pk=cast.mia.pk).update(restricted=True)
    assert seen(Athlete, viewer_of(cast.guardian)) == set()
    Guardian.objects.filter(athlete=cast.mia).update(named=True)
    assert seen(Athlete, viewer_of(cast.guardian)) == {cast.mia}


def test_rest_notes_are_for_the_childs_staff(cast):
    note = factories.RestNoteFactory(athlete=cast.mia)
    assert seen(RestNote, viewer_of(cast.coach)) == {note}
    assert seen(RestNote, viewer_of(cast.director)) == {note}
    for viewer in (viewer_of(cast.other_coach), viewer_of(cast.guardian), station_viewer(cast.tablet)):
        assert seen(RestNote, viewer) == set()


def test_guardians_see_no_other_guardian(cast):
    factories.GuardianFactory(athlete=cast.mia, email="other@home.example")
    mine = seen(Guardian, viewer_of(cast.guardian))
    assert [grant.email for grant in mine] == [cast.guardian.email]
    assert len(seen(Guardian, viewer_of(cast.coach))) == 2
