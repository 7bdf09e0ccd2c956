"""How plain a text is: sentences, syllables, reading grade, words that are never used to families. Pure."""

from __future__ import annotations

import re

LONGEST_SENTENCE = 25
HIGHEST_GRADE = 5.0

#: Judging or comparing words, bodies, and states that only staff see. Whole words, whatever their case.
NEVER = (
    "fail", "fails", "failed", "failing", "failure", "weak", "weaker", "weakest", "weakness", "poor", "poorly",
    "behind", "below average", "above average", "average", "talent", "talented", "potential", "gifted", "rank",
    "ranked", "ranking", "percentile", "centile", "percent", "per cent", "probability", "ready to try", "not ready",
    "worst", "lazy", "clumsy", "fat", "thin", "skinny", "overweight", "underweight", "weight", "height", "bmi",
    "better than", "worse than", "best in", "slower than", "other children",
)  # fmt: skip
_NEVER = re.compile(r"\b(" + "|".join(re.escape(word) for word in NEVER) + r")\b|%", re.IGNORECASE)
_VOWELS = re.compile(r"[aeiouy]+")


def sentences(text: str) -> list[str]:
    """Sentences of a text; each line ends one."""
    return [part for part in re.split(r"(?<=[.!?])\s+|\n+", text.strip()) if re.search(r"\w", part)]


def words(text: str) -> list[str]:
    """Words, with their apostrophes and hyphens split."""
    return re.findall(r"[A-Za-zÀ-ÿ]+(?:['’][a-z]+)?|\d+", text)


def syllables(word: str) -> int:
    """Syllables of an English word, by its groups of vowels and the silent endings."""
    plain = re.sub(r"['’].*", "", word.lower())
    if plain.isdigit():
        return len(plain)
    count = len(_VOWELS.findall(plain))
    silent = plain.endswith("e") and not re.search(r"[^aeiouy]le$", plain)
    ed = plain.endswith("ed") and not re.search(r"[td]ed$", plain)
    es = re.search(r"[^aeiouysxzc]es$", plain) is not None and not re.search(r"[cs]hes$", plain)
    return max(count - (1 if silent or ed or es else 0), 1)


def reading_grade(text: str, *, name: str = "") -> float:
    """Flesch-Kincaid grade: 0.39 words a sentence + 11.8 syllables a word - 15.59. The child's name counts as one.

    J. P. Kincaid and others 1975. A smoke alarm, no proof that a text is understood.
    """
    plain = re.sub(rf"\b{re.escape(name)}\b", "Tom", text) if name else text
    found, parts = words(plain), sentences(plain)
    if not found or not parts:
        return 0.0
    return 0.39 * len(found) / len(parts) + 11.8 * sum(map(syllables, found)) / len(found) - 15.59


def never_used(text: str) -> tuple[str, ...]:
    """The words in a text that families are never given, in order, each once."""
    return tuple(dict.fromkeys(match.group(0).lower() for match in _NEVER.finditer(text)))


def too_long(text: str) -> tuple[str, ...]:
    """The sentences that are longer than a reader should be asked to take in one breath."""
    return tuple(part for part in sentences(text) if len(words(part)) > LONGEST_SENTENCE)
