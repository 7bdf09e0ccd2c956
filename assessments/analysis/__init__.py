"""The calculation: trials in, records out. Outsiders import from here, never from inside."""

from assessments.analysis.conformity import acceptance_limit, probability_met
from assessments.analysis.interpret import interpret
from assessments.analysis.readiness import judge
from assessments.analysis.trend import level_on

__all__ = ["acceptance_limit", "interpret", "judge", "level_on", "probability_met"]
