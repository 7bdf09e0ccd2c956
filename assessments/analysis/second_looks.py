"""Frame of trials -> pairs of a first and a blind second look at the same try of one child."""

from __future__ import annotations

import pandas as pd

from assessments.analysis.agreement import SecondLook

SAME = ["athlete", "item", "series", "day", "trial"]


def second_looks(trials: pd.DataFrame) -> tuple[SecondLook, ...]:
    """Every shape try that two different, known coaches judged; one pair a child, shape and day.

    A try with an unsettled conflict is left out, for nobody knows which first look stands. A second look at a try
    that nobody else judged makes no pair. Of several pairs that day the earliest try counts.
    """
    judged = trials[trials["levels"].notna() & ~trials["conflict"] & (trials["judge"] != "")]
    judged = judged.astype(dict.fromkeys((*SAME, "judge"), object))
    both = judged[~judged["second"]].merge(judged[judged["second"]], on=SAME, suffixes=("", "_second"))
    both = both[both["judge"] != both["judge_second"]].sort_values(SAME, kind="stable")
    both = both.drop_duplicates(["athlete", "item", "day"])
    columns = ("athlete", "item", "on", "judge", "judge_second", "levels", "levels_second")
    return tuple(
        SecondLook(athlete, item, on.date(), judge, other, first, again)
        for athlete, item, on, judge, other, first, again in zip(
            *(both[name] for name in columns), strict=True
        )
    )
