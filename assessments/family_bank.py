"""Short plain words for families: what a child can do, what grows, and play at home. Original texts, no numbers.

Phrases follow "can now" and "how to". Play at home needs no equipment and loads neither wrists nor back nor neck.
"""

from __future__ import annotations

from dataclasses import dataclass

SHAPE_WORDS = {
    "hollow": "the hollow shape",
    "arch": "the arch shape",
    "front_support": "the front support",
    "straight_stand": "the tall stand",
    "releve": "the tiptoe stand",
    "tuck": "the tuck",
    "landing": "the jump and land game",
    "hang": "the hang",
    "handstand_line": "the handstand line",
}

CAN = {
    ("hollow", "low_back"): "keep a flat back on the mat",
    ("hollow", "shoulder_blades"): "lift both shoulders off the mat",
    ("hollow", "head"): "keep the head still and in line",
    ("hollow", "legs"): "keep both legs close together",
    ("hollow", "breathing"): "breathe and talk while they hold still",
    ("arch", "seat"): "lift both legs long and low",
    ("arch", "head"): "look down at the mat",
    ("arch", "chest"): "lift the chest a little",
    ("arch", "legs"): "keep both legs close together",
    ("arch", "long"): "stay long and low",
    ("front_support", "elbows"): "keep both arms straight",
    ("front_support", "line"): "stay in one long line",
    ("front_support", "shoulders"): "push up tall",
    ("front_support", "hands"): "put both hands flat on the floor",
    ("front_support", "legs"): "keep both legs straight and close",
    ("straight_stand", "ribs"): "stand up tall with no lean",
    ("straight_stand", "arms"): "reach both arms up by the ears",
    ("straight_stand", "seat"): "keep both legs tight",
    ("straight_stand", "head"): "look straight on",
    ("straight_stand", "still"): "stand as still as a tree",
    ("releve", "ankle_line"): "stand on tiptoe with straight feet",
    ("releve", "height"): "rise up high on tiptoe",
    ("releve", "knees"): "keep both knees straight on tiptoe",
    ("releve", "heels"): "keep the heels close on tiptoe",
    ("releve", "tall"): "grow tall on tiptoe",
    ("tuck", "chin"): "keep the chin tucked in",
    ("tuck", "round"): "roll on a round back like a ball",
    ("tuck", "knees"): "hug both knees in close",
    ("tuck", "heels"): "keep both heels in close",
    ("tuck", "together"): "keep both knees close",
    ("landing", "knees_track"): "land with the knees over the toes",
    ("landing", "soft"): "land as soft as a cat",
    ("landing", "chest"): "land with the chest up",
    ("landing", "feet"): "land on two feet at once",
    ("landing", "still"): "land and stay still",
    ("hang", "grip"): "hold the bar with the whole hand",
    ("hang", "arms"): "hang with long arms",
    ("hang", "shoulders"): "hang with a long neck",
    ("hang", "front"): "hang with the toes just in front",
    ("hang", "legs"): "hang with quiet legs",
    ("handstand_line", "elbows"): "keep both arms straight",
    ("handstand_line", "shoulders"): "push up tall",
    ("handstand_line", "ribs"): "stay long and flat in front",
    ("handstand_line", "head"): "look at the thumbs",
    ("handstand_line", "legs"): "keep both legs straight and close",
}

#: What grew, before "than in March"; and what is practised next, after "we will work on".
GROWS = {
    "single_leg_stance": ("stands on one leg for longer", "standing on one leg"),
    "releve_hold": ("stands on tiptoe for longer", "standing still on tiptoe"),
    "standing_long_jump": ("jumps further", "long jumps with a soft end"),
    "stick_landings": ("lands still more often", "landing and staying still"),
    "squat_jumps": ("does more frog jumps in a row", "springy frog jumps"),
    "hollow_hold": ("holds the hollow shape for longer", "holding the hollow shape"),
    "arch_hold": ("holds the long arch for longer", "a long and low arch"),
    "forearm_plank_hold": ("holds the plank for longer", "a long flat plank"),
    "side_support_hold": ("holds the side shape for longer", "the side shape"),
    "hip_side_lifts": ("does more side leg lifts", "slow side leg lifts"),
    "hip_back_lifts": ("does more back leg lifts", "slow back leg lifts"),
    "straight_hang": ("hangs from the bar for longer", "hanging from the bar"),
    "hanging_knee_lifts": ("does more knee lifts on the bar", "knee lifts on the bar"),
    "bent_arm_hang": ("holds the chin up at the bar for longer", "holding the chin up at the bar"),
    "double_heel_raises": ("does more tiptoe lifts", "tiptoe lifts, up and slowly down"),
    "single_heel_raises": ("does more tiptoe lifts on one foot", "tiptoe lifts on one foot"),
    "front_support_hold": ("holds up on straight arms for longer", "holding up on straight arms"),
    "bar_support_hold": ("holds up on the bar for longer", "holding up on the bar"),
    "kneeling_push_ups": ("does more push-ups on the knees", "push-ups on the knees"),
    "full_push_ups": ("does more push-ups", "push-ups"),
    "pike_reach": ("reaches further", "long slow reaches"),
    "wall_handstand_hold": ("holds the wall handstand for longer", "the handstand at the wall"),
}


@dataclass(frozen=True, slots=True)
class Play:
    """One idea for home: what it loads, and which shapes and measures it goes with."""

    words: str
    loads: tuple[str, ...] = ()
    fits: tuple[str, ...] = ()


PLAY = (
    Play(
        "Be a long log on the rug. Lie still and long while you count to ten. Then roll over slowly.",
        (),
        (
            "hollow",
            "front_support",
            "arch",
            "hollow_hold",
            "front_support_hold",
            "forearm_plank_hold",
            "arch_hold",
        ),
    ),
    Play(
        "Lie down with a soft toy on your tummy. Breathe slowly and give the toy a ride up and down.",
        (),
        ("hollow", "hollow_hold", "side_support_hold", "hanging_knee_lifts"),
    ),
    Play(
        "Play mirrors. One of you moves very slowly. The other one does the same.",
        (),
        ("handstand_line", "wall_handstand_hold", "bar_support_hold", "full_push_ups", "kneeling_push_ups"),
    ),
    Play(
        "Stand tall like a tower while a song plays. When it stops, do not move at all.",
        (),
        ("straight_stand", "handstand_line", "wall_handstand_hold"),
    ),
    Play(
        "Curl up on your side like a snail in its shell. Stay small until someone counts to ten.",
        (),
        ("tuck",),
    ),
    Play(
        "Be a giraffe and reach for the top leaves. Then melt down slowly like snow.",
        ("shoulder",),
        ("hang", "straight_hang", "bent_arm_hang", "pike_reach"),
    ),
    Play(
        "Brush your teeth on one leg. Swap legs half way.",
        ("ankle",),
        ("single_leg_stance", "releve_hold", "hip_side_lifts", "hip_back_lifts"),
    ),
    Play(
        "Walk to the table on tiptoe, as quiet as a cat.",
        ("ankle", "heel"),
        ("releve", "releve_hold", "double_heel_raises", "single_heel_raises"),
    ),
    Play(
        "Jump over a sock and land with no sound at all.",
        ("knee", "ankle", "heel"),
        ("landing", "stick_landings", "standing_long_jump", "squat_jumps"),
    ),
)
