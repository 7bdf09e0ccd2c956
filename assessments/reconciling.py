"""Tablet and club compared: what the club lacks, which numbers it never saw, and whether both counts agree."""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Q
from django.utils import timezone

from assessments.entries import Entry, Unreadable
from assessments.models import AssessmentDay, RefusedEntry, Result, TabletDay
from assessments.recording import ID_REUSED, Answer, looking_again, record
from club.access import Viewer

#: Entries that were typed or brought in come from no tablet: nothing is compared for them.
NOT_TABLETS = ("desk-", "import-")
#: A tablet that lies there with the floor open speaks once a minute. Silent for longer, it may have gone on counting.
SILENCE = timedelta(minutes=2)
_TRIES = 2


@dataclass(frozen=True, slots=True)
class Standing:
    """What a tablet says about itself: entries that it made on the day, the highest number given, and how many
    entries and lines of the roll wait beside what comes along. `left` means that it is emptied now."""

    tablet: str
    label: str
    made: int
    highest_seq: int
    waiting: int
    left: bool = False


@dataclass(frozen=True, slots=True)
class Reconciled:
    """What the club answers to a tablet's list."""

    missing: list[uuid.UUID]
    settled: list[uuid.UUID]
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
    silent: bool = False

    @property
    def equal(self) -> bool:
        """Whether everything that the tablet made is at the club, taken or refused, and it spoke of late."""
        return self.complete and not self.silent

    @property
    def complete(self) -> bool:
        """Whether by its last word nothing is missing."""
        said = self.made is not None and self.waiting == 0
        return said and not self.gaps and self.stored + self.refused >= (self.made or 0)


def take(
    entries: Sequence[Entry | Unreadable],
    viewer: Viewer,
    *,
    day: AssessmentDay | None,
    standing: Standing | None,
    offset_s: float | None,
) -> list[Answer]:
    """Take a tablet's entries, and in the same transaction what it says about itself."""

    def both() -> list[Answer]:
        note_standing(day, standing)
        return record(entries, viewer, offset_s=offset_s)

    return looking_again(both, tries=_TRIES)


def note_standing(day: AssessmentDay | None, standing: Standing | None) -> None:
    """Write down what the tablet says; nothing when it says nothing or the day is not known."""
    if day is None or standing is None or not standing.tablet:
        return
    now = timezone.now()
    TabletDay.objects.update_or_create(
        day=day,
        tablet=standing.tablet,
        defaults={
            "label": standing.label,
            "made": standing.made,
            "highest_seq": standing.highest_seq,
            "waiting": standing.waiting,
            "seen_at": now,
            "left_at": now if standing.left else None,
        },
    )


def reconcile(day: AssessmentDay, *, standing: Standing, ids: Sequence[uuid.UUID]) -> Reconciled:
    """Note what the tablet says it holds; answer with what the club lacks of it, and which refused entries a
    person has settled here."""
    here = set(Result.objects.filter(code__in=ids).values_list("code", flat=True))
    # A body that came with the id of another entry says nothing about that entry.
    refused = RefusedEntry.objects.filter(entry__in=ids).exclude(reason=ID_REUSED)
    away = set(refused.values_list("entry", flat=True))
    nobody_yet = set(refused.waiting().values_list("entry", flat=True))
    note_standing(day, standing)
    tablet = standing.tablet
    numbers = {seq for _, seq in _stored(day).get(tablet, set())}
    numbers |= {seq for _, seq in _refused(day).get(tablet, set())}
    return Reconciled(
        missing=[code for code in ids if code not in here | away],
        settled=[code for code in ids if code in away - nobody_yet],
        stored=len(_stored(day).get(tablet, set())),
        gaps=_gaps(numbers, standing.highest_seq),
    )


def tablet_lines(day: AssessmentDay) -> list[TabletLine]:
    """Every tablet that has spoken about the day or whose entries are here."""
    stored, refused = _stored(day), _refused(day)
    said = {row.tablet: row for row in day.tablets.all()}
    # After the close a tablet has to speak once more: it may have gone on counting meanwhile.
    since = day.closed_at or timezone.now() - SILENCE
    lines = []
    for tablet in sorted({*stored, *said}):
        row = said.get(tablet)
        here, away = stored.get(tablet, set()), refused.get(tablet, set())
        numbers = {seq for _, seq in here | away}
        lines.append(
            TabletLine(
                tablet=tablet,
                label=row.label if row and row.label else f"Tablet {tablet[:8]}",
                made=row.made if row else None,
                waiting=row.waiting if row else 0,
                stored=len(here),
                refused=len({code for code, _ in away} - {code for code, _ in here}),
                gaps=_gaps(numbers, row.highest_seq if row else 0),
                seen_at=row.seen_at if row else None,
                silent=row is not None and row.left_at is None and row.seen_at < since,
            )
        )
    return lines


#: Of each tablet: id and number of its entries.
_Numbered = dict[str, set[tuple[uuid.UUID | None, int]]]


def _stored(day: AssessmentDay) -> _Numbered:
    """What is here. A tablet that gave a number twice is one tablet."""
    found: _Numbered = defaultdict(set)
    rows = Result.objects.for_day(day).order_by().values_list("tablet", "code", "seq")
    for tablet, code, seq in rows:
        if not tablet.startswith(NOT_TABLETS):
            found[tablet.split("#")[0]].add((code, seq))
    return dict(found)


def _refused(day: AssessmentDay) -> _Numbered:
    """What could not be taken and is kept here; what could not even be read names its day in its body."""
    found: _Numbered = defaultdict(set)
    kept = RefusedEntry.objects.filter(Q(day=day) | Q(day=None, body__day=str(day.code)))
    for code, body in kept.values_list("entry", "body"):
        tablet, seq = body.get("tablet"), body.get("seq")
        if isinstance(tablet, str) and isinstance(seq, int):
            found[tablet].add((code, seq))
    return dict(found)


def _gaps(numbers: set[int], highest: int) -> list[int]:
    """Numbers below the highest that never came; at most a hundred are named."""
    top = max(highest, max(numbers, default=0))
    if top - len(numbers) > 10_000:
        return [top]
    return [number for number in range(1, top + 1) if number not in numbers][:100]
