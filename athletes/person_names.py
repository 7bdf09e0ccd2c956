"""Names as people type them: taken apart, compared, and found to be nearly the same."""

from __future__ import annotations

from dataclasses import dataclass

from athletes.sheet_file import fold, tidy

_PARTICLES = frozenset(
    {"af", "al", "ap", "bin", "bint", "da", "das", "de", "dei", "del", "della", "den", "der", "des"}
    | {"di", "do", "dos", "du", "el", "la", "le", "los", "mac", "st", "ten", "ter", "van", "vom"}
    | {"von", "y", "zu"}
)

# Not 'max': it is a child's name.
_SUMMARIES = frozenset(
    {"total", "totals", "sum", "average", "averages", "mean", "median", "count", "children"}
)


@dataclass(frozen=True, slots=True)
class PersonName:
    """A first and a last name, as they are to be shown."""

    first: str
    last: str

    def __str__(self) -> str:
        return f"{self.first} {self.last}".strip()

    @property
    def key(self) -> str:
        """Equal for two spellings that differ only in case, accents or punctuation."""
        return fold(str(self))


def sums_up(text: str) -> bool:
    """True for 'Total 40' or 'Average', a line under the list and not a child."""
    return " ".join(word for word in fold(text).split() if not word.isdigit()) in _SUMMARIES


def split_name(text: str) -> PersonName:
    """'Zoë van der Berg' or 'van der Berg, Zoë' -> first and last name."""
    last, comma, first = (tidy(part) for part in tidy(text).partition(","))
    if comma:
        return PersonName(first, last)
    words = last.split()
    if len(words) < 2:
        return PersonName(" ".join(words), "")
    start = next((i for i, word in enumerate(words) if i and word.casefold() in _PARTICLES), len(words) - 1)
    return PersonName(" ".join(words[:start]), " ".join(words[start:]))


def nearly_same(one: PersonName, other: PersonName) -> bool:
    """True when two names could be one child spelt two ways: accents, a slip of the finger, swapped, or shortened."""
    a, b = one.key, other.key
    if a == b or sorted(a.split()) == sorted(b.split()):
        return True
    first_a, first_b = fold(one.first), fold(other.first)
    shorter = min(len(first_a), len(first_b))
    if shorter >= 3 and fold(one.last) == fold(other.last) and first_a[:shorter] == first_b[:shorter]:
        return True
    return slips_between(a, b) <= (2 if min(len(a), len(b)) >= 9 else 1)


def slips_between(a: str, b: str) -> int:
    """Letters added, lost, changed or swapped with their neighbour between two texts."""
    before: list[int] = []
    above = list(range(len(b) + 1))
    for i, letter in enumerate(a, 1):
        row = [i]
        for j, other in enumerate(b, 1):
            cost = min(above[j] + 1, row[j - 1] + 1, above[j - 1] + (letter != other))
            if i > 1 and j > 1 and letter == b[j - 2] and a[i - 2] == other:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        before, above = above, row
    return above[-1]
