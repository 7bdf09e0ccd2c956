"""The calculation: trials in, records out. Outsiders import from here, never from inside."""

from assessments.analysis.agreement import (
    CoachBias,
    CriterionAgreement,
    SecondLook,
    ShapeAgreement,
    coach_bias,
    shape_agreement,
)
from assessments.analysis.calibration import Followed, StateOutcome, outcomes_by_state, says_something
from assessments.analysis.cells import admissible
from assessments.analysis.centiles import centile_of, value_from_lms, weighted_percentiles, z_from_lms
from assessments.analysis.clocks import clock_bias, clock_error
from assessments.analysis.concordance import krippendorff_alpha, weighted_kappa
from assessments.analysis.conformity import acceptance_limit, counts_whole, line_of, probability_met
from assessments.analysis.coverage import Coverage, Held, misses_that_fit, one_a_child
from assessments.analysis.examples import (
    CalibrationResult,
    CalibrationState,
    SharedScores,
    calibrate,
    calibration_states,
    shared_scores,
)
from assessments.analysis.forecast import (
    Forecast,
    forecast,
    forecast_coverage,
    held_out,
)
from assessments.analysis.interpret import age_and_band, benchmark_steps, interpret, interpretations
from assessments.analysis.norms import Norms, club_norms, draft_benchmarks
from assessments.analysis.pool import counting_from, fit_pool, near_in_age
from assessments.analysis.readiness import judge
from assessments.analysis.reasons import figure, skill_state, skill_states
from assessments.analysis.reference_file import ReferenceTable, read_reference
from assessments.analysis.reliability import (
    detectable_change,
    icc,
    smallest_worthwhile_change,
    typical_error,
    wilson,
)
from assessments.analysis.repeats import ErrorEstimate, estimate_error, repeat_pair
from assessments.analysis.rotation import Rotation, Turn, plan_rotation, stop_for
from assessments.analysis.scoring import Scores, date_of, day_scores, series_parts
from assessments.analysis.second_looks import second_looks
from assessments.analysis.summaries import group_summary, spread
from assessments.analysis.symmetry import symmetry
from assessments.analysis.training import (
    BEGIN_AGAIN,
    DOSED,
    PURPOSE,
    BlockPlan,
    Dose,
    Instead,
    instead_of,
    plan_block,
    starting_dose,
    why_no_dose,
)
from assessments.analysis.trend import level_on
from assessments.analysis.verdicts import (
    NOT_KNOWN,
    SKILL_WORDS,
    Verdicts,
    in_force,
    rest_ended,
    touches,
    verdicts,
)

__all__ = [
    "BEGIN_AGAIN",
    "DOSED",
    "NOT_KNOWN",
    "PURPOSE",
    "SKILL_WORDS",
    "BlockPlan",
    "CalibrationResult",
    "CalibrationState",
    "CoachBias",
    "Coverage",
    "CriterionAgreement",
    "Dose",
    "ErrorEstimate",
    "Followed",
    "Forecast",
    "Held",
    "Instead",
    "Norms",
    "ReferenceTable",
    "Rotation",
    "Scores",
    "SecondLook",
    "ShapeAgreement",
    "SharedScores",
    "StateOutcome",
    "Turn",
    "Verdicts",
    "acceptance_limit",
    "admissible",
    "age_and_band",
    "benchmark_steps",
    "calibrate",
    "calibration_states",
    "centile_of",
    "clock_bias",
    "clock_error",
    "club_norms",
    "coach_bias",
    "counting_from",
    "counts_whole",
    "date_of",
    "day_scores",
    "detectable_change",
    "draft_benchmarks",
    "estimate_error",
    "figure",
    "fit_pool",
    "forecast",
    "forecast_coverage",
    "group_summary",
    "held_out",
    "icc",
    "in_force",
    "instead_of",
    "interpret",
    "interpretations",
    "judge",
    "krippendorff_alpha",
    "level_on",
    "line_of",
    "misses_that_fit",
    "near_in_age",
    "one_a_child",
    "outcomes_by_state",
    "plan_block",
    "plan_rotation",
    "probability_met",
    "read_reference",
    "repeat_pair",
    "rest_ended",
    "says_something",
    "second_looks",
    "series_parts",
    "shape_agreement",
    "shared_scores",
    "skill_state",
    "skill_states",
    "smallest_worthwhile_change",
    "spread",
    "starting_dose",
    "stop_for",
    "symmetry",
    "touches",
    "typical_error",
    "value_from_lms",
    "verdicts",
    "weighted_kappa",
    "weighted_percentiles",
    "why_no_dose",
    "wilson",
    "z_from_lms",
]
