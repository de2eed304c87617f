"""Opening the SQLite file of a record, and its faults in plain sentences.

Write transactions begin IMMEDIATE: with a plain BEGIN two writers that both read first
deadlock at once, whatever the busy timeout.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, select
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from tailrace.errors import RecordError
from tailrace.records import tables

FILE = "record.sqlite3"
BUSY_TIMEOUT_S = 5.0

_SENTENCES = {
    "SQLITE_BUSY": "is locked: another program has been writing to it for more than "
    "{wait:g} seconds. Let that one finish, or close it, and try again.",
    "SQLITE_LOCKED": "is locked: another program has been writing to it for more than "
    "{wait:g} seconds. Let that one finish, or close it, and try again.",
    "SQLITE_FULL": "cannot grow: the disk is full. Nothing of this act was stored; free some "
    "space and try again.",
    "SQLITE_READONLY": "cannot be written. Give this user the right to write in that folder, or "
    "choose another with --home.",
    "SQLITE_CANTOPEN": "cannot be opened. Check that the folder exists and that this user may "
    "write in it, or choose another with --home.",
    "SQLITE_NOTADB": "is not a database. Move that file away, or restore a backup.",
    "SQLITE_CORRUPT": "is damaged. Copy the whole folder somewhere safe first, then restore the "
    "record from a backup.",
    "SQLITE_IOERR": "cannot be read or written: the disk reports a fault. Copy the folder "
    "somewhere safe, and check the disk.",
}


def record_fault(home: Path, error: BaseException) -> RecordError:
    """Return the fault of a record in one plain sentence.

    Parameters
    ----------
    home
        Folder of the record.
    error
        What the database or the operating system said.

    Returns
    -------
    RecordError
        What is wrong and what to do.

    Examples
    --------
    >>> str(record_fault(Path("/srv/r"), PermissionError(13, "denied")))[:40]
    'the record in /srv/r cannot be written. '
    """
    cause: BaseException = error
    if isinstance(error, DBAPIError) and error.orig is not None:
        cause = error.orig
    code = getattr(cause, "sqlite_errorname", "")
    if isinstance(cause, PermissionError):
        code = "SQLITE_READONLY"
    elif isinstance(cause, OSError):
        code = "SQLITE_CANTOPEN"
    family = "_".join(code.split("_")[:2])
    sentence = _SENTENCES.get(family, f"cannot be used: {cause}.").format(wait=BUSY_TIMEOUT_S)
    return RecordError(f"the record in {home} {sentence}")


def make_engine(home: Path) -> Engine:
    """Return the engine of a record; nothing is opened yet.

    Parameters
    ----------
    home
        Folder of the record.

    Returns
    -------
    sqlalchemy.Engine
        Engine that opens a connection for each transaction and keeps none.

    Examples
    --------
    >>> make_engine(Path("/srv/r")).url.database
    '/srv/r/record.sqlite3'
    """
    engine = create_engine(
        f"sqlite:///{home / FILE}",
        poolclass=NullPool,
        connect_args={"timeout": BUSY_TIMEOUT_S, "check_same_thread": False},
    )
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)
    return engine


def _on_connect(connection: sqlite3.Connection, _record: Any) -> None:
    connection.isolation_level = None  # the driver's own BEGIN comes too late and is deferred
    for pragma in (
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
        "recursive_triggers=ON",
    ):
        connection.execute(f"PRAGMA {pragma}")


def _on_begin(connection: Connection) -> None:
    write = connection.get_execution_options().get("tailrace_write", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


@contextmanager
def transaction(engine: Engine, home: Path, *, write: bool) -> Iterator[Connection]:
    """Open one transaction; whatever stops it, also Ctrl-C, leaves the record as it was.

    Parameters
    ----------
    engine
        Engine of `make_engine`.
    home
        Folder of the record, for the words of an error.
    write
        Whether rows will be added.

    Yields
    ------
    sqlalchemy.Connection
        The connection.

    Raises
    ------
    RecordError
        The record cannot be opened, read or written.
    """
    options = engine.execution_options(tailrace_write=write)
    try:
        with options.begin() as connection:
            yield connection
    except DBAPIError as error:
        raise record_fault(home, error) from error
    except sqlite3.Error as error:  # raised by the pragmas at connecting
        raise record_fault(home, error) from error


def prepare(engine: Engine, home: Path) -> None:
    """Make the tables of a new record, or check the schema of an old one.

    Parameters
    ----------
    engine
        Engine of `make_engine`.
    home
        Folder of the record.

    Raises
    ------
    RecordError
        The file is of something else or of a newer version, or cannot be used.
    """
    with transaction(engine, home, write=False) as connection:
        found = set(inspect(connection).get_table_names())
        old = bool(found) and _check_schema(connection, home, found) < tables.SCHEMA_VERSION
    if old:
        with transaction(engine, home, write=True) as connection:
            _upgrade(connection)
    if found:
        return
    with transaction(engine, home, write=True) as connection:
        if inspect(connection).get_table_names():  # another process was first
            return
        tables.metadata.create_all(connection)
        for trigger in tables.triggers():
            connection.execute(trigger)
        connection.execute(tables.record_schema.insert().values(version=tables.SCHEMA_VERSION))


def _upgrade(connection: Connection) -> None:
    """Add the tables that this version has more than the record; nothing else ever changed."""
    there = set(inspect(connection).get_table_names())
    new = [table for table in tables.APPEND_ONLY if table.name not in there]
    tables.metadata.create_all(connection, tables=new)
    for trigger in tables.triggers(new):
        connection.execute(trigger)
    connection.execute(tables.record_schema.update().values(version=tables.SCHEMA_VERSION))


def _check_schema(connection: Connection, home: Path, found: set[str]) -> int:
    known = tables.SCHEMA_VERSION
    if tables.record_schema.name not in found:
        message = f"{home / FILE} is a database, but no record of this software; choose another."
        raise RecordError(message)
    version = connection.execute(select(tables.record_schema.c.version)).scalar_one_or_none()
    if version is None or version < 1:
        message = f"the record in {home} does not say its schema version; restore a backup."
        raise RecordError(message)
    if version > known:
        message = (
            f"the record in {home} was written by a newer version of this software "
            f"(schema {version}, this one knows up to {known}); update the software."
        )
        raise RecordError(message)
    return int(version)
