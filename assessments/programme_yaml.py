"""The files of a programme as text: YAML that is plain data, so that it comes back as it went out."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import yaml

from assessments.programme_entry import Problem

FILES = ("measures", "shapes", "skills", "benchmarks", "sources")
LARGEST_FILE = 1_000_000  # characters
LARGEST_NUMBER = 2**53  # beyond it, other programs round

#: What one file holds, and all five by name.
Document = Mapping[str, Any]
Documents = Mapping[str, Document]

if TYPE_CHECKING:
    _Loader = yaml.SafeLoader
else:  # the parser in C where PyYAML was built with it: the same result, many times faster
    _Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class _PlainLoader(_Loader):
    """Text, numbers, true, false, lists and names. No dates, and no name twice."""

    def construct_mapping(self, node: Any, deep: bool = False) -> dict[Any, Any]:
        seen: dict[str, Any] = {}
        for key_node, value_node in node.value:
            key = str(self.construct_object(key_node, deep=True))
            if key in seen:
                raise yaml.constructor.ConstructorError(
                    None, None, f"'{key}' stands here twice", key_node.start_mark
                )
            seen[key] = self.construct_object(value_node, deep=True)
        return seen


# Dates stay text, and so do 'on', 'off', 'yes' and 'no'.
_PlainLoader.yaml_implicit_resolvers = {
    first: [one for one in resolvers if not one[0].endswith((":timestamp", ":merge", ":bool"))]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
_PlainLoader.add_implicit_resolver(
    "tag:yaml.org,2002:bool", re.compile(r"^(?:true|True|TRUE|false|False|FALSE)$"), list("tTfF")
)


def documents_from_texts(texts: Mapping[str, str]) -> tuple[dict[str, Any], tuple[Problem, ...]]:
    """The five files by name -> what they hold, and what could not be read, with its line."""
    documents: dict[str, Any] = {}
    problems: list[Problem] = []
    for file in FILES:
        if file not in texts:
            problems.append(Problem(file, "", "this file is missing"))
            continue
        if len(texts[file]) > LARGEST_FILE:
            problems.append(Problem(file, "", f"longer than {LARGEST_FILE:,} characters"))
            continue
        try:
            # The loader is a safe one: it builds plain data only.
            _refuse_references(texts[file])
            content = yaml.load(texts[file], Loader=_PlainLoader)
        except yaml.MarkedYAMLError as error:
            line = f" in line {error.problem_mark.line + 1}" if error.problem_mark else ""
            problems.append(Problem(file, "", f"cannot be read{line}: {error.problem or 'not YAML'}"))
            continue
        except (yaml.YAMLError, ValueError, RecursionError):
            problems.append(Problem(file, "", "cannot be read: not YAML"))
            continue
        if not isinstance(content, dict):
            problems.append(Problem(file, "", "should begin with names, such as 'schema:'"))
        elif not _is_plain(content):
            problems.append(Problem(file, "", "holds more than words, finite numbers, lists and names"))
        else:
            documents[file] = content
    return documents, tuple(problems)


def _refuse_references(text: str) -> None:
    """A few references to references can stand for more than any memory holds."""
    for event in yaml.parse(text, Loader=_Loader):
        if isinstance(event, yaml.events.AliasEvent):
            where: Any = event.start_mark
            raise yaml.constructor.ConstructorError(None, None, "a reference (*) is not allowed", where)


def _is_plain(value: object) -> bool:
    """Whether any database and any other program can keep this value as it is."""
    match value:
        case None | bool():
            return True
        case int():
            return abs(value) < LARGEST_NUMBER
        case float():
            return math.isfinite(value)
        case str():
            return "\x00" not in value and not any("\ud800" <= letter <= "\udfff" for letter in value)
        case list():
            return all(_is_plain(one) for one in value)
        case dict():
            return all(_is_plain(key) and _is_plain(one) for key, one in value.items())
    return False


def texts_from_documents(documents: Documents) -> dict[str, str]:
    """What the five files hold -> their text."""
    return {
        file: yaml.safe_dump(dict(documents[file]), sort_keys=False, allow_unicode=True, width=110)
        for file in FILES
        if file in documents
    }


def texts_from_folder(folder: Path) -> dict[str, str]:
    """The text of the files that stand in a folder."""
    return {
        file: (folder / f"{file}.yaml").read_text(encoding="utf-8")
        for file in FILES
        if (folder / f"{file}.yaml").is_file()
    }
