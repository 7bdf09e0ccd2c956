"""The editor of a draft: what is kept, what is refused with its reason, and that nobody overwrites anybody."""

from __future__ import annotations

import pytest
from django.urls import reverse

from assessments import programme as door
from assessments.models import ProgrammeEdition
from assessments.programme_editing import entry_of
from tests.conftest import viewer_of


@pytest.fixture
def draft(cast, programme):
    return door.begin_draft(viewer_of(cast.director), title="Spring")


@pytest.fixture
def director(cast, as_member, draft):
    return as_member(cast.director)


def at(name, draft, *rest):
    return reverse(f"assessments:{name}", args=[draft.code, *rest])


def typed(page, **changes):
    """What the browser would send back: every field of the forms as they stand, with changes."""
    data = {}
    forms = [page.context["form"]]
    if page.context.get("formset") is not None:
        forms += [page.context["formset"].management_form, *page.context["formset"].forms]
    for form in forms:
        for field in form:
            value = field.field.prepare_value(field.value())
            if value is not None and value is not False and value != "":
                data[field.html_name] = value
    return data | changes


def fresh(draft):
    return ProgrammeEdition.objects.get(pk=draft.pk)


PARTS = {
    "draft_measure": ("measures", "hollow_hold"),
    "draft_shape": ("shapes", "hollow"),
    "draft_skill": ("skills", "wall_handstand"),
    "draft_benchmark": ("benchmarks", "hollow_hold"),
}


@pytest.mark.parametrize("name", PARTS)
def test_saving_a_page_as_it_stands_changes_nothing(director, draft, name):
    file, item = PARTS[name]
    address = at(name, draft, item)

    answer = director.post(address, typed(director.get(address)))

    assert answer.status_code == 302
    before, after = draft.document[file], fresh(draft).document[file]
    if file != "benchmarks":
        before, after = entry_of(draft.document, file, item), entry_of(fresh(draft).document, file, item)
    assert after == before


def test_a_changed_protocol_is_kept_in_the_draft_only(director, draft, programme):
    address = at("draft_measure", draft, "hollow_hold")

    director.post(
        address, typed(director.get(address), cap="45", stop_rules="the back lifts\nthe head drops")
    )

    entry = entry_of(fresh(draft).document, "measures", "hollow_hold")
    assert (entry["cap"], entry["stop_rules"]) == (45, ["the back lifts", "the head drops"])
    assert door.current_programme().measures["hollow_hold"].cap == 60


def test_an_unfinished_measure_is_kept_and_named(director, draft):
    address = at("draft_measure", draft, "hollow_hold")

    assert director.post(address, typed(director.get(address), set_up="")).status_code == 302

    page = director.get(at("draft", draft)).content.decode()
    assert "measures.yaml, hollow_hold: set_up is missing" in page


REFUSED = {
    "ring": ("bunny_hop", {"after": ["wall_handstand"]}, "omes after itself"),
    "above the cap": ("wall_handstand", {"asks-0-minimum": "46"}, "above its cap of 45"),
    "out of reach": ("wall_handstand", {"asks-0-minimum": "40"}, "to be 90% sure"),
    "less than before": ("forward_roll", {"asks-2-minimum": "6"}, "sks for less Tuck (6, not 7)"),
    "too young": ("kick_to_handstand", {"min_age": "5"}, "is not offered before 6"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_skill_that_does_not_hang_together_is_refused_in_words(director, draft, case):
    item, changes, words = REFUSED[case]
    address = at("draft_skill", draft, item)

    answer = director.post(address, typed(director.get(address), **changes))

    assert answer.status_code == 422
    assert words in answer.content.decode().replace("&#x27;", "'")
    assert fresh(draft).document == draft.document


def test_the_map_refuses_a_ring_and_draws_a_good_line(director, draft):
    address = at("draft_connect", draft)

    ring = director.post(address, {"before": "wall_handstand", "after": "bunny_hop", "act": "connect"})
    line = director.post(address, {"before": "lunge_lever", "after": "beam_scale", "act": "connect"})

    assert ring.status_code == 422
    assert "comes after itself" in ring.content.decode()
    assert line.status_code == 302
    after = entry_of(fresh(draft).document, "skills", "beam_scale")["requires"]["skills"]
    assert after == ["beam_walk", "lunge_lever"]


def test_a_line_can_be_taken_away(director, draft):
    director.post(at("draft_connect", draft), {"before": "bunny_hop", "after": "squat_on", "act": "separate"})
    assert entry_of(fresh(draft).document, "skills", "squat_on")["requires"]["skills"] == ["run_hurdle_jump"]


def test_a_stale_page_is_refused_with_both_versions(director, draft, cast):
    address = at("draft_measure", draft, "hollow_hold")
    mine = typed(director.get(address), cap="40")
    director.post(address, typed(director.get(address), cap="50"))

    answer = director.post(address, mine)

    assert answer.status_code == 409
    page = answer.content.decode()
    assert "Theirs, saved" in page
    assert "<td>50</td><td>40</td>" in page
    assert entry_of(fresh(draft).document, "measures", "hollow_hold")["cap"] == 50
    assert director.post(address, typed(answer)).status_code == 302
    assert entry_of(fresh(draft).document, "measures", "hollow_hold")["cap"] == 40


def test_two_directors_may_edit_different_parts(director, draft):
    hollow, arch = at("draft_measure", draft, "hollow_hold"), at("draft_measure", draft, "arch_hold")
    first, second = typed(director.get(hollow), cap="50"), typed(director.get(arch), cap="25")

    assert director.post(hollow, first).status_code == 302
    assert director.post(arch, second).status_code == 302

    found = fresh(draft).document
    assert entry_of(found, "measures", "hollow_hold")["cap"] == 50
    assert entry_of(found, "measures", "arch_hold")["cap"] == 25


def test_a_new_skill_is_added_and_a_taken_id_is_not(director, draft):
    new = {"file": "skills", "name": "Side scale", "id": "side_scale"}
    assert director.post(at("draft_add", draft), new | {"id": "cartwheel"}).status_code == 422
    assert director.post(at("draft_add", draft), new)["Location"] == at("draft_skill", draft, "side_scale")
    assert entry_of(fresh(draft).document, "skills", "side_scale")["name"] == "Side scale"


def test_a_measure_that_a_skill_asks_for_stays(director, draft):
    for item, stays in (("front_support_hold", True), ("squat_jumps", False)):
        page = director.get(at("draft_measure", draft, item))
        director.post(
            at("draft_remove", draft, "measures", item), {"seen": page.context["form"]["seen"].value()}
        )
        assert (entry_of(fresh(draft).document, "measures", item) is not None) is stays
    assert "squat_jumps" not in fresh(draft).document["benchmarks"]["measures"]


def test_an_entry_moves_in_its_list(director, draft):
    director.post(at("draft_move", draft, "shapes", "arch"), {"to": "up"})
    assert [one["id"] for one in fresh(draft).document["shapes"]["shapes"]][:2] == ["arch", "hollow"]


def test_the_picture_follows_what_is_typed(director, draft):
    page = director.get(at("draft_benchmark", draft, "hollow_hold"))
    drawn = director.post(at("draft_picture", draft, "hollow_hold"), typed(page, aim_4="12"))
    assert "4: building from 5, aim 12" in drawn.content.decode()
    assert fresh(draft).document == draft.document


def test_half_a_zone_is_asked_for_again(director, draft):
    address = at("draft_benchmark", draft, "hollow_hold")
    answer = director.post(address, typed(director.get(address), aim_4=""))
    assert answer.status_code == 422
    assert "Fill both, or neither." in answer.content.decode()


def test_rules_are_changed(director, draft):
    address = at("draft_rules", draft)
    assert director.post(address, typed(director.get(address), high="0.95")).status_code == 302
    assert fresh(draft).document["skills"]["rules"]["confidence"]["high"] == 0.95


def test_only_directors_change_the_programme(cast, draft, as_member):
    addresses = [at(name, draft, PARTS[name][1]) for name in PARTS]
    addresses += [at(name, draft) for name in ("draft", "draft_map", "draft_rules", "draft_compare")]
    for address in addresses:
        assert as_member(cast.coach).get(address).status_code == 403
        assert as_member(cast.guardian).get(address).status_code == 403
        assert as_member(cast.director).get(address).status_code == 200
