"""Relative links in the documents point at something, and both commands of the README are what CI runs."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_relative_links_point_at_files(name):
    text = (ROOT / name).read_text()
    links = re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", text)
    missing = [link for link in links if "://" not in link and not (ROOT / link).exists()]
    assert links and not missing


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_anchors_point_at_headings(name):
    text = (ROOT / name).read_text()
    headings = {
        re.sub(r"[^\w\- ]", "", line.lstrip("#").strip().lower()).replace(" ", "-")
        for line in text.splitlines()
        if line.startswith("#")
    }
    assert set(re.findall(r"\]\(#([^)]+)\)", text)) <= headings


def test_files_named_in_code_font_exist():
    """`club/settings.py` in a document must be there."""
    wrong = []
    for name in ("README.md", "DEVELOPERS.md"):
        for path in re.findall(
            r"`((?:club|athletes|assessments|templates|tests)/[\w./-]+)`", (ROOT / name).read_text()
        ):
            if not (ROOT / path).exists():
                wrong.append(f"{name}: {path}")
    assert not wrong, "\n".join(wrong)


def test_ci_runs_the_readme_command():
    found = subprocess.run(
        ["sed", "-n", "/<!-- test command -->/,/^```$/p", "README.md"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert "pytest" in found and "pip install" in found
