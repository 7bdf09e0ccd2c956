"""The drawings: one body in all of them, one for every starter item, and words for those who cannot see them."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
import yaml
from django.template import Context, Template

from club import figures
from club.figures import body, draw

PROGRAMME = Path(__file__).parents[2] / "assessments" / "programme_data"
NAMES = [each.name for each in figures.FIGURES]


def _programme(kind: str) -> list[dict]:
    return yaml.safe_load((PROGRAMME / f"{kind}.yaml").read_text())[kind]


@pytest.fixture(params=figures.FIGURES, ids=NAMES)
def drawn(request):
    return request.param


def test_every_segment_is_equally_long_in_every_drawing(drawn):
    joints = drawn.body()
    for chain, lengths in (
        (joints.spine, body.SPINE),
        *((arm, body.ARM) for arm in joints.arms),
        *((leg, body.LEG) for leg in joints.legs),
    ):
        measured = [a.distance(b) for a, b in pairwise(chain)]
        assert measured == pytest.approx(lengths, abs=1e-6)
    assert joints.spine[-1].distance(joints.head) == pytest.approx(body.NECK)


def test_head_is_a_sixth_of_the_height():
    standing = figures.find("straight_stand").body()
    height = standing.head.y + body.HEAD_RADIUS
    assert height / (2 * body.HEAD_RADIUS) == pytest.approx(6, abs=0.15)


def test_nothing_is_drawn_outside_its_picture_or_below_the_floor(drawn):
    width, height = drawn.size
    joints = list(drawn.body().all())
    half = body.LINE / 2
    assert min(p.x for p in joints) >= half and max(p.x for p in joints) <= width - half
    assert min(p.y for p in joints) >= half - 0.8
    assert max(p.y for p in joints) <= height - draw.FLOOR_FROM_FOOT - half


def test_drawing_is_well_formed_and_says_what_it_shows(drawn):
    root = ElementTree.fromstring(draw.svg(drawn))
    assert root.get("role") == "img"
    assert root.get("aria-label") == drawn.title
    assert len(drawn.description) > 15
    assert "style" not in root.attrib
    assert not [e for e in root.iter() if e.get("style") or e.tag == "script"]


def test_names_are_unique():
    assert len(NAMES) == len(set(NAMES))


def test_no_two_drawings_look_the_same_unless_they_share_a_pose():
    by_picture: dict[str, set[tuple[str, str]]] = {}
    for each in figures.FIGURES:
        by_picture.setdefault(draw.strokes(each), set()).add((each.title, each.name.split("-")[0]))
    twins = [
        sorted(names) for names in by_picture.values() if len({name for _, name in names}) == 1 < len(names)
    ]
    assert twins == []


@pytest.mark.parametrize("kind", ["shapes", "measures", "skills"])
def test_every_starter_item_has_a_drawing(kind):
    missing = [item["id"] for item in _programme(kind) if figures.find(item["id"]) is None]
    assert missing == []


def test_every_version_of_a_hold_has_its_own_name_in_the_drawing():
    for item in _programme("measures"):
        for variant in item.get("variants") or ():
            assert figures.find(item["id"], variant=variant) is not None


def test_faults_that_can_be_seen_are_drawn_with_a_ring():
    unseen = {("hollow", "breathing")}
    for shape in _programme("shapes"):
        for criterion in shape["criteria"]:
            found = figures.find(shape["id"], fault=criterion["id"])
            if (shape["id"], criterion["id"]) in unseen:
                assert found.name == shape["id"]
            else:
                assert found.name == f"{shape['id']}-{criterion['id']}" and found.ring


def test_a_hold_borrows_the_faults_of_its_shape():
    assert figures.find("hollow_hold", fault="low_back").name == "hollow-low_back"


def test_hollow_lies_on_its_lower_back_and_arch_on_its_front():
    hollow, arch = figures.find("hollow"), figures.find("arch")
    lying = hollow.body()
    lowest = min(p.y for p in lying.all())
    assert lying.named("low_back").y == pytest.approx(lowest, abs=0.01)
    assert lying.named("neck").y > lowest + 4 and lying.named("ankle").y > lowest + 8
    assert 0 < hollow.pose.face < 90  # the face looks up
    assert 180 < arch.pose.face < 270  # and down
    prone = arch.body()
    assert prone.named("knee").y > min(p.y for p in prone.all()) + 2


def test_front_support_has_upright_straight_arms_and_one_line():
    joints = figures.find("front_support").body()
    arm = [joints.named(name) for name in ("shoulder", "elbow", "wrist")]
    assert max(p.x for p in arm) - min(p.x for p in arm) < 0.01
    neck, hip, ankle = (joints.named(name) for name in ("neck", "hip", "ankle"))
    share = (hip.x - neck.x) / (ankle.x - neck.x)
    assert abs(hip.y - (neck.y + (ankle.y - neck.y) * share)) < 1.5
    assert joints.named("ball").y == pytest.approx(joints.named("wrist").y, abs=0.3)


def test_limb_with_a_missing_direction_is_refused():
    short = body.Pose(spine=(90, 90, 90), head=90, arms=((90, 90),), legs=())
    with pytest.raises(ValueError, match="3 directions"):
        body.joints(short)


def test_tag_draws_nothing_for_a_measure_of_the_clubs_own():
    page = Template('{% load club_figures %}[{% figure "balloon_bounce" %}]').render(Context())
    assert page == "[]"


def test_tag_draws_a_fault_and_can_be_silent_beside_its_name():
    page = Template(
        '{% load club_figures %}{% figure "hollow" fault="low_back" size="thumb" decorative=True %}'
    ).render(Context())
    root = ElementTree.fromstring(page)
    assert root.get("class") == "figure thumb"
    assert root.get("aria-hidden") == "true" and root.get("aria-label") is None


def test_sprite_holds_each_drawing_once_for_script():
    root = ElementTree.fromstring(figures.symbols(["hollow", "hollow_hold", "arch", "nothing"]))
    assert [each.get("id") for each in root] == ["figure-hollow", "figure-arch"]
