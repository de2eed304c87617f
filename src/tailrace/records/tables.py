"""The tables of the record, and the triggers that make it append-only.

Every row is written once. A correction is a new entry that names the old one; an undo is a
row that names what is undone. Open `tailrace.records.store` for what is done with them.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

from sqlalchemy import (
    JSON,
    CheckConstraint,
    Column,
    Dialect,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
)
from sqlalchemy.schema import DDL

SCHEMA_VERSION = 2

_FORM = "%Y-%m-%dT%H:%M:%S.%fZ"  # of one width, so that text order is time order


class UtcMoment(TypeDecorator[datetime]):
    """A moment: aware in, stored as UTC text, aware UTC out."""

    impl = String(27)
    cache_ok = True

    def process_bind_param(
        self,
        value: datetime | None,
        dialect: Dialect,  # noqa: ARG002  # the interface has it
    ) -> str | None:
        """Return the stored text of an aware moment; a naive one is a mistake of the caller."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"the moment {value} has no time zone; give an aware datetime")
        # strftime drops leading zeros of years before 1000 on some platforms
        return value.astimezone(UTC).strftime(_FORM).rjust(27, "0")

    def process_result_value(
        self,
        value: str | None,
        dialect: Dialect,  # noqa: ARG002  # the interface has it
    ) -> datetime | None:
        """Return the aware UTC moment of a stored text."""
        return None if value is None else datetime.strptime(value, _FORM).replace(tzinfo=UTC)


metadata = MetaData()

record_schema = Table("record_schema", metadata, Column("version", Integer, nullable=False))

sites = Table(
    "sites",
    metadata,
    Column("name", String, primary_key=True),
    Column("received_at", UtcMoment, nullable=False),
)

site_versions = Table(
    "site_versions",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("site", ForeignKey("sites.name"), nullable=False),
    Column("text", Text, nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("received_at", UtcMoment, nullable=False),
    sqlite_autoincrement=True,
)

batches = Table(
    "batches",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("site", ForeignKey("sites.name"), nullable=False),
    Column("file", String, nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("received_at", UtcMoment, nullable=False),
    Column("who", String, nullable=False),
    sqlite_autoincrement=True,
)

entries = Table(
    "entries",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("site", ForeignKey("sites.name"), nullable=False),
    Column("subject", String, nullable=False),
    Column("text", Text, nullable=False),
    Column("unit", String, nullable=False),
    Column("meanings", JSON, nullable=False),
    Column("taken_at", UtcMoment, nullable=False),
    Column("taken_also", UtcMoment),
    Column("received_at", UtcMoment, nullable=False),
    Column("method", String, nullable=False),
    Column("place", String, nullable=False),
    Column("who", String, nullable=False),
    Column("note", Text, nullable=False),
    Column("flags", JSON, nullable=False),
    Column("batch", ForeignKey("batches.number")),
    Column("row", Integer, nullable=False),
    Column("supersedes", ForeignKey("entries.number")),
    Column("why", Text, nullable=False),
    Index("entries_by_time", "site", "taken_at"),
    sqlite_autoincrement=True,
)

asides = Table(
    "asides",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("batch", ForeignKey("batches.number"), nullable=False),
    Column("row", Integer, nullable=False),
    Column("text", Text, nullable=False),
    Column("reasons", JSON, nullable=False),
    sqlite_autoincrement=True,
)

undos = Table(
    "undos",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("batch", ForeignKey("batches.number"), unique=True),
    Column("entry", ForeignKey("entries.number"), unique=True),
    Column("at", UtcMoment, nullable=False),
    Column("why", Text, nullable=False),
    CheckConstraint("(batch IS NULL) <> (entry IS NULL)", name="one_thing_undone"),
    sqlite_autoincrement=True,
)

forecasts = Table(
    "forecasts",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("site", ForeignKey("sites.name"), nullable=False),
    Column("key", String(64), nullable=False, unique=True),
    Column("at", UtcMoment, nullable=False),
    Column("issued_at", UtcMoment, nullable=False),
    Column("version", String, nullable=False),
    Column("seed", Integer, nullable=False),
    Column("entries", JSON, nullable=False),
    Column("body", JSON, nullable=False),
    Index("forecasts_by_time", "site", "at"),
    sqlite_autoincrement=True,
)

APPEND_ONLY = (sites, site_versions, batches, entries, asides, undos, forecasts)


def triggers(tables: Iterable[Table] = APPEND_ONLY) -> tuple[DDL, ...]:
    """Return the statements that refuse to change or remove a row of the record.

    Parameters
    ----------
    tables
        Tables that are only added to.

    Returns
    -------
    tuple
        One statement for each table and act. ``INSERT OR REPLACE`` fires no delete trigger in
        SQLite, so a third one refuses a key that is there already.

    Examples
    --------
    >>> len(triggers()) == 3 * len(APPEND_ONLY)
    True
    """
    made = []
    for table in tables:
        key = "name" if table is sites else "number"
        taken = f"WHEN EXISTS (SELECT 1 FROM {table.name} WHERE {key} = NEW.{key}) "
        for act, when in (("UPDATE", ""), ("DELETE", ""), ("INSERT", taken)):
            made.append(
                DDL(  # type: ignore[no-untyped-call]  # its constructor ships no types
                    f"CREATE TRIGGER {table.name}_no_{act.lower()} BEFORE {act} ON {table.name} "
                    f"{when}BEGIN SELECT RAISE(ABORT, 'the record is append-only'); END"
                )
            )
    return tuple(made)
