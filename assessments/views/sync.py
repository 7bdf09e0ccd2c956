"""What tablets say to the club, and what the club answers. JSON in, JSON out; never a redirect.

Every request and every answer carries the header `X-Groundwork-Protocol: 1`; an answer without it came from
somebody else (a sign-in page, a wifi portal) and says nothing. A station proves itself with the header
`X-Station-Pass`; a signed-in member with the session and a fresh `X-CSRFToken` from `sync_token`.

    POST /days/<day>/sync/            {tablet, label, version, sent_at, made, highest_seq, waiting, entries: [entry, ...]}
         -> 200 {answers: [{id, word, reason}], now, day: {code, status}}
         `entry` is described in assessments/entries.py. A bare list is read as the entries.
         word is stored | already_here | conflict | refused, and final.
         made counts the tablet's own entries of the day, waiting what waits beside the list. A tablet with nothing to
         send says the same with an empty list, once a minute.
    POST /days/<day>/sync/reconcile/  {tablet, label, sent_at, ids: [...], made, highest_seq, waiting, left}
         -> 200 {missing: [ids the club lacks], settled: [refused ids that a person dealt with], stored: number here,
                 gaps: [numbers not seen], now, day}
         left true: the tablet holds nothing that the club lacks, and is emptied now.
    POST /days/<day>/sync/roll/       {sent_at, lines: [{child, at, present, present_at, sore, sore_at, areas, note, by}]}
         -> 200 {known: [child codes written down], now, day}
         present true | false; sore "yes" | "no"; areas body areas for a yes; by the coach who asked. present_at and
         sore_at say when each was said; without them it is at.
    GET  /sync/token/                 -> 200 {token, member: code, name}
    GET  /days/<day>/floor/data/      -> 200 the day, see assessments/floor_sheet.py

    401 {word: "sign_in"}    nobody is signed in, or the pass has ended: keep everything, say so, send later
    403 {word: "token_old"}  fetch a new token once, then ask for a sign-in     403 {word: "not_allowed"}
    404 {word: "no_such_day"}   400 {word: "unreadable"}   413 {word: "too_big"}: send fewer at a time
    anything else: nothing is known, send again

`sent_at` is the tablet's clock when it sent; the club keeps the difference beside each entry.
"""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import Any

from django.http import HttpResponse
from django.middleware.csrf import get_token
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from assessments import attendance
from assessments.entries import entry_from_json
from assessments.floor_sheet import floor_sheet
from assessments.models import AssessmentDay
from assessments.reconciling import Standing, reconcile, take
from assessments.views.tablet_door import Said, answer, tablet_door
from club.access import Can
from club.http import ClubRequest

#: A clock that went back to 1970 is a flat battery; one that is a century off says nothing. In seconds.
FURTHEST_OFF = 100 * 366 * 24 * 3600


@tablet_door(Can.RECORD_RESULTS)
@require_POST
def sync(request: ClubRequest, code: uuid.UUID, said: Said) -> HttpResponse:
    """Take entries; each gets its final word."""
    entries = said.list_of("entries")
    offset = offset_of(said.body.get("sent_at"))
    answers = take(
        [entry_from_json(one) for one in entries],
        request.viewer,
        day=AssessmentDay.objects.visible_to(request.viewer).filter(code=code).first(),
        standing=_standing(said) if "made" in said.body else None,
        offset_s=offset,
    )
    words = [{"id": one.id, "word": one.word, "reason": one.reason} for one in answers]
    return answer({"answers": words, **_day_now(request, code)})


@tablet_door(Can.RECORD_RESULTS)
@require_POST
def sync_reconcile(request: ClubRequest, code: uuid.UUID, said: Said) -> HttpResponse:
    """Compare what the tablet holds with what the club holds."""
    day = AssessmentDay.objects.visible_to(request.viewer).filter(code=code).first()
    if day is None:
        return answer({"word": "no_such_day"}, status=404)
    ids = [one for one in map(_code_or_none, said.list_of("ids")) if one is not None]
    found = reconcile(day, standing=_standing(said), ids=ids)
    body = {
        "missing": [str(one) for one in found.missing],
        "settled": [str(one) for one in found.settled],
        "stored": found.stored,
        "gaps": found.gaps,
    }
    return answer({**body, **_day_now(request, code)})


@tablet_door(Can.RECORD_RESULTS)
@require_POST
def sync_roll(request: ClubRequest, code: uuid.UUID, said: Said) -> HttpResponse:
    """Who is there, and who is sore."""
    day = AssessmentDay.objects.visible_to(request.viewer).filter(code=code).first()
    if day is None:
        return answer({"word": "no_such_day"}, status=404)
    lines = [attendance.roll_line_from_json(one) for one in said.list_of("lines")]
    offset = timedelta(seconds=offset_of(said.body.get("sent_at")) or 0.0)
    known = attendance.mark(day, [line for line in lines if line is not None], request.viewer, offset=offset)
    return answer({"known": sorted(str(one) for one in known), **_day_now(request, code)})


@tablet_door(Can.RECORD_RESULTS)
@require_GET
def sync_token(request: ClubRequest, said: Said) -> HttpResponse:
    """A fresh token for the member who is signed in."""
    member = request.viewer.member
    if member is None:
        return answer({"word": "sign_in"}, status=401)
    return answer({"token": get_token(request), "member": str(member.code), "name": member.name})


@tablet_door(Can.RECORD_RESULTS)
@require_GET
def floor_data(request: ClubRequest, code: uuid.UUID, said: Said) -> HttpResponse:
    """The day as a tablet may know it."""
    days = AssessmentDay.objects.visible_to(request.viewer).select_related("edition")
    day = days.defer("edition__document").filter(code=code).first()
    if day is None:
        return answer({"word": "no_such_day"}, status=404)
    return answer({**floor_sheet(day, request.viewer), "now": timezone.now().isoformat()})


def _standing(said: Said) -> Standing:
    return Standing(
        tablet=said.text("tablet", 40),
        label=said.text("label", 60),
        made=said.whole("made"),
        highest_seq=said.whole("highest_seq"),
        waiting=said.whole("waiting"),
        left=said.body.get("left") is True,
    )


def offset_of(sent_at: object) -> float | None:
    """The club's clock minus the tablet's, in seconds; none when the tablet did not say, or said nonsense."""
    try:
        moment = datetime.fromisoformat(str(sent_at).replace("Z", "+00:00"))
        offset = round((timezone.now() - moment).total_seconds(), 3) if moment.tzinfo else None
    except (ValueError, OverflowError):
        return None
    return offset if offset is not None and abs(offset) < FURTHEST_OFF else None


def _day_now(request: ClubRequest, code: uuid.UUID) -> dict[str, Any]:
    status = (
        AssessmentDay.objects.visible_to(request.viewer).filter(code=code).values_list("status", flat=True)
    )
    return {"now": timezone.now().isoformat(), "day": {"code": str(code), "status": status.first() or ""}}


def _code_or_none(value: object) -> uuid.UUID | None:
    try:
        return uuid.UUID(str(value))
    except ValueError:
        return None
