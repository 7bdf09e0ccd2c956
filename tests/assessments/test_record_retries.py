"""A long list goes in parts; a part that breaks at its commit is looked at again, three times at most."""

from __future__ import annotations

import pytest
from django.db import IntegrityError

from assessments import recording
from assessments.models import Result
from assessments.recording import record
from athletes.models import Athlete
from tests.assessments.entry_making import entry, words
from tests.conftest import viewer_of


@pytest.mark.django_db
def test_a_list_longer_than_a_part_gets_every_answer_in_its_order(cast, programme, monkeypatch):
    monkeypatch.setattr(recording, "LARGEST_BATCH", 2)
    coach = viewer_of(cast.coach)
    entries = [entry(cast.day, cast.mia, trial=n, value=999 if n == 4 else 20) for n in range(1, 6)]
    answers = record(entries, coach, offset_s=4)
    assert [answer.id for answer in answers] == [str(one.id) for one in entries]
    assert words(answers) == ["stored", "stored", "stored", "refused", "stored"]
    assert set(Result.objects.values_list("offset_s", "recorded_by")) == {(4.0, cast.coach.pk)}


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("times", "taken"), [(1, True), (2, True), (3, False)])
def test_a_child_erased_between_the_look_and_the_commit_is_looked_for_again(
    cast, programme, monkeypatch, times, taken
):
    coach, look, looks = viewer_of(cast.coach), recording.facts_for, []

    def erasing(*given, **more):
        looks.append(1)
        found = look(*given, **more)
        if len(looks) <= times:
            Athlete.objects.filter(pk=cast.tom.pk).delete()
        return found

    monkeypatch.setattr(recording, "facts_for", erasing)
    entries = [entry(cast.day, cast.mia), entry(cast.day, cast.tom)]
    if taken:
        assert words(record(entries, coach, offset_s=4)) == ["stored", "stored"]
        assert set(Result.objects.values_list("offset_s", flat=True)) == {4.0}
    else:
        with pytest.raises(IntegrityError):
            record(entries, coach)
        assert not Result.objects.exists()
    assert len(looks) == min(times + 1, 3)
