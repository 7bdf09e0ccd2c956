"""Small changes to the documents of a draft. Each returns new documents; what it does not touch stays as it was."""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Mapping
from typing import Any

from assessments.programme_yaml import Documents

Entry = Mapping[str, Any]


def entry_of(documents: Documents, file: str, item: str) -> dict[str, Any] | None:
    """The entry with this id in a file; None where there is none, or the file is not finished enough to say."""
    return next((one for one in entries(documents, file) if one.get("id") == item), None)


def entries(documents: Documents, file: str) -> list[dict[str, Any]]:
    """The entries of a file that can be read at all."""
    top = documents.get(file)
    listed = top.get(file) if isinstance(top, Mapping) else None
    return [one for one in listed if isinstance(one, dict)] if isinstance(listed, list) else []


def part_of(documents: Documents, file: str, item: str) -> object:
    """What one page edits: an entry, the benchmarks of one item, or what stands above a list."""
    top = documents.get(file)
    if not isinstance(top, Mapping):
        return None
    if file == "benchmarks":
        sections = [top.get(one) for one in ("measures", "shapes")]
        return next((one[item] for one in sections if isinstance(one, Mapping) and item in one), None)
    return entry_of(documents, file, item) if item else top.get("rules")


def mark_of(documents: Documents, file: str, item: str) -> str:
    """A short mark of a part's content: the same mark, the same content."""
    said = json.dumps(part_of(documents, file, item), sort_keys=True)
    return hashlib.sha256(said.encode()).hexdigest()[:16]


def differences(theirs: object, mine: object) -> list[tuple[str, object, object]]:
    """The keys on which two versions of one part differ, with both values."""
    left = theirs if isinstance(theirs, Mapping) else {}
    right = mine if isinstance(mine, Mapping) else {}
    keys = dict.fromkeys((*left, *right))
    return [(key, left.get(key), right.get(key)) for key in keys if left.get(key) != right.get(key)]


def put(documents: Documents, file: str, item: str, changes: Entry) -> dict[str, Any]:
    """An entry with changes laid over it, added at the end where it is new. A value of None takes the key away."""
    new = _copied(documents)
    found = entry_of(new, file, item)
    if found is None:
        found = {"id": item}
        _list(new, file).append(found)
    _lay_over(found, changes)
    return new


def take_away(documents: Documents, file: str, item: str) -> dict[str, Any]:
    """Without an entry, its benchmarks with it. What else names it is left for the checks to find."""
    new = _copied(documents)
    new[file][file] = [one for one in entries(new, file) if one.get("id") != item]
    if file in ("measures", "shapes"):
        _section(new, file).pop(item, None)
    return new


def move(documents: Documents, file: str, item: str, *, by: int) -> dict[str, Any]:
    """An entry some places further up (negative) or down in its list."""
    new = _copied(documents)
    listed = entries(new, file)
    place = next((n for n, one in enumerate(listed) if one.get("id") == item), None)
    if place is not None:
        found = listed.pop(place)
        listed.insert(max(0, place + by), found)
        new[file][file] = listed
    return new


def connect(documents: Documents, before: str, after: str, *, joined: bool) -> dict[str, Any]:
    """One skill put before another, or that line taken away."""
    new = _copied(documents)
    found = entry_of(new, "skills", after)
    if found is not None:
        asks = found.setdefault("requires", {})
        others = [one for one in asks.get("skills") or [] if one != before]
        asks["skills"] = [*others, before] if joined else others
    return new


def put_benchmarks(
    documents: Documents, section: str, item: str, *, zones: Mapping[str, Entry | None], about: Entry
) -> dict[str, Any]:
    """The zones of one measure or shape by band (None: not offered), and what is said about them."""
    new = _copied(documents)
    rows = _section(new, section)
    row: dict[str, Any] = rows[item] if isinstance(rows.get(item), dict) else {}
    for band, zone in zones.items():
        if zone is None:
            row[band] = None
        else:
            kept: dict[str, Any] = row[band] if isinstance(row.get(band), dict) else {}
            _lay_over(kept, zone)
            row[band] = kept
    _lay_over(row, about)
    rows[item] = row
    return new


def put_top(documents: Documents, file: str, changes: Entry) -> dict[str, Any]:
    """What stands above the list of a file."""
    new = _copied(documents)
    _lay_over(_top(new, file), changes)
    return new


def _top(documents: dict[str, Any], file: str) -> dict[str, Any]:
    """A file of copied documents as a set of names, made anew where it is something else."""
    if not isinstance(documents.get(file), dict):
        documents[file] = {"schema": f"{file}/1"}
    top: dict[str, Any] = documents[file]
    return top


def _list(documents: dict[str, Any], file: str) -> list[Any]:
    top = _top(documents, file)
    if not isinstance(top.get(file), list):
        top[file] = []
    listed: list[Any] = top[file]
    return listed


def _section(documents: dict[str, Any], section: str) -> dict[str, Any]:
    top = _top(documents, "benchmarks")
    if not isinstance(top.get(section), dict):
        top[section] = {}
    rows: dict[str, Any] = top[section]
    return rows


def _copied(documents: Documents) -> dict[str, Any]:
    copied: dict[str, Any] = {file: copy.deepcopy(content) for file, content in documents.items()}
    return copied


def _lay_over(entry: dict[str, Any], changes: Entry) -> None:
    for key, value in changes.items():
        if value is None and key != "cap":  # a distance says that it has no cap
            entry.pop(key, None)
        else:
            entry[key] = value
