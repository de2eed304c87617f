"""Copies of a whole database: from SQLite to a file, and row by row between engines.

A copy between engines is a record of the same version with the same rows under the same
numbers, so that ``e17`` stays ``e17``.
"""

from __future__ import annotations

import hashlib
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, MetaData, Table, types

from tailrace.migrations import env
from tailrace.records import tally
from tailrace.records.engine import make_engine, transaction
from tailrace.records.faults import record_fault
from tailrace.records.home import Place, find_place

BACKUPS = "backups"
_CHUNK = 5_000
_PAGES = 2_000  # copied at a time; writers go on in between
_OWN = frozenset({"record_schema"})  # says what the copy is itself


def copy_file(source: Path, target: Path) -> None:
    """Copy an SQLite database while others write to it.

    Parameters
    ----------
    source
        Its file.
    target
        File to make; it appears whole or not at all, and is on the disk when this returns.

    Raises
    ------
    RecordError
        One of them cannot be read or written.
    """
    part = target.with_name(target.name + ".part")
    part.unlink(missing_ok=True)
    try:
        with (
            closing(sqlite3.connect(source, timeout=5.0)) as old,
            closing(sqlite3.connect(part)) as new,
        ):
            old.execute("BEGIN")  # one moment, also when others write meanwhile
            old.execute("SELECT count(*) FROM sqlite_master").fetchone()
            old.backup(new, pages=_PAGES)
            new.execute("PRAGMA journal_mode=DELETE")  # one file, without companions
    except (sqlite3.Error, OSError) as error:
        part.unlink(missing_ok=True)
        raise record_fault(source.parent, error) from error
    sync(part)
    part.replace(target)
    sync(target.parent)


def sync(path: Path) -> None:
    """Put a file or folder on the disk.

    Parameters
    ----------
    path
        The file or folder.
    """
    if path.is_dir() and os.name == "nt":
        return  # folders cannot be opened there
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def copy_before_upgrade(where: Place, version: int, *, at: datetime) -> Path:
    """Copy a record of an older version, before it is changed.

    Parameters
    ----------
    where
        Where it is.
    version
        Its version.
    at
        When, aware; stands in the name of the copy.

    Returns
    -------
    pathlib.Path
        An SQLite file of the same version.
    """
    folder = where.home / BACKUPS
    folder.mkdir(parents=True, exist_ok=True)
    target = folder / f"before-upgrade-from-{version}-{at:%Y%m%dT%H%M%SZ}.sqlite3"
    if where.file is not None:
        copy_file(where.file, target)
    else:
        copy_to_file(where, target)
    return target


def copy_to_file(where: Place, target: Path) -> None:
    """Copy a record on any engine into an SQLite file of the same version.

    Parameters
    ----------
    where
        Where it is.
    target
        File to make; it appears whole or not at all.
    """
    part = target.with_name(f"{target.stem}-part.sqlite3")
    part.unlink(missing_ok=True)
    source = make_engine(where, guarded=False)
    with transaction(source, where.home, write=False) as old:
        begin_empty(find_place(part), env.version(old))
        new_engine = make_engine(find_place(part), guarded=False)
        with transaction(new_engine, part, write=True, count=False) as new:
            copy_rows(old, new)
    with closing(sqlite3.connect(part)) as last:
        last.execute("PRAGMA journal_mode=DELETE")
    tally.tally_file(part).unlink(missing_ok=True)
    sync(part)
    part.replace(target)
    sync(target.parent)


def begin_empty(where: Place, version: int) -> None:
    """Make the empty tables of a record of some version.

    Parameters
    ----------
    where
        Where nothing is yet.
    version
        Version of the tables.
    """
    engine = make_engine(where, guarded=False)
    with transaction(engine, where.home, write=True, count=False) as connection:
        env.climb(connection, start=0, end=max(version, env.BEFORE_STEPS + 1))


def tables_of(connection: Connection) -> list[Table]:
    """Return the tables of a record as they are in its database, each after those it refers to.

    Parameters
    ----------
    connection
        Connection to it.

    Returns
    -------
    list of Table
        Tables but for the one that says the version.
    """
    metadata = MetaData()
    metadata.reflect(connection)
    return [table for table in metadata.sorted_tables if table.name not in _OWN]


def copy_rows(old: Connection, new: Connection) -> dict[str, int]:
    """Copy every row from one database to an empty one of the same version.

    Parameters
    ----------
    old
        Where the rows are.
    new
        Where they go.

    Returns
    -------
    dict
        Table to count of rows.
    """
    counts = {}
    for table in tables_of(new):
        rows = raw_rows(old, table)
        put = _put_sqlite if new.dialect.name == "sqlite" else _put_postgres
        counts[table.name] = put(new, table, rows)
    writes = old.exec_driver_sql("SELECT writes FROM record_schema").scalar_one()
    new.exec_driver_sql(f"UPDATE record_schema SET writes = {int(writes)}")
    return counts


def raw_rows(connection: Connection, table: Table) -> Iterator[tuple[Any, ...]]:
    """Read the rows of a table as the database holds them, in the order of their keys.

    Parameters
    ----------
    connection
        Connection to the database.
    table
        The table, of this or of the other engine.

    Yields
    ------
    tuple
        One row; text of JSON stays text.
    """
    lite = connection.dialect.name == "sqlite"
    wanted = ", ".join(
        f'"{c.name}"' if lite or not isinstance(c.type, types.JSON) else f'"{c.name}"::text'
        for c in table.columns
    )
    keys = ", ".join(
        f'"{c.name}"' + ("" if lite or not isinstance(c.type, types.String) else ' COLLATE "C"')
        for c in table.primary_key.columns
    )
    query = f'SELECT {wanted} FROM "{table.name}" ORDER BY {keys}'
    found = connection.execution_options(stream_results=True, yield_per=_CHUNK)
    with found.exec_driver_sql(query) as result:
        for row in result:
            yield tuple(row)


def digests(connection: Connection) -> dict[str, tuple[int, str]]:
    """Return count and digest of every table, the same on both engines for the same rows.

    Parameters
    ----------
    connection
        Connection to a record.

    Returns
    -------
    dict
        Table to its count of rows and the SHA-256 of them.
    """
    made = {}
    for table in tables_of(connection):
        digest, count = hashlib.sha256(), 0
        names = [c.name for c in table.columns]
        digest.update(repr(names).encode())
        flags = [n for n, c in enumerate(table.columns) if isinstance(c.type, types.Boolean)]
        for row in raw_rows(connection, table):
            values = list(row)
            for place in flags:
                values[place] = None if values[place] is None else int(values[place])
            digest.update(repr(values).encode())
            count += 1
        made[table.name] = (count, digest.hexdigest())
    return made


def _put_sqlite(connection: Connection, table: Table, rows: Iterator[tuple[Any, ...]]) -> int:
    names = ", ".join(f'"{c.name}"' for c in table.columns)
    marks = ", ".join("?" for _ in table.columns)
    raw: Any = connection.connection.dbapi_connection
    before = raw.total_changes
    raw.executemany(f'INSERT INTO "{table.name}" ({names}) VALUES ({marks})', rows)
    return int(raw.total_changes - before)


def _put_postgres(connection: Connection, table: Table, rows: Iterator[tuple[Any, ...]]) -> int:
    names = ", ".join(f'"{c.name}"' for c in table.columns)
    flags = [n for n, c in enumerate(table.columns) if isinstance(c.type, types.Boolean)]
    raw: Any = connection.connection.dbapi_connection
    count = 0
    with raw.cursor() as cursor:
        with cursor.copy(f'COPY "{table.name}" ({names}) FROM STDIN') as copy:
            for row in rows:
                values = list(row)
                for place in flags:
                    values[place] = None if values[place] is None else bool(values[place])
                copy.write_row(values)
                count += 1
        if "number" in table.columns:
            cursor.execute(
                "SELECT setval(pg_get_serial_sequence(%s, 'number'), max(number)) "
                f'FROM "{table.name}" HAVING max(number) IS NOT NULL',
                (table.name,),
            )
    return count
