"""When a protocol gets a new version, when it does not, and what a comparison says."""

from __future__ import annotations

import pytest

from assessments.programme_changes import compare, versions
from assessments.programme_file import read
from tests.assessments.programme_documents import entry, requirement, starter_documents

OLD = read(starter_documents()).partial


@pytest.fixture
def documents():
    return starter_documents()


def hollow(**changes):
    return lambda documents: entry(documents, "measures", "hollow_hold").update(changes)


def ladder(change):
    def edit(documents):
        change(entry(documents, "measures", "hollow_hold"))

    return edit


def criterion(**changes):
    return lambda documents: entry(documents, "shapes", "hollow")["criteria"][0].update(changes)


def without_a_criterion(documents):
    entry(documents, "shapes", "hollow")["criteria"].pop()


DEFINING = {
    "set-up": (hollow(set_up="On a beam."), "hollow_hold"),
    "start": (hollow(start="At once."), "hollow_hold"),
    "form": (hollow(form_standard="Any."), "hollow_hold"),
    "stop rules": (hollow(stop_rules=["the head drops"]), "hollow_hold"),
    "attempts": (hollow(attempts=3), "hollow_hold"),
    "combine": (hollow(combine="mean"), "hollow_hold"),
    "cap": (hollow(cap=45), "hollow_hold"),
    "sides": (hollow(sides="left_right"), "hollow_hold"),
    "unit": (hollow(unit="min"), "hollow_hold"),
    "kind": (hollow(kind="count"), "hollow_hold"),
    "no versions any more": (
        ladder(lambda one: [one.pop(key) for key in ("variants", "variant_words", "variant_texts")]),
        "hollow_hold",
    ),
    "a version described anew": (
        ladder(lambda one: one["variant_texts"].update(tucked="Knees apart")),
        "hollow_hold",
    ),
    "criterion removed": (without_a_criterion, "hollow"),
    "level reworded": (criterion(on_own="No gap at all."), "hollow"),
    "viewpoint": (lambda documents: entry(documents, "shapes", "hollow").update(viewpoint="front"), "hollow"),
}
WORDING = {
    "name": hollow(name="Hollow body hold time"),
    "script": hollow(say="Hold it.\nBreathe."),
    "cue": hollow(cue="Flat back."),
    "aliases": hollow(aliases=["banana"]),
    "error": hollow(error_model={"a": 3, "b": 0.3}),
    "limits": hollow(plausible={"warn": [0, 60], "refuse": [0, 120]}),
    "loads": hollow(loads=["neck"]),
    "one more version": ladder(lambda one: one["variants"].append("one_arm")),
    "one version fewer": ladder(
        lambda one: [
            one["variants"].remove("tucked"),
            one["variant_words"].pop("tucked"),
            one["variant_texts"].pop("tucked"),
        ]
    ),
    "criterion's cue": criterion(cue="Flat back."),
    "must-have": criterion(must_have=False),
}


def numbered(documents):
    return versions(read(documents).partial, OLD, highest=dict.fromkeys((one.id for one in OLD.items()), 1))


@pytest.mark.parametrize("case", DEFINING)
def test_what_defines_a_result_makes_a_new_version_of_that_item_alone(documents, case):
    edit, item = DEFINING[case]
    assert set(numbered(documents).values()) == {1}
    edit(documents)
    found = numbered(documents)
    assert found.pop(item) == 2
    assert set(found.values()) == {1}


@pytest.mark.parametrize("case", WORDING)
def test_what_does_not_define_a_result_keeps_the_version(documents, case):
    WORDING[case](documents)
    assert set(numbered(documents).values()) == {1}
    assert compare(OLD, read(documents).partial), "the change is told all the same"


def test_the_rule_of_form_breaks_defines_every_measure_and_no_shape(documents):
    documents["measures"]["defaults"]["form_break_rule"] = "Two cues."
    found = numbered(documents)
    assert {found[one] for one in OLD.measures} == {2}
    assert {found[one] for one in OLD.shapes} == {1}


def test_an_item_that_comes_back_gets_a_number_that_was_never_used():
    assert versions(OLD, None, highest={"hollow_hold": 4})["hollow_hold"] == 5


def words(documents):
    return [f"{one.name}: {one.words}" for one in compare(OLD, read(documents).partial)]


def test_nothing_changed_is_said_as_nothing(documents):
    assert words(documents) == []


def test_changes_are_told_with_names_and_both_values(documents):
    entry(documents, "measures", "hollow_hold")["seconds_per_child"] = 90
    requirement(documents, "wall_handstand", "hollow_hold")["min"] = 18
    entry(documents, "skills", "beam_scale")["requires"]["skills"].append("lunge_lever")
    documents["benchmarks"]["measures"]["hollow_hold"]["4"]["aim"] = 12
    documents["skills"]["rules"]["expiry_weeks"] = 20
    assert words(documents) == [
        "Hollow hold: seconds a child: 100 → 90",
        "Handstand facing the wall: asks for Hollow hold, 18 s (arms by the sides); "
        "before, for Hollow hold, 15 s (arms by the sides)",
        "Front scale: now comes after Lunge and lever",
        "Hollow hold: 4: building from 5, aim 10 → building from 5, aim 12",
        "How sure, and for how long: expiry weeks: 16 → 20",
    ]


def test_a_renamed_id_is_told_as_such(documents):
    entry(documents, "measures", "squat_jumps")["id"] = "jump_squats"
    rows = documents["benchmarks"]["measures"]
    rows["jump_squats"] = rows.pop("squat_jumps")
    said = words(documents)
    assert (
        "Squat jumps in a row: added under a new id; what was recorded for squat_jumps does not count for it"
        in said
    )
    assert "Squat jumps in a row: removed; what was recorded stays" in said


def test_a_new_version_is_told_in_words(documents):
    entry(documents, "measures", "hollow_hold")["cap"] = 45
    (told,) = [one for one in compare(OLD, read(documents).partial) if one.new_version]
    assert (told.part, told.item) == ("measures", "hollow_hold")
    assert told.words.startswith("a new protocol version")
