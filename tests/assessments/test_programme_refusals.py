"""What may not be published, and that the reason names the file, the item and the cause."""

from __future__ import annotations

import pytest

from assessments.programme_file import read
from tests.assessments.programme_documents import entry, requirement, starter_documents


@pytest.fixture
def documents():
    found = starter_documents()
    assert read(found).refusals == ()
    return found


def measure(**changes):
    return lambda documents: entry(documents, "measures", "hollow_hold").update(changes)


def shape(**changes):
    return lambda documents: entry(documents, "shapes", "hollow").update(changes)


def skill(item, **changes):
    return lambda documents: entry(documents, "skills", item).update(changes)


def asks(skill_id, item, **changes):
    return lambda documents: requirement(documents, skill_id, item).update(changes)


def after(skill_id, *befores):
    def edit(documents):
        entry(documents, "skills", skill_id)["requires"]["skills"] = list(befores)

    return edit


def zone(section, item, band, **changes):
    return lambda documents: documents["benchmarks"][section][item][band].update(changes)


def top(file, **changes):
    return lambda documents: documents[file].update(changes)


def twice(file, item):
    return lambda documents: documents[file][file].append(dict(entry(documents, file, item)))


def without_criterion(documents):
    found = entry(documents, "shapes", "hollow")
    found["criteria"] = [one for one in found["criteria"] if one["id"] != "low_back"]


def not_offered_at_six(documents):
    documents["benchmarks"]["measures"]["side_support_hold"]["6"] = None


CASES = {
    "cycle": (after("bunny_hop", "wall_handstand"), "skills", "comes after itself"),
    "own ancestor": (after("tuck_rock", "tuck_rock"), "skills", "comes after itself: Tuck rock"),
    "unknown skill": (after("candlestick", "moon_rock"), "skills", "'moon_rock', which is not a skill"),
    "unknown measure": (
        asks("bunny_hop", "front_support_hold", measure="moon_hold"),
        "skills",
        "'moon_hold'",
    ),
    "unknown shape": (asks("bunny_hop", "front_support", shape="moon"), "skills", "shape 'moon'"),
    "unknown criterion": (
        asks("bunny_hop", "front_support", must_have=["ears"]),
        "skills",
        "criterion 'ears'",
    ),
    "criterion taken away": (without_criterion, "skills", "criterion 'low_back' of Hollow"),
    "unknown version": (asks("wall_handstand", "hollow_hold", variant="x"), "skills", "version 'x'"),
    "both sides of one": (
        asks("bunny_hop", "front_support_hold", side="both"),
        "skills",
        "no left and right",
    ),
    "above the cap": (asks("wall_handstand", "hollow_hold", min=61), "skills", "above its cap of 60"),
    "shape above ten": (asks("round_off", "landing", min=11), "skills", "above its cap of 10"),
    "not reachable": (asks("wall_handstand", "hollow_hold", min=48), "skills", "would have to reach 60.3"),
    "asks for nothing": (asks("bunny_hop", "front_support_hold", min=0), "skills", "asks for nothing"),
    "too young": (skill("kick_to_handstand", min_age=5), "skills", "not offered before 6"),
    "no band": (not_offered_at_six, "skills", "do not offer it in band 6"),
    "less than ancestor": (asks("forward_roll", "tuck", min=6), "skills", "asks for less Tuck (6, not 7)"),
    "easier than ancestor": (asks("round_off", "hollow_hold", variant="tucked"), "skills", "easier version"),
    "unknown risk": (skill("cartwheel", risk="mild"), "skills", "risk 'mild' is not one of"),
    "same id twice": (twice("skills", "cartwheel"), "skills", "stands here twice"),
    "id of a measure and a shape": (shape(id="hollow_hold"), "shapes", "a measure has the same id"),
    "id with spaces": (measure(id="Hollow Hold"), "measures", "an id is small letters"),
    "name of another": (measure(aliases=["Plank"]), "measures", "'plank' is also a name of hollow_hold"),
    "unknown body area": (measure(loads=["tail"]), "measures", "'tail', which is not a body area"),
    "unknown source": (measure(sources=["S999"]), "measures", "'S999' is not one of the sources"),
    "published without source": (measure(support="published"), "measures", "no source is named"),
    "no error": (measure(error_model={"a": 0, "b": 0}), "measures", "a should be above 0"),
    "no cap": (measure(cap=None), "measures", "needs a cap"),
    "cap beyond limits": (measure(cap=200), "measures", "within the limits, 180"),
    "limits reversed": (measure(plausible={"warn": [60, 0], "refuse": [0, 180]}), "measures", "lower number"),
    "ask outside refuse": (
        measure(plausible={"warn": [0, 90], "refuse": [0, 60]}),
        "measures",
        "limits that ask",
    ),
    "first of two": (measure(combine="first"), "measures", "more than one is asked for"),
    "no tries": (measure(attempts=0), "measures", "at least one try"),
    "half a try": (measure(attempts=1.5), "measures", "whole number"),
    "number in words": (measure(cap="sixty"), "measures", "cap should be a number, not 'sixty'"),
    "no start": (measure(start=""), "measures", "start is missing"),
    "version twice": (measure(variants=["tucked", "tucked"]), "measures", "'tucked' stands here twice"),
    "words for no version": (measure(variant_words={"upside": "Up"}), "measures", "version 'upside'"),
    "no criteria": (shape(criteria=[]), "shapes", "at least one criterion"),
    "strange viewpoint": (shape(viewpoint="moon"), "shapes", "viewpoint 'moon' is not one of"),
    "holds nothing": (shape(holds=["moon_hold"]), "shapes", "'moon_hold', which is not a measure"),
    "building above aim": (
        zone("measures", "hollow_hold", "4", **{"from": 12}),
        "benchmarks",
        "below the aim",
    ),
    "aim above cap": (zone("measures", "arch_hold", "7", aim=31), "benchmarks", "above the cap, 30"),
    "aim above ten": (zone("shapes", "tuck", "7", aim=11), "benchmarks", "above the cap, 10"),
    "benchmark of nothing": (
        lambda documents: documents["benchmarks"]["measures"].update(moon={"4": {"from": 1, "aim": 2}}),
        "benchmarks",
        "no measure or shape",
    ),
    "benchmark version": (
        zone("measures", "hollow_hold", "4", variant="x"),
        "benchmarks",
        "'x' is not a version",
    ),
    "bands overlap": (
        top("benchmarks", bands=["4", "5", "5-7", "8-9"]),
        "benchmarks",
        "overlaps with band 5",
    ),
    "band is no age": (top("benchmarks", bands=["four", "5", "6", "7", "8-9"]), "benchmarks", "band 'four'"),
    "band backwards": (top("benchmarks", bands=["4", "5", "6", "7", "9-8"]), "benchmarks", "ends before"),
    "too sure": (top("skills", rules={"confidence": {"high": 1.5}}), "skills", "is not between 0.6 and 0.99"),
    "no drift": (top("skills", rules={"drift_weeks": 0}), "skills", "drift_weeks should be above 0"),
    "newer file": (top("skills", schema="skills/2"), "skills", "newer version of this program"),
    "wrong file": (top("skills", schema="shapes/1"), "skills", "says that it holds shapes"),
    "list is no list": (top("skills", skills={"a": 1}), "skills", "skills should be a list"),
    "file is no mapping": (lambda documents: documents.update(skills=["a"]), "skills", "set of names"),
    "file missing": (lambda documents: documents.pop("sources"), "sources", "this file is missing"),
}


@pytest.mark.parametrize("case", CASES)
def test_refusal_names_file_and_reason(documents, case):
    edit, file, words = CASES[case]
    edit(documents)

    refusals = read(documents).refusals

    assert [str(one) for one in refusals if one.file == file and words in str(one)]
    assert read(documents).programme is None


def test_refusal_names_the_item(documents):
    requirement(documents, "wall_handstand", "hollow_hold")["min"] = 61

    (refusal,) = [one for one in read(documents).refusals if "cap" in one.reason]

    assert (refusal.file, refusal.item) == ("skills", "wall_handstand")
    assert str(refusal).startswith("skills.yaml, wall_handstand: asks for 61 of Hollow hold")


def test_harder_version_may_ask_for_fewer_seconds(documents):
    requirement(documents, "round_off", "hollow_hold").update(variant="full_arms_overhead", min=10)
    assert read(documents).refusals == ()


def test_threshold_at_the_edge_of_reach_stands(documents):
    requirement(documents, "wall_handstand", "hollow_hold")["min"] = 47
    requirement(documents, "round_off", "hollow_hold")["min"] = 47
    assert read(documents).refusals == ()


def test_notes_do_not_refuse(documents):
    entry(documents, "measures", "hollow_hold")["cue"] = ""

    reading = read(documents)

    assert reading.programme is not None
    assert [str(one) for one in reading.problems] == ["measures.yaml, hollow_hold: not written yet: cue"]


@pytest.mark.parametrize("file", ["measures", "shapes", "skills", "benchmarks", "sources"])
@pytest.mark.parametrize(
    "junk", [None, "words", 7, [1, 2], {"schema": 3}, {"measures": [None, 4, "x", {"id": 1}]}]
)
def test_junk_is_refused_and_never_breaks_the_reading(documents, file, junk):
    documents[file] = junk
    assert any(one.file == file for one in read(documents).refusals)


def test_an_error_found_from_few_children_asks_for_more_below_the_cap(documents):
    """46 s of hollow hold: by z 57.8 of the cap of 60, by Student's t on three degrees of freedom 61.0."""
    error = {"a": 2, "b": 0.20, "support": "published", "note": "club"}
    requirement(documents, "wall_handstand", "hollow_hold")["min"] = 46
    measure(error_model=error)(documents)
    assert not [one for one in read(documents).refusals if "would have to reach" in one.reason]
    measure(error_model=error | {"children": 4})(documents)
    assert [one for one in read(documents).refusals if "would have to reach 61." in one.reason]
