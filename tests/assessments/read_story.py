"""A small club with two seasons of known results, for tests of the pages that are read."""

from __future__ import annotations

from datetime import date

from tests import factories

DAYS = (
    date(2025, 11, 20), date(2026, 1, 22), date(2026, 3, 19), date(2026, 6, 11), date(2026, 9, 17), date(2026, 10, 15),
    date(2026, 11, 14),
)  # fmt: skip
HOLLOW = (7, 9, 12, 15, 22, 27, 29)
SUPPORT = (9, 12, 16, 20, 26, 29, 30)


def days_of(group, dates=DAYS):
    """One closed test day a date."""
    return [factories.DayFactory(held_on=on, groups=[group], closed=True) for on in dates]


def score(athlete, day, item, value, **given):
    """One result of one measure; the protocol is that of the starter programme."""
    from assessments.models import Measure

    measure = Measure.objects.get(slug=item)
    protocol = measure.protocols.get(version=1)
    facts = {"athlete": athlete, "day": day, "measure": measure, "protocol": protocol, "value": value}
    return factories.ResultFactory(**(facts | given))


def judge(athlete, day, item, levels, **given):
    """One look at a shape, level by criterion in the order of the programme."""
    from assessments.programme import current_programme

    criteria = [one.id for one in current_programme().shapes[item].criteria]
    seen = dict(zip(criteria, levels, strict=True))
    return score(athlete, day, item, None, levels=seen, how="rubric", **given)


def steady_rise(athlete, days):
    """Hollow hold and front support on every day, both shapes on the last three, bunny hop consistent."""
    for day, hollow, support in zip(days, HOLLOW, SUPPORT, strict=True):
        score(athlete, day, "hollow_hold", hollow, variant="arms_by_side", form_break="head")
        score(athlete, day, "front_support_hold", support, variant="flat_hands")
    for day, levels in zip(days[-3:], ((1, 1, 0, 1, 1), (2, 2, 1, 2, 2), (2, 2, 1, 2, 2)), strict=True):
        judge(athlete, day, "hollow", levels)
    for day, levels in zip(days[-3:], ((1, 1, 1, 1, 1), (2, 2, 1, 2, 1), (2, 2, 2, 2, 1)), strict=True):
        judge(athlete, day, "front_support", levels)
    consistent(athlete, "bunny_hop")


def consistent(athlete, skill):
    """A coach's word on an earlier day."""
    from assessments.models import Skill

    return factories.SkillDecisionFactory(
        athlete=athlete,
        skill=Skill.objects.get(slug=skill),
        word="consistent",
        seen_on=["2026-10-01", "2026-10-08"],
    )
