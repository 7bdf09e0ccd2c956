"""The club's name and the menu, for every page."""

from __future__ import annotations

from django.http import HttpRequest
from django.urls import reverse

from club.access import Can, Viewer
from club.models import ClubProfile

#: (word, URL name, right, names of pages under it)
MENU = (
    ("Today", "club:home", Can.SIGN_IN),
    ("Test days", "assessments:day_list", Can.SEE_DAYS),
    ("Children", "athletes:athlete_list", Can.SEE_CHILDREN),
    ("Groups", "athletes:group_list", Can.SEE_CHILDREN),
    ("Programme", "assessments:programme", Can.SEE_PROGRAMME),
    ("Numbers", "assessments:numbers", Can.SEE_NUMBERS),
    ("People", "club:member_list", Can.MANAGE_PEOPLE),
    ("Guide", "club:guide", Can.SEE_CHILDREN),
)


def club(request: HttpRequest) -> dict[str, object]:
    """Club, viewer and menu. Guardians get no menu: they have one page."""
    viewer: Viewer | None = getattr(request, "viewer", None)
    if viewer is None:
        return {"club": ClubProfile.current(), "menu": []}
    menu = []
    if viewer.role is not None and not viewer.is_guardian:
        path = request.path
        for word, name, right in MENU:
            if viewer.can(right):
                url = reverse(name)
                here = path == url if url == "/" else path.startswith(url)
                menu.append({"word": word, "url": url, "here": here})
    return {"club": ClubProfile.current(), "viewer": viewer, "menu": menu, "Can": Can}
