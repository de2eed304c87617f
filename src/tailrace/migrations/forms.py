"""What several steps need: guards that keep rows as they are, ids for rows that had none.

Like a step, nothing here changes once a step has used it.
"""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

# 64 bits on both engines; SQLite counts only a plain INTEGER key by itself
NUMBER = sa.BigInteger().with_variant(sa.Integer, "sqlite")
_TOMBSTONE = "SELECT 1 FROM tombstones WHERE table_name = '{table}' AND row_uid = OLD.uid"
_SQLITE_REFUSES = "BEGIN SELECT RAISE(ABORT, 'the record is append-only'); END"
_FUNCTIONS = {
    "record_refuse": "RAISE EXCEPTION 'the record is append-only' USING ERRCODE = '23000';",
    "record_wants_tombstone": (
        "IF NOT EXISTS (SELECT 1 FROM tombstones WHERE table_name = TG_TABLE_NAME "
        "AND row_uid = OLD.uid) THEN "
        "RAISE EXCEPTION 'the record is append-only' USING ERRCODE = '23000'; END IF; "
        "RETURN NEW;"
    ),
}


def on_sqlite() -> bool:
    """Return whether the step runs on SQLite.

    Returns
    -------
    bool
        False on PostgreSQL.
    """
    return op.get_bind().dialect.name == "sqlite"


def make_functions() -> None:
    """Make what guards call on PostgreSQL; `guard` needs it once."""
    if not on_sqlite():
        for name, body in _FUNCTIONS.items():
            op.execute(
                f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql "
                f"AS $$ BEGIN {body} END $$"
            )


def drop_functions() -> None:
    """Remove what `make_functions` made."""
    if not on_sqlite():
        for name in _FUNCTIONS:
            op.execute(f"DROP FUNCTION {name}()")


def guard(
    table: str,
    *,
    keys: Sequence[str] = ("number",),
    blank: Sequence[str] = (),
    keep: Sequence[str] = (),
) -> None:
    """Refuse every change and removal of a row, from whatever program it comes.

    Parameters
    ----------
    table
        Name of the table.
    keys
        Columns that are unique each by itself; on SQLite ``INSERT OR REPLACE`` fires no other
        trigger, so an insert of a key that is there is refused too.
    blank
        Text columns that may be emptied once `tombstones` holds (table_name, row_uid) of the row.
    keep
        All the other columns; needed with `blank` alone.
    """
    if on_sqlite():
        _guard_sqlite(table, keys, blank, keep)
    else:
        _guard_postgres(table, blank, keep)


def unguard(table: str) -> None:
    """Remove the guards of a table, so that a step may fill a new column.

    Parameters
    ----------
    table
        Name of the table.
    """
    bind = op.get_bind()
    if on_sqlite():
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = :t"
        for name in bind.execute(sa.text(query), {"t": table}).scalars().all():
            op.execute(f'DROP TRIGGER "{name}"')
        return
    query = "SELECT tgname FROM pg_trigger WHERE tgrelid = to_regclass(:t) AND NOT tgisinternal"
    for name in bind.execute(sa.text(query), {"t": table}).scalars().all():
        op.execute(f'DROP TRIGGER "{name}" ON {table}')


def give_uids(table: str) -> None:
    """Add a column ``uid`` and give every row there is a random one; guards must be off.

    Parameters
    ----------
    table
        Name of the table.
    """
    made = (
        "lower(hex(randomblob(16)))"
        if on_sqlite()
        else "replace(gen_random_uuid()::text, '-', '')"
    )
    op.add_column(table, sa.Column("uid", sa.String(32), nullable=False, server_default=""))
    op.execute(f"UPDATE {table} SET uid = {made}")
    op.create_index(f"{table}_uid", table, ["uid"], unique=True)


def _guard_sqlite(
    table: str, keys: Sequence[str], blank: Sequence[str], keep: Sequence[str]
) -> None:
    taken = " OR ".join(f"EXISTS (SELECT 1 FROM {table} WHERE {k} = NEW.{k})" for k in keys)
    when = ""
    if blank:
        changed = [f"NEW.{c} IS NOT OLD.{c}" for c in keep]
        changed += [f"(NEW.{c} IS NOT OLD.{c} AND NEW.{c} <> '')" for c in blank]
        none = f"NOT EXISTS ({_TOMBSTONE.format(table=table)})"
        when = f"WHEN {' OR '.join([*changed, none])} "
    for act, condition in (("update", when), ("delete", ""), ("insert", f"WHEN {taken} ")):
        op.execute(
            f"CREATE TRIGGER {table}_no_{act} BEFORE {act.upper()} ON {table} "
            f"{condition}{_SQLITE_REFUSES}"
        )


def _guard_postgres(table: str, blank: Sequence[str], keep: Sequence[str]) -> None:
    refuse = "EXECUTE FUNCTION record_refuse()"
    row = f"ON {table} FOR EACH ROW"
    when = ""
    if blank:
        changed = [f"NEW.{c}::text IS DISTINCT FROM OLD.{c}::text" for c in keep]
        changed += [f"(NEW.{c} IS DISTINCT FROM OLD.{c} AND NEW.{c} <> '')" for c in blank]
        when = f"WHEN ({' OR '.join(changed)}) "
        op.execute(
            f"CREATE TRIGGER {table}_tombstone BEFORE UPDATE {row} "
            "EXECUTE FUNCTION record_wants_tombstone()"
        )
    op.execute(f"CREATE TRIGGER {table}_no_update BEFORE UPDATE {row} {when}{refuse}")
    op.execute(f"CREATE TRIGGER {table}_no_delete BEFORE DELETE {row} {refuse}")
    op.execute(
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
        f"FOR EACH STATEMENT {refuse}"
    )
