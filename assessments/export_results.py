"""Results as a sheet, safe to open in a spreadsheet program: what stands of some children, or every entry of one day."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from assessments.models import AssessmentDay, RefusedEntry, Result
from athletes.models import Athlete

HEADER = (
    "Day", "Child", "Group", "Measure", "Protocol", "Variant", "Side", "Try", "Value", "Criteria", "Outcome",
    "What broke first", "Timed at once", "Second look", "Play day", "Entry",
)  # fmt: skip
FIELDS = (
    "day__held_on", "athlete__first_name", "athlete__last_name", "athlete__group__name", "measure__slug",
    "protocol__version", "variant", "side", "trial", "value", "levels", "outcome", "form_break", "at_once", "second",
    "day__familiarisation", "code",
)  # fmt: skip
ENTRY_HEADER = (
    "Received", "Answer", "Why", "Tablet", "Number", "Tablet's clock", "Club clock minus tablet's (s)", "Made offline",
    "Came late", "Child", "Measure", "Protocol", "Variant", "Side", "Try", "Value", "Criteria", "Outcome",
    "What broke first", "How", "Timed at once", "Second look", "Judge", "Entered by", "Flags", "Replaces", "Entry",
    "Schema", "Fingerprint",
)  # fmt: skip
ENTRY_FIELDS = (
    "received_at", "reason", "tablet", "seq", "t_wall", "offset_s", "offline", "late", "athlete__first_name",
    "athlete__last_name", "measure__slug", "protocol__version", "variant", "side", "trial", "value", "levels", "outcome",
    "form_break", "how", "at_once", "second", "judge__name", "recorded_by__name", "flags", "replaces", "code", "schema",
    "content_hash",
)  # fmt: skip
#: A cell that begins like this would be run as a formula; wide signs are read as plain ones in some languages.
DANGEROUS = ("=", "+", "-", "@", "＝", "＋", "－", "＠", "\t", "\r", "\n")


def as_csv(athletes: Iterable[Athlete]) -> str:
    """Every entry that stands of these children, by day and child. Rest notes, staff and families are not in it."""
    rows = (
        Result.objects.filter(athlete__in=[athlete.pk for athlete in athletes])
        .current()
        .order_by(
            "day__held_on",
            "athlete__first_name",
            "athlete__last_name",
            "measure__slug",
            "side",
            "trial",
            "pk",
        )
        .values_list(*FIELDS)
    )
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(HEADER)
    for on, first, last, group, item, version, variant, side, trial, value, levels, *rest in rows:
        outcome, broke, at_once, second, play, code = rest
        writer.writerow(
            [
                on.isoformat(), plain(f"{first} {last}".strip()), plain(group or ""), plain(item), version,
                plain(variant), side, trial, "" if value is None else f"{value:g}", plain(_levels(levels)), outcome,
                plain(broke), at_once, "yes" if second else "", "yes" if play else "", code,
            ]
        )  # fmt: skip
    return out.getvalue()


def entries_as_csv(day: AssessmentDay) -> str:
    """Every entry of a day in the order of its coming, replaced and refused ones too: who, when, where, and the answer.

    One row an entry; times in UTC as ISO 8601, seconds for the clocks' difference. Notes and sore places are not in it, nor
    are children whose disclosure is restricted.
    """
    results = Result.objects.for_day(day).filter(athlete__restricted=False)
    standing = set(results.current().values_list("code", flat=True))
    contested = set(results.contested().values_list("code", flat=True))
    rows = []
    for received, reason, tablet, seq, wall, offset, *rest in results.values_list(*ENTRY_FIELDS):
        offline, late, first, last, item, version, variant, side, trial, value, levels, outcome, *more = rest
        broke, how, at_once, second, judge, by, flags, replaces, code, schema, digest = more
        answer = "conflict" if code in contested else "stored" if code in standing else "stored, not standing"
        rows.append((received, [
            received.isoformat(), answer, plain(reason), plain(tablet), seq, wall.isoformat(),
            "" if offset is None else f"{offset:.3f}", _yes(offline), _yes(late), plain(f"{first} {last}".strip()),
            plain(item), version, plain(variant), side, trial, "" if value is None else f"{value:g}",
            plain(_levels(levels)), outcome, plain(broke), how, at_once, _yes(second), plain(judge or ""),
            plain(by or ""), " ".join(flags), replaces or "", code, schema, digest,
        ]))  # fmt: skip
    free = RefusedEntry.objects.filter(day=day).exclude(athlete__restricted=True)
    for refused in free.select_related("athlete"):
        body = refused.body
        told = [plain(_said(body.get(name))) for name in ("measure", "", "variant", "side", "trial", "value")]
        rows.append((refused.received_at, [
            refused.received_at.isoformat(), "refused" if refused.settled_at is None else "refused, settled",
            plain(refused.reason), plain(_said(body.get("tablet"))), plain(_said(body.get("seq"))),
            plain(_said(body.get("t_wall"))), "", "", "", plain(_name_of(refused.athlete)), *told, "",
            plain(_said(body.get("outcome"))), "", "", "", "", "", "", "", "", refused.entry or "", "",
            refused.body_hash,
        ]))  # fmt: skip
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(ENTRY_HEADER)
    writer.writerows(row for _, row in sorted(rows, key=lambda one: one[0]))
    return out.getvalue()


def _name_of(athlete: Athlete | None) -> str:
    return "" if athlete is None else f"{athlete.first_name} {athlete.last_name}".strip()


def _said(value: object) -> str:
    return "" if value is None else str(value)


def _yes(said: bool) -> str:
    return "yes" if said else ""


def plain(text: str) -> str:
    """A text that a spreadsheet program takes as text: an apostrophe stops what looks like a formula."""
    return f"'{text}" if text.startswith(DANGEROUS) or text.lstrip().startswith(DANGEROUS) else text


def _levels(levels: dict[str, int | None] | None) -> str:
    given = (levels or {}).items()
    return "; ".join(f"{name} {'not seen' if level is None else level}" for name, level in given)
