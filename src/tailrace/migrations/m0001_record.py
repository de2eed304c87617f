"""The record as it was before there were steps, and a count of its acts of writing."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from tailrace.migrations.forms import NUMBER, drop_functions, guard, make_functions

revision = "0001"
down_revision = None

TABLES = ("sites", "site_versions", "batches", "entries", "asides", "undos", "forecasts")


def upgrade() -> None:
    """Make the tables of a new record."""
    op.create_table(
        "record_schema",
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("writes", NUMBER, nullable=False, server_default="0"),
    )
    op.execute("INSERT INTO record_schema (version, writes) VALUES (3, 0)")
    make_tables()
    make_functions()
    guard_tables()


def make_tables() -> None:
    """Make the tables without their guards; the next step needs it on its way down."""
    _make_sites()
    _make_imports()
    _make_entries()
    _make_undos()
    _make_forecasts()


def guard_tables() -> None:
    """Guard every table."""
    for table in TABLES:
        guard(table, keys=("name",) if table == "sites" else ("number",))


def adopt() -> None:
    """Bring a record of version 1 or 2 here: the first had no forecasts, neither had a count."""
    found = sa.inspect(op.get_bind())
    if "forecasts" not in found.get_table_names():
        _make_forecasts()
        guard("forecasts")
    if "writes" not in {column["name"] for column in found.get_columns("record_schema")}:
        op.add_column(
            "record_schema", sa.Column("writes", NUMBER, nullable=False, server_default="0")
        )


def downgrade() -> None:
    """Remove every table."""
    for table in reversed(TABLES):
        op.drop_table(table)
    op.drop_table("record_schema")
    drop_functions()


def _number() -> sa.Column[int]:
    return sa.Column("number", NUMBER, primary_key=True)


def _site() -> sa.Column[str]:
    return sa.Column("site", sa.String, sa.ForeignKey("sites.name"), nullable=False)


def _moment(name: str, *, nullable: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.String(27), nullable=nullable)


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=False)


def _short(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.String, nullable=False)


def _make_sites() -> None:
    op.create_table(
        "sites", sa.Column("name", sa.String, primary_key=True), _moment("received_at")
    )
    op.create_table(
        "site_versions",
        _number(),
        _site(),
        _text("text"),
        sa.Column("sha256", sa.String(64), nullable=False),
        _moment("received_at"),
        sqlite_autoincrement=True,
    )


def _make_imports() -> None:
    op.create_table(
        "batches",
        _number(),
        _site(),
        _short("file"),
        sa.Column("sha256", sa.String(64), nullable=False),
        _moment("received_at"),
        _short("who"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "asides",
        _number(),
        sa.Column("batch", NUMBER, sa.ForeignKey("batches.number"), nullable=False),
        sa.Column("row", NUMBER, nullable=False),
        _text("text"),
        sa.Column("reasons", sa.JSON, nullable=False),
        sqlite_autoincrement=True,
    )


def _make_entries() -> None:
    op.create_table(
        "entries",
        _number(),
        _site(),
        _short("subject"),
        _text("text"),
        _short("unit"),
        sa.Column("meanings", sa.JSON, nullable=False),
        _moment("taken_at"),
        _moment("taken_also", nullable=True),
        _moment("received_at"),
        _short("method"),
        _short("place"),
        _short("who"),
        _text("note"),
        sa.Column("flags", sa.JSON, nullable=False),
        sa.Column("batch", NUMBER, sa.ForeignKey("batches.number")),
        sa.Column("row", NUMBER, nullable=False),
        sa.Column("supersedes", NUMBER, sa.ForeignKey("entries.number")),
        _text("why"),
        sqlite_autoincrement=True,
    )
    op.create_index("entries_by_time", "entries", ["site", "taken_at"])


def _make_undos() -> None:
    op.create_table(
        "undos",
        _number(),
        sa.Column("batch", NUMBER, sa.ForeignKey("batches.number"), unique=True),
        sa.Column("entry", NUMBER, sa.ForeignKey("entries.number"), unique=True),
        _moment("at"),
        _text("why"),
        sa.CheckConstraint("(batch IS NULL) <> (entry IS NULL)", name="one_thing_undone"),
        sqlite_autoincrement=True,
    )


def _make_forecasts() -> None:
    op.create_table(
        "forecasts",
        _number(),
        _site(),
        sa.Column("key", sa.String(64), nullable=False, unique=True),
        _moment("at"),
        _moment("issued_at"),
        _short("version"),
        sa.Column("seed", NUMBER, nullable=False),
        sa.Column("entries", sa.JSON, nullable=False),
        sa.Column("body", sa.JSON, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("forecasts_by_time", "forecasts", ["site", "at"])
