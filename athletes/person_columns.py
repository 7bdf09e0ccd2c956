"""Which column of a list holds what about a child, and which columns are left alone on purpose."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from athletes.person_names import PersonName, split_name
from athletes.sheet_file import Line, fold
from athletes.written_dates import DateOrder

Role = Literal["full", "first", "last", "born", "group", "joined", "email", "guardian"]

_WORDS: Mapping[Role, frozenset[str]] = {
    "full": frozenset(
        {"name", "full name", "names", "who", "name of child", "name of gymnast", "first and last name"}
        | {
            "surname first name",
            "last name first name",
            "name surname",
            "first name surname",
            "first name last name",
        }
    ),
    "first": frozenset(
        {"first name", "first", "forename", "given name", "given names", "firstname", "fname", "first names"}
    ),
    "last": frozenset({"last name", "last", "surname", "family name", "lastname", "lname", "second name"}),
    "born": frozenset(
        {
            "date of birth",
            "dob",
            "d o b",
            "birth date",
            "birthdate",
            "birthday",
            "born",
            "born on",
            "birth",
            "date born",
        }
    ),
    "group": frozenset(
        {"group", "groups", "class", "squad", "team", "training group", "class name", "group name"}
    ),
    "joined": frozenset(
        {"joined", "joined on", "date joined", "start date", "started", "member since", "since"}
    ),
    "email": frozenset(
        f"{who} {what}".strip()
        for who in (
            "",
            "guardian",
            "parent",
            "carer",
            "contact",
            "mum",
            "mom",
            "dad",
            "mother",
            "father",
            "family",
        )
        for what in ("email", "e mail", "mail", "email address", "e mail address", "mail address")
    ),
    "guardian": frozenset(
        {
            "guardian",
            "parent",
            "carer",
            "guardian name",
            "parent name",
            "carer name",
            "parent guardian",
            "contact name",
            "contact",
        }
    ),
}
_CHILD_WORDS = frozenset(
    {"child", "childs", "s", "gymnast", "gymnasts", "athlete", "athletes", "member", "members", "participant"}
)
_DATE_WORDS = frozenset({"dd", "mm", "yyyy", "yy", "d", "m", "y", "day", "month", "year"})
_SENSITIVE = frozenset(
    {"sex", "gender", "weight", "height", "bmi", "mass", "medical", "medication", "allergy"}
    | {
        "allergies",
        "health",
        "diagnosis",
        "disability",
        "injury",
        "injuries",
        "ethnicity",
        "religion",
        "nationality",
    }
    | {"address", "postcode", "phone", "mobile", "telephone", "school", "photo", "insurance"}
)


@dataclass(frozen=True, slots=True)
class PersonColumns:
    """Column numbers by role; e-mail columns may be several."""

    by_role: Mapping[Role, int]
    emails: tuple[int, ...] = ()
    second: tuple[int, ...] = ()  # columns for a role that another column already fills
    order: DateOrder = ""  # stated in the header of the birth date, such as 'dd/mm/yyyy'

    @property
    def used(self) -> frozenset[int]:
        """Every column that is read."""
        return frozenset(self.by_role.values()) | frozenset(self.emails)

    @property
    def names_a_child(self) -> bool:
        """True when a line can say who it is about."""
        return "full" in self.by_role or ("first" in self.by_role and "last" in self.by_role)

    def name_on(self, line: Line) -> PersonName:
        """The name on this line, from one column or from two."""
        text = {role: line.cell(column).text for role, column in self.by_role.items()}
        if "last" in text:
            return PersonName(text.get("first", text.get("full", "")), text["last"])
        return split_name(text.get("full", ""))


def role_of(header: str) -> Role | None:
    """What a header says that the column holds; None when it is none of ours."""
    words = [word for word in fold(header).split() if not word.isdigit()]
    without_format = [word for word in words if word not in _DATE_WORDS or header.casefold().startswith(word)]
    own = [word for word in without_format if word not in _CHILD_WORDS]
    if words and not own:
        return "full"  # 'Child', 'Gymnast'
    for tried in (" ".join(words), " ".join(without_format), " ".join(own)):
        for role, known in _WORDS.items():
            if tried in known:
                return role
    return None


def is_sensitive(header: str) -> bool:
    """True for what the club should not bring in at all: body, health, home."""
    return bool(_SENSITIVE & set(fold(header).split()))


def person_columns(header: Line) -> PersonColumns:
    """The columns about the child under this header."""
    by_role: dict[Role, int] = {}
    emails: list[int] = []
    second: list[int] = []
    order: DateOrder = ""
    for column, cell in enumerate(header.cells):
        role = role_of(cell.text)
        if role is None:
            continue
        if role == "email":
            emails.append(column)
        elif role in by_role:
            second.append(column)
        else:
            by_role[role] = column
            if role == "born":
                order = _order_in(cell.text)
    if "full" in by_role and "first" in by_role and "last" in by_role:
        second.append(by_role.pop("full"))
    return PersonColumns(by_role, tuple(emails), tuple(second), order)


def _order_in(header: str) -> DateOrder:
    letters = re.sub(r"[^a-z]+", " ", header.casefold())
    if re.search(r"\bd+ m+ y+\b", letters):
        return "day_first"
    return "month_first" if re.search(r"\bm+ d+ y+\b", letters) else ""
