"""One mapping of a programme file, read with care: what is not as it should be becomes a problem in words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar, cast

Word = TypeVar("Word", bound=str)


@dataclass(frozen=True, slots=True)
class Problem:
    """Something in a programme that cannot stand, or (when it does not refuse) that a director should look at."""

    file: str
    item: str
    reason: str
    refuses: bool = True

    def __str__(self) -> str:
        place = f"{self.file}.yaml, {self.item}" if self.item else f"{self.file}.yaml"
        return f"{place}: {self.reason}"


class Entry:
    """A mapping whose values are asked for by key and kind. Keys never asked for are kept by `rest`."""

    def __init__(
        self, raw: object, *, file: str, item: str, problems: list[Problem], where: str = ""
    ) -> None:
        self._raw: Mapping[str, object] = raw if isinstance(raw, Mapping) else {}
        self._asked: set[str] = set()
        self._problems = problems
        self.where = where
        self.file = file
        self.item = item
        if raw is not None and not isinstance(raw, Mapping):
            self.problem("should be a set of names with values")

    def __contains__(self, key: str) -> bool:
        return self._raw.get(key) is not None

    def problem(self, reason: str, *, refuses: bool = True) -> None:
        """Note what is wrong here."""
        said = f"{self.where}: {reason}" if self.where else reason
        self._problems.append(Problem(self.file, self.item, said, refuses))

    def raw(self, key: str) -> object:
        """The value as it stands in the file."""
        self._asked.add(key)
        return self._raw.get(key)

    def text(self, key: str, *, needed: bool = False, default: str = "") -> str:
        """Words, without spaces around them."""
        value = self.raw(key)
        if value is None or value == "":
            if needed:
                self.problem(f"{key} is missing")
            return default
        if not isinstance(value, str):
            self.problem(f"{key} should be words, not {value!r}")
            return default
        return value.strip()

    def number(self, key: str, *, default: float | None = None) -> float:
        """A finite number; missing is a problem where there is no default."""
        value = self.raw(key)
        if value is None:
            if default is None:
                self.problem(f"{key} is missing")
            return default or 0.0
        return self._number(value, key) or 0.0

    def maybe_number(self, key: str) -> float | None:
        """A finite number, or None where the file says nothing."""
        value = self.raw(key)
        return None if value is None else self._number(value, key)

    def whole(self, key: str, *, default: int | None = None) -> int:
        """A whole number."""
        value = self.number(key, default=default)
        if value != int(value):
            self.problem(f"{key} should be a whole number, not {value:g}")
        return int(value)

    def maybe_whole(self, key: str) -> int | None:
        """A whole number, or None where the file says nothing."""
        return None if self.raw(key) is None else self.whole(key)

    def flag(self, key: str) -> bool:
        """True or false; missing is false."""
        value = self.raw(key)
        if value is not None and not isinstance(value, bool):
            self.problem(f"{key} should be true or false, not {value!r}")
        return value is True

    def words(self, key: str) -> tuple[str, ...]:
        """A list of words; missing is empty."""
        value = self.raw(key)
        if value is None:
            return ()
        if not isinstance(value, Sequence) or isinstance(value, str):
            self.problem(f"{key} should be a list, not {value!r}")
            return ()
        for one in value:
            if not isinstance(one, str):
                self.problem(f"{key} should hold words, not {one!r}")
        return tuple(one for one in value if isinstance(one, str))

    def choice(self, key: str, allowed: Sequence[Word], *, default: Word | None = None) -> Word:
        """One of a fixed set of words."""
        value = self.text(key, needed=default is None, default=default or allowed[0])
        if value not in allowed:
            self.problem(f"{key} '{value}' is not one of {', '.join(allowed)}")
            return default or allowed[0]
        return cast(Word, value)

    def pair(self, key: str) -> tuple[float, float]:
        """Two numbers, the lower one first."""
        value = self.raw(key)
        if not isinstance(value, Sequence) or isinstance(value, str) or len(value) != 2:
            self.problem(f"{key} should be two numbers, such as [0, 60]")
            return (0.0, 0.0)
        low, high = (self._number(one, key) or 0.0 for one in value)
        if low > high:
            self.problem(f"{key} should begin with the lower number, not {low:g}")
        return (low, high)

    def texts(self, key: str) -> dict[str, str]:
        """Names with words each; missing is empty."""
        inner = self.child(key)
        return {name: inner.text(name) for name in inner.names()}

    def child(self, key: str) -> Entry:
        """The set of names below a key; empty where there is none."""
        return Entry(
            self.raw(key), file=self.file, item=self.item, problems=self._problems, where=self._inside(key)
        )

    def children(self, key: str) -> Iterator[Entry]:
        """The sets of names in the list below a key."""
        value = self.raw(key)
        if value is not None and (not isinstance(value, Sequence) or isinstance(value, str)):
            self.problem(f"{key} should be a list")
            return
        for number, one in enumerate(value or (), start=1):
            where = self._inside(f"{key} {number}")
            yield Entry(one, file=self.file, item=self.item, problems=self._problems, where=where)

    def names(self) -> tuple[str, ...]:
        """The names that stand here."""
        return tuple(str(key) for key in self._raw)

    def rest(self) -> dict[str, object]:
        """What was never asked for: kept, so that a file comes back whole."""
        return {key: value for key, value in self._raw.items() if key not in self._asked}

    def rest_texts(self) -> dict[str, str]:
        """All texts that were not asked for yet."""
        return {key: self.text(key) for key, value in self.rest().items() if isinstance(value, str)}

    def _inside(self, key: str) -> str:
        return f"{self.where}, {key}" if self.where else key

    def _number(self, value: object, key: str) -> float | None:
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            self.problem(f"{key} should be a number, not {value!r}")
            return None
        return float(value)
