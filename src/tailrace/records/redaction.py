"""Redaction: a name, note or photo blanked in place, with a dated tombstone and its reason.

Values stay: only the columns of `tailrace.records.tables.REDACTABLE` can be blanked, and the
database itself lets that happen only where a tombstone names the row.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice

from sqlalchemy import Connection, Table, func, select

from tailrace.errors import InputError, NotKnownError
from tailrace.records import tables as t
from tailrace.records.part import CHUNK, Part, uid_of
from tailrace.records.photos import photo_path
from tailrace.records.rows import new_uid, number_of
from tailrace.records.undone import chain

FILE = "file"
_LETTERS = {
    "e": (t.entries, ("note", "who", "sent_by")),
    "b": (t.batches, ("who",)),
    "i": (t.instruments, ("note", "who")),
    "l": (t.places, ("note",)),
    "f": (t.photos, (FILE, "who")),
}


@dataclass(frozen=True, slots=True)
class Mark:
    """The words of a tombstone.

    Parameters
    ----------
    why
        Reason.
    who
        Who asked for it.
    received_at
        When, aware.
    """

    why: str
    who: str
    received_at: datetime


class RedactionPart(Part):
    """What may be blanked in the record."""

    def redact(self, name: str, field: str, mark: Mark) -> int:
        """Blank one field of a row and of all its versions.

        Parameters
        ----------
        name
            Local name: ``e17`` of an entry, ``b3`` of an import, ``b3:12`` of the row 12 that
            was kept aside from it, ``i2`` of an instrument, ``l4`` of a place, ``f7`` of a photo.
        field
            ``note``, ``who``, ``sent_by``; ``file`` of a photo; ``text`` of a row kept aside.
        mark
            Reason, person and moment of the tombstones.

        Returns
        -------
        int
            How many places were blanked.

        Raises
        ------
        NotKnownError
            There is no such row.
        InputError
            The field cannot be blanked, or no reason is given.
        """
        _check_reason(mark)
        with self._writing() as connection:
            table, site, uids = _rows_of(connection, name, field)
            done = blank(connection, table, site, uids, field, mark)
            files = _files(connection, uids) if field == FILE else ()
        self.remove_photo_files(files)
        return done

    def redact_person(self, name: str, mark: Mark) -> int:
        """Blank a person's name wherever it stands by itself.

        Parameters
        ----------
        name
            Display name or initials, in any case.
        mark
            Reason, person and moment of the tombstones.

        Returns
        -------
        int
            How many places were blanked. Notes that mention the name are not found by this.

        Raises
        ------
        NotKnownError
            The name stands nowhere.
        InputError
            No reason is given.
        """
        _check_reason(mark)
        done = 0
        with self._writing() as connection:
            for table, column in _name_columns():
                site = table.c.site if "site" in table.c else None
                query = select(table.c.uid, *(() if site is None else (site,)))
                wanted = func.lower(table.c[column]) == name.strip().lower()
                found: dict[str | None, list[str]] = {}
                for row in connection.execute(query.where(wanted)):
                    found.setdefault(None if site is None else row.site, []).append(row.uid)
                for of, uids in found.items():
                    done += blank(connection, table, of, uids, column, mark)
        if not done:
            raise NotKnownError(f"the name {name!r} stands nowhere in the record by itself.")
        return done

    def remove_photo_files(self, files: Iterable[tuple[str, str]]) -> None:
        """Remove the files of photos that were taken out of the record.

        Parameters
        ----------
        files
            Pairs of digest and kind.
        """
        for sha256, media in files:
            photo_path(self.home, sha256, media).unlink(missing_ok=True)


def blank(
    connection: Connection,
    table: Table,
    site: str | None,
    uids: Sequence[str],
    field: str,
    mark: Mark,
) -> int:
    """Write tombstones, then blank the field of the rows they name.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    table
        Table of the rows.
    site
        Site of the rows; None for rows of no site.
    uids
        Names everywhere of the rows.
    field
        Column, or ``file``.
    mark
        Words of the tombstones.

    Returns
    -------
    int
        How many rows.
    """
    waiting = iter(uids)
    while chunk := list(islice(waiting, CHUNK)):
        stones = [
            {
                "uid": new_uid(),
                "site": site,
                "table_name": table.name,
                "row_uid": uid,
                "field": field,
                "why": mark.why,
                "who": mark.who,
                "received_at": mark.received_at,
            }
            for uid in chunk
        ]
        connection.execute(t.tombstones.insert(), stones)
        clear(connection, table, chunk, field)
    return len(uids)


def clear(connection: Connection, table: Table, uids: Sequence[str], field: str) -> None:
    """Blank a column of rows that have their tombstones.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    table
        Table of the rows.
    uids
        Names everywhere of the rows.
    field
        Column; nothing is done for ``file``.
    """
    if field in t.REDACTABLE.get(table.name, ()):
        where = table.c.uid.in_(uids) & (table.c[field] != "")
        connection.execute(table.update().where(where).values({field: ""}))


def _check_reason(mark: Mark) -> None:
    if not mark.why.strip():
        raise InputError("a redaction needs a reason, such as 'asked by the person'.")


def _name_columns() -> Iterator[tuple[Table, str]]:
    by_name = {table.name: table for table in t.APPEND_ONLY}
    for table, columns in t.REDACTABLE.items():
        for column in columns:
            if column in {"who", "sent_by"} or (table, column) == ("people", "name"):
                yield by_name[table], column


def _rows_of(
    connection: Connection, name: str, field: str
) -> tuple[Table, str | None, tuple[str, ...]]:
    if ":" in name:
        return _aside(connection, name, field)
    table, fields = _LETTERS.get(name[:1], (None, ()))
    if table is None:
        raise NotKnownError(f"{name!r} is no name of a row; it is such as e17, b3, b3:12 or f7.")
    if field not in fields:
        message = f"{field!r} of {name} cannot be blanked; one of {', '.join(fields)} can."
        raise InputError(message)
    uid, site = uid_of(connection, table, number_of(name, name[0]), name)
    if "supersedes" not in table.c:
        return table, site or None, (uid,)
    query = select(table.c.uid, table.c.supersedes).where(table.c.supersedes.is_not(None))
    if site:
        query = query.where(table.c.site == site)
    links = [(row[0], row[1]) for row in connection.execute(query)]
    return table, site or None, chain(links, uid)


def _aside(
    connection: Connection, name: str, field: str
) -> tuple[Table, str | None, tuple[str, ...]]:
    batch, _, row = name.partition(":")
    if field != "text":
        raise InputError(f"{field!r} of {name} cannot be blanked; text can.")
    uid, site = uid_of(connection, t.batches, number_of(batch, "b"), batch)
    wanted = number_of(f"r{row}", "r")
    query = select(t.asides.c.uid).where(t.asides.c.batch == uid, t.asides.c.row == wanted)
    found = tuple(connection.execute(query).scalars())
    if not found:
        raise NotKnownError(f"no row {row} of {batch} was kept aside.")
    return t.asides, site, found


def _files(connection: Connection, uids: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Return digest and kind of photos that no other row keeps."""
    table, gone = t.photos, t.tombstones
    taken_out = select(gone.c.row_uid).where(gone.c.field == FILE)
    kept = select(table.c.sha256).where(table.c.uid.not_in(taken_out))
    query = select(table.c.sha256, table.c.media).where(
        table.c.uid.in_(uids), table.c.sha256.not_in(kept)
    )
    return tuple((row[0], row[1]) for row in connection.execute(query))
