"""Rows made ready for the driver before the record is locked, so that it is locked for short.

Writers come one after the other, so what one of them does within its turn all others wait for.
Here a row is turned into the very values that the database takes beforehand; within the turn
they are only handed over.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import Any

from sqlalchemy import JSON, Connection, Table

from tailrace.records.tables import UtcMoment, moment_text

Values = tuple[Any, ...]


def make_ready(table: Table, row: Mapping[str, Any]) -> Values:
    """Return a row as the values that the database takes.

    Parameters
    ----------
    table
        Its table; one that counts its own rows.
    row
        Every column but ``number``.

    Returns
    -------
    tuple
        Values in the order of the columns.
    """
    return tuple(
        row[name] if convert is None or row[name] is None else convert(row[name])
        for name, convert in _columns(table)
    )


def insert_ready(connection: Connection, table: Table, values: Values) -> int:
    """Add one row.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    table
        Its table.
    values
        As `make_ready` gives them.

    Returns
    -------
    int
        Its local number.
    """
    raw: Any = connection.connection.dbapi_connection
    made = raw.execute(_statement(table, connection.dialect.name) + " RETURNING number", values)
    return int(made.fetchone()[0])


def insert_all_ready(connection: Connection, table: Table, rows: Iterable[Values]) -> None:
    """Add many rows.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    table
        Their table.
    rows
        Each as `make_ready` gives it.
    """
    raw: Any = connection.connection.dbapi_connection
    raw.cursor().executemany(_statement(table, connection.dialect.name), rows)


@cache
def _columns(table: Table) -> tuple[tuple[str, Callable[[Any], Any] | None], ...]:
    return tuple((c.name, _converter(c.type)) for c in table.columns if c.name != "number")


def _converter(kind: Any) -> Callable[[Any], Any] | None:
    if isinstance(kind, UtcMoment):
        return moment_text
    return json.dumps if isinstance(kind, JSON) else None


@cache
def _statement(table: Table, dialect: str) -> str:
    names = [name for name, _ in _columns(table)]
    marks = ", ".join(["?" if dialect == "sqlite" else "%s"] * len(names))
    told = ", ".join(f'"{name}"' for name in names)
    return f'INSERT INTO "{table.name}" ({told}) VALUES ({marks})'
