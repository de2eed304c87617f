"""Rows that know themselves on every machine, and the rooms for people, kits, advice and photos.

Every row gains a name that is the same everywhere (`uid`), and rows name each other by it. The
old tables are copied aside within the database, so a record of any size passes. The way down
keeps what the older form has room for; the rest, such as photos and advice, is left behind.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

from tailrace.migrations import m0001_record as before
from tailrace.migrations.forms import NUMBER, guard, on_sqlite

revision = "0002"
down_revision = "0001"

_OLD = ("sites", "site_versions", "batches", "entries", "asides", "undos", "forecasts")
_MADE = "received_at"
Spec = tuple[list[Any], dict[str, list[str]], tuple[str, ...]]


def upgrade() -> None:
    """Copy the old tables aside, make the new ones, bring the rows over with their names."""
    with_rows = _set_aside(_OLD, uids=True)
    _drop(_OLD[::-1])
    made = _tables()
    for name, spec in made.items():
        _make(name, spec)
    if with_rows:
        _bring_up()
        _count_on(_OLD)
    _forget(_OLD)
    for name, (columns, _, blank) in made.items():
        number = "name" if name == "sites" else "number"
        names = [number, "uid", *(column.name for column in columns), _MADE]
        keep = [column for column in names if column not in blank]
        guard(name, keys=(number, "uid"), blank=blank, keep=keep)


def downgrade() -> None:
    """Bring the rows back into the older form; what it has no room for is left behind."""
    _set_aside(_OLD, uids=False)
    _drop(tuple(reversed(_tables())))
    before.make_tables()
    _bring_down()
    _count_on(_OLD)
    _forget(_OLD)
    before.guard_tables()


# the tables as this step leaves them


def _words(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


def _short(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.String, nullable=False) for name in names]


def _uids(*names: str, nullable: bool = False) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.String(32), nullable=nullable) for name in names]


def _lists(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.JSON, nullable=False) for name in names]


def _numbers(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, NUMBER, nullable=False) for name in names]


def _moments(*names: str, nullable: bool = False) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.String(27), nullable=nullable) for name in names]


def _hash(name: str = "sha256") -> sa.Column[Any]:
    return sa.Column(name, sa.String(64), nullable=False)


def _site(*, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column("site", sa.String, nullable=nullable)


def _tables() -> dict[str, Spec]:
    """Return each table's own columns, its indexes, and the columns that a redaction may blank."""
    return {
        "sites": ([], {}, ()),
        "site_versions": (
            [_site(), *_words("text"), _hash()],
            {"site_versions_by_site": ["site"]},
            (),
        ),
        "people": ([*_words("name", "why"), *_uids("supersedes", nullable=True)], {}, ("name",)),
        "places": (
            [_site(), *_words("name", "kind", "note", "why"), *_uids("supersedes", nullable=True)],
            {},
            ("note",),
        ),
        "instruments": (
            [
                _site(nullable=True),
                *_words("name", "kind", "subject", "unit"),
                *_lists("steps"),
                sa.Column("expires_on", sa.String(10), nullable=False),
                *_words("note", "who", "why"),
                *_uids("supersedes", nullable=True),
            ],
            {},
            ("note", "who"),
        ),
        "mappings": ([_site(), *_words("source"), *_lists("body")], {}, ()),
        "batches": (
            [_site(), *_short("file"), _hash(), *_short("who")],
            {"batches_by_site": ["site"]},
            ("who",),
        ),
        "entries": (
            [
                _site(),
                *_short("subject"),
                *_words("text"),
                *_short("unit"),
                *_lists("meanings"),
                *_moments("taken_at"),
                *_moments("taken_also", nullable=True),
                *_words("method", "instrument", "place", "who", "sent_by", "note"),
                *_lists("details", "photos", "flags"),
                *_uids("batch", nullable=True),
                *_numbers("row"),
                *_uids("supersedes", nullable=True),
                *_words("why"),
            ],
            {"entries_by_time": ["site", "taken_at"], "entries_superseding": ["supersedes"]},
            ("who", "sent_by", "note"),
        ),
        "asides": (
            [_site(), *_uids("batch"), *_numbers("row"), *_words("text"), *_lists("reasons")],
            {"asides_by_batch": ["batch"]},
            ("text",),
        ),
        "undos": (
            [_site(), *_uids("batch", "entry", nullable=True), *_words("why")],
            {"undos_by_site": ["site"]},
            (),
        ),
        "answers": (
            [
                _site(),
                *_uids("first", "second"),
                sa.Column("answer", sa.String(3), nullable=False),
                *_words("who"),
            ],
            {"answers_by_site": ["site"]},
            ("who",),
        ),
        "photos": (
            [
                _site(),
                _hash(),
                *_short("media"),
                *_numbers("size", "width", "height"),
                *_words("who"),
            ],
            {"photos_by_hash": ["sha256"]},
            ("who",),
        ),
        "forecasts": (
            [
                _site(),
                _hash("key"),
                *_moments("at", "issued_at"),
                *_short("version"),
                *_numbers("seed"),
                *_lists("entries", "body"),
            ],
            {"forecasts_by_time": ["site", "at"], "forecasts_by_key": ["key"]},
            (),
        ),
        "advice": (
            [
                _site(),
                *_moments("at"),
                *_words("kind", "text", "version"),
                *_lists("entries", "body"),
            ],
            {"advice_by_time": ["site", "at"]},
            (),
        ),
        "outcomes": (
            [
                _site(),
                *_uids("advice"),
                *_uids("entry", nullable=True),
                *_words("what", "text", "who"),
            ],
            {"outcomes_by_advice": ["advice"]},
            ("text", "who"),
        ),
        "submissions": (
            [_site(), *_short("key"), _hash(), *_lists("entries")],
            {"submissions_by_key": ["site", "key"]},
            (),
        ),
        "tombstones": (
            [
                _site(nullable=True),
                *_short("table_name"),
                *_uids("row_uid"),
                *_short("field"),
                *_words("why", "who"),
            ],
            {"tombstones_by_row": ["row_uid"]},
            ("who",),
        ),
    }


_CHECKS = {
    "undos": ("(batch IS NULL) <> (entry IS NULL)", "one_thing_undone"),
    "answers": ("answer IN ('one', 'two')", "one_or_two"),
    "outcomes": ("what IN ('done', 'partly', 'not done')", "what_came"),
}


def _make(name: str, spec: Spec) -> None:
    columns, indexes, _ = spec
    first = (
        sa.Column("name", sa.String, primary_key=True)
        if name == "sites"
        else sa.Column("number", NUMBER, primary_key=True)
    )
    rules: list[Any] = [sa.CheckConstraint("length(uid) = 32", name="uid_of_32")]
    if name in _CHECKS:
        rules.append(sa.CheckConstraint(_CHECKS[name][0], name=_CHECKS[name][1]))
    if any(column.name == "site" for column in columns):
        rules.append(sa.ForeignKeyConstraint(["site"], ["sites.name"]))
    op.create_table(
        name,
        first,
        sa.Column("uid", sa.String(32), nullable=False, unique=True),
        *columns,
        sa.Column(_MADE, sa.String(27), nullable=False),
        *rules,
        sqlite_autoincrement=name != "sites",
    )
    for index, of in indexes.items():
        op.create_index(index, name, of)


# rows over


def _set_aside(tables: tuple[str, ...], *, uids: bool) -> bool:
    made = (
        "lower(hex(randomblob(16)))"
        if on_sqlite()
        else "replace(gen_random_uuid()::text, '-', '')"
    )
    also = f", {made} AS uid" if uids else ""
    for table in tables:
        op.execute(f"CREATE TABLE old_{table} AS SELECT {table}.*{also} FROM {table}")
        if table in ("batches", "entries"):
            op.create_index(f"old_{table}_number", f"old_{table}", ["number"])
            op.create_index(f"old_{table}_uid", f"old_{table}", ["uid"])
    return op.get_bind().execute(sa.text("SELECT 1 FROM old_sites")).first() is not None


def _drop(tables: tuple[str, ...]) -> None:
    for table in tables:
        op.drop_table(table)


def _forget(tables: tuple[str, ...]) -> None:
    _drop(tuple(f"old_{table}" for table in tables))


def _count_on(tables: tuple[str, ...]) -> None:
    """Let PostgreSQL count on from the numbers that were brought over, as SQLite does."""
    if on_sqlite():
        return
    for table in tables:
        if table != "sites":
            op.execute(
                f"SELECT setval(pg_get_serial_sequence('{table}', 'number'), "
                f"(SELECT coalesce(max(number), 0) + 1 FROM {table}), false)"
            )


_UP = (
    "INSERT INTO sites (name, uid, received_at) SELECT name, uid, received_at FROM old_sites",
    "INSERT INTO site_versions (number, uid, site, text, sha256, received_at) "
    "SELECT number, uid, site, text, sha256, received_at FROM old_site_versions",
    "INSERT INTO batches (number, uid, site, file, sha256, who, received_at) "
    "SELECT number, uid, site, file, sha256, who, received_at FROM old_batches",
    "INSERT INTO entries (number, uid, site, subject, text, unit, meanings, taken_at, taken_also, "
    "method, instrument, place, who, sent_by, note, details, photos, flags, batch, row, "
    "supersedes, why, received_at) "
    "SELECT e.number, e.uid, e.site, e.subject, e.text, e.unit, e.meanings, e.taken_at, "
    "e.taken_also, e.method, '', e.place, e.who, '', e.note, {none}, {none}, e.flags, b.uid, "
    "e.row, s.uid, e.why, e.received_at FROM old_entries e "
    "LEFT JOIN old_batches b ON b.number = e.batch "
    "LEFT JOIN old_entries s ON s.number = e.supersedes",
    "INSERT INTO asides (number, uid, site, batch, row, text, reasons, received_at) "
    "SELECT a.number, a.uid, b.site, b.uid, a.row, a.text, a.reasons, b.received_at "
    "FROM old_asides a JOIN old_batches b ON b.number = a.batch",
    "INSERT INTO undos (number, uid, site, batch, entry, why, received_at) "
    "SELECT u.number, u.uid, coalesce(b.site, e.site), b.uid, e.uid, u.why, u.at "
    "FROM old_undos u LEFT JOIN old_batches b ON b.number = u.batch "
    "LEFT JOIN old_entries e ON e.number = u.entry",
    "INSERT INTO forecasts (number, uid, site, key, at, issued_at, version, seed, entries, body, "
    "received_at) SELECT number, uid, site, key, at, issued_at, version, seed, entries, body, "
    "issued_at FROM old_forecasts",
)

_DOWN = (
    "INSERT INTO sites (name, received_at) SELECT name, received_at FROM old_sites",
    "INSERT INTO site_versions (number, site, text, sha256, received_at) "
    "SELECT number, site, text, sha256, received_at FROM old_site_versions",
    "INSERT INTO batches (number, site, file, sha256, received_at, who) "
    "SELECT number, site, file, sha256, received_at, who FROM old_batches",
    "INSERT INTO entries (number, site, subject, text, unit, meanings, taken_at, taken_also, "
    "received_at, method, place, who, note, flags, batch, row, supersedes, why) "
    "SELECT e.number, e.site, e.subject, e.text, e.unit, e.meanings, e.taken_at, e.taken_also, "
    "e.received_at, e.method, e.place, e.who, e.note, e.flags, b.number, e.row, s.number, e.why "
    "FROM old_entries e LEFT JOIN old_batches b ON b.uid = e.batch "
    "LEFT JOIN old_entries s ON s.uid = e.supersedes ORDER BY e.number",
    "INSERT INTO asides (number, batch, row, text, reasons) "
    "SELECT a.number, b.number, a.row, a.text, a.reasons "
    "FROM old_asides a JOIN old_batches b ON b.uid = a.batch",
    "INSERT INTO undos (number, batch, entry, at, why) "
    "SELECT u.number, b.number, e.number, u.received_at, u.why FROM old_undos u "
    "LEFT JOIN old_batches b ON b.uid = u.batch LEFT JOIN old_entries e ON e.uid = u.entry "
    "WHERE (b.number IS NOT NULL OR e.number IS NOT NULL) AND u.number = (SELECT min(o.number) "
    "FROM old_undos o WHERE coalesce(o.batch, o.entry) = coalesce(u.batch, u.entry))",
    "INSERT INTO forecasts (number, site, key, at, issued_at, version, seed, entries, body) "
    "SELECT number, site, key, at, issued_at, version, seed, entries, body FROM old_forecasts f "
    "WHERE f.number = (SELECT min(o.number) FROM old_forecasts o WHERE o.key = f.key)",
)


def _bring_up() -> None:
    none = "'[]'" if on_sqlite() else "CAST('[]' AS json)"
    for statement in _UP:
        op.execute(statement.format(none=none))
    known = dict(_pairs("SELECT 'e' || number, uid FROM old_entries"))
    _rename_in_forecasts(lambda name: known.get(name, name))


def _bring_down() -> None:
    for statement in _DOWN:
        op.execute(statement)
    known = dict(_pairs("SELECT uid, 'e' || number FROM old_entries"))
    _rename_in_forecasts(lambda name: known.get(name, name))


def _pairs(query: str) -> list[tuple[str, str]]:
    return [(row[0], row[1]) for row in op.get_bind().execute(sa.text(query))]


def _rename_in_forecasts(renamed: Callable[[str], str]) -> None:
    """Name the entries behind a forecast as this form names entries."""
    bind = op.get_bind()
    table = sa.table("forecasts", sa.column("number", NUMBER), sa.column("entries", sa.JSON))
    rows = bind.execute(sa.select(table.c.number, table.c.entries)).all()
    for number, names in rows:
        bind.execute(
            table.update()
            .where(table.c.number == number)
            .values(entries=[renamed(name) for name in names])
        )
