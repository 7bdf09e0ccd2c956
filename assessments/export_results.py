"""Results as a sheet: one row an entry that stands, safe to open in a spreadsheet program."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from assessments.models import Result
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


def plain(text: str) -> str:
    """A text that a spreadsheet program takes as text: an apostrophe stops what looks like a formula."""
    return f"'{text}" if text.startswith(DANGEROUS) or text.lstrip().startswith(DANGEROUS) else text


def _levels(levels: dict[str, int | None] | None) -> str:
    given = (levels or {}).items()
    return "; ".join(f"{name} {'not seen' if level is None else level}" for name, level in given)
