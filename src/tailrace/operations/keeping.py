"""Keep the record safe: back up, restore, verify, move, and the automatic backup of each day."""

from __future__ import annotations

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from tailrace.errors import InputError, RecordError
from tailrace.records import keeping, tally
from tailrace.records.copies import BACKUPS
from tailrace.records.engine import make_engine, transaction
from tailrace.records.home import Place, find_place
from tailrace.records.keeping import Backup
from tailrace.records.store import Store
from tailrace.records.upgrade import held_acts, prepare
from tailrace.records.verify import Verified, verify_record

QUICK_AT_MOST_BYTES = 200_000_000  # a larger record is backed up by the server or by hand
_LOOK_EVERY_S = 3600.0
_log = logging.getLogger("tailrace.keeping")


def back_up(address: str, folder: Path | None = None, *, now: datetime) -> Backup:
    """Back a record up, and prove the backup by restoring it.

    Parameters
    ----------
    address
        The record.
    folder
        Folder that takes it; None for ``backups`` beside the record. Another disk is better.
    now
        When.

    Returns
    -------
    Backup
        The backup.

    Raises
    ------
    RecordError
        The record cannot be read or is not sound, or the folder cannot be written.
    """
    where = find_place(address)
    prepare(where, create=False)
    return keeping.back_up(where, folder or where.home / BACKUPS, at=now)


def restore(backup: Path, address: str, *, replace: bool = False, now: datetime) -> Verified:
    """Put a record back from a backup.

    Parameters
    ----------
    backup
        Folder of the backup, or its SQLite file.
    address
        Where it goes.
    replace
        Whether a record that is there is replaced. On SQLite it is set aside in its folder, on
        PostgreSQL backed up first.
    now
        When.

    Returns
    -------
    Verified
        What was found in the restored record.

    Raises
    ------
    InputError
        There is a record already, or `backup` is none.
    RecordError
        The backup is not what it was, or something cannot be read or written.
    """
    where = find_place(address)
    if replace and where.file is None:
        keeping.back_up(where, where.home / BACKUPS, at=now, kind="before-restore")
    keeping.restore(backup, where, replace=replace)
    return verify_record(where)


def verify(address: str, *, accept_loss: bool = False) -> Verified:
    """Check every invariant of a record.

    Parameters
    ----------
    address
        The record, or a file of a backup.
    accept_loss
        Whether confirmed acts that are missing are given up, so that the record opens again.

    Returns
    -------
    Verified
        What was found.

    Raises
    ------
    RecordError
        There is no record, or it cannot be read at all.
    """
    where = find_place(address)
    if accept_loss and where.file is not None:
        engine = make_engine(where, guarded=False)
        with transaction(engine, where.home, write=False) as connection:
            held = held_acts(connection)
        tally.confirm(where.file, held, lower=True)
    return verify_record(where)


def move(old: str, new: str) -> dict[str, int]:
    """Carry a record to another place or engine; the old one stays as it is.

    Parameters
    ----------
    old
        Where it is; nobody can write there meanwhile.
    new
        An empty place.

    Returns
    -------
    dict
        Table to count of rows.

    Raises
    ------
    InputError
        There is a record in the new place.
    RecordError
        A row arrived otherwise than it left; then nothing stays in the new place.
    """
    return keeping.move(find_place(old), find_place(new))


def back_up_if_due(where: Place, *, now: datetime) -> Backup | None:
    """Make the automatic backup of the day unless there is one, and remove those too old.

    Parameters
    ----------
    where
        The record.
    now
        When.

    Returns
    -------
    Backup or None
        The backup; None when none was due or it could not be made, which is said in the log.
    """
    folder = where.home / BACKUPS
    if not keeping.is_due(where, now):
        return None
    try:
        made = keeping.back_up(where, folder, at=now, kind=keeping.DAILY)
    except (RecordError, InputError) as error:  # the second: another program was first
        _log.warning("the backup of the day was not made: %s", error)
        return None
    keeping.rotate(where, now)
    return made


def back_up_quickly(store: Store, *, now: datetime) -> None:
    """Make the backup of the day where that keeps nobody waiting.

    Parameters
    ----------
    store
        The record, as just opened.
    now
        When.
    """
    where = place_of(store)
    if where.file is None or where.file.stat().st_size > QUICK_AT_MOST_BYTES:
        return
    if store.site_names():
        back_up_if_due(where, now=now)


@contextmanager
def daily_backups(store: Store) -> Iterator[None]:
    """Make the backup of each day in the background, as long as a server runs.

    Parameters
    ----------
    store
        The record.

    Yields
    ------
    None
        While backups are made.
    """
    ended = threading.Event()

    def keep() -> None:
        while True:
            back_up_if_due(place_of(store), now=datetime.now(UTC))
            if ended.wait(_LOOK_EVERY_S):
                return

    thread = threading.Thread(target=keep, name="daily backups", daemon=True)
    thread.start()
    try:
        yield
    finally:
        ended.set()


def place_of(store: Store) -> Place:
    """Return where an open record is.

    Parameters
    ----------
    store
        The record.

    Returns
    -------
    Place
        Its database and its folder.
    """
    return Place(store.engine.url, store.home)
