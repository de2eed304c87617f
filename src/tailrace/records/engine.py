"""Opening the database of a record, SQLite or PostgreSQL, so that both behave alike.

Write transactions come one after the other on both: SQLite's begin IMMEDIATE (with a plain
BEGIN two writers that both read first deadlock at once, whatever the busy timeout), and
PostgreSQL's take one lock. Read transactions see one moment on both. A confirmed act is on
the disk on both.
"""

from __future__ import annotations

import os
import sqlite3
import weakref
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, RootTransaction, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool, QueuePool

from tailrace.records.faults import record_fault
from tailrace.records.home import FILE, Place, find_place
from tailrace.records.tables import json_text
from tailrace.records.tally import confirm

__all__ = ["BUSY_TIMEOUT_S", "FILE", "make_engine", "record_fault", "transaction"]

BUSY_TIMEOUT_S = 5.0
_WRITERS_LOCK = 0x7461696C  # any number, the same in every program that writes records
_COUNT = "UPDATE record_schema SET writes = writes + 1 RETURNING writes"

_open: weakref.WeakSet[Engine] = weakref.WeakSet()


def _forget_connections() -> None:
    for engine in list(_open):
        engine.dispose(close=False)  # they belong to the process that opened them


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_forget_connections)


def make_engine(place: Place | Path | str, *, guarded: bool = True) -> Engine:
    """Return the engine of a record; nothing is opened yet.

    Parameters
    ----------
    place
        Where the record is.
    guarded
        Whether SQLite checks references at each row; steps of the schema check them at the end,
        and let no connection wait for another act.

    Returns
    -------
    sqlalchemy.Engine
        Engine with the settings of the record.

    Examples
    --------
    >>> make_engine(Path("/srv/r")).url.database
    '/srv/r/record.sqlite3'
    """
    where = place if isinstance(place, Place) else find_place(place)
    pool: type[QueuePool] | type[NullPool] = QueuePool if guarded else NullPool
    if where.file is None:
        engine = create_engine(
            where.url,
            poolclass=pool,
            json_serializer=json_text,
            connect_args={
                "options": f"-c lock_timeout={int(BUSY_TIMEOUT_S * 1000)} -c timezone=UTC",
                "connect_timeout": int(BUSY_TIMEOUT_S) or 1,
                "application_name": "tailrace",
            },
            **({"pool_pre_ping": True} if guarded else {}),
        )
    else:
        engine = create_engine(
            where.url,
            poolclass=pool,
            json_serializer=json_text,
            connect_args={"timeout": BUSY_TIMEOUT_S, "check_same_thread": False},
        )
        event.listen(engine, "connect", _set_up if guarded else _set_up_unguarded)
    event.listen(engine, "begin", _on_begin)
    _open.add(engine)
    return engine


def _set_up(connection: sqlite3.Connection, _record: Any) -> None:
    connection.isolation_level = None  # the driver's own BEGIN comes too late and is deferred
    for pragma in (
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
        "recursive_triggers=ON",
        "secure_delete=ON",  # what a redaction blanks is gone from the file as well
    ):
        connection.execute(f"PRAGMA {pragma}")


def _set_up_unguarded(connection: sqlite3.Connection, record: Any) -> None:
    _set_up(connection, record)
    connection.execute("PRAGMA foreign_keys=OFF")


def _on_begin(connection: Connection) -> None:
    write = connection.get_execution_options().get("tailrace_write", False)
    if connection.dialect.name == "sqlite":
        raw: Any = connection.connection.dbapi_connection
        raw.execute("BEGIN IMMEDIATE" if write else "BEGIN")
    elif write:
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITERS_LOCK})")
    else:
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")


@contextmanager
def transaction(
    engine: Engine, home: Path | str, *, write: bool, count: bool = True
) -> Iterator[Connection]:
    """Open one transaction; whatever stops it, also Ctrl-C, leaves the record as it was.

    Parameters
    ----------
    engine
        Engine of `make_engine`.
    home
        Folder of the record, for the words of an error.
    write
        Whether rows will be added.
    count
        Whether the act counts (`tailrace.records.tally`); not while tables are made.

    Yields
    ------
    sqlalchemy.Connection
        The connection.

    Raises
    ------
    RecordError
        The record cannot be opened, read or written.
    """
    lite = engine.dialect.name == "sqlite"
    place = home if lite else engine.url.set(drivername="postgresql").render_as_string()
    acts = 0
    try:
        with engine.connect() as connection, _begun(connection, write):
            counting = write and count and lite
            before = _changes(connection) if counting else 0
            yield connection
            if counting and _changes(connection) != before:
                acts = _count(connection)
    except (DBAPIError, _driver_error(engine)) as error:  # the second of the driver itself
        raise record_fault(place, error, wait_s=BUSY_TIMEOUT_S) from error
    if acts:
        confirm(Path(str(engine.url.database)), acts)


def _begun(connection: Connection, write: bool) -> RootTransaction:
    connection.execution_options(tailrace_write=write)
    return connection.begin()


def _count(connection: Connection) -> int:
    raw: Any = connection.connection.dbapi_connection
    return int(raw.execute(_COUNT).fetchone()[0])


def _driver_error(engine: Engine) -> type[Exception]:
    driver: Any = engine.dialect.dbapi
    found: type[Exception] = driver.Error
    return found


def _changes(connection: Connection) -> int:
    raw: Any = connection.connection.dbapi_connection
    return int(raw.total_changes)
