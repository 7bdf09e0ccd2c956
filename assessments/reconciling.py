"""Tablet and club compared: what the club lacks, which numbers it never saw, and whether both counts agree."""

from __future__ import annotations

import uuid
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from assessments.models import AssessmentDay, RefusedEntry, Result, TabletDay

#: Entries that were typed or brought in come from no tablet: nothing is compared for them.
NOT_TABLETS = ("desk-", "import-")


@dataclass(frozen=True, slots=True)
class Reconciled:
    """What the club answers to a tablet's list."""

    missing: list[uuid.UUID]
    stored: int
    gaps: list[int]


@dataclass(frozen=True, slots=True)
class TabletLine:
    """One tablet on one day, its own count beside the club's."""

    tablet: str
    label: str
    made: int | None  # None while the tablet has never said
    waiting: int
    stored: int
    refused: int
    gaps: list[int]
    seen_at: datetime | None

    @property
    def equal(self) -> bool:
        """Whether everything that the tablet holds is at the club, and no number is missing."""
        return self.made is not None and self.waiting == 0 and not self.gaps and self.stored >= self.made


def reconcile(
    day: AssessmentDay,
    *,
    tablet: str,
    label: str,
    ids: Sequence[uuid.UUID],
    made: int,
    highest_seq: int,
    waiting: int,
) -> Reconciled:
    """Note what the tablet says it holds; answer with what the club lacks of it."""
    here = set(Result.objects.filter(code__in=ids).values_list("code", flat=True))
    numbers = _numbers(day).get(tablet, set())
    if tablet:
        TabletDay.objects.update_or_create(
            day=day,
            tablet=tablet,
            defaults={
                "label": label,
                "made": made,
                "highest_seq": highest_seq,
                "waiting": waiting,
                "seen_at": timezone.now(),
            },
        )
    missing = [code for code in ids if code not in here]
    seen = numbers | _refused_numbers(day).get(tablet, set())
    return Reconciled(missing, _stored(day).get(tablet, 0), _gaps(seen, highest_seq))


def tablet_lines(day: AssessmentDay) -> list[TabletLine]:
    """Every tablet that has spoken about the day or whose entries are here."""
    numbers, refused, stored = _numbers(day), _refused_numbers(day), _stored(day)
    said = {row.tablet: row for row in day.tablets.all()}
    lines = []
    for tablet in sorted({*numbers, *said}):
        row = said.get(tablet)
        seen, away = numbers.get(tablet, set()), refused.get(tablet, set())
        lines.append(
            TabletLine(
                tablet=tablet,
                label=row.label if row and row.label else f"Tablet {tablet[:8]}",
                made=row.made if row else None,
                waiting=row.waiting if row else 0,
                stored=stored.get(tablet, 0),
                refused=len(away - seen),
                gaps=_gaps(seen | away, row.highest_seq if row else max(seen, default=0)),
                seen_at=row.seen_at if row else None,
            )
        )
    return lines


def _tablet_rows(day: AssessmentDay) -> list[tuple[str, int]]:
    """Tablet and number of each entry that is here. A tablet that gave a number twice is one tablet."""
    rows = Result.objects.for_day(day).order_by().values_list("tablet", "seq")
    return [(tablet.split("#")[0], seq) for tablet, seq in rows if not tablet.startswith(NOT_TABLETS)]


def _numbers(day: AssessmentDay) -> dict[str, set[int]]:
    found: dict[str, set[int]] = defaultdict(set)
    for tablet, seq in _tablet_rows(day):
        found[tablet].add(seq)
    return dict(found)


def _stored(day: AssessmentDay) -> Counter[str]:
    return Counter(tablet for tablet, _ in _tablet_rows(day))


def _refused_numbers(day: AssessmentDay) -> dict[str, set[int]]:
    found: dict[str, set[int]] = defaultdict(set)
    for body in RefusedEntry.objects.filter(day=day).values_list("body", flat=True):
        tablet, seq = body.get("tablet"), body.get("seq")
        if isinstance(tablet, str) and isinstance(seq, int):
            found[tablet].add(seq)
    return dict(found)


def _gaps(numbers: set[int], highest: int) -> list[int]:
    """Numbers below the highest that never came; at most a hundred are named."""
    top = max(highest, max(numbers, default=0))
    if top - len(numbers) > 10_000:
        return [top]
    return [number for number in range(1, top + 1) if number not in numbers][:100]
