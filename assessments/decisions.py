"""A coach's word about a skill: taken with the reasons as they were shown, and taken back. Never edited."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.db import transaction
from django.utils import timezone

from assessments.analysis.records import SkillState
from assessments.models import ProgrammeEdition, Skill, SkillDecision
from assessments.report_records import AthleteReport
from assessments.skill_words import offers, problem_with, standing
from athletes.models import Athlete
from club import audit
from club.access import Viewer


class CannotDecide(ValueError):
    """Why a decision is not taken, in words for the coach."""


def decide(
    athlete: Athlete,
    word: str,
    *,
    report: AthleteReport,
    skill: str,
    viewer: Viewer,
    reason: str = "",
    seen_on: Sequence[date] = (),
) -> SkillDecision:
    """Keep one decision with the state, the figures and the edition that the coach saw.

    Safe to repeat: the same word by the same person on the same day is one decision.
    """
    state = report.skill(skill)
    with transaction.atomic():
        # One coach at a time for one child: two taps must not become two decisions.
        Athlete.objects.select_for_update().get(pk=athlete.pk)
        last = _standing(athlete, skill)
        if (
            last is not None
            and last.word == word
            and last.decided_by_id == _pk(viewer)
            and _today(last, viewer)
        ):
            return last
        offer = next((one for one in offers(state.word, state.coach_word) if one.word == word), None)
        if offer is None:
            raise CannotDecide("This does not fit what the page says now. Load it again and look.")
        problem = problem_with(offer, reason=reason, days=tuple(seen_on), today=viewer.today)
        if problem:
            raise CannotDecide(problem)
        made = SkillDecision.objects.create(
            athlete=athlete,
            skill=Skill.objects.get(slug=skill),
            word=word,
            reason=reason.strip(),
            seen_on=[day.isoformat() for day in sorted(set(seen_on))],
            decided_by=viewer.member,
            decided_at=timezone.now(),
            state_shown=state.word,
            inputs=inputs_of(state),
            edition=ProgrammeEdition.objects.filter(number=report.programme.edition).first(),
        )
        audit.note(viewer, "decided about a skill", athlete, skill=skill, word=word)
    return made


def take_back(decision: SkillDecision, *, viewer: Viewer) -> SkillDecision | None:
    """Undo the newest decision that stands; the row stays and says so. None when it no longer stands."""
    with transaction.atomic():
        Athlete.objects.select_for_update().get(pk=decision.athlete_id)
        last = _standing(decision.athlete, decision.skill.slug)
        if last is None or last.pk != decision.pk:
            return None
        made = SkillDecision.objects.create(
            athlete=decision.athlete,
            skill=decision.skill,
            word=SkillDecision.Word.WITHDRAWN,
            decided_by=viewer.member,
            decided_at=timezone.now(),
            state_shown=decision.state_shown,
            inputs={"takes_back": str(decision.code)},
            edition=decision.edition,
        )
        audit.note(viewer, "took back a decision about a skill", decision.athlete, skill=decision.skill.slug)
    return made


def inputs_of(state: SkillState) -> dict[str, Any]:
    """What a decision rested on: states, values, dates, thresholds and chances as they were shown."""
    return {
        "word": state.word,
        "coach_word": state.coach_word,
        "reason": state.reason,
        "deciding": state.deciding,
        "joint_bound": state.joint_bound,
        "age_note": state.age_note,
        "before": [[one.skill, one.consistent] for one in state.prerequisites],
        "requirements": [
            {
                "item": one.requirement.item,
                "minimum": one.requirement.minimum,
                "variant": one.requirement.variant,
                "must_have": list(one.requirement.must_have),
                "word": one.word,
                "probability": one.probability,
                "confidence": one.confidence,
                "value": one.value,
                "at_least": one.at_least,
                "side": one.side,
                "on": one.on.isoformat() if one.on else None,
                "days": one.days,
                "reason": one.reason,
            }
            for one in state.requirements
        ],
    }


def standing_code(decisions: Sequence[SkillDecision]) -> str:
    """The code of the newest decision that stands among those of one skill; "" when none does."""
    ordered = sorted(decisions, key=lambda one: (one.decided_at, one.pk))
    place = standing([one.word for one in ordered])
    return str(ordered[place].code) if place is not None else ""


def _standing(athlete: Athlete, skill: str) -> SkillDecision | None:
    decisions = list(SkillDecision.objects.filter(athlete=athlete, skill__slug=skill).in_order())
    place = standing([one.word for one in decisions])
    return decisions[place] if place is not None else None


def _pk(viewer: Viewer) -> int | None:
    return viewer.member.pk if viewer.member is not None else None


def _today(decision: SkillDecision, viewer: Viewer) -> bool:
    return timezone.localdate(decision.decided_at) == viewer.today
