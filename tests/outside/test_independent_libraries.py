"""Our formulas beside two independent libraries on random input: rcpchgrowth (LMS) and pingouin (ICC).

These two live in the extra `crosscheck`, apart from the ordinary test extra, because of their size (pingouin brings
matplotlib, seaborn and scikit-learn) and their licences (rcpchgrowth is AGPL-3, pingouin GPL-3). Where the extra is not
installed these tests, and no others, are skipped with that reason; `pip install -e '.[crosscheck]'` runs them. With
GROUNDWORK_CROSSCHECK=yes, as in `.ci/run`, a missing library is a failure.
"""

from __future__ import annotations

import importlib
import json
import os
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from assessments.analysis.centiles import value_from_lms, z_from_lms
from assessments.analysis.reliability import icc

WHY = "the optional extra 'crosscheck' (large, AGPL and GPL libraries used as a second opinion) is not installed"
# Names of the six forms as pingouin prints them.
FORMS = {
    "ICC(1,1)": "icc1",
    "ICC(A,1)": "icc2",
    "ICC(C,1)": "icc3",
    "ICC(1,k)": "icc1k",
    "ICC(A,k)": "icc2k",
    "ICC(C,k)": "icc3k",
}


def library(name: str) -> Any:
    """The library; where it is missing a skip, or a failure where it must be there."""
    if os.environ.get("GROUNDWORK_CROSSCHECK") == "yes":
        return importlib.import_module(name)
    return pytest.importorskip(name, reason=WHY)


def who_2007() -> list[tuple[float, float, float]]:
    """L, M and S of every row of the WHO 2007 tables that the library carries."""
    package = library("rcpchgrowth")
    table = Path(package.__file__).parent / "data_tables" / "who" / "who_2007_children.json"
    sexes = [
        measure
        for measure in json.loads(table.read_text())["measurement"].values()
        if isinstance(measure, dict)
    ]
    return [(row["L"], row["M"], row["S"]) for sex in sexes for rows in sex.values() for row in rows]


@pytest.mark.parametrize("z", [-2.5, -1.0, 0.0, 0.7, 2.2])
def test_lms_is_that_of_rcpchgrowth_on_all_who_2007_rows(z: float) -> None:
    general = library("rcpchgrowth.global_functions")
    table = who_2007()
    assert len(table) == 798
    for power, middle, spread in table:
        value = value_from_lms(z, power, middle, spread)
        assert value == pytest.approx(general.measurement_for_z(z, power, middle, spread), rel=1e-12)
        assert z_from_lms(value, power, middle, spread) == pytest.approx(
            general.z_score(power, middle, spread, value), abs=1e-12
        )
        assert z_from_lms(value, power, middle, spread) == pytest.approx(z, abs=1e-11)


@pytest.mark.filterwarnings("ignore")  # the other library's own warnings
@pytest.mark.parametrize("seed", range(6))
def test_icc_is_that_of_pingouin(seed: int) -> None:
    pingouin = library("pingouin")
    random = np.random.default_rng(seed)
    children, raters = int(random.integers(4, 15)), int(random.integers(2, 5))
    table = random.normal(0, 2, (children, 1)) + random.normal(0, 1, (children, raters)) + np.arange(raters)
    frame = pd.DataFrame(table).melt(ignore_index=False).reset_index()
    second = pingouin.intraclass_corr(data=frame, targets="index", raters="variable", ratings="value")
    found = icc(table)
    for _, row in second.iterrows():
        form = FORMS[row["Type"]]
        assert getattr(found, form) == pytest.approx(row["ICC"], abs=1e-9)
        assert found.intervals[form] == pytest.approx(tuple(row["CI95"]), abs=0.0051)
