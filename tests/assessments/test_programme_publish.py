"""Publishing: whole or not at all, never twice, never over somebody's head; and what it would change."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from assessments import programme as door
from assessments.consequences import what_would_change
from assessments.models import Measure, ProgrammeEdition, Protocol
from assessments.programme_editing import entry_of, put, put_benchmarks, put_top
from assessments.reports import athlete_report
from athletes.models import Athlete
from tests import factories
from tests.assessments.programme_documents import requirement
from tests.conftest import viewer_of
from tests.factories import TODAY


@pytest.fixture
def director(cast):
    return viewer_of(cast.director)


@pytest.fixture
def draft(programme, director):
    return door.begin_draft(director, title="Spring")


def change(draft, director, edit):
    return door.save_draft(draft, edit(draft.document), seen_version=draft.draft_version, viewer=director)


def cap(seconds):
    return lambda documents: put(documents, "measures", "hollow_hold", {"cap": seconds})


def test_a_draft_becomes_the_next_edition(draft, director):
    draft = change(draft, director, cap(45))
    edition = door.publish(draft, director, "Shorter holds.")
    assert (edition.number, edition.reason, edition.published_by) == (2, "Shorter holds.", director.member)
    assert door.current_programme().measures["hollow_hold"].cap == 45
    assert door.current_programme().measures["hollow_hold"].version == 2
    assert list(Protocol.objects.filter(measure__slug="hollow_hold").values_list("version", flat=True)) == [
        1,
        2,
    ]
    assert Protocol.objects.filter(measure__slug="arch_hold").count() == 1


def test_an_earlier_edition_keeps_what_it_said(draft, director, programme):
    door.publish(change(draft, director, cap(45)), director, "Shorter holds.")
    assert door.programme_of(programme).measures["hollow_hold"].cap == 60
    assert Protocol.objects.get(measure__slug="hollow_hold", version=1).body["cap"] == 60


def test_a_draft_that_does_not_hang_together_is_refused_and_kept(draft, director):
    draft = change(
        draft, director, lambda documents: put(documents, "measures", "hollow_hold", {"start": None})
    )
    with pytest.raises(door.Refused, match="hollow_hold: start is missing"):
        door.publish(draft, director, "Too early.")
    assert ProgrammeEdition.objects.drafts().get().document == draft.document
    assert door.current_programme().edition == 1


def test_a_published_draft_is_not_published_again(draft, director):
    door.publish(change(draft, director, cap(45)), director, "Once.")
    with pytest.raises(door.Stale, match="published meanwhile"):
        door.publish(draft, director, "Twice.")
    assert ProgrammeEdition.objects.published().count() == 2


def test_without_a_reason_nothing_is_published(draft, director):
    with pytest.raises(door.Refused, match="needs a reason"):
        door.publish(draft, director, "   ")


def test_a_comparison_with_an_older_edition_is_stale(draft, director):
    other = door.begin_draft(director)
    door.publish(change(other, director, cap(50)), director, "First.")
    draft = change(draft, director, cap(45))
    with pytest.raises(door.Stale, match="Edition 2 was published after you compared"):
        door.publish(draft, director, "Second.", against=1)
    assert door.publish(draft, director, "Second.", against=2).number == 3


def test_a_stale_save_holds_both_versions(draft, director):
    door.save_draft(draft, cap(50)(draft.document), seen_version=1, viewer=director)
    mine = cap(45)(draft.document)
    with pytest.raises(door.Stale) as caught:
        door.save_draft(draft, mine, seen_version=1, viewer=director)
    assert entry_of(caught.value.theirs.document, "measures", "hollow_hold")["cap"] == 50
    assert entry_of(caught.value.mine, "measures", "hollow_hold")["cap"] == 45


def test_a_dropped_draft_leaves_the_edition_alone(draft, director):
    door.drop_draft(draft, director)
    assert not ProgrammeEdition.objects.drafts().exists()
    assert door.current_programme().edition == 1


def score(athlete, item, value, *, day, **fields):
    measure = Measure.objects.get(slug=item)
    protocol = Protocol.objects.get(measure=measure, version=1)
    factories.ResultFactory(
        athlete=athlete, measure=measure, protocol=protocol, value=value, day=day, **fields
    )


@pytest.fixture
def scored(cast, programme):
    """Mia is strong in front support, Tom in between; both on two days, and both held a hollow."""
    for weeks in (2, 0):
        day = factories.DayFactory(
            held_on=TODAY - timedelta(weeks=weeks), groups=[cast.tigers], edition=programme
        )
        for child, seconds in ((cast.mia, 30), (cast.tom, 11)):
            score(child, "front_support_hold", seconds, day=day, variant="flat_hands")
            score(child, "hollow_hold", seconds, day=day, variant="arms_by_side")
            levels = {one.id: 2 for one in door.current_programme().shapes["front_support"].criteria}
            score(child, "front_support", None, day=day, levels=levels)
    return cast


def asks(documents, minimum):
    new = put_top(documents, "measures", {})
    requirement(new, "bunny_hop", "front_support_hold")["min"] = minimum
    return new


EDITS = {
    "harder": lambda documents: asks(documents, 10),
    "surer": lambda documents: put_top(documents, "skills", {"rules": {"confidence": {"low": 0.99}}}),
    "new protocol": lambda documents: put(
        documents, "measures", "front_support_hold", {"set_up": "On a beam."}
    ),
    "higher aim": lambda documents: put_benchmarks(
        documents, "measures", "hollow_hold", zones={"6": {"from": 12, "aim": 32}}, about={}
    ),
}


def states_and_zones():
    found = {}
    for athlete in Athlete.objects.training(TODAY):
        report = athlete_report(athlete, TODAY)
        code = str(athlete.code)
        found |= {(code, state.skill): state.word for state in report.skills}
        found |= {
            (code, one.item, one.series, one.side): one.latest.zone
            for one in report.interpretations
            if one.latest
        }
    return found


@pytest.mark.parametrize("case", EDITS)
def test_what_would_change_is_what_changes(scored, draft, director, case):
    draft = change(draft, director, EDITS[case])
    before = states_and_zones()
    foreseen = what_would_change(draft, Athlete.objects.training(TODAY), TODAY)

    door.publish(draft, director, "As foreseen.")

    after = states_and_zones()
    said = {(one.athlete, one.skill): (one.before, one.after) for one in foreseen.states}
    series = {key for key in before if len(key) == 4}
    changed = {
        key: (before[key], after[key]) for key in before.keys() & after.keys() if before[key] != after[key]
    }
    assert said == {key: words for key, words in changed.items() if key not in series}
    assert {(one.before, one.after) for one in foreseen.zones} == {
        changed[key] for key in changed.keys() & series
    }
    assert foreseen.children == 3
    assert foreseen.children_states == len({key[0] for key in said})
    assert changed, "the edit changes something, so that this can be wrong"


def test_the_comparison_page_says_who_and_publishes(scored, draft, director, as_member, cast):
    draft = change(draft, director, EDITS["harder"])
    client = as_member(cast.director)
    page = client.get(reverse("assessments:draft_compare", args=[draft.code]))
    assert "1 of 3 children would have another state on a skill" in page.content.decode()
    assert "Tom B." in page.content.decode()

    form = page.context["form"]
    sent = {
        "reason": "More strength first.",
        "against": form["against"].value(),
        "version": form["version"].value(),
    }
    assert (
        client.post(
            reverse("assessments:draft_publish", args=[draft.code]), sent | {"reason": ""}
        ).status_code
        == 422
    )
    client.post(reverse("assessments:draft_publish", args=[draft.code]), sent)

    assert door.current_programme().edition == 2
    assert "More strength first." in client.get(reverse("assessments:programme")).content.decode()


def test_publishing_through_the_page_is_the_directors_alone(draft, as_member, cast):
    address = reverse("assessments:draft_publish", args=[draft.code])
    sent = {"reason": "Mine.", "against": 1, "version": draft.draft_version}
    for member in (cast.coach, cast.guardian):
        assert as_member(member).post(address, sent).status_code == 403
    assert door.current_programme().edition == 1
    as_member(cast.director).post(address, sent)
    assert door.current_programme().edition == 2
