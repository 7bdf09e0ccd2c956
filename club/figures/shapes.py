"""The nine shapes of the starter programme, each as it should look and as it looks when one thing is lost."""

from __future__ import annotations

from dataclasses import replace

from club.figures.body import Pose
from club.figures.draw import Figure, Thing
from club.figures.poses import arms, legs, on_hands_and_feet, reaching, turned

# --- hollow: on the back, head to the left -----------------------------------------------------------------------

_LONG = legs(21, foot=17, toes=12)
_KNEES_IN = legs(78, 5, foot=2, toes=0)
HOLLOW = Pose(spine=(180, 172, 150), head=138, face=52, arms=(arms(9),), legs=(_LONG,))
HOLLOW_FULL = replace(HOLLOW, arms=(arms(156),), head=146, face=60)
HOLLOW_TUCKED = replace(HOLLOW, arms=(arms(20),), legs=(_KNEES_IN,))
HOLLOW_ONE_LEG = replace(HOLLOW, arms=(arms(20),), legs=(_LONG, _KNEES_IN))
HOLLOW_FAULTS = {
    "low_back": replace(HOLLOW, spine=(142, 180, 214), head=176, face=90, arms=(arms(178),), legs=(legs(7),)),
    "shoulder_blades": replace(HOLLOW, spine=(180, 180, 178), head=140, face=54, arms=(arms(16),)),
    "head": replace(HOLLOW, head=196, face=108),
    "legs": replace(HOLLOW_FULL, legs=(legs(48, -14, foot=-20), _LONG)),
}

# --- arch: on the front, head to the left ------------------------------------------------------------------------

_ARCH_LEGS = legs(9, 11, foot=13, toes=14)
ARCH = Pose(spine=(176, 166, 160), head=162, face=254, arms=(arms(164),), legs=(_ARCH_LEGS,))
ARCH_BY_SIDE = replace(ARCH, arms=(arms(4),), head=158, face=250)
ARCH_LEGS_ONLY = replace(
    ARCH, spine=(180, 180, 180), head=176, face=262, arms=(arms(188, 176, hand=176),), legs=(legs(14, 16),)
)
ARCH_FAULTS = {
    "seat": replace(ARCH, spine=(160, 148, 140), head=150, face=242, arms=(arms(150),), legs=(legs(0),)),
    "chest": replace(ARCH, spine=(180, 180, 180), head=176, face=262, arms=(arms(180),), legs=(legs(14),)),
    "head": replace(ARCH, spine=(174, 160, 150), head=96, face=190, arms=(arms(160),)),
    "legs": replace(ARCH, legs=(_ARCH_LEGS, legs(32, 34, foot=36))),
    "long": replace(ARCH, spine=(150, 128, 118), head=122, face=214, arms=(arms(126),), legs=(legs(26, 32),)),
}

# --- front support: head to the left -----------------------------------------------------------------------------

_TOES = legs(0, foot=265, toes=180)
_SUPPORT = Pose(spine=(158, 160, 172), head=170, face=256, arms=(arms(270, hand=180),), legs=(_TOES,))
FRONT_SUPPORT = on_hands_and_feet(_SUPPORT)
_BENT = on_hands_and_feet(replace(_SUPPORT, legs=(_TOES,)), knee=42)
SUPPORT_FAULTS = {
    "elbows": on_hands_and_feet(replace(_SUPPORT, arms=(arms(322, 236, hand=180),), head=176, face=262)),
    "line": on_hands_and_feet(replace(_SUPPORT, spine=(112, 140, 166))),
    "piked": on_hands_and_feet(replace(_SUPPORT, spine=(212, 206, 202), head=206, face=292)),
    "shoulders": on_hands_and_feet(
        replace(_SUPPORT, spine=(168, 158, 138), head=150, face=236, arms=(arms(246, hand=180),))
    ),
    "hands": on_hands_and_feet(replace(_SUPPORT, arms=(arms(270, hand=262),)), hand="hand"),
    "legs": _BENT,
}
SUPPORT_ONE_FOOT = replace(FRONT_SUPPORT, legs=(FRONT_SUPPORT.legs[0], legs(2, foot=0)))
SUPPORT_ON_HANDLES = on_hands_and_feet(
    replace(_SUPPORT, spine=(156, 158, 170), arms=(arms(270, hand=180),)), foot="ball", drop=6
)
SUPPORT_KNEES_HOVER = Pose(
    spine=(178, 180, 184), head=180, face=266, arms=(arms(270, hand=180),), legs=(legs(270, 8, foot=270, toes=180),)
)  # fmt: skip
SUPPORT_RAISED = on_hands_and_feet(replace(_SUPPORT, spine=(172, 174, 184), head=182, face=268), drop=-18)

# --- standing, from the side, looking to the right ---------------------------------------------------------------

STAND = Pose(spine=(90, 90, 90), head=90, face=0, arms=(arms(90),), legs=(legs(270, foot=0),))
STAND_FAULTS = {
    "arms": replace(STAND, arms=(arms(52),)),
    "ribs": replace(
        STAND, spine=(74, 92, 122), head=104, face=14, arms=(arms(116),), legs=(legs(271, foot=0),)
    ),
    "seat": replace(STAND, spine=(66, 80, 96), legs=(legs(298, 252, foot=0),)),
    "head": replace(STAND, head=134, face=62),
    "still": turned(replace(STAND, legs=(legs(268, foot=8), legs(296, foot=14))), -8),
}

# --- front views -------------------------------------------------------------------------------------------------

ON_HIPS = (arms(232, 318, hand=300), arms(308, 222, hand=240))
_FLAT = ((215.0, 30.0), (325.0, 30.0))
FRONT_STAND = Pose(
    spine=(90, 90, 90),
    head=90,
    arms=ON_HIPS,
    legs=((270, 270, _FLAT[0], _FLAT[0]), (270, 270, _FLAT[1], _FLAT[1])),
    view="front",
)
RELEVE = replace(FRONT_STAND, legs=(legs(271, foot=271, toes=200), legs(269, foot=269, toes=340)))
RELEVE_FAULTS = {
    "ankle_line": replace(
        FRONT_STAND, legs=((268, 262, 304, (240, 50)), (272, 278, 236, (300, 50)))
    ),
    "height": replace(FRONT_STAND, legs=((271, 271, (271, 62), 200), (269, 269, (269, 62), 340))),
    "knees": replace(
        FRONT_STAND,
        legs=(((252, 34), (286, -30), 271, 200), ((288, 34), (254, -30), 269, 340)),
    ),
    "heels": replace(FRONT_STAND, legs=(legs(257, foot=262, toes=200), legs(283, foot=278, toes=340))),
    "tall": replace(
        RELEVE, spine=(106, 112, 118), head=120, arms=(arms(252, 330, hand=310), arms(330, 250, hand=262))
    ),
}  # fmt: skip
_KNEE_OUT = ((236, 48), (268, -38), _FLAT[0], _FLAT[0]), ((304, 48), (272, -38), _FLAT[1], _FLAT[1])
LANDING = Pose(
    spine=((90, 12), (90, 12), (90, 8)),
    head=90,
    arms=(arms((200, 45)), arms((340, 45))),
    legs=_KNEE_OUT,
    view="front",
)
_STIFF = (268, 268, _FLAT[0], _FLAT[0]), (272, 272, _FLAT[1], _FLAT[1])
LANDING_FAULTS = {
    "knees_track": replace(
        LANDING, legs=(((280, 40), (238, -24), _FLAT[0], _FLAT[0]), ((260, 40), (302, -24), _FLAT[1], _FLAT[1]))
    ),
    "soft": replace(LANDING, legs=_STIFF, arms=(arms((206, 20)), arms((334, 20)))),
    "chest": replace(
        LANDING, spine=((90, 52), (90, 56), (90, 60)), head=(90, 66), arms=(arms((236, 20)), arms((304, 20)))
    ),
    "feet": replace(
        LANDING, legs=(_KNEE_OUT[0], ((316, 52), (300, 10), (318, 20), (318, 20))), spine=(86, 86, 88), head=88
    ),
    "still": replace(
        LANDING, legs=(_KNEE_OUT[0], ((318, 10), (290, -20), _FLAT[1], _FLAT[1])), spine=(74, 76, 84), head=86
    ),
}  # fmt: skip

# --- handstand, stomach towards a wall on the right --------------------------------------------------------------

WALL = 90.0
HANDSTAND = Pose(
    spine=(262, 262, 262), head=263, face=350, arms=(arms(263, hand=0),), legs=(legs(82, foot=78, toes=70),)
)
HANDSTAND_LOW = replace(
    HANDSTAND, spine=(232, 232, 236), head=238, face=322, arms=(arms(240, hand=0),), legs=(legs(52, foot=66, toes=20),)
)  # fmt: skip
HANDSTAND_FAULTS = {
    "elbows": replace(HANDSTAND, arms=(arms(232, 304, hand=0),), head=262, face=350),
    "shoulders": replace(
        HANDSTAND, spine=(248, 250, 256), head=262, face=345, arms=(arms(296, hand=0),), legs=(legs(84, foot=80, toes=70),)
    ),
    "ribs": replace(
        HANDSTAND,
        spine=(290, 262, 232),
        head=226,
        face=310,
        arms=(arms(258, hand=0),),
        legs=(legs(108, 88, foot=80, toes=60),),
    ),
    "head": replace(HANDSTAND, head=228, face=306),
    "legs": replace(HANDSTAND, legs=(legs(82, foot=78, toes=70), legs(118, 64, foot=70))),
}  # fmt: skip

# --- tuck: a ball on the round of the back -----------------------------------------------------------------------

_SEATED = Pose(
    spine=(142, 110, 74), head=28, face=298, arms=(arms(0),), legs=(legs(60, 264, foot=330, toes=335),)
)  # fmt: skip
SEATED_TUCK = reaching(_SEATED, 11.5, 7.0, elbow=-1)
TUCK = turned(SEATED_TUCK, 48)
_OPEN_BACK = turned(replace(_SEATED, spine=(128, 128, 128), head=116, face=28), 48)
TUCK_FAULTS = {
    "chin": replace(TUCK, head=196, face=106),
    "round": reaching(replace(_OPEN_BACK, legs=TUCK.legs), -3.0, 13.0, elbow=-1),
    "knees": replace(TUCK, legs=(legs(66, 292, foot=345),), arms=(arms(26, 8),)),
    "heels": replace(TUCK, legs=(legs(104, 12, foot=8),), arms=(arms(30, 30),)),
    "together": replace(TUCK, legs=(TUCK.legs[0], legs(64, 300, foot=350))),
}

# --- hang: from a bar, looking to the right ----------------------------------------------------------------------

BAR = (60.0, 111.0)
HANG = Pose(
    spine=(95, 90, 86), head=88, face=358, arms=(arms(90),), legs=(legs(273, 278, foot=282, toes=286),)
)
HANG_FAULTS = {
    "grip": replace(HANG, arms=(arms(92, hand=64),)),
    "arms": replace(HANG, arms=(arms(38, 118, hand=100),)),
    "shoulders": replace(HANG, spine=(92, 88, 84), head=62, face=322, legs=(legs(271),)),
    "front": replace(HANG, spine=(70, 92, 112), head=98, face=8, legs=(legs(262, 250, foot=246),)),
    "legs": replace(HANG, legs=(legs(252, 248), legs(300, 286))),
}

# --- the drawings --------------------------------------------------------------------------------------------------

WALL_THINGS = (Thing("wall", (WALL, 116)),)
_RISE = (Thing("arrow", (36, 3, 36, 17)), Thing("arrow", (84, 3, 84, 17)))
BAR_THINGS = (Thing("bar", BAR),)
HANGING = ("hand", BAR[0], BAR[1] - 1)
_BY_WALL = ("wrist", 71.5, 2.25)


def _faults(shape: Figure, poses: dict[str, Pose], said: dict[str, tuple[str, str]]) -> tuple[Figure, ...]:
    """The drawings of one shape with one thing lost, each with a ring where to look."""
    return tuple(
        replace(
            shape,
            name=f"{shape.name}-{fault}",
            title=f"{shape.title}: {words}",
            description=f"{shape.title} with one thing lost, ringed: {words}.",
            pose=poses[fault],
            ring=(joint,),
        )
        for fault, (words, joint) in said.items()
    )


_HOLLOW = Figure(
    "hollow",
    "Hollow",
    "Lying on the back. The lower back stays on the floor; head, shoulders, arms and long legs are off it.",
    HOLLOW,
    "low",
)
_ARCH = Figure(
    "arch",
    "Arch",
    "Lying on the front, eyes to the floor. Chest and thighs are just off the floor, arms reach long.",
    ARCH,
    "low",
)
_FRONT_SUPPORT = Figure(
    "front_support",
    "Front support",
    "On straight arms and toes, face down. Shoulders over the hands, one line from shoulder to heel.",
    FRONT_SUPPORT,
    "low",
)
_STAND = Figure(
    "straight_stand",
    "Straight stand",
    "Standing tall, seen from the side: arms by the ears, ribs in, legs straight, one upright line.",
    STAND,
)
_RELEVE = Figure(
    "releve",
    "Relevé",
    "Standing high on the balls of the feet, seen from the front: heels together, knees straight, hands on hips.",
    RELEVE,
    things=_RISE,
)
_HANDSTAND = Figure(
    "handstand_line",
    "Handstand facing the wall",
    "On the hands, stomach towards the wall, toes touching it: one straight line from hands to toes.",
    HANDSTAND,
    place=_BY_WALL,
    things=WALL_THINGS,
)
_TUCK = Figure(
    "tuck",
    "Tuck",
    "A small ball on the round of the back: chin on the chest, hands on the shins, heels close to the seat.",
    TUCK,
    "low",
)
_HANG = Figure(
    "hang",
    "Straight hang",
    "Hanging from a bar on long arms, seen from the side: body slightly hollow, legs together.",
    HANG,
    place=HANGING,
    things=BAR_THINGS,
)
_LANDING = Figure(
    "landing",
    "Landing",
    "Just landed, seen from the front: hips and knees bent, knees over the toes, chest up, arms in front.",
    LANDING,
)

SHAPES: tuple[Figure, ...] = (
    _HOLLOW,
    _ARCH,
    _FRONT_SUPPORT,
    _STAND,
    _RELEVE,
    _HANDSTAND,
    _TUCK,
    _HANG,
    _LANDING,
)

FAULTS: tuple[Figure, ...] = (
    *_faults(
        _HOLLOW,
        HOLLOW_FAULTS,
        {
            "low_back": ("lower back lifted", "low_back"),
            "shoulder_blades": ("shoulders on the floor", "neck"),
            "head": ("head dropped back", "head"),
            "legs": ("legs apart or bent", "knee"),
        },
    ),
    *_faults(
        _ARCH,
        ARCH_FAULTS,
        {
            "seat": ("legs stayed down", "knee"),
            "chest": ("chest on the floor", "neck"),
            "head": ("head thrown back", "head"),
            "legs": ("legs apart", "other_knee"),
            "long": ("bent high in one place", "low_back"),
        },
    ),
    *_faults(
        _FRONT_SUPPORT,
        SUPPORT_FAULTS,
        {
            "elbows": ("elbows bent", "elbow"),
            "line": ("hips sagging", "hip"),
            "piked": ("hips piked", "hip"),
            "shoulders": ("chest sunk, shoulders behind the hands", "neck"),
            "hands": ("up on the fingers", "wrist"),
            "legs": ("knees bent", "knee"),
        },
    ),
    *_faults(
        _STAND,
        STAND_FAULTS,
        {
            "arms": ("arms in front", "elbow"),
            "ribs": ("ribs open, back arched", "low_back"),
            "seat": ("knees soft, seat out", "knee"),
            "head": ("head tipped back", "head"),
            "still": ("stepped", "other_ankle"),
        },
    ),
    *_faults(
        replace(_RELEVE, things=()),
        RELEVE_FAULTS,
        {
            "ankle_line": ("ankles rolled out", "ankle"),
            "height": ("heels low", "ankle"),
            "knees": ("knees bent", "knee"),
            "heels": ("heels apart", "ankle"),
            "tall": ("leaning", "neck"),
        },
    ),
    *_faults(
        _HANDSTAND,
        HANDSTAND_FAULTS,
        {
            "elbows": ("elbows bent", "elbow"),
            "shoulders": ("shoulders closed", "shoulder"),
            "ribs": ("back arched", "low_back"),
            "head": ("head thrown back", "head"),
            "legs": ("legs apart or bent", "other_knee"),
        },
    ),
    *_faults(
        _TUCK,
        TUCK_FAULTS,
        {
            "chin": ("head fell back", "head"),
            "round": ("back flat", "upper_back"),
            "knees": ("knees away from the chest", "knee"),
            "heels": ("legs kicked out", "ankle"),
            "together": ("knees apart", "other_knee"),
        },
    ),
    *_faults(
        _HANG,
        HANG_FAULTS,
        {
            "grip": ("grip slipping", "hand"),
            "arms": ("arms bent", "elbow"),
            "shoulders": ("shoulders let go", "head"),
            "front": ("middle arched", "low_back"),
            "legs": ("legs apart", "other_knee"),
        },
    ),
    *_faults(
        _LANDING,
        LANDING_FAULTS,
        {
            "knees_track": ("knees fell inward", "knee"),
            "soft": ("stiff legs", "knee"),
            "chest": ("folded forward", "head"),
            "feet": ("one foot after the other", "other_ankle"),
            "still": ("stepped", "other_ankle"),
        },
    ),
)
