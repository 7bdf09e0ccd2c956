"""The only door through which results come in: tablets, files, the desk and the demo all use it.

Unique columns decide what is new. Nothing is answered from what was sent: the rows are inserted and then read
back inside the same transaction, and only what was read back is called stored.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import partial
from typing import Any, Literal

from django.db import DataError, IntegrityError, transaction
from django.utils import timezone

from assessments.door_facts import KnownDay, Seen, facts_for
from assessments.entries import Entry, Unreadable, body_hash, content_hash, entry_to_json
from assessments.entry_rules import value_to_keep
from assessments.models import AssessmentDay, Attendance, RefusedEntry, Result
from assessments.models.results import EVIDENCE
from athletes.models import RestNote, resting_areas
from club import audit
from club.access import Viewer

Word = Literal["stored", "already_here", "conflict", "refused"]
#: One transaction holds at most this many entries, so that no tablet keeps the others waiting.
LARGEST_BATCH = 500
_TRIES = 3
ID_REUSED = "This id already stands for another entry. Both are kept."
_NAMELESS = uuid.UUID("6d0c2b1e-8f0f-5a55-9f57-0d6a1f3c9b20")


@dataclass(frozen=True, slots=True)
class Answer:
    """The final word about one entry."""

    id: str
    word: Word
    reason: str = ""


def record(
    entries: Sequence[Entry | Unreadable], viewer: Viewer, *, offset_s: float | None = None
) -> list[Answer]:
    """Take a list of entries; give each its final answer, in the same order. Safe to repeat.

    `offset_s` is the club's clock minus the sender's. A broken database raises: then nothing is known, and the
    sender keeps what it has and sends it again.
    """
    answers: list[Answer] = []
    for start in range(0, len(entries), LARGEST_BATCH):
        part = entries[start : start + LARGEST_BATCH]
        answers += looking_again(partial(_run, part, viewer, offset_s))
    return answers


def _run(part: Sequence[Entry | Unreadable], viewer: Viewer, offset_s: float | None) -> list[Answer]:
    return _Batch(viewer, offset_s).run(part)


def looking_again(work: Callable[[], list[Answer]], *, tries: int = _TRIES) -> list[Answer]:
    """Do it in one transaction, and again when a child or a day was erased between the look and the commit."""
    for last in (False,) * (tries - 1) + (True,):
        try:
            with transaction.atomic():
                return work()
        except IntegrityError:
            if last:
                raise
    raise AssertionError("unreachable")


@dataclass(slots=True)
class _Batch:
    """One transaction's worth of entries."""

    viewer: Viewer
    offset_s: float | None
    now: datetime = field(default_factory=lambda: timezone.now())
    inserted: set[uuid.UUID] = field(default_factory=set)
    problems: dict[uuid.UUID, str] = field(default_factory=dict)
    refused: list[RefusedEntry] = field(default_factory=list)

    def run(self, part: Sequence[Entry | Unreadable]) -> list[Answer]:
        readable = [entry for entry in part if isinstance(entry, Entry)]
        hashes = [content_hash(entry) for entry in readable]
        here = _hashes_of(entry.id for entry in readable)
        # Of two entries with one id the first one speaks; the other is answered from what was read back.
        new = {entry.id: (entry, digest) for entry, digest in zip(readable[::-1], hashes[::-1], strict=True)}
        seen = self._look_at([entry for entry, _ in new.values() if entry.id not in here])
        # What is here with another content is refused, and kept with the child and the day that it names.
        edited = [entry for entry, digest in new.values() if here.get(entry.id, digest) != digest]
        looked = {**seen, **self._look_at(edited)} if edited else seen
        self._insert([self._row(one, new[code][1]) for code, one in seen.items() if not one.refusal])
        arrived = [seen[code] for code in self.inserted]
        self._stop_testing([one for one in arrived if one.entry.outcome == "stopped_for_pain"])
        self._settle_earlier_refusals([new[code][1] for code in self.inserted])
        stored = {**here, **_hashes_of(seen)} if seen else here
        contested = self._contested(arrived)
        digests = iter(hashes)
        answers = [
            self._answer(entry, next(digests), stored.get(entry.id), looked, contested)
            if isinstance(entry, Entry)
            else self._refuse_unreadable(entry)
            for entry in part
        ]
        self._keep_refused()
        return answers

    def _look_at(self, entries: Sequence[Entry]) -> dict[uuid.UUID, Seen]:
        offset = timedelta(seconds=self.offset_s or 0.0)
        facts = facts_for(entries, self.viewer, now=self.now, offset=offset)
        return {entry.id: facts.look_at(entry) for entry in entries}

    def _row(self, one: Seen, digest: str) -> Result:
        entry, day = one.entry, one.day
        assert day is not None and one.athlete_id is not None and one.spec is not None
        return Result(
            code=entry.id,
            tablet=entry.tablet,
            seq=entry.seq,
            schema=entry.schema,
            day_id=day.pk,
            athlete_id=one.athlete_id,
            measure_id=one.measure_id,
            protocol_id=one.protocol_id,
            variant=entry.variant,
            side=entry.side,
            trial=entry.trial,
            value=value_to_keep(entry, one.spec),
            levels=None if entry.levels is None else dict(entry.levels),
            outcome=entry.outcome,
            form_break=entry.form_break,
            reminder=entry.reminder,
            how=entry.how,
            at_once=entry.at_once,
            second=entry.second,
            judge_id=one.judge_id,
            recorded_by=self.viewer.member,
            station_pass_id=one.pass_id,
            t_wall=entry.t_wall,
            t_mono_start=entry.t_mono_start,
            t_mono_stop=entry.t_mono_stop,
            offset_s=self.offset_s,
            offline=entry.offline,
            late=day.status == AssessmentDay.Status.CLOSED and not day.imported,
            flags=list(one.flags),
            replaces=entry.replaces,
            reason=entry.reason,
            note=entry.note,
            content_hash=digest,
            received_at=self.now,
        )

    def _insert(self, rows: list[Result]) -> None:
        """All at once; row by row only after the database objected. Sorted, so that two never wait in a ring."""
        rows.sort(key=lambda row: row.code)
        try:
            with transaction.atomic():
                Result.objects.bulk_create(rows)
            self.inserted.update(row.code for row in rows)
        except (IntegrityError, DataError):
            for row in rows:
                self._insert_one(row)

    def _insert_one(self, row: Result) -> None:
        row.pk = None
        try:
            with transaction.atomic():
                row.save(force_insert=True)
            self.inserted.add(row.code)
        except (IntegrityError, DataError):
            if Result.objects.filter(code=row.code).exists():
                return
            if "number_reused" not in row.flags and self._number_taken(row):
                # A tablet that forgot where it was counts from 1 again. What was seen is kept all the same.
                row.tablet = f"{row.tablet[:31]}#{row.code.hex[:8]}"
                row.flags = [*row.flags, "number_reused"]
                self._insert_one(row)
            else:
                self.problems[row.code] = "The club's database would not take this entry."

    @staticmethod
    def _number_taken(row: Result) -> bool:
        return Result.objects.filter(tablet=row.tablet, day_id=row.day_id, seq=row.seq).exists()

    def _stop_testing(self, stops: Sequence[Seen]) -> None:
        """Pain, fear or dizziness: the child's testing ends for the day and a rest note opens, once an entry.

        An entry that says the same stop again, with its sore place, speaks in the note of the first one.
        """
        said_again = Result.objects.filter(
            replaces__in=[one.entry.id for one in stops], outcome="stopped_for_pain"
        ).values_list("replaces", "athlete_id")
        later = set(said_again) if stops else set()
        for one in sorted(stops, key=lambda stop: (stop.athlete_id or 0, stop.seen_at)):
            # An old sheet tells of a pain that is over: it must not make a child rest today.
            day = one.day
            if day is None or day.imported or one.athlete_id is None:
                continue
            if (one.entry.id, one.athlete_id) not in later and not self._said_in_the_first_note(one):
                self._open_rest_note(one, day)
            there, _ = Attendance.objects.get_or_create(
                day_id=day.pk, athlete_id=one.athlete_id, defaults={"present": True}
            )
            if there.stopped_at is None or there.stopped_at > one.seen_at:
                Attendance.objects.filter(pk=there.pk).update(stopped_at=one.seen_at)

    def _open_rest_note(self, one: Seen, day: KnownDay) -> None:
        assert one.athlete_id is not None
        note, new = RestNote.objects.get_or_create(
            from_entry=one.entry.id,
            defaults={
                "athlete_id": one.athlete_id,
                "areas": resting_areas(one.entry.areas),
                "note": one.entry.note,
                "opened_on": day.held_on,
                "opened_at": one.seen_at,
                "opened_by_id": one.judge_id or (self.viewer.member.pk if self.viewer.member else None),
            },
        )
        if new:
            audit.note(self.viewer, "opened a rest note", note.athlete)

    def _said_in_the_first_note(self, one: Seen) -> bool:
        """Whether the stop has its note already; what a person has narrowed or ended since then stays as it is."""
        if one.entry.replaces is None:
            return False
        note = RestNote.objects.filter(from_entry=one.entry.replaces, athlete=one.athlete_id).first()
        if note is None:
            return False
        note.from_entry = one.entry.id
        if note.narrowed_at is None and note.ended_on is None:
            note.areas, note.note = resting_areas(one.entry.areas), one.entry.note or note.note
        note.save(update_fields=["from_entry", "areas", "note"])
        return True

    def _contested(self, arrived: Sequence[Seen]) -> frozenset[uuid.UUID]:
        codes = [one.entry.id for one in arrived if one.entry.outcome in EVIDENCE]
        if not codes:
            return frozenset()
        return frozenset(Result.objects.filter(code__in=codes).contested().values_list("code", flat=True))

    def _answer(
        self,
        entry: Entry,
        digest: str,
        stored: str | None,
        seen: Mapping[uuid.UUID, Seen],
        contested: frozenset[uuid.UUID],
    ) -> Answer:
        code = str(entry.id)
        if stored is None:
            one = seen[entry.id]
            reason = one.refusal or self.problems.get(
                entry.id, "The club's database would not take this entry."
            )
            self._refuse(entry.id, entry_to_json(entry), digest, reason, one)
            return Answer(code, "refused", reason)
        if stored != digest:
            self._refuse(entry.id, entry_to_json(entry), digest, ID_REUSED, seen.get(entry.id))
            return Answer(code, "refused", ID_REUSED)
        if entry.id not in self.inserted:
            return Answer(code, "already_here")
        self.inserted.discard(entry.id)
        if entry.id in contested:
            return Answer(code, "conflict", "Another entry stands in the same place. Both are kept.")
        return Answer(code, "stored")

    def _refuse_unreadable(self, one: Unreadable) -> Answer:
        digest = body_hash(one.body)
        try:
            code = uuid.UUID(one.id)
        except ValueError:
            code = uuid.uuid5(_NAMELESS, digest)
        self._refuse(code, one.body, digest, one.reason, None)
        return Answer(one.id, "refused", one.reason)

    def _refuse(
        self, code: uuid.UUID, body: Mapping[str, Any], digest: str, reason: str, one: Seen | None
    ) -> None:
        self.refused.append(
            RefusedEntry(
                entry=code,
                day_id=one.day.pk if one is not None and one.day is not None else None,
                athlete_id=one.athlete_id if one is not None else None,
                body=dict(body),
                body_hash=digest,
                reason=reason[:200],
                received_at=self.now,
            )
        )

    def _keep_refused(self) -> None:
        """Keep each refused body once, however often it is sent."""
        wanted = {(row.entry, row.body_hash): row for row in self.refused}
        known = RefusedEntry.objects.filter(entry__in={row.entry for row in self.refused})
        for place in known.values_list("entry", "body_hash") if wanted else ():
            wanted.pop(place, None)
        for (entry, digest), row in sorted(wanted.items(), key=lambda pair: str(pair[0])):
            RefusedEntry.objects.get_or_create(
                entry=entry,
                body_hash=digest,
                defaults={
                    "day_id": row.day_id,
                    "athlete_id": row.athlete_id,
                    "body": row.body,
                    "reason": row.reason,
                    "received_at": row.received_at,
                },
            )

    def _settle_earlier_refusals(self, digests: Sequence[str]) -> None:
        """An entry that was refused before and is taken now needs nobody any more."""
        if digests:
            waiting = RefusedEntry.objects.waiting().filter(entry__in=self.inserted, body_hash__in=digests)
            waiting.update(settled_at=self.now, settled_by=self.viewer.member)


def _hashes_of(codes: Iterable[uuid.UUID]) -> dict[uuid.UUID, str]:
    return dict(Result.objects.filter(code__in=list(codes)).values_list("code", "content_hash"))
