"""Documents of the starter programme, to be changed by a test."""

from __future__ import annotations

import copy
from typing import Any

from assessments import programme_file


def starter_documents() -> dict[str, Any]:
    """A fresh copy of the five starter documents."""
    return copy.deepcopy(programme_file.starter_documents())


def entry(documents: dict[str, Any], file: str, item: str) -> dict[str, Any]:
    """One measure, shape or skill of the documents."""
    return next(one for one in documents[file][file] if one["id"] == item)


def requirement(documents: dict[str, Any], skill: str, item: str) -> dict[str, Any]:
    """What a skill asks of one measure or shape."""
    asks = entry(documents, "skills", skill)["requires"]
    both = [*asks["measures"], *asks["shapes"]]
    return next(one for one in both if item in (one.get("measure"), one.get("shape")))
