"""Who may open what: one line an address. Words: see `Row.of`."""

from __future__ import annotations

from dataclasses import dataclass

OK = frozenset({200, 204})
GONE_ON = frozenset({302})
NO = frozenset({403})
HIDDEN = frozenset({404})
ASKED = frozenset({302})  # to sign in
WRONG = frozenset({422, 400})  # the form was empty, but the door was open


@dataclass(frozen=True)
class Row:
    """One address: its arguments, the method, and what each role gets."""

    args: tuple[str, ...] = ()
    method: str = "get"
    director: frozenset[int] = OK
    coach: frozenset[int] = OK
    other_coach: frozenset[int] = OK
    guardian: frozenset[int] = NO
    outsider: frozenset[int] = NO
    station: frozenset[int] = ASKED
    nobody: frozenset[int] = ASKED

    def of(self, role: str) -> frozenset[int]:
        """Status codes that this role may get."""
        return getattr(self, role)


def open_page(*args: str, **more: frozenset[int]) -> Row:
    """A page without a guard: sign-in and the like."""
    return Row(args, **dict.fromkeys(("guardian", "outsider", "station", "nobody"), OK) | more)


def member_page(*args: str, **more: frozenset[int]) -> Row:
    """A page for everybody who is signed in."""
    return Row(args, **{"guardian": OK, "outsider": OK} | more)


def staff(*args: str, **more: frozenset[int]) -> Row:
    """A page that shows each coach only their own: the page opens, the rows differ."""
    return Row(args, **more)


def circle(*args: str, **more: frozenset[int]) -> Row:
    """About one child, group or day: the other coach is told that there is nothing."""
    return Row(args, **{"other_coach": HIDDEN} | more)


def director(*args: str, **more: frozenset[int]) -> Row:
    """For the director alone; inside the staff the answer is 403."""
    return Row(args, **{"coach": NO, "other_coach": NO} | more)


def post(row: Row, answer: frozenset[int] = WRONG | GONE_ON) -> Row:
    """The same people, by POST: whoever gets 200 on a page gets `answer` here."""
    changed = {
        role: answer if getattr(row, role) == OK else getattr(row, role)
        for role in ("director", "coach", "other_coach", "guardian", "outsider", "station", "nobody")
    }
    return Row(row.args, method="post", **changed)


CLUB = {
    "club:home": member_page(guardian=GONE_ON, outsider=GONE_ON),
    "club:sign_in": open_page(director=GONE_ON, coach=GONE_ON, other_coach=GONE_ON, guardian=GONE_ON, outsider=GONE_ON),
    "club:sign_out": post(open_page(), GONE_ON),
    "club:account": member_page(),
    "club:password_change": member_page(),
    "club:password_reset": open_page(),
    "club:password_reset_sent": open_page(),
    "club:password_reset_new": open_page("x", "y"),
    "club:invitation_accept": open_page(
        "no-such-token", **dict.fromkeys(
            ("director", "coach", "other_coach", "guardian", "outsider", "station", "nobody"), frozenset({410})
        )
    ),
    "club:member_list": director(),
    "club:member_invite": post(director()),
    "club:member": director("member"),
    "club:invitation_withdraw": post(director("nothing"), HIDDEN),
    "club:club_settings": director(),
    "club:audit_trail": director(),
    "club:guide": staff(),
    "club:guide_page": staff("test-day"),
    "club:safeguarding": member_page(),
    "club:service_worker": open_page(),
    "club:manifest": open_page(),
    "club:offline": open_page(),
    "club:leaving": open_page(),
    "club:health": open_page(),
}  # fmt: skip
ATHLETES = {
    "athletes:athlete_list": staff(),
    "athletes:athlete_add": director(),
    "athletes:roster": director(),
    "athletes:roster_preview": director(director=GONE_ON),
    "athletes:roster_apply": post(director()),
    "athletes:roster_drop": post(director()),
    "athletes:athlete": circle("child"),
    "athletes:athlete_edit": director("child"),
    "athletes:athlete_restrict": director("child"),
    "athletes:guardian_add": post(director("child")),
    "athletes:consent_add": post(director("child")),
    "athletes:consent_withdraw": post(director("child", 987654), HIDDEN),
    "athletes:rest_note_open": circle("child"),
    "athletes:athlete_export": director("child"),
    "athletes:athlete_erase": director("child"),
    "athletes:guardian_revoke": post(director("grant")),
    "athletes:guardian_name": post(director("grant")),
    "athletes:rest_note_list": staff(),
    "athletes:rest_note_narrow": circle("rest"),
    "athletes:rest_note_end": circle("rest"),
    "athletes:group_list": staff(),
    "athletes:group_add": director(),
    "athletes:group": circle("group"),
    "athletes:group_edit": director("group"),
    "athletes:coaching_add": post(director("group")),
    "athletes:coaching_end": post(director("group", 987654), HIDDEN),
}
ASSESSMENTS: dict[str, Row] = {
    "assessments:results_import": director(),
    "assessments:results_import_preview": director(director=GONE_ON),
    "assessments:results_import_apply": post(director()),
    "assessments:results_import_drop": post(director()),
    "assessments:import_mapping_forget": post(director(1), HIDDEN),
}
READ = {
    "assessments:child": circle("child"),
    "assessments:child_summary": circle("child"),
    "assessments:skill": circle("child", "bunny_hop"),
    "assessments:skill_decide": post(circle("child", "bunny_hop")),
    "assessments:decision_take_back": post(circle("decision")),
    "assessments:child_export": director("child"),
    "assessments:board": circle("group"),
    "assessments:board_print": circle("group"),
    "assessments:group_progress": circle("group"),
    "assessments:group_export": director("group"),
    "assessments:entries_export": director("day"),
    "assessments:family": staff(director=NO, coach=NO, other_coach=NO, guardian=OK, outsider=OK),
    "assessments:family_report": circle("note", guardian=OK, outsider=HIDDEN),
    "assessments:family_report_list": circle("child"),
    "assessments:family_report_write": post(circle("child")),
    "assessments:family_report_edit": circle("draft_note"),
    "assessments:family_report_approve": post(circle("draft_note")),
    "assessments:family_report_withdraw": post(circle("draft_note")),
}
# Addresses that tablets speak to never redirect: 401 in words for nobody.
TOLD = frozenset({401})
NOTHING_SAID = frozenset({400})
GONE = frozenset({410})


def tablet_post(*args: str) -> Row:
    """A tablet's address, asked with an empty body."""
    said = dict.fromkeys(("director", "coach", "other_coach", "station"), NOTHING_SAID)
    return Row(args, method="post", nobody=TOLD, **said)


DAYS = {
    "assessments:day_list": staff(),
    "assessments:day_plan": staff(),
    "assessments:day": circle("day"),
    "assessments:day_edit": circle("day"),
    "assessments:day_open": post(circle("day")),
    "assessments:day_close": circle("day"),
    "assessments:day_reopen": post(circle("day")),
    "assessments:attendance": circle("day"),
    "assessments:result_list": circle("day"),
    "assessments:day_unsettled": circle("day"),
    "assessments:station_sheets": circle("day"),
    "assessments:station_grid": circle("day", "station"),
    "assessments:outbox_import": circle("day"),
    "assessments:pass_create": circle("day"),
    "assessments:pass_end": post(circle("nothing"), HIDDEN),
    "assessments:station_join": open_page(
        "no-such-token", **dict.fromkeys(
            ("director", "coach", "other_coach", "guardian", "outsider", "station", "nobody"), GONE
        )
    ),
    "assessments:station_leave": open_page(),
    "assessments:result": circle("result"),
    "assessments:result_correct": circle("result"),
    "assessments:result_take_back": circle("result"),
    "assessments:result_move": circle("result"),
    "assessments:conflict_settle": post(circle("result")),
    "assessments:refused_settle": post(circle("nothing"), HIDDEN),
    "assessments:floor": circle("day", station=OK),
    "assessments:floor_data": circle("day", station=OK, nobody=TOLD),
    "assessments:sync": tablet_post("day"),
    "assessments:sync_reconcile": tablet_post("day"),
    "assessments:sync_roll": tablet_post("day"),
    "assessments:sync_token": staff(station=TOLD, nobody=TOLD),
}  # fmt: skip
NUMBERS = {
    "assessments:shape_guide": staff(),
    "assessments:shape_wall": staff(),
    "assessments:shape": staff("hollow"),
    "assessments:numbers": director(),
    "assessments:numbers_error": director(),
    "assessments:numbers_error_draft": post(director()),
    "assessments:numbers_agreement": director(),
    "assessments:calibration_list": director(),
    "assessments:examples_add": director(),
    "assessments:examples_score": director("examples"),
    "assessments:examples_remove": post(director("examples")),
    "assessments:calibration": director("calibration"),
    "assessments:calibration_decide": post(director("calibration")),
    "assessments:numbers_outcomes": director(),
    "assessments:numbers_norms": director(),
    "assessments:numbers_norms_draft": post(director(director=HIDDEN)),
    "assessments:numbers_reference": director(),
    "assessments:numbers_forecasts": director(),
    "assessments:block_plan": circle("group"),
    "assessments:child_block_plan": circle("child"),
    "assessments:skill_forecast": circle("child", "bunny_hop"),
    "assessments:day_rotation": circle("day"),
}
PROGRAMME = {
    "assessments:programme": staff(),
    "assessments:programme_map": staff(),
    "assessments:programme_item": staff("hollow_hold"),
    "assessments:programme_skill": staff("bunny_hop"),
    "assessments:edition": staff(1),
    "assessments:programme_export": director(1),
    "assessments:programme_import": director(),
    "assessments:child_map": circle("child"),
    "assessments:group_map": circle("group"),
    "assessments:draft_begin": post(director()),
    "assessments:draft": director("draft"),
    "assessments:draft_compare": director("draft"),
    "assessments:draft_map": director("draft"),
    "assessments:draft_rules": director("draft"),
    "assessments:draft_measure": director("draft", "hollow_hold"),
    "assessments:draft_shape": director("draft", "hollow"),
    "assessments:draft_skill": director("draft", "bunny_hop"),
    "assessments:draft_benchmark": director("draft", "hollow_hold"),
    "assessments:draft_picture": post(director("draft", "hollow_hold"), OK),
    "assessments:draft_add": post(director("draft")),
    "assessments:draft_connect": post(director("draft")),
    "assessments:draft_move": post(director("draft", "measures", "hollow_hold")),
    "assessments:draft_remove": post(director("draft", "measures", "squat_jumps")),
    "assessments:draft_publish": post(director("draft")),
    "assessments:draft_drop": post(director("draft")),  # last: the draft is gone after it
}

TABLE = CLUB | ATHLETES | ASSESSMENTS | READ | DAYS | NUMBERS | PROGRAMME
