"""Imports: files taken in as one batch each, and rows kept aside."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from itertools import chain, islice

from sqlalchemy import Connection, select

from tailrace.errors import InputError
from tailrace.intake.result import Aside, ImportResult
from tailrace.observations import Entry
from tailrace.records import tables as t
from tailrace.records.kept import Batch
from tailrace.records.part import CHUNK, Part, uid_of
from tailrace.records.ready import insert_all_ready, make_ready
from tailrace.records.rows import new_uid, number_of, to_row
from tailrace.records.undone import state


class ImportsPart(Part):
    """The imports of the record."""

    def add_batch(self, site: str, result: ImportResult, *, who: str = "") -> str:
        """Store a log file as read: its entries and the rows kept aside, all or nothing.

        Parameters
        ----------
        site
            Name of the site.
        result
            What `tailrace.intake.logfile.read_log` gave.
        who
            Who gave the file.

        Returns
        -------
        str
            Name of the import, such as ``b3``.

        Raises
        ------
        NotKnownError
            There is no such site.
        InputError
            The same file was taken before and not undone.
        RecordError
            The record cannot be written; nothing was stored.
        """
        return self.add_stream(
            site,
            chain(result.entries, result.asides),
            file=result.name,
            sha256=result.sha256,
            received_at=result.received_at,
            who=who,
        )

    def add_stream(
        self,
        site: str,
        rows: Iterable[Entry | Aside],
        *,
        file: str,
        sha256: str,
        received_at: datetime,
        who: str = "",
    ) -> str:
        """Store a file of any length as one batch, all or nothing, with bounded memory.

        Parameters
        ----------
        site
            Name of the site.
        rows
            Entries and rows kept aside, read as they are asked for.
        file, sha256
            Name of the file and digest of its bytes.
        received_at
            When it was received, aware.
        who
            Who gave the file.

        Returns
        -------
        str
            Name of the import, such as ``b3``.

        Raises
        ------
        NotKnownError
            There is no such site.
        InputError
            The same file was taken before and not undone.
        RecordError
            The record cannot be written; nothing was stored.
        """
        batch = {
            "uid": new_uid(),
            "site": site,
            "file": file,
            "sha256": sha256,
            "received_at": received_at,
            "who": who,
        }
        with self._writing() as connection:
            self._check_site(connection, site)
            _refuse_again(connection, site, file, sha256)
            added = connection.execute(t.batches.insert().values(**batch)).inserted_primary_key
            waiting = iter(rows)
            while chunk := list(islice(waiting, CHUNK)):
                _write(connection, chunk, batch)
        return f"b{added[0] if added is not None else 0}"

    def undo_batch(self, batch_id: str, *, at: datetime, why: str) -> None:
        """Undo an import: its entries no longer hold, and stay in the record.

        Parameters
        ----------
        batch_id
            Name of the import.
        at
            When, aware.
        why
            Why, in free words.

        Raises
        ------
        NotKnownError
            There is no such import.
        InputError
            It was undone before.
        """
        with self._writing() as connection:
            number = number_of(batch_id, "b")
            uid, site = uid_of(connection, t.batches, number, batch_id)
            undo(connection, site, batch_id, at=at, why=why, batch=uid)

    def batches(self, site: str) -> tuple[Batch, ...]:
        """Return all imports of a site, the undone ones too, in the order they came."""
        query = select(t.batches).where(t.batches.c.site == site).order_by(t.batches.c.number)
        with self._reading() as connection:
            self._check_site(connection, site)
            undone = state(connection, site).undone
            at = select(t.undos.c.batch, t.undos.c.received_at).where(t.undos.c.site == site)
            when = {row.batch: row.received_at for row in connection.execute(at)}
            return tuple(
                Batch(
                    id=f"b{row['number']}",
                    site=row["site"],
                    file=row["file"],
                    sha256=row["sha256"],
                    received_at=row["received_at"],
                    who=row["who"],
                    undone_at=when.get(
                        row["uid"], row["received_at"] if row["uid"] in undone else None
                    ),
                    undone_why=undone.get(row["uid"], ""),
                )
                for row in connection.execute(query).mappings()
            )

    def asides(self, site: str) -> tuple[tuple[str, Aside], ...]:
        """Return the rows kept aside with the import each came with, undone imports left out."""
        query = select(t.asides).where(t.asides.c.site == site).order_by(t.asides.c.number)
        with self._reading() as connection:
            self._check_site(connection, site)
            known = state(connection, site)
            return tuple(
                (
                    known.names.get(row["batch"], ""),
                    Aside(row["row"], row["text"], tuple(row["reasons"])),
                )
                for row in connection.execute(query).mappings()
                if row["batch"] not in known.undone
            )


def undo(
    connection: Connection,
    site: str,
    name: str,
    *,
    at: datetime,
    why: str,
    batch: str | None = None,
    entry: str | None = None,
) -> None:
    """Undo an import or an entry.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    site
        Name of the site.
    name
        Local name, for the words of an error.
    at
        When, aware.
    why
        Why, in free words.
    batch, entry
        Name everywhere of the one or the other.

    Raises
    ------
    InputError
        It was undone before.
    """
    query = select(t.undos.c.received_at).where(
        t.undos.c.site == site, t.undos.c.batch == batch if batch else t.undos.c.entry == entry
    )
    before = connection.execute(query).scalar()
    if before is not None:
        raise InputError(f"{name} was already undone on {before:%Y-%m-%d}.")
    row = {"site": site, "batch": batch, "entry": entry, "why": why, "received_at": at}
    connection.execute(t.undos.insert().values(uid=new_uid(), **row))


def _write(connection: Connection, chunk: list[Entry | Aside], batch: dict[str, object]) -> None:
    site, received_at = str(batch["site"]), batch["received_at"]
    assert isinstance(received_at, datetime)
    rows = [
        to_row(each, site, received_at) | {"batch": batch["uid"]}
        for each in chunk
        if isinstance(each, Entry)
    ]
    aside = [
        {
            "uid": new_uid(),
            "site": site,
            "batch": batch["uid"],
            "row": each.row,
            "text": each.text,
            "reasons": list(each.reasons),
            "received_at": received_at,
        }
        for each in chunk
        if isinstance(each, Aside)
    ]
    insert_all_ready(connection, t.entries, (make_ready(t.entries, row) for row in rows))
    if aside:
        connection.execute(t.asides.insert(), aside)


def _refuse_again(connection: Connection, site: str, file: str, sha256: str) -> None:
    query = (
        select(t.batches.c.number, t.batches.c.received_at)
        .outerjoin(t.undos, t.undos.c.batch == t.batches.c.uid)
        .where(t.batches.c.site == site, t.batches.c.sha256 == sha256, t.undos.c.number.is_(None))
        .order_by(t.batches.c.number)
    )
    before = connection.execute(query).first()
    if before is not None:
        number, moment = before
        message = (
            f"{file} was already taken in as b{number} on {moment:%Y-%m-%d}; "
            f"undo b{number} first to take it in again."
        )
        raise InputError(message)
