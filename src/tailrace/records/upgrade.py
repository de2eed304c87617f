"""Making the tables of a new record, and bringing an older one up to this program's form.

An older record is copied first (`tailrace.records.keeping`); then every step runs in one
transaction, so that the record is in the old form or in the new one and never between.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, inspect

from tailrace.errors import RecordError
from tailrace.migrations import env
from tailrace.records import tally
from tailrace.records.copies import copy_before_upgrade
from tailrace.records.engine import make_engine, transaction
from tailrace.records.home import Place, find_place

SCHEMA_TABLE = "record_schema"


def prepare(place: Place | Path | str, *, create: bool = True) -> None:
    """Make the tables of a new record, or check and upgrade those of an old one.

    Parameters
    ----------
    place
        Where the record is.
    create
        Whether a record is begun where there is none.

    Raises
    ------
    RecordError
        What is there is of something else or of a newer version, has lost confirmed acts, or
        cannot be used.
    """
    where = place if isinstance(place, Place) else find_place(place)
    found = found_version(where)
    if found == env.newest():
        return
    if found == 0 and not create:
        message = f"there is no record in {where}; load a site first, or name another folder."
        raise RecordError(message)
    if found:
        copy_before_upgrade(where, found, at=datetime.now(UTC))
    change_form(where, None)


def found_version(where: Place) -> int:
    """Return the version of the record that is there.

    Parameters
    ----------
    where
        Where it is.

    Returns
    -------
    int
        Version; 0 when nothing is there.

    Raises
    ------
    RecordError
        What is there is no record, is of a newer version, has lost confirmed acts, or cannot
        be used.
    """
    engine = make_engine(where, guarded=False)
    confirmed = confirmed_acts(where)  # before the look at the record: others go on writing
    with transaction(engine, where.home, write=False) as connection:
        tables = set(inspect(connection).get_table_names())
        if not tables:
            version = 0
        elif SCHEMA_TABLE not in tables:
            what = where.file or where
            message = f"{what} is a database, but no record of this software; choose another."
            raise RecordError(message)
        else:
            version = _known(where, env.version(connection))
        if version > env.BEFORE_STEPS:
            _refuse_lost(where, held_acts(connection), confirmed)
    return version


def held_acts(connection: Connection) -> int:
    """Return how many acts of writing a record holds.

    Parameters
    ----------
    connection
        Connection to it.

    Returns
    -------
    int
        Acts; PostgreSQL keeps its own log, and nothing is counted there.
    """
    return int(connection.exec_driver_sql(f"SELECT writes FROM {SCHEMA_TABLE}").scalar_one())


def confirmed_acts(where: Place) -> int:
    """Return how many acts of writing a record had confirmed; ask before `held_acts`.

    Parameters
    ----------
    where
        Where it is.

    Returns
    -------
    int
        Acts; 0 on PostgreSQL.
    """
    return 0 if where.file is None else tally.confirmed(where.file)


def change_form(where: Place, version: int | None) -> None:
    """Bring a record to another version, all steps or none.

    Parameters
    ----------
    where
        Where it is.
    version
        Version to reach, also an older one; None for the newest.

    Raises
    ------
    RecordError
        A step would break a reference, or the record cannot be used.
    """
    end = env.newest() if version is None else version
    engine = make_engine(where, guarded=False)
    with transaction(engine, where.home, write=True, count=False) as connection:
        there = SCHEMA_TABLE in inspect(connection).get_table_names()
        start = env.version(connection) if there else 0  # another process may have been first
        if start < end:
            env.climb(connection, start=start, end=end)
        elif start > end:
            env.descend(connection, start=start, end=end)
        _check_references(where, connection)


def _known(where: Place, version: int) -> int:
    if version < 1:
        message = f"the record in {where} does not say its schema version; restore a backup."
        raise RecordError(message)
    if version > env.newest():
        message = (
            f"the record in {where} was written by a newer version of this software "
            f"(schema {version}, this one knows up to {env.newest()}); update the software."
        )
        raise RecordError(message)
    return version


def _refuse_lost(where: Place, held: int, confirmed: int) -> None:
    if held < confirmed:
        message = (
            f"the record in {where} has lost {confirmed - held} of the {confirmed} acts of "
            "writing that it had confirmed: its end is missing, or an older file was put in its "
            "place. Copy the whole folder somewhere safe; then restore a backup ('tailrace record "
            "restore'), or go on with what is left ('tailrace record verify --accept-loss')."
        )
        raise RecordError(message)


def _check_references(where: Place, connection: Connection) -> None:
    if connection.dialect.name != "sqlite":
        return  # PostgreSQL checks each row as it comes
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if broken:
        tables = ", ".join(sorted({str(row[0]) for row in broken}))
        message = (
            f"the record in {where} refers to rows it does not hold, in {tables}; "
            "restore a backup."
        )
        raise RecordError(message)
