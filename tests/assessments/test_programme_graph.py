"""Whatever anybody connects and asks for, no ring and no weaker requirement is ever published."""

from __future__ import annotations

import graphlib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assessments import programme as door
from assessments.models import ProgrammeEdition
from assessments.programme_checks import ancestors_of
from assessments.programme_editing import connect, mark_of, put, take_away
from assessments.programme_file import read, starter
from tests.conftest import viewer_of

SKILLS = sorted(starter().skills)
ITEMS = sorted(starter().measures)

connections = st.tuples(st.just("connect"), st.sampled_from(SKILLS), st.sampled_from(SKILLS), st.booleans())
demands = st.tuples(st.just("ask"), st.sampled_from(SKILLS), st.sampled_from(ITEMS), st.integers(-1, 80))
removals = st.tuples(st.just("remove"), st.sampled_from(SKILLS), st.just(""), st.just(0))
edits = st.lists(st.one_of(connections, demands, removals), min_size=1, max_size=6)


def changed(documents, edit):
    """The documents with one edit, and the skill that it touches."""
    kind, first, second, value = edit
    if kind == "connect":
        return connect(documents, first, second, joined=value), second
    if kind == "remove":
        return take_away(documents, "skills", first), first
    asks = {"skills": [], "measures": [{"measure": second, "min": value}], "shapes": []}
    return put(
        documents,
        "skills",
        first,
        {"name": first, "area": "floor", "risk": "low", "min_age": 6, "requires": asks},
    ), first


def holds_together(programme):
    """Checked apart from the code under test: no ring, every id known, no ancestor asks for more."""
    skills = programme.skills
    order = list(graphlib.TopologicalSorter({one.id: one.after for one in skills.values()}).static_order())
    assert set(order) == set(skills)
    for skill in skills.values():
        asked = {one.item: one for one in skill.requirements}
        for ancestor in ancestors_of(skill.id, skills):
            for theirs in skills[ancestor].requirements:
                mine = asked.get(theirs.item)
                if mine is not None and mine.variant == theirs.variant:
                    assert mine.minimum >= theirs.minimum


@pytest.fixture
def director(cast, programme):
    return viewer_of(cast.director)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=edits)
def test_no_edit_ever_publishes_a_ring(director, edits):
    """Edits saved without any check, as by files: publishing alone must stop them."""
    draft = door.begin_draft(director)
    documents = draft.document
    for edit in edits:
        documents, _ = changed(documents, edit)
    draft = door.save_draft(draft, documents, seen_version=1, viewer=director)
    try:
        edition = door.publish(draft, director, "Tried.")
    except door.Refused as refused:
        assert refused.problems
        holds_together(door.current_programme())
    else:
        holds_together(door.programme_of(edition))


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=edits)
def test_edits_through_the_editor_keep_every_draft_fit_to_publish(director, edits):
    """What the editor lets through hangs together at every step; what it refuses leaves the draft as it was."""
    draft = door.begin_draft(director)
    for edit in edits:
        before = ProgrammeEdition.objects.get(pk=draft.pk).document
        _, touched = changed(before, edit)
        try:
            door.change_draft(
                draft,
                lambda documents, edit=edit: changed(documents, edit)[0],
                part=("skills", touched),
                seen=mark_of(before, "skills", touched),
                viewer=director,
            )
        except door.Refused as refused:
            assert all(problem.file == "skills" and problem.reason for problem in refused.problems)
            assert ProgrammeEdition.objects.get(pk=draft.pk).document == before
    holds_together(read(ProgrammeEdition.objects.get(pk=draft.pk).document).partial)
