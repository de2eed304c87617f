"""Whether a record is sound: every invariant, and what is wrong in words.

Reading is enough for every check but the lock of SQLite; nothing is repaired here.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, create_engine, inspect, types

from tailrace.errors import RecordError
from tailrace.migrations import env
from tailrace.records.copies import raw_rows, tables_of
from tailrace.records.engine import make_engine, transaction
from tailrace.records.home import Place, find_place
from tailrace.records.samples import wrong_rollups
from tailrace.records.upgrade import confirmed_acts, held_acts

PHOTOS = "photos"
_MOMENT = "%Y-%m-%dT%H:%M:%S.%fZ"
_MOMENT_WIDTH = 27
_PLAIN = frozenset({"samples", "rollups"})  # numbers alone, millions; checked against each other
_AT_MOST = 20  # findings of one kind that are spelt out
_UID = re.compile(r"[0-9a-f]{32}\Z")
_DIGEST = re.compile(r"[0-9a-f]{64}\Z")


@dataclass(frozen=True, slots=True)
class Verified:
    """What was found in a record.

    Parameters
    ----------
    version
        Version of its tables.
    counts
        Table to count of rows.
    photos
        Count of photos beside it.
    faults
        What is wrong, one sentence each; empty for a sound record.
    remarks
        What is odd but breaks nothing.
    """

    version: int
    counts: dict[str, int]
    photos: int
    faults: tuple[str, ...]
    remarks: tuple[str, ...]


def verify_record(address: Place | Path | str) -> Verified:
    """Check a record.

    Parameters
    ----------
    address
        Where it is; also the file of a backup.

    Returns
    -------
    Verified
        What was found.

    Raises
    ------
    RecordError
        There is no record, it is of a newer version, or it cannot be read at all.
    """
    where = address if isinstance(address, Place) else find_place(address)
    if where.file is not None and not where.file.exists():
        raise RecordError(f"there is no record in {where}.")
    confirmed = confirmed_acts(where)
    engine = make_engine(where, guarded=False)
    with transaction(engine, where.home, write=False) as connection:
        names = set(inspect(connection).get_table_names())
        if "record_schema" not in names:
            raise RecordError(f"what is in {where} is no record of this software.")
        version = env.version(connection)
        if not env.BEFORE_STEPS < version <= env.newest():
            message = (
                f"the record in {where} is of version {version} and this program checks version "
                f"{env.newest()}; open it once to upgrade it, or update the software."
            )
            raise RecordError(message)
        return _verify(where, connection, version, confirmed)


def _verify(where: Place, connection: Connection, version: int, confirmed: int) -> Verified:
    faults = list(_pages(connection))
    remarks: list[str] = []
    counts: dict[str, int] = {}
    wanted: set[str] = set()
    gone: set[str] = set()
    if not faults:  # rows of torn pages would only repeat the same
        faults += _lost(connection, confirmed)
        faults += _structure(connection, version)
        for table in tables_of(connection):
            check = _Rows(table.name, [c.name for c in table.columns], table.columns)
            if table.name in _PLAIN:
                query = f"SELECT count(*) FROM {table.name}"
                check.count = int(connection.exec_driver_sql(query).scalar_one())
            else:
                check.read(raw_rows(connection, table))
            counts[table.name] = check.count
            faults += check.faults()
            wanted |= check.photos
            gone |= check.taken_out
        wanted -= _photos_gone(connection, gone)
        if "rollups" in counts:
            series = connection.exec_driver_sql("SELECT number FROM series").scalars().all()
            faults += wrong_rollups(connection, series)
    found = photo_files(where.home / PHOTOS)
    faults += _photos(found, wanted)
    stray = len(set(found) - wanted)
    if stray:
        remarks.append(f"{stray} photos beside the record belong to no row of it.")
    return Verified(version, counts, len(found), tuple(faults), tuple(remarks))


def photo_files(folder: Path) -> dict[str, Path]:
    """Return the photos in a folder.

    Parameters
    ----------
    folder
        The folder; it need not exist.

    Returns
    -------
    dict
        Digest that names a photo, to its file.
    """
    if not folder.is_dir():
        return {}
    return {p.stem: p for p in sorted(folder.rglob("*")) if p.is_file() and _DIGEST.match(p.stem)}


def _photos_gone(connection: Connection, taken_out: set[str]) -> set[str]:
    """Return the digests of photos that a redaction took out, and no other row keeps."""
    if not taken_out:
        return set()
    rows = connection.exec_driver_sql("SELECT uid, sha256 FROM photos").all()
    kept = {sha256 for uid, sha256 in rows if uid not in taken_out}
    return {sha256 for uid, sha256 in rows if uid in taken_out} - kept


def _photos(found: dict[str, Path], wanted: set[str]) -> Iterator[str]:
    for digest in sorted(wanted - set(found)):
        yield f"the photo {digest[:12]} is missing; a backup may have it."
    for digest, path in found.items():
        if hashlib.sha256(path.read_bytes()).hexdigest() != digest:
            yield f"the photo {path.name} is not what it was when it came; a backup may have it."


def _pages(connection: Connection) -> Iterator[str]:
    if connection.dialect.name != "sqlite":
        return
    for row in connection.exec_driver_sql(f"PRAGMA integrity_check({_AT_MOST})"):
        if row[0] != "ok":
            yield f"the database file is damaged: {' '.join(str(row[0]).split())}."
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchmany(_AT_MOST)
    for table, number, parent, _key in broken:
        yield f"{table} row {number} refers to a row of {parent} that is not there."


def _lost(connection: Connection, confirmed: int) -> Iterator[str]:
    held = held_acts(connection)
    if held < confirmed:
        yield (
            f"{confirmed - held} of {confirmed} confirmed acts of writing are missing: the end of "
            "the record was lost, or an older file was put in its place."
        )


def _structure(connection: Connection, version: int) -> Iterator[str]:
    """Compare tables, columns and guards with those of a new record of the same version."""
    fresh = create_engine("sqlite://")
    with fresh.begin() as model:
        env.climb(model, start=0, end=version)
        expected, guarded = _columns(model), _guards(model)
    there, guards = _columns(connection), _guards(connection)
    for table, columns in expected.items():
        if table not in there:
            yield f"the table {table} is missing."
        elif columns - there[table]:
            missing = ", ".join(sorted(columns - there[table]))
            yield f"the table {table} lacks {missing}."
    for table in sorted(guarded):
        if not guarded[table] <= guards.get(table, set()):
            yield f"the table {table} is no longer guarded: its rows could be changed or removed."


def _columns(connection: Connection) -> dict[str, set[str]]:
    found = inspect(connection)
    return {t: {c["name"] for c in found.get_columns(t)} for t in found.get_table_names()}


def _guards(connection: Connection) -> dict[str, set[str]]:
    """Return the acts that each table refuses, of update and delete."""
    if connection.dialect.name == "sqlite":
        query = "SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'"
    else:
        query = (
            "SELECT c.relname, t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
            "WHERE NOT t.tgisinternal AND t.tgenabled <> 'D'"
        )
    made: dict[str, set[str]] = {}
    for table, name in connection.exec_driver_sql(query):
        act = str(name).rsplit("_", maxsplit=1)[-1]
        if act in {"update", "delete"}:
            made.setdefault(str(table), set()).add(act)
    return made


class _Rows:
    """The checks of one table, a row at a time, so that a record of any size can be checked."""

    def __init__(self, table: str, names: list[str], columns: Any) -> None:
        self.table, self.names, self.count = table, names, 0
        self.photos: set[str] = set()
        self._faults: list[str] = []
        self._uids: set[str] = set()
        self.taken_out: set[str] = set()  # photos that a redaction took out
        self._moments = [c.name for c in columns if getattr(c.type, "length", 0) == _MOMENT_WIDTH]
        self._json = [c.name for c in columns if isinstance(c.type, types.JSON)]
        self._own = _OWN_CHECKS.get(table, _no_check)

    def read(self, rows: Iterator[tuple[Any, ...]]) -> None:
        for values in rows:
            self.count += 1
            row = dict(zip(self.names, values, strict=True))
            for said in self._check(row):
                self._faults.append(f"{self.table} {self._name(row)}: {said}")

    def faults(self) -> Iterator[str]:
        yield from self._faults[:_AT_MOST]
        if len(self._faults) > _AT_MOST:
            yield f"{self.table}: {len(self._faults) - _AT_MOST} more of the same kind."

    def _name(self, row: dict[str, Any]) -> str:
        return str(row.get("number") or row.get("name") or row.get("uid") or self.count)

    def _check(self, row: dict[str, Any]) -> Iterator[str]:
        for name in self._moments:
            if row[name] is not None and not _is_moment(row[name]):
                yield f"{name} is {row[name]!r}, which is no moment."
        for name in self._json:
            try:
                row[name] = None if row[name] is None else json.loads(row[name])
            except ValueError:
                yield f"{name} cannot be read."
                return
        yield from self._check_uid(row)
        yield from self._own(row)
        if self.table == "tombstones" and row["field"] == "file":
            self.taken_out.add(row["row_uid"])
        if self.table == "photos":
            self.photos.add(row["sha256"])
        photos = row.get("photos")
        self.photos |= set(photos) if isinstance(photos, list) else set()

    def _check_uid(self, row: dict[str, Any]) -> Iterator[str]:
        uid = row.get("uid")
        if uid is None:
            return
        if not _UID.match(str(uid)):
            yield f"its global id {uid!r} is not 32 hexadecimal digits."
        if uid in self._uids:
            yield f"its global id {uid} is that of another row too."
        self._uids.add(uid)


def _is_moment(text: Any) -> bool:
    try:
        datetime.strptime(str(text), _MOMENT)  # noqa: DTZ007  # the form ends in Z
    except ValueError:
        return False
    return len(str(text)) == _MOMENT_WIDTH


def _check_entry(row: dict[str, Any]) -> Iterator[str]:
    if row["supersedes"] is not None and row["supersedes"] == row.get("uid"):
        yield "it corrects itself."
    for _basis, low, high in row["meanings"]:
        if not float(low) <= float(high):
            yield f"its interval {low} to {high} is none."


def _no_check(_row: dict[str, Any]) -> Iterator[str]:
    return iter(())


def _check_version(row: dict[str, Any]) -> Iterator[str]:
    if row["text"] and hashlib.sha256(str(row["text"]).encode()).hexdigest() != row["sha256"]:
        yield "its text is not the one that was stored."


def _check_undo(row: dict[str, Any]) -> Iterator[str]:
    if (row["batch"] is None) == (row["entry"] is None):
        yield "it undoes neither one entry nor one import."


_OWN_CHECKS: dict[str, Callable[[dict[str, Any]], Iterator[str]]] = {
    "entries": _check_entry,
    "site_versions": _check_version,
    "undos": _check_undo,
}
