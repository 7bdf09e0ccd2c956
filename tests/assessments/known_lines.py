"""Known records for tests of what is drawn and said: no database, no calculation."""

from __future__ import annotations

from datetime import date

from assessments.analysis.records import Change, DayScore, Interpretation, Level

BORN = date(2019, 5, 20)
ON = date(2026, 11, 25)


def day(on, value, **given):
    """One scored day of a timed hold, SEM a fifth of the value and at least 2."""
    facts = {
        "on": on,
        "day": f"day-{on:%Y%m%d}",
        "value": float(value),
        "at_least": False,
        "outcome": "scored",
        "trials": 2,
        "at_once": 1,
        "sem": max(2.0, 0.2 * value),
        "first_look": False,
        "familiarisation": False,
        "age": round((on - BORN).days / 365.25, 2),
        "band": "6" if on < date(2026, 5, 20) else "7",
        "zone": "building",
    }
    return DayScore(**(facts | given))


def line(days, *, item="hollow_hold", series="v1:arms_by_side", side="", change=None):
    """One series of one child; the newest day that is no play day is the latest."""
    counted = [one for one in days if not one.familiarisation]
    latest = counted[-1] if counted else None
    return Interpretation(
        athlete="noor",
        item=item,
        series=series,
        side=side,
        days=tuple(days),
        latest=latest,
        level=Level(latest.value, latest.sem**2) if latest else None,
        change=change,
        variant=series.partition(":")[2],
    )


def hollow_line():
    """Nine test days over two bands: a first look, a steady rise."""
    values = (
        (date(2025, 9, 18), 7),
        (date(2025, 11, 20), 10),
        (date(2026, 1, 22), 12),
        (date(2026, 3, 19), 15),
    )
    later = (
        (date(2026, 5, 28), 17),
        (date(2026, 9, 10), 22),
        (date(2026, 10, 15), 26),
        (date(2026, 11, 14), 28),
    )
    days = [day(on, value, first_look=place == 0) for place, (on, value) in enumerate(values + later)]
    return line(days, change=Change("about_the_same", date(2026, 10, 15), 2.0, 12.6))
