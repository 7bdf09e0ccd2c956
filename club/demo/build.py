"""Writes the story through the same doors that a tablet and the director use. Building twice changes nothing."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from itertools import groupby

from django.db import transaction

from assessments import family_reports, programme, recording
from assessments.decisions import inputs_of
from assessments.models import (
    AssessmentDay,
    Attendance,
    FamilyReport,
    Measure,
    ProgrammeEdition,
    Result,
    Skill,
    SkillDecision,
    Station,
)
from assessments.reports import athlete_report, group_report
from athletes.models import Athlete, Coaching, Consent, Group, Guardian, RestNote
from club.access import Role, Viewer
from club.demo.story import CLUB, PASSWORD, Rest, Story, StoryDay, story
from club.demo.story_numbers import EXAMPLES, VARIANTS, entries_of, items_of
from club.demo.story_skills import Decision, decisions
from club.models import Calibration, ClubProfile, ExampleSet, User


@transaction.atomic
def build(today: date) -> Story:
    """The demo club in this database, whole or not at all. Safe to repeat: what is there stays."""
    told = story(today)
    if ClubProfile.objects.filter(name=CLUB).exists():
        return told
    ClubProfile.objects.create(
        name=CLUB,
        contact_email="hello@fernleigh.example",
        safeguarding_name="Rosalind Achterberg",
        safeguarding_contact="safe@fernleigh.example, 01632 960 114",
        local_service="Fernleigh Children's Services, 01632 960 900",
        emergency_number="999",
    )
    programme.load()
    _people(told)
    _examples(told)
    _children(told)
    viewer = Viewer(
        today=today, member=User.objects.get(email="director@fernleigh.example"), role=Role.DIRECTOR
    )
    for day in told.days:
        _hold(day, told, viewer)
    _rests(told)
    _decide(told)
    _plan_today(told)
    _family_notes(told, viewer)
    return told


def _people(told: Story) -> None:
    for person in told.people:
        weeks = person.calibrated_weeks
        User.objects.create_user(
            person.email,
            PASSWORD,
            name=person.name,
            role=person.role,
            calibrated_until=told.today + timedelta(weeks=weeks) if weeks is not None else None,
        )
    for name in told.groups:
        Group.objects.create(name=name)
    for email, name in told.coaching:
        Coaching.objects.create(
            coach=User.objects.get(email=email),
            group=Group.objects.get(name=name),
            from_on=told.today - timedelta(weeks=66),
        )


def _examples(told: Story) -> None:
    """Ten examples of two shapes: most coaches are confirmed, two results wait, one is not close enough."""
    staff = {user.email: user for user in User.objects.exclude(role=Role.GUARDIAN)}
    director = staff["director@fernleigh.example"]
    for ten in EXAMPLES:
        row = ExampleSet.objects.create(
            shape=ten.shape,
            title=ten.title,
            agreed=list(ten.agreed),
            agreed_on=told.today - timedelta(weeks=ten.weeks_ago),
            made_by=director,
        )
        for email, totals, weeks in ten.scores:
            until = staff[email].calibrated_until if weeks is None else None
            day = until - timedelta(days=365) if until else told.today - timedelta(weeks=weeks or 0)
            Calibration.objects.create(
                examples=row,
                coach=staff[email],
                totals=list(totals),
                scored_on=day,
                word=Calibration.Word.CONFIRMED if until else Calibration.Word.WAITING,
                until=until,
                decided_by=director if until else None,
                decided_at=datetime.combine(day, time(17), tzinfo=UTC) if until else None,
            )


def _children(told: Story) -> None:
    groups = {group.name: group for group in Group.objects.all()}
    Athlete.objects.bulk_create(
        Athlete(
            code=child.code,
            first_name=child.first_name,
            last_name=child.last_name,
            born_on=child.born_on,
            joined_on=child.joined_on,
            group=groups[child.group],
        )
        for child in told.children
    )
    for child, email in told.guardians:
        athlete = Athlete.objects.get(code=child.code)
        member = User.objects.get(email=email)
        Guardian.objects.create(athlete=athlete, email=email, name=member.name, member=member)
        for purpose, _ in Consent.PURPOSES:
            Consent.objects.create(
                athlete=athlete, purpose=purpose, given_on=child.joined_on, given_by=member.name
            )


def _hold(day: StoryDay, told: Story, viewer: Viewer) -> None:
    """Open the day, hand in what its two tablets hold, close it."""
    current = programme.current_programme()
    lead = User.objects.get(email=day.lead)
    noon = datetime.combine(day.held_on, time(15, 30), tzinfo=UTC)
    row = AssessmentDay.objects.create(
        code=day.code,
        held_on=day.held_on,
        title=f"{' and '.join(day.groups)}, part {day.part}",
        status=AssessmentDay.Status.OPEN,
        familiarisation=day.familiarisation,
        open_space=True,
        lead=lead,
        created_by=lead,
        opened_at=noon,
        edition=ProgrammeEdition.objects.current(),
    )
    row.groups.set(Group.objects.filter(name__in=day.groups))
    row.coaches.set([lead])
    measures = {measure.slug: measure for measure in Measure.objects.all()}
    for order, item in enumerate(items_of(day, current)):
        for variant in dict.fromkeys(VARIANTS.get(item, ("",))):
            Station.objects.create(day=row, measure=measures[item], variant=variant, order=order)
    coaches = {user.email: user.code for user in User.objects.exclude(role=Role.GUARDIAN)}
    entries = entries_of(day, told, current, coaches)
    _attend(row, {entry.child for entry in entries}, lead, noon)
    answers = recording.record(entries, viewer, offset_s=0.4)
    refused = [answer for answer in answers if answer.word == "refused"]
    if refused:
        raise RuntimeError(f"The door refused part of the story: {refused[0].reason}")
    row.status, row.closed_at = AssessmentDay.Status.CLOSED, noon + timedelta(hours=2)
    row.save(update_fields=["status", "closed_at"])


def _attend(row: AssessmentDay, there: set[object], lead: User, at: datetime) -> None:
    children = Athlete.objects.filter(group__in=row.groups.all(), joined_on__lte=row.held_on)
    Attendance.objects.bulk_create(
        Attendance(
            day=row,
            athlete=child,
            present=child.code in there,
            sore=Attendance.Answer.NO if child.code in there else Attendance.Answer.NOT_ASKED,
            asked_at=at if child.code in there else None,
            asked_by=lead if child.code in there else None,
            order=order,
        )
        for order, child in enumerate(children.in_name_order())
    )


def _rests(told: Story) -> None:
    """The pain on the last test day opened one through the door; the others were opened at a desk."""
    for rest in told.rests:
        athlete = Athlete.objects.get(code=rest.child.code)
        opened = RestNote.objects.filter(athlete=athlete, from_entry__isnull=False).first()
        note = opened if opened is not None and rest.ended_on is None else RestNote(athlete=athlete)
        _fill(note, rest)
        note.save()


def _fill(note: RestNote, rest: Rest) -> None:
    note.areas, note.note, note.opened_on = list(rest.areas), rest.note, rest.opened_on
    note.ended_on, note.ended_ground, note.ended_adult = rest.ended_on, rest.ground, rest.adult


def _decide(told: Story) -> None:
    """Day by day, so that each decision keeps what the app said that day: results, rests and words until then."""
    current = programme.current_programme()
    edition = ProgrammeEdition.objects.current()
    skills = {skill.slug: skill for skill in Skill.objects.all()}
    athletes = {athlete.code: athlete for athlete in Athlete.objects.all()}
    coaches = {user.email: user for user in User.objects.exclude(role=Role.GUARDIAN)}
    for on, of_day in groupby(decisions(told, current), key=lambda decision: decision.on):
        taken = list(of_day)
        seen = group_report({athletes[one.child.code] for one in taken}, on, programme=current)
        rows = []
        for decision in taken:
            state = seen.state(str(decision.child.code), decision.skill)
            two_days = [on - timedelta(days=7), on]
            word, reason = _as_offered(decision, state.word)
            rows.append(
                SkillDecision(
                    athlete=athletes[decision.child.code],
                    skill=skills[decision.skill],
                    word=word,
                    reason=reason,
                    seen_on=[day.isoformat() for day in two_days] if decision.word == "consistent" else [],
                    decided_by=coaches[decision.coach],
                    decided_at=datetime.combine(on, time(17, 10), tzinfo=UTC),
                    state_shown=state.word,
                    inputs=inputs_of(state),
                    edition=edition,
                )
            )
        SkillDecision.objects.bulk_create(rows)


def _as_offered(decision: Decision, shown: str) -> tuple[str, str]:
    """The word and reason of a decision as the page would have taken it beside the state that it showed."""
    if decision.word != "learning":
        return decision.word, decision.reason
    words = {"ready": ("agree", ""), "nearly": ("override", "Calm and sure in practice; begun with help.")}
    return words.get(shown, ("learning", "Began it in practice, before the test days said enough."))


def _plan_today(told: Story) -> None:
    """A day for the Wrens stands ready, so that a newcomer can open it and record."""
    lead = User.objects.get(email="ines@fernleigh.example")
    row = AssessmentDay.objects.create(
        held_on=told.today,
        title="Wrens, autumn check",
        lead=lead,
        created_by=lead,
        open_space=True,
        edition=ProgrammeEdition.objects.current(),
    )
    row.groups.set(Group.objects.filter(name="Wrens"))
    row.coaches.set([lead])
    wanted = (
        ("hollow", ""), ("hollow_hold", "arms_by_side"), ("front_support_hold", "flat_hands"),
        ("single_leg_stance", ""), ("double_heel_raises", "feet_together"), ("standing_long_jump", ""),
    )  # fmt: skip
    for order, (slug, variant) in enumerate(wanted):
        Station.objects.create(day=row, measure=Measure.objects.get(slug=slug), variant=variant, order=order)


def _family_notes(told: Story, viewer: Viewer) -> None:
    """One note is released, one waits for a coach to read it."""
    for name, release in (("Noor", True), ("Jonah", False)):
        athlete = Athlete.objects.get(code=told.named(name).code)
        note = family_reports.write(athlete, report=athlete_report(athlete, told.today), viewer=viewer)
        if release:
            family_reports.approve(note, viewer=viewer)


def facts() -> dict[str, int]:
    """How much stands in the demo, for its greeting."""
    return {
        "children": Athlete.objects.count(),
        "test days": AssessmentDay.objects.count(),
        "results": Result.objects.count(),
        "decisions": SkillDecision.objects.count(),
        "family notes": FamilyReport.objects.count(),
    }
