"""How each measure of the starter programme looks, and its easier and harder versions."""

from __future__ import annotations

from dataclasses import replace

from club.figures import shapes
from club.figures.body import Pose
from club.figures.draw import Figure, Thing
from club.figures.poses import arms, legs, on_hands_and_feet, reaching

# --- supports ----------------------------------------------------------------------------------------------------

_TOES = legs(0, foot=265, toes=180)
_ON_FOREARMS = on_hands_and_feet(
    Pose(spine=(168, 170, 176), head=174, face=260, arms=(arms(270, 180),), legs=(_TOES,)), hand="elbow"
)
_SIDE = Pose(spine=(170, 170, 170), head=172, arms=(arms(270, 180), arms(84)), legs=(legs(351),))
_SIDE_KNEE = replace(_SIDE, spine=(168, 168, 168), legs=((344, (350, -66), 350, 350),))
_KNEEL = Pose(
    spine=(148, 152, 160), head=160, face=246, arms=(arms(270, hand=180),), legs=(legs(326, 12, foot=4),)
)
_HALF_WAY = replace(shapes.FRONT_SUPPORT, spine=(170, 172, 176), arms=(arms(330, 244, hand=180),))
_PUSH_UP = on_hands_and_feet(_HALF_WAY)
TABLE = Pose(
    spine=(178, 174, 176), head=174, face=260, arms=(arms(270, hand=180),), legs=(legs(270, 0, foot=0),)
)  # fmt: skip
_BACK_LIFT = replace(TABLE, legs=(*TABLE.legs, legs(358)))
_FROM_BEHIND = Pose(
    spine=((90, -68), (90, -72), (90, -76)),
    head=(90, -40),
    arms=(arms(264, hand=(250, -60)), arms(276, hand=(290, -60))),
    legs=((270, (270, 86), (270, 80), (270, 80)), (2, (300, 62), (300, 70), (300, 70))),
    view="front",
)

# --- at the bar, seen from the front -----------------------------------------------------------------------------

_LEGS_TOGETHER = (legs(271), legs(269))
_CHIN_UP = Pose(
    spine=(90, 90, 90),
    head=90,
    arms=(arms(240, (104, 32)), arms(300, (76, 32))),
    legs=_LEGS_TOGETHER,
    view="front",
)
ON_BAR = Pose(
    spine=(90, 90, 90),
    head=90,
    arms=(arms(263, hand=272), arms(277, hand=268)),
    legs=_LEGS_TOGETHER,
    view="front",
)
_KNEES_UP = replace(shapes.HANG, spine=(98, 90, 84), legs=(legs(352, 268, foot=282, toes=300),))

# --- standing ----------------------------------------------------------------------------------------------------

_ONE_LEG = replace(
    shapes.FRONT_STAND, legs=(shapes.FRONT_STAND.legs[0], ((350, 40), (266, -6), (282, 10), (282, 10)))
)
_AT_WALL = Pose(
    spine=(90, 90, 90), head=90, face=0, arms=(arms(348, 14, hand=40),), legs=(legs(270, foot=298, toes=0),)
)
_AT_WALL_ONE = replace(_AT_WALL, legs=(*_AT_WALL.legs, legs(284, 190, foot=200)))
_TURNED_OUT = replace(
    shapes.RELEVE, legs=(legs(268, foot=(250, 20), toes=190), legs(272, foot=(290, 20), toes=350))
)
_APART = replace(shapes.RELEVE, legs=(legs(262, foot=268, toes=200), legs(278, foot=272, toes=340)))
CATCH = Pose(
    spine=(76, 72, 72), head=80, face=350, arms=(arms(8, 14),), legs=(legs(308, 246, foot=0),)
)  # fmt: skip
SQUAT = Pose(spine=(58, 60, 64), head=72, face=342, arms=(arms(236, 224),), legs=(legs(350, 236, foot=0),))
_LEAP = Pose(
    spine=(72, 66, 62), head=66, face=340, arms=(arms(52, 44),), legs=(legs(318, 246, foot=320, toes=330),)
)
_REACH = reaching(
    Pose(spine=(104, 66, 34), head=10, face=280, arms=(arms(0),), legs=(legs(0, foot=84, toes=84),)), 37.0, 8.0, elbow=-1
)  # fmt: skip

_BAR_FLAT = (Thing("bar_flat", (60, 88)),)
_UP_DOWN_LEFT = (Thing("both_ways", (20, 14, 20, 40)),)


_HOLLOW = (
    ("tucked", "Hollow, tucked", "Hollow with the knees bent above the hips.", shapes.HOLLOW_TUCKED, ()),
    ("one_leg_long", "Hollow, one leg long", "Hollow with one knee bent and one leg long.", shapes.HOLLOW_ONE_LEG, ()),
    ("arms_by_side", "Hollow, arms by the sides", "Hollow with long legs and arms by the sides.", shapes.HOLLOW, ()),
    ("block_between_feet", "Hollow, block between the feet", "Hollow squeezing a block between the feet.",
     shapes.HOLLOW, ("ball",)),
    ("full_arms_overhead", "Hollow, arms overhead", "Hollow with long legs and arms by the ears.",
     shapes.HOLLOW_FULL, ()),
    ("block_between_hands", "Hollow, block between the hands", "Hollow with arms by the ears, squeezing a block.",
     shapes.HOLLOW_FULL, ("hand",)),
)  # fmt: skip
_ARCH = (
    ("legs_only", "Arch, legs only", "On the front, forehead down: only the long legs lift.", shapes.ARCH_LEGS_ONLY, ()),
    ("arms_by_side", "Arch, arms by the sides", "Arch with arms long beside the body.", shapes.ARCH_BY_SIDE, ()),
    ("block_between_feet", "Arch, block between the feet", "Arch squeezing a block between the feet.",
     shapes.ARCH_BY_SIDE, ("ball",)),
    ("arms_overhead", "Arch, arms overhead", "Arch with arms reaching long by the ears.", shapes.ARCH, ()),
    ("block_between_hands", "Arch, block between the hands", "Arch reaching long with a block between the hands.",
     shapes.ARCH, ("hand",)),
)  # fmt: skip
_FRONT_SUPPORT = (
    ("knees_hover", "Front support, knees hover", "On hands and toes, knees bent and just off the floor.",
     shapes.SUPPORT_KNEES_HOVER, ()),
    ("flat_hands", "Front support", "Front support on flat hands.", shapes.FRONT_SUPPORT, ()),
    ("block_between_feet", "Front support, block between the feet", "Front support squeezing a block.",
     shapes.FRONT_SUPPORT, ("ankle",)),
    ("one_foot_lifted", "Front support, one foot lifted", "Front support with one foot off the floor.",
     shapes.SUPPORT_ONE_FOOT, ()),
)  # fmt: skip


def _ladder(
    measure: str, rows: tuple[tuple[str, str, str, Pose, tuple[str, ...]], ...]
) -> tuple[Figure, ...]:
    return tuple(
        Figure(f"{measure}-{variant}", title, text, pose, "low", held=held)
        for variant, title, text, pose, held in rows
    )


MEASURES: tuple[Figure, ...] = (
    *_ladder("hollow_hold", _HOLLOW),
    *_ladder("arch_hold", _ARCH),
    *_ladder("front_support_hold", _FRONT_SUPPORT),
    Figure("front_support_hold-handles", "Front support on handles", "Front support gripping low handles.",
           shapes.SUPPORT_ON_HANDLES, "low", things=(Thing("handle", (38.5, 6)),), place=("wrist", 38.5, 8.0)),
    Figure("front_support_hold-feet_raised", "Front support, feet raised", "Front support with the feet on a block.",
           shapes.SUPPORT_RAISED, "low", things=(Thing("block", (92, 26, 16)),), place=("wrist", 36, 2.25)),
    Figure("forearm_plank_hold", "Forearm plank", "On forearms and toes, face down, one line from shoulder to heel.",
           _ON_FOREARMS, "low"),
    Figure("side_support_hold", "Side support", "On one forearm and the feet, side to the floor, top arm up.", _SIDE, "low"),
    Figure("side_support_hold-knee_down", "Side support, knee down", "Side support on forearm and knee.", _SIDE_KNEE, "low"),
    Figure("bent_arm_hang", "Bent-arm hang", "Hanging with bent arms, chin above the bar, seen from the front.",
           _CHIN_UP, things=_BAR_FLAT, place=("neck", 60, 84)),
    Figure("bar_support_hold", "Support on the bar", "Held up on straight arms, thighs at the bar, seen from the front.",
           ON_BAR, things=(Thing("bar_flat", (60, 54)),), place=("hip", 60, 56)),
    Figure("wall_handstand_hold-feet_low_45_degrees", "Wall handstand, feet low",
           "On the hands with the feet half-way up the wall, stomach to the wall.", shapes.HANDSTAND_LOW,
           things=shapes.WALL_THINGS, place=("wrist", 28.5, 2.25)),
    Figure("single_leg_stance", "One-leg stand", "Standing on one flat foot, hands on hips, seen from the front.", _ONE_LEG),
    Figure("kneeling_push_ups", "Push-ups from the knees", "Straight arms, knees on the floor; down and up again.",
           _KNEEL, "low", things=_UP_DOWN_LEFT, shift=6),
    Figure("full_push_ups", "Push-ups from the toes", "Elbows bent, body in one line on hands and toes; down and up.",
           _PUSH_UP, "low", things=_UP_DOWN_LEFT, shift=6),
    Figure("double_heel_raises", "Heel raises, two feet", "Facing a wall, fingertips on it, both heels high.",
           _AT_WALL, things=(*shapes.WALL_THINGS, Thing("both_ways", (40, 3, 40, 21))), place=("ball", 60, 2.25)),
    Figure("double_heel_raises-feet_apart", "Heel raises, feet apart", "Heels high with feet apart, from the front.",
           _APART),
    Figure("double_heel_raises-turned_out", "Heel raises, turned out", "Heels high with the toes turned out.", _TURNED_OUT),
    Figure("single_heel_raises", "Heel raises, one foot", "Facing a wall, one heel high, the other knee bent.",
           _AT_WALL_ONE, things=(*shapes.WALL_THINGS, Thing("both_ways", (36, 3, 36, 19))), place=("ball", 60, 2.25)),
    Figure("hanging_knee_lifts", "Knee lifts in hang", "Hanging from a bar, both knees lifted to hip height.",
           _KNEES_UP, things=(*shapes.BAR_THINGS, Thing("arrow", (100, 16, 100, 44))), place=shapes.HANGING),
    Figure("stick_landings", "Still landings", "A jump down from a low block to a still landing on bent knees.",
           CATCH, things=(Thing("block", (12, 26, 22)), Thing("arrow", (28, 34, 58, 60, 20))), place=("ankle", 76, 2.25)),
    Figure("squat_jumps", "Squat jumps", "Seat low over flat feet, then a jump straight up.",
           SQUAT, things=(Thing("arrow", (92, 44, 92, 84)),)),
    Figure("standing_long_jump", "Standing long jump", "In the air between take-off line and landing, arms forward.",
           _LEAP, clear=18, things=(Thing("both_ways", (18, 7, 102, 7)), Thing("tick", (14, 12)))),
    Figure("pike_reach", "Seated pike reach", "Sitting with long legs against a bench, reaching past the toes.",
           _REACH, "low", things=(Thing("block", (104, 18, 16)),), place=("hip", 60, 2.25)),
    Figure("hip_back_lifts", "Back lifts on hands and knees", "On hands and knees, one long leg lifted back to hip height.",
           _BACK_LIFT, "low", things=(Thing("both_ways", (118, 8, 118, 24)),), shift=-8),
    Figure("hip_side_lifts", "Side lifts on hands and knees", "On hands and knees, from behind: one knee lifts sideways.",
           _FROM_BEHIND, "low", things=(Thing("both_ways", (98, 6, 98, 26)),)),
)  # fmt: skip
