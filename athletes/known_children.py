"""Finds the child that a name in a spreadsheet stands for, or says why nobody can know."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from athletes.person_names import PersonName, nearly_same
from athletes.sheet_file import fold

MOST_SUGGESTIONS = 200


@dataclass(frozen=True, slots=True)
class KnownChild:
    """A child that the club has already."""

    code: str
    name: PersonName
    born_on: date
    group: str = ""


@dataclass(frozen=True, slots=True)
class FoundChild:
    """The child, and a word when the name was written in another way."""

    child: KnownChild
    note: str = ""


class ChildNotFound(ValueError):
    """Nobody, or more than one child, goes by this name; the message says so."""


class KnownChildren:
    """The children of a club, found by name."""

    def __init__(self, children: Iterable[KnownChild]) -> None:
        self._children = tuple(children)
        self._by_key: dict[str, list[KnownChild]] = defaultdict(list)
        for child in self._children:
            self._by_key[child.name.key].append(child)
        self._unknown: dict[PersonName, str] = {}
        self._outlines = [
            (child, _letters(child.name.key), len(child.name.key), fold(child.name.last))
            for child in self._children
        ]

    def find(self, name: PersonName, *, born_on: date | None = None, group: str = "") -> FoundChild:
        """The one child meant; ChildNotFound with a plain reason when there is not exactly one."""
        if not str(name):
            raise ChildNotFound("the name is missing")
        found = self._by_key.get(name.key, []) or self._by_initial(name)
        if not found:
            raise ChildNotFound(self._nobody(name))
        if len(found) > 1 and born_on:
            found = [child for child in found if child.born_on == born_on]
        if len(found) > 1 and group:
            found = [child for child in found if fold(child.group) == fold(group)]
        if len(found) != 1:
            raise ChildNotFound(
                f"more than one child is called {name}; add the date of birth to tell them apart"
            )
        child = found[0]
        if born_on and born_on != child.born_on:
            raise ChildNotFound(
                f"{child.name} was born on {child.born_on.isoformat()}, the file says {born_on.isoformat()}"
            )
        return FoundChild(child, "" if child.name == name else f"'{name}' is read as {child.name}")

    def _by_initial(self, name: PersonName) -> list[KnownChild]:
        """'Mia H.' as a coach writes it on a sheet."""
        if len(fold(name.last)) != 1:
            return []
        return [
            child
            for child in self._children
            if fold(child.name.first) == fold(name.first)
            and fold(child.name.last).startswith(fold(name.last))
        ]

    def _nobody(self, name: PersonName) -> str:
        if len(self._unknown) >= MOST_SUGGESTIONS and name not in self._unknown:
            return f"no child called '{name}' is on the list"  # the whole list is wrong, and searching takes long
        if name not in self._unknown:
            self._unknown[name] = self._suggestion(name)
        return self._unknown[name]

    def _suggestion(self, name: PersonName) -> str:
        near = [
            child
            for child in self._resembling(name)
            if nearly_same(child.name, name) or (not name.last and fold(child.name.first) == fold(name.first))
        ]
        if not near:
            return f"no child called '{name}' is on the list"
        who = " or ".join(
            f"{child.name} ({child.group})" if child.group else str(child.name) for child in near[:3]
        )
        return f"no child called '{name}' is on the list; perhaps {who}"

    def _resembling(self, name: PersonName) -> list[KnownChild]:
        """Those worth a close look: a slip changes the length by one and the letters in use by two at most."""
        key, last = name.key, fold(name.last)
        letters, length = _letters(key), len(key)
        return [
            child
            for child, its_letters, its_length, its_last in self._outlines
            if ((letters ^ its_letters).bit_count() <= 4 and abs(length - its_length) <= 2)
            or its_last == last
            or not last
        ]


def _letters(key: str) -> int:
    """The letters in use as bits."""
    found = 0
    for letter in key:
        found |= 1 << (ord(letter) % 64)
    return found
