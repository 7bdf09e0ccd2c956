"""The law of every fault: made = stored, once, plus in view on a tablet, by id; nothing is shown as stored that is not."""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable

from assessments.models import Result
from tests.browser.tablet import Tablet

AT_THE_CLUB = {"stored", "conflict"}


def stored_ids() -> list[uuid.UUID]:
    """What the club holds, repeats included."""
    return list(Result.objects.order_by("pk").values_list("code", flat=True))


def until(holds: Callable[[], bool], *, seconds: float = 20) -> None:
    """Wait for something at the club; a browser's own waiting cannot see it."""
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, "it never came about"
        time.sleep(0.05)


def check_law(*tablets: Tablet, made: int) -> None:
    """`made` is how many entries the hands made; each stands at the club or in view, none twice, none in vain."""
    # What is shown is read first: an entry that arrives in between is no lie.
    shown = {record["id"]: record["state"] for tablet in tablets for record in tablet.records()}
    club = stored_ids()
    assert len(club) == len(set(club)), "an entry is stored twice"
    known = {str(code) for code in club} | set(shown)
    assert len(known) == made, f"{made} made, {len(known)} known: {shown}"
    lies = [one for one, state in shown.items() if state in AT_THE_CLUB and uuid.UUID(one) not in set(club)]
    assert not lies, f"shown as at the club, but not there: {lies}"
