"""The frozen records that reports hand to charts and pages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from assessments.analysis import (
    NOT_KNOWN,
    SKILL_WORDS,
    Verdicts,
    date_of,
    skill_state,
)
from assessments.analysis.records import (
    BenchmarkStep,
    CoachWord,
    GroupSummary,
    Interpretation,
    Programme,
    RestSpell,
    SkillState,
    SkillWord,
)


@dataclass(frozen=True, slots=True)
class ChildLine:
    """Who a report is about."""

    code: str
    name: str
    full_name: str
    group: str
    born_on: date
    age: float
    band: str
    resting: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DecisionLine:
    """One decision of a coach, as it was taken."""

    skill: str
    word: str
    label: str
    reason: str
    decided_on: date
    decided_by: str
    state_shown: str


@dataclass(frozen=True, slots=True)
class AthleteReport:
    """Everything that is read about one child on a day."""

    child: ChildLine
    on: date
    programme: Programme
    interpretations: tuple[Interpretation, ...]
    skills: tuple[SkillState, ...]
    decisions: tuple[DecisionLine, ...]
    rests: tuple[RestSpell, ...]
    steps: Mapping[str, tuple[BenchmarkStep, ...]]
    interrupted: Mapping[tuple[str, str, str, str], Sequence[str]]  # why, by day, item, variant and side

    def of(self, item: str) -> tuple[Interpretation, ...]:
        """The series of one measure or shape."""
        return tuple(one for one in self.interpretations if one.item == item)

    def skill(self, skill: str) -> SkillState:
        """The state of one skill; KeyError when the edition does not hold it."""
        return {state.skill: state for state in self.skills}[skill]

    def decisions_on(self, skill: str) -> tuple[DecisionLine, ...]:
        """What was decided about one skill, newest first."""
        return tuple(one for one in self.decisions if one.skill == skill)


@dataclass(frozen=True, slots=True)
class GroupReport:
    """A group on a day. Children stand in name order, never by score."""

    children: tuple[ChildLine, ...]
    on: date
    programme: Programme
    summary: GroupSummary
    verdicts: Verdicts = field(repr=False)
    _rows: Mapping[str, int] = field(repr=False)
    _skills: Mapping[str, int] = field(repr=False)

    def word(self, code: str, skill: str) -> SkillWord:
        """The state of one place on the board."""
        return SKILL_WORDS[int(self.verdicts.state[self._rows[code], self._skills[skill]])]

    def coach_word(self, code: str, skill: str) -> CoachWord:
        """The coach's word for one place, "" when nothing was said."""
        mark = self.verdicts.children[self._rows[code]].words.get(skill)
        return mark.word if mark else ""

    def put_off(self, code: str, skill: str) -> bool:
        """Whether a coach's last word was 'not yet' and no test day has come since."""
        mark = self.verdicts.children[self._rows[code]].words.get(skill)
        if mark is None or mark.word or mark.since is None:
            return False
        last = self.last_on(code)
        return last is None or last <= mark.since

    def deciding(self, code: str, skill: str) -> str:
        """The item or skill that decides, "" when none does."""
        return self.state(code, skill).deciding

    def state(self, code: str, skill: str) -> SkillState:
        """One place with all its reasons."""
        return skill_state(self.verdicts, self._rows[code], self._skills[skill])

    def unknown(self, code: str) -> int:
        """How many skills are not known for a child."""
        return int((self.verdicts.state[self._rows[code]] == NOT_KNOWN).sum())

    def last_on(self, code: str) -> date | None:
        """The newest day with a score that counts; None without one."""
        scores, laid = self.verdicts.scores, self.verdicts.laid
        if code not in scores.athletes or not len(laid.series):
            return None
        mine = scores.athlete[scores.start[laid.series]] == scores.athletes.index(code)
        return date_of(int(laid.on[mine].max())) if mine.any() else None


@dataclass(frozen=True, slots=True)
class DayChild:
    """One child on a test day."""

    child: ChildLine
    present: bool | None  # None while nobody has said
    sore: str  # not_asked, no, yes
    blocked: tuple[str, ...]  # items that an open rest note blocks


@dataclass(frozen=True, slots=True)
class DayStation:
    """One measure or shape, in one variant, on a test day."""

    code: str
    item: str
    variant: str


@dataclass(frozen=True, slots=True)
class DayEntry:
    """One entry that stands."""

    code: str
    athlete: str
    item: str
    variant: str
    side: str
    trial: int
    value: float | None
    levels: Mapping[str, int | None] | None
    outcome: str
    at_once: int
    second: bool
    late: bool
    corrected: bool
    judge: str
    form_break: str


@dataclass(frozen=True, slots=True)
class DaySheet:
    """A test day: who is there, what is asked, what stands, and where two entries claim one place."""

    day: str
    on: date
    programme: Programme
    children: tuple[DayChild, ...]
    stations: tuple[DayStation, ...]
    entries: tuple[DayEntry, ...]
    conflicts: tuple[tuple[DayEntry, ...], ...]

    def of(self, athlete: str, item: str, variant: str = "") -> tuple[DayEntry, ...]:
        """The entries of one child at one station."""
        return tuple(
            one for one in self.entries if (one.athlete, one.item, one.variant) == (athlete, item, variant)
        )
