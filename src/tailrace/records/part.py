"""What every part of the store is made of: transactions, and sites looked up."""

from __future__ import annotations

from contextlib import AbstractContextManager
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Table, bindparam, select

from tailrace.errors import NotKnownError
from tailrace.records import tables as t
from tailrace.records.engine import transaction
from tailrace.records.rows import new_uid

_SITE = select(t.sites.c.name).where(t.sites.c.name == bindparam("name"))
CHUNK = 2000  # rows written or looked up at once: keeps memory bounded


class Part:
    """One matter of the record; `tailrace.records.store.Store` is all of them together."""

    def __init__(self, home: Path, engine: Engine) -> None:
        self.home = home
        self._engine = engine

    @property
    def engine(self) -> Engine:
        """Engine of the database, for matters that have modules of their own."""
        return self._engine

    def close(self) -> None:
        """Close the connections that wait to be used again; the store can be used afterwards."""
        self._engine.dispose()

    def _reading(self) -> AbstractContextManager[Connection]:
        return transaction(self._engine, self.home, write=False)

    def _writing(self) -> AbstractContextManager[Connection]:
        return transaction(self._engine, self.home, write=True)

    def _check_site(self, connection: Connection, name: str) -> None:
        if connection.execute(_SITE, {"name": name}).first() is not None:
            return
        names = sorted(connection.execute(select(t.sites.c.name)).scalars())
        known = f"it holds {', '.join(names)}" if names else "it holds no site yet"
        raise NotKnownError(f"the site {name!r} is not in the record in {self.home}; {known}.")


def add_row(connection: Connection, table: Table, *, received_at: datetime, **values: Any) -> int:
    """Add a row with a new name that is the same everywhere.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    table
        Table of the record.
    received_at
        When it was received, aware.
    **values
        Column to value.

    Returns
    -------
    int
        Its local number.
    """
    row = {"uid": new_uid(), "received_at": received_at, **values}
    added = connection.execute(table.insert(), row).inserted_primary_key
    return int(added[0]) if added is not None else 0


def uid_of(connection: Connection, table: Table, number: int, name: str) -> tuple[str, str]:
    """Return the name everywhere and the site of a row.

    Parameters
    ----------
    connection
        Connection to the record.
    table
        Table of the record.
    number
        Local number.
    name
        Its local name, for the words of an error.

    Returns
    -------
    tuple
        Name everywhere, and site; the site is empty for a row of no site.

    Raises
    ------
    NotKnownError
        There is no such row.
    """
    site = table.c.site if "site" in table.c else table.c.uid
    row = connection.execute(select(table.c.uid, site).where(table.c.number == number)).first()
    if row is None:
        raise NotKnownError(f"{name!r} is not in the record; list the log first.")
    return row[0], (row[1] or "") if "site" in table.c else ""
