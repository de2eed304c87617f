"""Backups of a record, each proved by restoring it; their rotation; and moving to another engine.

A backup is a folder: the record as an SQLite file whatever its engine, the photos, and a
manifest with the digest of each file. Open `tailrace.operations.keeping` for what people ask.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import inspect

from tailrace import __version__
from tailrace.errors import InputError, RecordError
from tailrace.migrations import env
from tailrace.records import tally
from tailrace.records.copies import (
    BACKUPS,
    copy_file,
    copy_rows,
    copy_to_file,
    digests,
    sync,
)
from tailrace.records.engine import make_engine, transaction
from tailrace.records.faults import record_fault
from tailrace.records.home import FILE, Place, find_place
from tailrace.records.upgrade import found_version, prepare
from tailrace.records.verify import PHOTOS, Verified, photo_files, verify_record

DAILY, BY_HAND = "daily", "backup"
DAYS, WEEKS = 7, 4  # automatic backups kept: one for each of the last days, then weeks
_MANIFEST = "manifest.json"
_FORM = "%Y%m%dT%H%M%SZ"


@dataclass(frozen=True, slots=True)
class Backup:
    """One backup.

    Parameters
    ----------
    folder
        Where it is.
    made_at
        When it was made, aware UTC.
    counts
        Table to count of rows.
    photos
        Count of photos.
    """

    folder: Path
    made_at: datetime
    counts: dict[str, int]
    photos: int


def back_up(where: Place, folder: Path, *, at: datetime, kind: str = BY_HAND) -> Backup:
    """Copy a record while others write to it, and prove the copy by restoring it.

    Parameters
    ----------
    where
        The record.
    folder
        Folder that takes the backup as a new folder of its own.
    at
        When, aware; stands in its name.
    kind
        Begin of its name.

    Returns
    -------
    Backup
        The backup; it appears whole or not at all.

    Raises
    ------
    RecordError
        The record cannot be read, the folder cannot be written, or what was restored from the
        copy is not sound; then the copy is removed again.
    InputError
        There is a backup of this name.
    """
    target = folder / f"{kind}-{at.astimezone(UTC):{_FORM}}"
    if target.exists():
        raise InputError(f"there is a backup {target} already.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".part-", dir=folder) as name:
            part = Path(name) / "made"
            part.mkdir()
            found = _fill(where, part, at=at)
            sync(part)
            part.replace(target)
        sync(folder)
    except OSError as error:
        if isinstance(error, RecordError):
            raise
        raise record_fault(folder, error) from error
    return Backup(target, at, found.counts, found.photos)


def _fill(where: Place, part: Path, *, at: datetime) -> Verified:
    if where.file is not None:
        copy_file(where.file, part / FILE)
    else:
        copy_to_file(where, part / FILE)
    _copy_photos(where.home, part)
    files = sorted(path for path in part.rglob("*") if path.is_file())
    manifest = {
        "form": 1,
        "made_at": at.astimezone(UTC).strftime(_FORM),
        "program": __version__,
        "files": {str(path.relative_to(part)): _digest(path) for path in files},
    }
    text = json.dumps(manifest, indent=1, sort_keys=True)
    (part / _MANIFEST).write_text(text + "\n", encoding="utf-8")
    sync(part / _MANIFEST)
    with tempfile.TemporaryDirectory(dir=part.parent) as rehearsal:
        restored = find_place(rehearsal)
        restore(part, restored)
        found = verify_record(restored)
    if found.faults:
        message = f"the backup is not sound, and was not kept: {' '.join(found.faults)}"
        raise RecordError(message)
    return found


def restore(backup: Path, where: Place, *, replace: bool = False) -> None:
    """Put a record back from a backup.

    Parameters
    ----------
    backup
        Folder of a backup, or an SQLite file of one.
    where
        Where it goes, on either engine.
    replace
        Whether a record that is there may be replaced; the caller backs it up first.

    Raises
    ------
    InputError
        There is a record already, or `backup` is none.
    RecordError
        The backup is not what it was when it was made, or something cannot be read or written.
    """
    source = backup / FILE if backup.is_dir() else backup
    if not source.is_file():
        message = f"{backup} is no backup; give a folder that holds {FILE}, or such a file."
        raise InputError(message)
    _check_manifest(backup)
    if not replace and _is_there(where):
        message = f"there is a record in {where} already; say --replace to put the backup there."
        raise InputError(message)
    if where.file is not None:
        _restore_file(source, where.file)
    else:
        _restore_rows(source, where)
    if backup.is_dir():
        _copy_photos(backup, where.home)
    prepare(where)


def move(old: Place, new: Place) -> dict[str, int]:
    """Carry a record to another place; the old one stays as it is.

    Parameters
    ----------
    old
        Where it is; nobody can write there meanwhile.
    new
        Where nothing is yet.

    Returns
    -------
    dict
        Table to count of rows.

    Raises
    ------
    InputError
        There is a record in the new place.
    RecordError
        A row arrived otherwise than it left; then nothing is left in the new place.
    """
    prepare(old, create=False)
    if _is_there(new):
        raise InputError(f"there is a record in {new} already; name an empty place.")
    new.home.mkdir(parents=True, exist_ok=True)
    source, target = make_engine(old, guarded=False), make_engine(new, guarded=False)
    with (
        transaction(source, old.home, write=True) as left,
        transaction(target, new.home, write=True, count=False) as arrived,
    ):
        env.climb(arrived, start=0)
        counts = copy_rows(left, arrived)
        if digests(left) != digests(arrived):
            raise RecordError(f"what arrived in {new} is not what left {old}; nothing stays.")
    if old.home.resolve() != new.home.resolve():
        _copy_photos(old.home, new.home)
    return counts


def backups_in(folder: Path, kind: str) -> tuple[Backup, ...]:
    """Return the backups in a folder.

    Parameters
    ----------
    folder
        The folder; it need not exist.
    kind
        Begin of their names.

    Returns
    -------
    tuple
        Backups, the oldest first, without their counts.
    """
    found = []
    for path in sorted(folder.glob(f"{kind}-*Z")):
        with suppress(ValueError):
            made = datetime.strptime(path.name.removeprefix(f"{kind}-"), _FORM)  # noqa: DTZ007
            found.append(Backup(path, made.replace(tzinfo=UTC), {}, 0))
    return tuple(found)


def is_due(where: Place, now: datetime) -> bool:
    """Return whether the daily backup is to be made.

    Parameters
    ----------
    where
        The record.
    now
        The moment, aware.

    Returns
    -------
    bool
        True when no automatic backup is of the last day; one from a clock that ran ahead does
        not count.
    """
    made = [backup.made_at for backup in backups_in(where.home / BACKUPS, DAILY)]
    return not any(timedelta(0) <= now - at < timedelta(days=1) for at in made)


def spent(moments: tuple[datetime, ...], now: datetime) -> tuple[datetime, ...]:
    """Return which automatic backups have had their time.

    Parameters
    ----------
    moments
        When each was made.
    now
        The moment, aware.

    Returns
    -------
    tuple
        All but the newest of each of the last `DAYS` days and of each of the `WEEKS` weeks
        before; those of a later moment than now stay.

    Examples
    --------
    >>> day = datetime(2026, 3, 1, tzinfo=UTC)
    >>> len(spent(tuple(day + timedelta(days=n) for n in range(60)), day + timedelta(days=59)))
    49
    """
    kept: dict[tuple[str, int], datetime] = {}
    for moment in sorted(moments):
        age = (now - moment).days
        if age < 0:
            kept["later", len(kept)] = moment
        elif age < DAYS:
            kept["day", age] = moment
        elif age < DAYS + 7 * WEEKS:
            kept["week", (age - DAYS) // 7] = moment
    return tuple(moment for moment in sorted(moments) if moment not in kept.values())


def rotate(where: Place, now: datetime) -> tuple[Path, ...]:
    """Remove the automatic backups that have had their time.

    Parameters
    ----------
    where
        The record.
    now
        The moment, aware.

    Returns
    -------
    tuple
        Folders removed.
    """
    found = backups_in(where.home / BACKUPS, DAILY)
    gone = spent(tuple(backup.made_at for backup in found), now)
    folders = tuple(backup.folder for backup in found if backup.made_at in gone)
    for folder in folders:
        shutil.rmtree(folder, ignore_errors=True)
    return folders


def _is_there(where: Place) -> bool:
    if where.file is not None:
        return where.file.exists() and where.file.stat().st_size > 0
    return found_version(where) > 0


def _restore_file(source: Path, file: Path) -> None:
    """Write over a database that others may have open, or make one."""
    file.parent.mkdir(parents=True, exist_ok=True)
    part = file.with_name(f"{file.name}.restored")
    copy_file(source, part)
    try:
        if file.exists():
            _set_aside(file)
        part.replace(file)
        sync(file.parent)
    except OSError as error:
        raise record_fault(file.parent, error) from error
    engine = make_engine(find_place(file), guarded=False)
    with transaction(engine, file.parent, write=False) as connection:
        columns = {c["name"] for c in inspect(connection).get_columns("record_schema")}
        held = 0
        if "writes" in columns:
            query = "SELECT writes FROM record_schema"
            held = int(connection.exec_driver_sql(query).scalar_one())
    tally.confirm(file, held, lower=True)


def _set_aside(file: Path) -> None:
    """Move the old database with its companions away; whoever has it open keeps the old one."""
    aside = file.parent / f"replaced-{datetime.now(UTC):{_FORM}}"
    aside.mkdir(exist_ok=True)
    for name in (file.name, f"{file.name}-wal", f"{file.name}-shm", tally.tally_file(file).name):
        if (file.parent / name).exists():
            (file.parent / name).replace(aside / name)


def _restore_rows(source: Path, where: Place) -> None:
    backup = make_engine(find_place(source), guarded=False)
    target = make_engine(where, guarded=False)
    with transaction(backup, source.parent, write=False) as old:
        version = env.version(old)
        with transaction(target, where.home, write=True, count=False) as new:
            if "record_schema" in inspect(new).get_table_names():
                env.descend(new, start=env.version(new), end=env.BEFORE_STEPS)
            env.climb(new, start=0, end=version)
            copy_rows(old, new)


def _copy_photos(source: Path, target: Path) -> None:
    """Copy the photos of a home or backup; a link to the same bytes where the disk allows it."""
    for path in photo_files(source / PHOTOS).values():
        there = target / path.relative_to(source)
        if there.exists():
            continue
        there.parent.mkdir(parents=True, exist_ok=True)
        try:
            os.link(path, there)
        except OSError:
            shutil.copyfile(path, there)


def _check_manifest(backup: Path) -> None:
    listed = backup / _MANIFEST
    if not backup.is_dir() or not listed.is_file():
        return
    made: dict[str, Any] = json.loads(listed.read_text(encoding="utf-8"))
    for name, digest in made["files"].items():
        if not (backup / name).is_file() or _digest(backup / name) != digest:
            message = f"{backup / name} is not what it was when the backup was made; take another."
            raise RecordError(message)


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
