"""Requirements + interpretations -> the state of each requirement and skill of a child, and why.

A suggestion about uncertain measurements, never a verdict: a coach decides. Every threshold is the club's setting; no
published work ties seconds to skills at this age.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from assessments.analysis.conformity import acceptance_limit, probability_met
from assessments.analysis.interpret import scores_of
from assessments.analysis.reasons import skill_states
from assessments.analysis.records import ChildFacts, Interpretation, Programme, SkillSpec, SkillState
from assessments.analysis.verdicts import Verdicts, verdicts

__all__ = ["Verdicts", "acceptance_limit", "judge", "probability_met", "skill_states", "verdicts"]


def judge(
    skills: Sequence[SkillSpec],
    interpretations: Sequence[Interpretation],
    *,
    programme: Programme,
    child: ChildFacts,
    on: date,
) -> tuple[SkillState, ...]:
    """The state of each skill for one child on a day, with reasons, in the order of `skills`.

    The same calculation as a group's board: the interpretations go back into columns and through `verdicts`.
    Interpretations of other children are passed over; those must be read for the same day `on`.
    """
    scores = scores_of(interpretations, programme)
    found = verdicts(skills, scores, programme=programme, children=(child,), on=on)
    return skill_states(found, 0)
