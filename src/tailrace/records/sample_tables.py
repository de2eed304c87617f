"""The tables of sensor series: what a series is, its samples, their roll-ups, what was refused.

Samples are only added, like every row of the record. Roll-ups are worked out from them and can
be made anew at any time; deliveries only tell a message that came twice from two messages.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    String,
    Table,
    Text,
    UniqueConstraint,
)

from tailrace.records.tables import UtcMoment, metadata

NUMBER = BigInteger().with_variant(Integer, "sqlite")

series = Table(
    "series",
    metadata,
    Column("number", NUMBER, primary_key=True),
    Column("uid", String(32), nullable=False, unique=True),
    Column("site", ForeignKey("sites.name"), nullable=False),
    Column("name", String, nullable=False),
    Column("unit", String, nullable=False),
    Column("received_at", UtcMoment, nullable=False),
    UniqueConstraint("site", "name", "unit", name="series_site_name_unit_uq"),
    sqlite_autoincrement=True,
)

series_meanings = Table(
    "series_meanings",
    metadata,
    Column("number", NUMBER, primary_key=True),
    Column("uid", String(32), nullable=False, unique=True),
    Column("series", ForeignKey("series.number"), nullable=False),
    Column("subject", String, nullable=False),
    Column("place", String, nullable=False),
    Column("instrument", String, nullable=False),
    Column("who", String, nullable=False),
    Column("received_at", UtcMoment, nullable=False),
    Index("series_meanings_series_ix", "series"),
    sqlite_autoincrement=True,
)

samples = Table(
    "samples",
    metadata,
    Column("series", ForeignKey("series.number"), primary_key=True, autoincrement=False),
    Column("at", NUMBER, primary_key=True, autoincrement=False),
    Column("value", Double, nullable=False),
    sqlite_with_rowid=False,  # so that the rows lie in the order they are read
)

rollups = Table(
    "rollups",
    metadata,
    Column("series", ForeignKey("series.number"), primary_key=True, autoincrement=False),
    Column("width", Integer, primary_key=True, autoincrement=False),
    Column("at", NUMBER, primary_key=True, autoincrement=False),
    Column("n", NUMBER, nullable=False),
    Column("low", Double, nullable=False),
    Column("high", Double, nullable=False),
    Column("total", Double, nullable=False),
    Column("last", Double, nullable=False),
    Column("last_at", NUMBER, nullable=False),
    CheckConstraint("width IN (60, 3600, 86400)", name="width"),
    CheckConstraint("n > 0", name="some"),
    sqlite_with_rowid=False,
)

sensor_asides = Table(
    "sensor_asides",
    metadata,
    Column("number", NUMBER, primary_key=True),
    Column("uid", String(32), nullable=False, unique=True),
    Column("site", String, nullable=False),
    Column("text", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("received_at", UtcMoment, nullable=False),
    Index("sensor_asides_site_ix", "site", "number"),
    sqlite_autoincrement=True,
)

deliveries = Table(
    "deliveries",
    metadata,
    Column("key", String(64), primary_key=True),
    Column("sha256", String(64), nullable=False),
    Column("at", NUMBER, nullable=False),
    Index("deliveries_at_ix", "at"),
    sqlite_with_rowid=False,
)
