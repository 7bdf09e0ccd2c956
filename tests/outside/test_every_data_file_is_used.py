"""No data without a check, and no file without its source."""

from __future__ import annotations

from pathlib import Path

import pytest

from .reading import DATA

FILES = sorted(path.name for path in DATA.glob("*.csv"))


@pytest.mark.parametrize("name", FILES)
def test_a_data_file_is_read_by_a_check_and_has_its_source_named(name: str) -> None:
    checks = "".join(path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_*.py"))
    sources = (DATA / "README.md").read_text(encoding="utf-8")
    assert name in checks
    assert name in sources or name.endswith("_expected.csv")
