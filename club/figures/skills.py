"""The starter skills, each as one moment that tells it from the others."""

from __future__ import annotations

from dataclasses import replace

from club.figures import shapes
from club.figures.body import Pose
from club.figures.draw import Figure, Thing
from club.figures.measures import ON_BAR
from club.figures.poses import arms, legs, reaching, turned

_JUMP = replace(shapes.STAND, legs=(legs(270),))
_BEAM_JUMP = replace(_JUMP, arms=(arms(58),))
_BUNNY = Pose(
    spine=(222, 216, 214), head=232, face=318, arms=(arms(268, hand=180),), legs=(legs(248, 330, foot=20),)
)
_CANDLE = Pose(spine=(266, 262, 236), head=178, face=90, arms=(arms(0),), legs=(legs(88),))
_ROLL = Pose(
    spine=(196, 222, 262), head=318, face=30, arms=(arms(250, hand=180),), legs=(legs(304, 262, foot=330),)
)
_LEVER = Pose(
    spine=(180, 180, 180), head=180, face=262, arms=(arms(180),), legs=(legs(270, foot=180), legs(0))
)
_SCALE = Pose(
    spine=(166, 156, 146), head=132, face=214, arms=(arms(150), arms(4)), legs=(legs(270, foot=180), legs(6))
)
_KICK = replace(shapes.HANDSTAND, spine=(268, 268, 268), head=270, face=340, arms=(arms(270, hand=0),),
                legs=(legs(72, foot=68), legs(148, 152)))  # fmt: skip
_BRIDGE = Pose(
    spine=(168, 190, 226), head=262, face=172, arms=(arms(256, 258, hand=0),), legs=(legs(352, 262, foot=0),)
)
_STAR = Pose(
    spine=(270, 270, 270), head=270, arms=(arms(240), arms(300)), legs=(legs(132), legs(48)), view="front"
)
_SMALL_WHEEL = replace(_STAR, legs=(legs(152, 104), legs(28, 76)))
_CAST = replace(shapes.FRONT_SUPPORT, arms=(arms(278, hand=262),), legs=(legs(350),), spine=(164, 162, 170))
_PULLOVER = reaching(
    Pose(spine=(238, 236, 228), head=206, face=300, arms=(arms(0),), legs=(legs(96, 92),)), 2.0, 5.0, elbow=-1
)  # fmt: skip
_CIRCLE = reaching(
    Pose(spine=(204, 204, 208), head=214, face=306, arms=(arms(0),), legs=(legs(28, 26),)), 2.0, 5.0, elbow=-1
)  # fmt: skip
_ROLL_DOWN = reaching(
    Pose(spine=(216, 246, 282), head=312, face=36, arms=(arms(0),), legs=(legs(292, 290),)), 3.0, -3.0, elbow=-1
)  # fmt: skip
_WALK = Pose(
    spine=(90, 90, 90), head=90, face=0, arms=(arms(20), arms(160)), legs=(legs(290, foot=320, toes=320), legs(262, foot=0))
)  # fmt: skip
_HIGH_WALK = replace(_WALK, legs=(legs(300, 280, foot=300, toes=310), legs(268, foot=294, toes=0)))
_TURN = Pose(
    spine=(90, 90, 90), head=90, arms=(arms(112), arms(68)), view="front",
    legs=(legs(271, foot=271, toes=200), ((302, 40), (228, 10), (236, 10), (236, 10))),
)  # fmt: skip
_RUN = Pose(
    spine=(80, 80, 80), head=84, face=354, arms=(arms(300, 20), arms(228, 300)),
    legs=(legs(336, 262, foot=340), legs(236, 196)),
)  # fmt: skip
_SQUAT_ON = Pose(
    spine=(206, 200, 196), head=196, face=282, arms=(arms(278, hand=180),), legs=(legs(226, 318, foot=180),)
)
_ARCH_HANG = replace(shapes.HANG, spine=(72, 90, 108), head=94, legs=(legs(264, 252, foot=248),))

_BEAM = (Thing("block", (12, 96, 10)),)
_ON_BEAM = 12.0
_BAR_SIDE = (Thing("bar", (60, 62)),)
_GRIP = ("hand", 60.0, 62.0)

SKILLS: tuple[Figure, ...] = (
    Figure("tuck_rock", "Tuck rock", "A tucked ball rocking along the round of the back.", shapes.TUCK, "low",
           things=(Thing("both_ways", (36, 52, 96, 52, 10)),)),
    Figure("straight_jump_stick", "Straight jump, still landing", "In the air, body in one upright line.", _JUMP,
           clear=8, things=(Thing("arrow", (84, 4, 84, 28)),)),
    Figure("bunny_hop", "Bunny hop", "Straight arms carry the weight; hips are up, knees bent, feet off the floor.", _BUNNY,
           "low"),
    Figure("candlestick", "Candlestick", "Weight on the shoulders, hips and long legs straight up, arms on the floor.",
           _CANDLE),
    Figure("forward_roll_wedge", "Forward roll down a wedge", "A tucked ball rolling down a slope.",
           turned(shapes.TUCK, 150), things=(Thing("wedge", (8, 112, 34)), Thing("arrow", (66, 62, 100, 34, 12))), clear=25,
           shift=-18),
    Figure("forward_roll", "Forward roll", "Hands down, chin in, hips over, ready to roll.", _ROLL,
           things=(Thing("arrow", (34, 62, 16, 30, 10)),)),
    Figure("lunge_lever", "Lunge and lever", "Tipping over one leg: arms, body and lifted leg in one line.", _LEVER),
    Figure("kick_to_handstand", "Kick to handstand", "Nearly upside down on straight arms, one leg up and one following.",
           _KICK),
    Figure("bridge", "Bridge", "Hands and feet on the floor, front to the ceiling, an even curve.", _BRIDGE),
    Figure("cartwheel_step", "Small cartwheel", "Upside down on straight arms, knees bent and wide, seen from the front.",
           _SMALL_WHEEL, things=(Thing("arrow", (34, 84, 86, 84, 14)),)),
    Figure("cartwheel", "Cartwheel", "Upside down on straight arms with the legs wide, seen from the front.", _STAR,
           things=(Thing("arrow", (32, 110, 88, 110, 14)),)),
    Figure("round_off", "Round-off", "Upside down on straight arms, legs together, turning to land on two feet.",
           replace(_STAR, legs=(legs(96), legs(84))), things=(Thing("arrow", (78, 104, 104, 60, 14)),)),
    Figure("hang_shapes", "Hollow and arch in hang", "Hanging from a bar, swinging between hollow and arch.", _ARCH_HANG,
           place=shapes.HANGING, things=(*shapes.BAR_THINGS, Thing("both_ways", (38, 12, 82, 12, -6)))),
    Figure("bar_support", "Front support on the bar", "Held up on straight arms, thighs at the bar, from the front.", ON_BAR,
           things=(Thing("bar_flat", (60, 54)),), place=("hip", 60, 56)),
    Figure("roll_down", "Slow roll down", "Folded over the bar, rolling forward slowly.", _ROLL_DOWN, things=_BAR_SIDE,
           place=_GRIP),
    Figure("cast", "Small cast", "From support the hips leave the bar, arms straight, body in one line.", _CAST,
           things=(*_BAR_SIDE, Thing("arrow", (100, 34, 100, 58))), place=("hand", 44.0, 62.0)),
    Figure("pullover", "Pullover", "Arms bent, hips at the bar, legs going over the top.", _PULLOVER, things=_BAR_SIDE,
           place=_GRIP),
    Figure("back_hip_circle", "Back hip circle", "Hips at the bar, the straight body turning round it.", _CIRCLE,
           things=(*_BAR_SIDE, Thing("arrow", (92, 96, 108, 56, 10))), place=_GRIP),
    Figure("beam_walk", "Walk on the beam", "Walking tall along a low beam, arms out.", _WALK, things=_BEAM, clear=_ON_BEAM),
    Figure("releve_walk", "Walk in relevé", "Walking on high toes along a low beam.", _HIGH_WALK, things=_BEAM,
           clear=_ON_BEAM),
    Figure("beam_scale", "Front scale", "Standing on one leg on a low beam, the other lifted behind.", _SCALE, things=_BEAM,
           clear=_ON_BEAM),
    Figure("beam_straight_jump", "Straight jump on the beam", "A straight jump above a low beam.", _BEAM_JUMP,
           things=(*_BEAM, Thing("arrow", (92, 18, 92, 40))), clear=16),
    Figure("half_turn_releve", "Half turn on relevé", "Turning on one high foot, the other knee lifted.", _TURN,
           things=(Thing("arrow", (84, 10, 36, 10, 12)),)),
    Figure("run_hurdle_jump", "Run and jump", "Running towards a two-foot take-off.", _RUN,
           things=(Thing("arrow", (84, 22, 108, 22)),)),
    Figure("squat_on", "Squat-on", "Hands on a low stack, straight arms, knees coming up between them.", _SQUAT_ON,
           things=(Thing("block", (10, 46, 30)),), place=("wrist", 40, 34)),
)  # fmt: skip
