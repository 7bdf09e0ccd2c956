"""What the invented coaches have decided about skills, told from each child's age and ability."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from assessments.analysis.records import Programme, SkillSpec
from club.demo.story import GROUPS, Child, Story, code


@dataclass(frozen=True, slots=True)
class Decision:
    """One word of a coach about one skill."""

    child: Child
    skill: str
    word: str
    on: date
    coach: str
    reason: str = ""


def decisions(story: Story, programme: Programme) -> list[Decision]:
    """Oldest first. A skill is consistent only after the skills that it comes after."""
    found: list[Decision] = []
    for child in story.children:
        if child.plot != "new":
            found += list(_of(child, story, programme))
    disagreed = story.named("Jonah")
    coach = GROUPS[disagreed.group][3]
    found.append(
        Decision(
            disagreed, "candlestick", "not_yet", story.today - timedelta(days=9), coach,
            "Turns his head when the hips go up. We practise with eyes on the knees first.",
        )
    )  # fmt: skip
    found.append(
        Decision(
            story.named("Ada"), "bunny_hop", "override", story.today - timedelta(weeks=12), coach,
            "Sure and calm on hands in every practice; the test day was a tired one.",
        )
    )  # fmt: skip
    return sorted(found, key=lambda decision: (decision.on, decision.child.first_name, decision.skill))


def _of(child: Child, story: Story, programme: Programme) -> Iterator[Decision]:
    age = (story.today - child.born_on).days / 365.25
    coach = GROUPS[child.group][3]
    steady: set[str] = set()
    for skill in in_order(programme):
        if not set(skill.after) <= steady or (child.plot == "coach_disagrees" and skill.id == "candlestick"):
            continue
        lead = age - skill.min_age + (child.ability - 0.7) * 1.6
        need = 0.8 + 0.35 * depth(skill, programme) + {"low": 0.0, "medium": 0.4, "high": 1.1}[skill.risk]
        if child.plot == "loose_hollow" and any(r.item == "hollow_hold" for r in skill.requirements):
            continue
        if lead >= need:
            steady.add(skill.id)
            weeks = min(50, 8 + round((lead - need) * 14))
            begun = story.today - timedelta(weeks=weeks + learned_in(child, skill))
            yield Decision(child, skill.id, "learning", begun, coach)
            yield Decision(child, skill.id, "consistent", story.today - timedelta(weeks=weeks), coach)
        elif lead >= need - 0.25:
            yield Decision(child, skill.id, "learning", story.today - timedelta(weeks=6), coach)


def learned_in(child: Child, skill: SkillSpec) -> int:
    """Weeks from 'start it' to consistent: 4 to 12, some within the eight that are followed and some not."""
    return 4 + code("learned in", child.code, skill.id).int % 9


def depth(skill: SkillSpec, programme: Programme) -> int:
    """How many skills stand before this one, on the longest way."""
    return max((1 + depth(programme.skills[name], programme) for name in skill.after), default=0)


def in_order(programme: Programme) -> list[SkillSpec]:
    """Skills so that each stands behind those that it comes after."""
    return sorted(programme.skills.values(), key=lambda skill: (depth(skill, programme), skill.id))
