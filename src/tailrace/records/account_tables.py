"""The tables of who may do what on this machine: accounts, their sites, and their keys.

They belong to an installation, not to a site's history: no parcel and no archive carries them,
and unlike the record they change in place.
"""

from __future__ import annotations

from sqlalchemy import BigInteger, Boolean, Column, ForeignKey, Index, Integer, MetaData, String
from sqlalchemy import Table as _Table

from tailrace.records.tables import UtcMoment

account_metadata = MetaData()

accounts = _Table(
    "accounts",
    account_metadata,
    Column("number", BigInteger().with_variant(Integer, "sqlite"), primary_key=True),
    Column("login", String(60), nullable=False, unique=True),
    Column("person", String(60), nullable=False),
    Column("role", String(20), nullable=False),
    Column("password", String(200), nullable=False),
    Column("created_at", UtcMoment, nullable=False),
    Column("closed_at", UtcMoment),
)

account_sites = _Table(
    "account_sites",
    account_metadata,
    Column("account", ForeignKey("accounts.number"), primary_key=True),
    Column("site", String, primary_key=True),
)

keys = _Table(
    "keys",
    account_metadata,
    Column("number", BigInteger().with_variant(Integer, "sqlite"), primary_key=True),
    Column("sha256", String(64), nullable=False, unique=True),
    Column("kind", String(20), nullable=False),
    Column("account", ForeignKey("accounts.number")),
    Column("label", String(100), nullable=False),
    Column("created_at", UtcMoment, nullable=False),
    Column("expires_at", UtcMoment),
    Column("ended_at", UtcMoment),
)

attempts = _Table(
    "attempts",
    account_metadata,
    Column("number", BigInteger().with_variant(Integer, "sqlite"), primary_key=True),
    Column("login", String(60), nullable=False),
    Column("address", String(60), nullable=False),
    Column("at", UtcMoment, nullable=False),
    Column("passed", Boolean, nullable=False),
    Index("attempts_by_time", "at"),
)
