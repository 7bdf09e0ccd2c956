"""Must-have criteria of a shape: on their own on two dates or for two coaches, read from looks and never from totals."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from assessments.analysis.scoring import Scores, days_of

#: Not there on the newest date, there on that date only, there twice (or nothing asked).
MISSING, SEEN_ONCE, SEEN_TWICE = range(3)


def seen_twice(
    answers: Answers, counted: Sequence[tuple[int, int]], criteria: tuple[str, ...], expiry_days: int
) -> int:
    """MISSING, SEEN_ONCE or SEEN_TWICE from the days and rows that count, oldest first.

    Seen twice: a yes on the last two dates, the earlier not expired by the newest, or for two coaches on the newest.
    """
    newest = None
    for day, word, by_two in answers.by_date(counted, criteria):
        if newest is not None:
            twice = word == "yes" and newest - day <= expiry_days
            return SEEN_TWICE if twice else SEEN_ONCE
        if word != "yes":
            return MISSING if word == "no" else SEEN_ONCE
        if by_two:
            return SEEN_TWICE
        newest = day
    return MISSING if newest is None else SEEN_ONCE


class Answers:
    """What looks say of criteria: 'yes' all on their own, 'no' one was not, 'unseen' else; 'doubt' when only a second coach
    saw one that was not. Equal sets of levels that are one object are asked once.
    """

    def __init__(self, scores: Scores) -> None:
        self._scores = scores
        self._known: dict[tuple[int, tuple[str, ...]], str] = {}

    def by_date(
        self, counted: Sequence[tuple[int, int]], criteria: tuple[str, ...]
    ) -> Iterator[tuple[int, str, bool]]:
        """Date, word, and whether two coaches saw all, newest first; dates on which nothing was seen are passed over."""
        scores, row = self._scores, counted[0][1]
        key = (int(scores.athlete[row]), int(scores.item[row]), int(scores.series[row]))
        looks: list[tuple[int, int | None, object]] = [
            (days_of(look.on), None, look.levels)
            for look in scores.partial_looks.get(key, ())
            if days_of(look.on) >= counted[0][0]
        ]
        found: list[tuple[int, int | None, object]] = [(day, row, scores.levels[row]) for day, row in counted]
        if looks:
            found = sorted([*found, *looks], key=lambda one: one[0])
        place = len(found)
        while place:
            day, words, by_two = found[place - 1][0], [], False
            while place and found[place - 1][0] == day:
                place -= 1
                _, row_seen, levels = found[place]
                first = self._of(levels, criteria)
                second = None if row_seen is None else scores.second_levels.get(row_seen)
                again = "unseen" if second is None else self._of(second, criteria)
                words.append("doubt" if first == "yes" and again == "no" else first)
                by_two = by_two or first == again == "yes"
            word = next((one for one in ("no", "doubt", "yes") if one in words), "")
            if word:
                yield day, word, by_two

    def _of(self, levels: object, criteria: tuple[str, ...]) -> str:
        key = (id(levels), criteria)
        if key not in self._known:
            found = [levels.get(name) for name in criteria] if isinstance(levels, Mapping) else [None]
            there = all(level == 2 for level in found)
            self._known[key] = (
                "yes" if there else "no" if any(level in (0, 1) for level in found) else "unseen"
            )
        return self._known[key]
