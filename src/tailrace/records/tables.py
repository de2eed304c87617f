"""The tables of the record.

Every row is written once. A correction is a new row that names the old one; an undo is a row
that names what is undone. Rows name each other by `uid`, which is the same on every machine;
`number` is local and makes the short names that people see (``e17``). A row may name one that
has not arrived yet, so these references are no foreign keys. Open `tailrace.records.store` for
what is done with them, and `tailrace.records.guards` for what keeps them as they are.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
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
        return None if value is None else moment_text(value)

    def process_result_value(
        self,
        value: str | None,
        dialect: Dialect,  # noqa: ARG002  # the interface has it
    ) -> datetime | None:
        """Return the aware UTC moment of a stored text."""
        return None if value is None else moment_of(value)


def moment_text(value: datetime) -> str:
    """Return the stored text of a moment.

    Parameters
    ----------
    value
        Aware moment.

    Returns
    -------
    str
        UTC to the microsecond, of one width for every year.

    Raises
    ------
    ValueError
        The moment has no time zone.

    Examples
    --------
    >>> moment_text(datetime(2026, 3, 1, 8, tzinfo=UTC))
    '2026-03-01T08:00:00.000000Z'
    """
    if value.tzinfo is None:
        raise ValueError(f"the moment {value} has no time zone; give an aware datetime")
    # isoformat keeps the leading zeros of early years, and is quicker than strftime
    return value.astimezone(UTC).isoformat(timespec="microseconds")[:26] + "Z"


def moment_of(text: str) -> datetime:
    """Return the moment of a stored text.

    Parameters
    ----------
    text
        As `moment_text` writes it.

    Returns
    -------
    datetime
        Aware UTC.

    Raises
    ------
    ValueError
        The text is of another form.

    Examples
    --------
    >>> moment_of("2026-03-01T08:00:00.000000Z").hour
    8
    """
    return datetime.strptime(text, _FORM).replace(tzinfo=UTC)


def json_text(value: object) -> str:
    """Return the stored text of a list or object; an empty list, the usual one, at once.

    Parameters
    ----------
    value
        Plain JSON value.

    Returns
    -------
    str
        Its text.

    Examples
    --------
    >>> json_text([]), json_text(["a"])
    ('[]', '["a"]')
    """
    return "[]" if value == [] else json.dumps(value)


metadata = MetaData(
    naming_convention={
        "ix": "%(table_name)s_%(column_0_N_name)s_ix",
        "uq": "%(table_name)s_%(column_0_N_name)s_uq",
        "ck": "%(table_name)s_%(constraint_name)s_ck",
        "fk": "%(table_name)s_%(column_0_N_name)s_fk",
        "pk": "%(table_name)s_pk",
    }
)


# 64 bits on both engines; SQLite counts only a plain INTEGER key by itself
NUMBER = BigInteger().with_variant(Integer, "sqlite")


def _uid(name: str = "uid", *, optional: bool = False, unique: bool = False) -> Column[str]:
    return Column(name, String(32), nullable=optional, unique=unique)


def _words(*names: str) -> list[Column[str]]:
    return [Column(name, Text, nullable=False) for name in names]


def _site(*, optional: bool = False) -> Column[Any]:
    return Column("site", ForeignKey("sites.name"), nullable=optional)


def _kept(name: str, *columns: Any) -> Table:
    """Declare a table: its own columns between the local number and the time of arrival."""
    return Table(
        name,
        metadata,
        Column("number", NUMBER, primary_key=True),
        _uid(unique=True),
        *columns,
        Column("received_at", UtcMoment, nullable=False),
        CheckConstraint("length(uid) = 32", name="uid_of_32"),
        sqlite_autoincrement=True,
    )


record_schema = Table(
    "record_schema",
    metadata,
    Column("version", Integer, nullable=False),
    Column("writes", NUMBER, nullable=False, server_default="0"),
)

sites = Table(
    "sites",
    metadata,
    Column("name", String, primary_key=True),
    _uid(unique=True),
    Column("received_at", UtcMoment, nullable=False),
    CheckConstraint("length(uid) = 32", name="uid_of_32"),
)

site_versions = _kept(
    "site_versions",
    _site(),
    Column("text", Text, nullable=False),
    Column("sha256", String(64), nullable=False),
    Index("site_versions_by_site", "site"),
)

people = _kept("people", *_words("name", "why"), _uid("supersedes", optional=True))

places = _kept(
    "places",
    _site(),
    *_words("name", "kind", "note", "why"),
    _uid("supersedes", optional=True),
)

instruments = _kept(
    "instruments",
    _site(optional=True),
    *_words("name", "kind", "subject", "unit"),
    Column("steps", JSON, nullable=False),
    Column("expires_on", String(10), nullable=False),
    *_words("note", "who", "why"),
    _uid("supersedes", optional=True),
)

mappings = _kept("mappings", _site(), *_words("source"), Column("body", JSON, nullable=False))

batches = _kept(
    "batches",
    _site(),
    Column("file", String, nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("who", String, nullable=False),
    Index("batches_by_site", "site"),
)

entries = _kept(
    "entries",
    _site(),
    Column("subject", String, nullable=False),
    Column("text", Text, nullable=False),
    Column("unit", String, nullable=False),
    Column("meanings", JSON, nullable=False),
    Column("taken_at", UtcMoment, nullable=False),
    Column("taken_also", UtcMoment),
    *_words("method", "instrument", "place", "who", "sent_by", "note"),
    Column("details", JSON, nullable=False),
    Column("photos", JSON, nullable=False),
    Column("flags", JSON, nullable=False),
    _uid("batch", optional=True),
    Column("row", NUMBER, nullable=False),
    _uid("supersedes", optional=True),
    *_words("why"),
    Index("entries_by_time", "site", "taken_at"),
    Index("entries_superseding", "supersedes"),
)

asides = _kept(
    "asides",
    _site(),
    _uid("batch"),
    Column("row", NUMBER, nullable=False),
    Column("text", Text, nullable=False),
    Column("reasons", JSON, nullable=False),
    Index("asides_by_batch", "batch"),
)

undos = _kept(
    "undos",
    _site(),
    _uid("batch", optional=True),
    _uid("entry", optional=True),
    *_words("why"),
    CheckConstraint("(batch IS NULL) <> (entry IS NULL)", name="one_thing_undone"),
    Index("undos_by_site", "site"),
)

answers = _kept(
    "answers",
    _site(),
    _uid("first"),
    _uid("second"),
    Column("answer", String(3), nullable=False),
    *_words("who"),
    CheckConstraint("answer IN ('one', 'two')", name="one_or_two"),
    Index("answers_by_site", "site"),
)

photos = _kept(
    "photos",
    _site(),
    Column("sha256", String(64), nullable=False),
    Column("media", String, nullable=False),
    Column("size", NUMBER, nullable=False),
    Column("width", NUMBER, nullable=False),
    Column("height", NUMBER, nullable=False),
    *_words("who"),
    Index("photos_by_hash", "sha256"),
)

forecasts = _kept(
    "forecasts",
    _site(),
    Column("key", String(64), nullable=False),
    Column("at", UtcMoment, nullable=False),
    Column("issued_at", UtcMoment, nullable=False),
    Column("version", String, nullable=False),
    Column("seed", NUMBER, nullable=False),
    Column("entries", JSON, nullable=False),
    Column("body", JSON, nullable=False),
    Index("forecasts_by_time", "site", "at"),
    Index("forecasts_by_key", "key"),
)

advice = _kept(
    "advice",
    _site(),
    Column("at", UtcMoment, nullable=False),
    *_words("kind", "text", "version"),
    Column("entries", JSON, nullable=False),
    Column("body", JSON, nullable=False),
    Index("advice_by_time", "site", "at"),
)

outcomes = _kept(
    "outcomes",
    _site(),
    _uid("advice"),
    _uid("entry", optional=True),
    *_words("what", "text", "who"),
    CheckConstraint("what IN ('done', 'partly', 'not done')", name="what_came"),
    Index("outcomes_by_advice", "advice"),
)

submissions = _kept(
    "submissions",
    _site(),
    Column("key", String, nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("entries", JSON, nullable=False),
    Index("submissions_by_key", "site", "key"),
)

tombstones = _kept(
    "tombstones",
    _site(optional=True),
    Column("table_name", String, nullable=False),
    _uid("row_uid"),
    Column("field", String, nullable=False),
    *_words("why", "who"),
    Index("tombstones_by_row", "row_uid"),
)

APPEND_ONLY: tuple[Table, ...] = (
    sites,
    site_versions,
    people,
    places,
    instruments,
    mappings,
    batches,
    entries,
    asides,
    undos,
    answers,
    photos,
    forecasts,
    advice,
    outcomes,
    submissions,
    tombstones,
)
"""Tables that are only added to, in the order in which they are written out."""

REDACTABLE: dict[str, tuple[str, ...]] = {
    "people": ("name",),
    "places": ("note",),
    "instruments": ("note", "who"),
    "batches": ("who",),
    "entries": ("who", "sent_by", "note"),
    "asides": ("text",),
    "answers": ("who",),
    "photos": ("who",),
    "outcomes": ("text", "who"),
    "tombstones": ("who",),
}
"""Columns that a redaction may blank, once a tombstone names the row and the column."""
