"""What is measured, on which day, and what people decided."""

from assessments.models.days import AssessmentDay, Attendance, Station, StationPass
from assessments.models.decisions import FamilyReport, SkillDecision
from assessments.models.imports import ImportMapping
from assessments.models.programme import Measure, ProgrammeEdition, Protocol, Skill
from assessments.models.results import RefusedEntry, Result, TabletDay

__all__ = [
    "AssessmentDay",
    "Attendance",
    "FamilyReport",
    "ImportMapping",
    "Measure",
    "ProgrammeEdition",
    "Protocol",
    "RefusedEntry",
    "Result",
    "Skill",
    "SkillDecision",
    "Station",
    "StationPass",
    "TabletDay",
]
