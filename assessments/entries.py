"""One observation as a tablet, a file or a person at the desk hands it in, and how it is read from JSON.

The wire (and the tablet's file copy) is a list of objects with these names:

    id        UUID made when the observation was made; it stands for the observation for ever
    tablet    name of the tablet's store; "import-..." and "desk-..." are not tablets
    seq       1, 2, 3... on that tablet and day, so that the club sees a gap; 0 when the tablet could not count
    schema    number of this format, 1
    day, child            UUID codes          measure   id of the measure or shape
    variant, side, trial  "" | its id, "" | "left" | "right", 1, 2, 3...
    value     number in the unit of the measure, or null       levels   {criterion: 0 | 1 | 2 | null}, shapes only
    outcome   see records.Outcome             how       timed | counted | typed | rubric | imported
    form_break  what broke first              reminder  the one spoken cue was given
    at_once   children timed at the same time second    a second look by another coach
    judge     UUID code of the coach, or null pass      UUID code of the station pass, or null
    t_wall    the tablet's clock, ISO 8601 with zone or milliseconds since 1970
    t_mono_start, t_mono_stop   the running clock in milliseconds    offline   made without the club in reach
    replaces  UUID of the entry that this one takes the place of; it may arrive later than this one
    reason, note          free words          areas     body areas that hurt, for stopped_for_pain

Names that are not known here are left alone, so a newer tablet can speak to an older club.
"""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, cast, get_args

from assessments.analysis.records import Outcome, Side

SCHEMA = 1
HOWS = ("timed", "counted", "typed", "rubric", "imported")
HIGHEST_TRIAL = 99
MOST_AT_ONCE = 12
_HIGHEST_SEQ = 2_147_483_647
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_LAST_MOMENT = datetime(2200, 1, 1, tzinfo=UTC)
#: What brings an entry of an older schema to the next one: {1: to_schema_2}. Kept for a year after a release.
ADAPTERS: Mapping[int, Callable[[Mapping[str, Any]], Mapping[str, Any]]] = {}


@dataclass(frozen=True, slots=True)
class Entry:
    """One observation: a trial that was seen, an undo, or a correction of an earlier entry."""

    id: uuid.UUID
    tablet: str
    seq: int
    day: uuid.UUID
    child: uuid.UUID
    measure: str
    outcome: Outcome
    how: str
    t_wall: datetime
    variant: str = ""
    side: Side = ""
    trial: int = 1
    value: float | None = None
    levels: Mapping[str, int | None] | None = None
    form_break: str = ""
    reminder: bool = False
    at_once: int = 1
    second: bool = False
    judge: uuid.UUID | None = None
    station_pass: uuid.UUID | None = None
    t_mono_start: float | None = None
    t_mono_stop: float | None = None
    offline: bool = False
    replaces: uuid.UUID | None = None
    reason: str = ""
    note: str = ""
    areas: tuple[str, ...] = ()
    schema: int = SCHEMA


@dataclass(frozen=True, slots=True)
class Unreadable:
    """Something in the list that is no entry: kept as it came, and answered like every other."""

    id: str
    body: Mapping[str, Any]
    reason: str


class _Unclear(ValueError):
    """A field cannot be read; the message says which and why."""


def entry_from_json(body: object) -> Entry | Unreadable:
    """Read one object of the list. It never raises: what cannot be read comes back as Unreadable."""
    if not isinstance(body, Mapping):
        return Unreadable("", {"body": clean(body)}, "This is not an entry.")
    kept: Mapping[str, Any] = clean(body)
    said = kept.get("id")
    name = said[:40] if isinstance(said, str) else ""
    try:
        return _read(_Fields(_brought_up_to_date(kept)))
    except _Unclear as error:
        return Unreadable(name, kept, str(error))


def entry_to_json(entry: Entry) -> dict[str, Any]:
    """The same entry as the wire carries it."""
    return {
        "id": str(entry.id),
        "tablet": entry.tablet,
        "seq": entry.seq,
        "schema": entry.schema,
        "day": str(entry.day),
        "child": str(entry.child),
        "measure": entry.measure,
        "variant": entry.variant,
        "side": entry.side,
        "trial": entry.trial,
        "value": entry.value,
        "levels": None if entry.levels is None else dict(entry.levels),
        "outcome": entry.outcome,
        "form_break": entry.form_break,
        "reminder": entry.reminder,
        "how": entry.how,
        "at_once": entry.at_once,
        "second": entry.second,
        "judge": _text_of(entry.judge),
        "pass": _text_of(entry.station_pass),
        "t_wall": entry.t_wall.astimezone(UTC).isoformat(),
        "t_mono_start": entry.t_mono_start,
        "t_mono_stop": entry.t_mono_stop,
        "offline": entry.offline,
        "replaces": _text_of(entry.replaces),
        "reason": entry.reason,
        "note": entry.note,
        "areas": list(entry.areas),
    }


#: How an entry travelled is not what was observed: the same entry may come by wire, file or another pass.
_TRAVEL = ("schema", "pass", "offline")


def content_hash(entry: Entry) -> str:
    """Equal for two entries that say the same, whichever way they came."""
    body = entry_to_json(entry)
    for name in _TRAVEL:
        del body[name]
    return body_hash(body)


def body_hash(body: Mapping[str, Any]) -> str:
    """SHA-256 of a body with its names in order."""
    text = json.dumps(body, sort_keys=True, separators=(",", ":"), allow_nan=False, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def clean(value: object, depth: int = 0) -> Any:
    """Plain JSON that both databases can keep: no zero bytes, no half characters, no endless numbers."""
    if isinstance(value, str):
        return value.replace("\x00", "�").encode("utf-8", "replace").decode()[:2000]
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, int | float):
        return value if abs(value) < 1e15 else str(value)[:40]  # also text: NaN, which is below nothing
    if depth > 4:
        return "…"
    if isinstance(value, Mapping):
        pairs = list(value.items())[:80]
        return {clean(str(key)): clean(inner, depth + 1) for key, inner in pairs}
    if isinstance(value, list | tuple):
        return [clean(inner, depth + 1) for inner in value[:80]]
    return str(value)[:200]


def _brought_up_to_date(body: Mapping[str, Any]) -> Mapping[str, Any]:
    schema = body.get("schema", SCHEMA)
    if isinstance(schema, bool) or not isinstance(schema, int) or schema < 1:
        raise _Unclear("schema should be a whole number from 1.")
    while schema in ADAPTERS:
        body = ADAPTERS[schema](body)
        schema += 1
    return {**body, "schema": schema}


def _text_of(code: uuid.UUID | None) -> str | None:
    return None if code is None else str(code)


class _Fields:
    """The fields of one object, asked for by name and kind."""

    def __init__(self, body: Mapping[str, Any]) -> None:
        self.body = body

    def code(self, name: str) -> uuid.UUID:
        found = self.maybe_code(name)
        if found is None:
            raise _Unclear(f"{name} is missing.")
        return found

    def maybe_code(self, name: str) -> uuid.UUID | None:
        value = self.body.get(name)
        if value is None or value == "":
            return None
        try:
            return uuid.UUID(value)
        except (ValueError, AttributeError, TypeError):
            raise _Unclear(f"{name} is not a code.") from None

    def text(self, name: str, most: int, *, needed: bool = False) -> str:
        value = self.body.get(name)
        if value is None or value == "":
            if needed:
                raise _Unclear(f"{name} is missing.")
            return ""
        if not isinstance(value, str) or len(value) > most:
            raise _Unclear(f"{name} should be at most {most} characters.")
        return value

    def words(self, name: str, most: int) -> str:
        """Free words: a long remark is cut, never a reason to refuse what was seen."""
        value = self.body.get(name)
        return "" if value is None else str(value)[:most]

    def whole(self, name: str, low: int, high: int, *, default: int | None = None) -> int:
        value = self.body.get(name, default)
        if isinstance(value, float) and value.is_integer():
            value = int(value)
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise _Unclear(f"{name} should be a whole number from {low} to {high}.")
        return value

    def number(self, name: str) -> float | None:
        value = self.body.get(name)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise _Unclear(f"{name} should be a number.")
        return float(value)

    def flag(self, name: str) -> bool:
        value = self.body.get(name)
        if value is not None and not isinstance(value, bool):
            raise _Unclear(f"{name} should be true or false.")
        return value is True

    def choice(self, name: str, allowed: tuple[str, ...], *, needed: bool = True) -> str:
        value = self.text(name, 40, needed=needed)
        if value not in allowed:
            raise _Unclear(f"{name} is not one of the known words.")
        return value

    def moment(self, name: str) -> datetime:
        value = self.body.get(name)
        try:
            if isinstance(value, int | float) and not isinstance(value, bool):
                found = _EPOCH + timedelta(milliseconds=value)
            else:
                found = datetime.fromisoformat(str(value).replace("Z", "+00:00"))
            found = found.astimezone(UTC) if found.tzinfo else found.replace(tzinfo=UTC)
        except (ValueError, OverflowError):
            raise _Unclear(f"{name} is not a moment.") from None
        if not _EPOCH <= found < _LAST_MOMENT:
            raise _Unclear(f"{name} is not a moment between 1970 and 2200.")
        return found

    def levels(self, name: str) -> dict[str, int | None] | None:
        value = self.body.get(name)
        if value is None:
            return None
        if not isinstance(value, Mapping):
            raise _Unclear(f"{name} should name each criterion.")
        for level in value.values():
            if isinstance(level, bool) or level not in (0, 1, 2, None):
                raise _Unclear("A level is 0, 1, 2 or not seen.")
        return {str(key): None if level is None else int(level) for key, level in value.items()}

    def list_of_words(self, name: str) -> tuple[str, ...]:
        value = self.body.get(name)
        if not isinstance(value, list):
            return ()
        return tuple(word for word in value if isinstance(word, str))[:20]


def _read(fields: _Fields) -> Entry:
    return Entry(
        id=fields.code("id"),
        tablet=fields.text("tablet", 40, needed=True),
        seq=fields.whole("seq", 0, _HIGHEST_SEQ),
        schema=fields.whole("schema", 1, 32_767, default=SCHEMA),
        day=fields.code("day"),
        child=fields.code("child"),
        measure=fields.text("measure", 60, needed=True),
        variant=fields.text("variant", 40),
        side=cast(Side, fields.choice("side", ("", "left", "right"), needed=False)),
        trial=fields.whole("trial", 1, HIGHEST_TRIAL, default=1),
        value=fields.number("value"),
        levels=fields.levels("levels"),
        outcome=cast(Outcome, fields.choice("outcome", get_args(Outcome))),
        form_break=fields.words("form_break", 60),
        reminder=fields.flag("reminder"),
        how=fields.choice("how", HOWS),
        at_once=fields.whole("at_once", 1, MOST_AT_ONCE, default=1),
        second=fields.flag("second"),
        judge=fields.maybe_code("judge"),
        station_pass=fields.maybe_code("pass"),
        t_wall=fields.moment("t_wall"),
        t_mono_start=fields.number("t_mono_start"),
        t_mono_stop=fields.number("t_mono_stop"),
        offline=fields.flag("offline"),
        replaces=fields.maybe_code("replaces"),
        reason=fields.words("reason", 120),
        note=fields.words("note", 200),
        areas=fields.list_of_words("areas"),
    )
