"""Results are append-only in the database itself: whoever changes one, by whatever way, is refused.

A correction is a new row. Only the three links that end when an account or a pass goes may be emptied. Rows leave with
the child they are about, when a child is erased; that is written in the trail.
"""

from __future__ import annotations

from django.db.backends.base.schema import BaseDatabaseSchemaEditor

TABLE = "assessments_result"
TRIGGER = "assessments_result_is_append_only"
SAYS = "A result is never changed: a correction is a new entry that replaces it."
#: Set to nothing by the database's own links; everything else stays as it was written.
MAY_END = ("judge_id", "recorded_by_id", "station_pass_id")


def guard(editor: BaseDatabaseSchemaEditor) -> None:
    """Put the guard on the table. SQLite makes a table anew when a column changes: call this again after such a change."""
    unguard(editor)
    with editor.connection.cursor() as cursor:
        columns = [one.name for one in editor.connection.introspection.get_table_description(cursor, TABLE)]
    kept = [name for name in columns if name not in MAY_END]
    if editor.connection.vendor == "postgresql":
        changed = " OR ".join(
            f'OLD."{name}" IS DISTINCT FROM NEW."{name}"' for name in kept if name != "levels"
        )
        editor.execute(
            f"CREATE FUNCTION {TRIGGER}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
            f"RAISE EXCEPTION '{SAYS}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )
        editor.execute(
            f"CREATE TRIGGER {TRIGGER} BEFORE UPDATE ON {TABLE} FOR EACH ROW "
            f"WHEN ({changed} OR OLD.levels::text IS DISTINCT FROM NEW.levels::text) EXECUTE FUNCTION {TRIGGER}()"
        )
    else:
        changed = " OR ".join(f'OLD."{name}" IS NOT NEW."{name}"' for name in kept)
        editor.execute(
            f"CREATE TRIGGER {TRIGGER} BEFORE UPDATE ON {TABLE} FOR EACH ROW WHEN {changed} "
            f"BEGIN SELECT RAISE(ABORT, '{SAYS}'); END"
        )


def unguard(editor: BaseDatabaseSchemaEditor) -> None:
    """Take the guard off, for a change of the table itself."""
    if editor.connection.vendor == "postgresql":
        editor.execute(f"DROP TRIGGER IF EXISTS {TRIGGER} ON {TABLE}")
        editor.execute(f"DROP FUNCTION IF EXISTS {TRIGGER}()")
    else:
        editor.execute(f"DROP TRIGGER IF EXISTS {TRIGGER}")
