"""The calculation starts without scipy: it is heavy, and nothing on the tablet's path needs it."""

from __future__ import annotations

import subprocess
import sys

import pytest


@pytest.mark.parametrize("heavy", ["scipy", "statsmodels", "plotly", "networkx"])
def test_importing_the_calculation_leaves_heavy_libraries_alone(heavy: str) -> None:
    code = f"import sys, assessments.analysis; print([name for name in sys.modules if name.split('.')[0] == {heavy!r}])"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
