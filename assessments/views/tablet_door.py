"""The guard of the addresses that tablets speak to: JSON only, no redirect, a word for every refusal."""

from __future__ import annotations

import functools
import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import CsrfViewMiddleware
from django.views.decorators.csrf import csrf_exempt

from club.access import Can
from club.http import ClubRequest
from club.middleware import STATION_HEADER

PROTOCOL = "1"
PROTOCOL_HEADER = "X-Groundwork-Protocol"
LARGEST_BODY = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Said:
    """What the tablet sent, read."""

    body: dict[str, Any] = field(default_factory=dict)

    def list_of(self, name: str) -> list[Any]:
        """A list; anything else is an empty one."""
        value = self.body.get(name)
        return value if isinstance(value, list) else []

    def text(self, name: str, most: int) -> str:
        """Words, cut to a length that the database keeps."""
        return str(self.body.get(name) or "").replace("\x00", "")[:most]

    def whole(self, name: str) -> int:
        """A count; anything else is 0."""
        value = self.body.get(name)
        return value if isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 2**31 else 0


def answer(body: dict[str, Any], *, status: int = 200) -> HttpResponse:
    """JSON with the header by which a tablet knows that the club has spoken."""
    response = JsonResponse(body, status=status)
    response.headers[PROTOCOL_HEADER] = PROTOCOL
    return response


def tablet_door(right: Can) -> Callable[[Callable[..., HttpResponse]], Callable[..., HttpResponse]]:
    """Guard a view that tablets speak to, and read what they said."""

    def guard(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
        @csrf_exempt
        @functools.wraps(view)
        def guarded(request: ClubRequest, **kwargs: Any) -> HttpResponse:
            return _refusal(request, right, kwargs.get("code")) or _speak(view, request, kwargs)

        vars(guarded)["guard"] = (right,)
        return guarded

    return guard


def _refusal(request: ClubRequest, right: Can, day: object) -> HttpResponse | None:
    viewer = request.viewer
    if viewer.role is None and viewer.station is None:
        return answer({"word": "sign_in"}, status=401)
    if viewer.station is not None and day is not None and viewer.station.day_code != day:
        # A pass speaks for its own day only. What waits for another day is sent by a person who signs in.
        return answer({"word": "sign_in"}, status=401)
    if not viewer.can(right):
        return answer({"word": "not_allowed"}, status=403)
    # A pass in a header is sent by our own script alone; a cookie goes along with any page's request.
    ambient = not request.headers.get(STATION_HEADER)
    if ambient and request.method == "POST" and not token_is_good(request):
        return answer({"word": "token_old"}, status=403)
    return None


class _TokenCheck(CsrfViewMiddleware):
    """Django's own check, without its page."""

    def _reject(self, request: HttpRequest, reason: str) -> HttpResponse:
        return HttpResponse(status=403)


def token_is_good(request: HttpRequest) -> bool:
    """Whether the request carries a good CSRF token, in a header or a form."""
    check = _TokenCheck(lambda _: HttpResponse())
    check.process_request(request)
    return check.process_view(request, lambda _: HttpResponse(), (), {}) is None


def _speak(view: Callable[..., HttpResponse], request: ClubRequest, kwargs: dict[str, Any]) -> HttpResponse:
    if request.method != "POST":
        return view(request, said=Said(), **kwargs)
    said = str(request.META.get("CONTENT_LENGTH") or "")
    if said.isdecimal() and int(said) > LARGEST_BODY:
        return answer({"word": "too_big"}, status=413)
    try:
        body = json.loads(request.body)
    except (ValueError, RecursionError):
        return answer({"word": "unreadable"}, status=400)
    if isinstance(body, list):
        body = {"entries": body}
    if not isinstance(body, dict):
        return answer({"word": "unreadable"}, status=400)
    return view(request, said=Said(body), **kwargs)
