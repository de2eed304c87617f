"""Entries of the log: added, corrected, undone, and what holds of them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, select

from tailrace.errors import InputError, KeyUsedError
from tailrace.observations import Entry
from tailrace.records import tables as t
from tailrace.records.imports_kept import undo
from tailrace.records.kept import Version
from tailrace.records.part import Part, add_row, uid_of
from tailrace.records.ready import insert_ready, make_ready
from tailrace.records.rows import number_of, to_row
from tailrace.records.undone import chain, load, state

_NOT_OF_THE_SENDER = ("uid", "received_at")


class EntriesPart(Part):
    """The entries of the record."""

    def add_entry(self, site: str, entry: Entry, *, received_at: datetime) -> str:
        """Store one entry.

        Parameters
        ----------
        site
            Name of the site.
        entry
            The entry; its id and uid are not used.
        received_at
            When it was received, aware; taken where the entry does not say.

        Returns
        -------
        str
            Name of the entry, such as ``e17``.

        Raises
        ------
        NotKnownError
            There is no such site.
        RecordError
            The record cannot be written; nothing was stored.
        """
        return self.add_entries(site, (entry,), received_at=received_at)[0]

    def add_entries(
        self, site: str, entries: Sequence[Entry], *, received_at: datetime, key: str = ""
    ) -> tuple[str, ...]:
        """Store entries in one act, all or none, on the disk when this returns.

        Parameters
        ----------
        site
            Name of the site.
        entries
            The entries; their ids and uids are not used.
        received_at
            When they were received, aware; taken where an entry does not say.
        key
            Name that the sender gave to this act, so that sending it again stores nothing
            twice; empty for none.

        Returns
        -------
        tuple
            Names of the entries, such as ``e17``, in their order. The names of the first time
            when the same entries come again under the same key.

        Raises
        ------
        NotKnownError
            There is no such site.
        RecordError
            The key was used before for other entries, or the record cannot be written;
            nothing was stored.
        """
        rows = [to_row(entry, site, received_at) for entry in entries]
        digest = _digest(rows) if key else ""
        ready = [make_ready(t.entries, row) for row in rows]
        with self._writing() as connection:
            self._check_site(connection, site)
            if key:
                before = _sent_before(connection, site, key, digest)
                if before is not None:
                    return before
                uids = {"entries": [row["uid"] for row in rows], "key": key, "sha256": digest}
                add_row(connection, t.submissions, received_at=received_at, site=site, **uids)
            return tuple(f"e{insert_ready(connection, t.entries, each)}" for each in ready)

    def correct(self, entry_id: str, new: Entry, *, received_at: datetime, why: str) -> str:
        """Store a new version of an entry; the old one stays and no longer holds.

        Parameters
        ----------
        entry_id
            Name of the entry to correct.
        new
            The whole new version, such as ``dataclasses.replace(old, text=...)`` gives.
        received_at
            When the correction was received, aware.
        why
            Why, in free words.

        Returns
        -------
        str
            Name of the new version.

        Raises
        ------
        NotKnownError
            There is no such entry.
        InputError
            The entry does not hold any more: corrected or undone before.
        """
        number = number_of(entry_id, "e")
        with self._writing() as connection:
            uid, site = uid_of(connection, t.entries, number, entry_id)
            _refuse_dead(connection, site, uid, entry_id)
            version = replace(new, received_at=received_at, row=0)
            row = to_row(version, site, received_at, why=why) | {"supersedes": uid}
            return _insert(connection, row)

    def undo_entry(self, entry_id: str, *, at: datetime, why: str) -> None:
        """Undo one entry; undoing a correction brings the entry before it back.

        Parameters
        ----------
        entry_id
            Name of the entry.
        at
            When, aware.
        why
            Why, in free words.

        Raises
        ------
        NotKnownError
            There is no such entry.
        InputError
            It was undone before.
        """
        with self._writing() as connection:
            uid, site = uid_of(connection, t.entries, number_of(entry_id, "e"), entry_id)
            undo(connection, site, entry_id, at=at, why=why, entry=uid)

    def entries(
        self,
        site: str,
        *,
        since: datetime | None = None,
        until: datetime | None = None,
        subjects: Collection[str] = (),
    ) -> tuple[Entry, ...]:
        """Return the entries of a site that hold, in the order of time.

        Parameters
        ----------
        site
            Name of the site.
        since, until
            Leave out what was taken before the one, or at the other and later; None for all.
        subjects
            Keep these subjects only; empty for all.

        Returns
        -------
        tuple
            Entries.

        Raises
        ------
        NotKnownError
            There is no such site.
        """
        with self._reading() as connection:
            self._check_site(connection, site)
            known = state(connection, site)
            where = _asked(since, until, subjects)
            found = tuple(load(connection, site, known, *where, holding=True))
        return tuple(sorted(found, key=lambda entry: entry.taken_at))

    def all_entries(self, site: str) -> tuple[Entry, ...]:
        """Return every entry of a site, corrected and undone ones too, as they were added."""
        with self._reading() as connection:
            self._check_site(connection, site)
            return tuple(load(connection, site, state(connection, site)))

    def history(self, entry_id: str) -> tuple[Version, ...]:
        """Return every version of an entry.

        Parameters
        ----------
        entry_id
            Name of any version.

        Returns
        -------
        tuple
            Versions, the first one first.

        Raises
        ------
        NotKnownError
            There is no such entry.
        """
        number = number_of(entry_id, "e")
        with self._reading() as connection:
            uid, site = uid_of(connection, t.entries, number, entry_id)
            known = state(connection, site)
            uids = chain(_links(connection, site), uid)
            where = t.entries.c.uid.in_(uids)
            entries = {e.uid: e for e in load(connection, site, known, where)}
            query = select(t.entries.c.uid, t.entries.c.why, t.entries.c.batch).where(where)
            rows = {row.uid: row for row in connection.execute(query)}
        return tuple(
            Version(
                entries[name],
                rows[name].why,
                known.undone.get(name, known.undone.get(rows[name].batch)),
                known.holds(name, rows[name].batch),
            )
            for name in uids
            if name in entries
        )

    def conflicts(self, site: str) -> tuple[tuple[str, ...], ...]:
        """Return where copies of the record corrected the same entry before they were merged.

        Parameters
        ----------
        site
            Name of the site.

        Returns
        -------
        tuple
            Groups of names of entries; the first of each group holds, as the one received last.

        Raises
        ------
        NotKnownError
            There is no such site.
        """
        with self._reading() as connection:
            self._check_site(connection, site)
            known = state(connection, site)
        return tuple(tuple(known.names[uid] for uid in group) for group in known.held.conflicts)


def _asked(
    since: datetime | None, until: datetime | None, subjects: Collection[str]
) -> Iterable[ColumnElement[bool]]:
    if since is not None:
        yield t.entries.c.taken_at >= since
    if until is not None:
        yield t.entries.c.taken_at < until
    if subjects:
        yield t.entries.c.subject.in_(tuple(subjects))


def _links(connection: Connection, site: str) -> list[tuple[str, str]]:
    query = (
        select(t.entries.c.uid, t.entries.c.supersedes)
        .where(t.entries.c.site == site, t.entries.c.supersedes.is_not(None))
        .order_by(t.entries.c.received_at, t.entries.c.number)
    )
    return [(row[0], row[1]) for row in connection.execute(query)]


def _insert(connection: Connection, row: dict[str, Any]) -> str:
    return f"e{insert_ready(connection, t.entries, make_ready(t.entries, row))}"


def _digest(rows: Iterable[dict[str, Any]]) -> str:
    plain = [
        {name: value for name, value in row.items() if name not in _NOT_OF_THE_SENDER}
        for row in rows
    ]
    return hashlib.sha256(json.dumps(plain, sort_keys=True, default=str).encode()).hexdigest()


def _sent_before(
    connection: Connection, site: str, key: str, digest: str
) -> tuple[str, ...] | None:
    """Return the names of the entries that came under a key, or None."""
    table = t.submissions
    query = select(table).where(table.c.site == site, table.c.key == key).order_by(table.c.number)
    row = connection.execute(query).mappings().first()
    if row is None:
        return None
    if row["sha256"] != digest:
        message = (
            f"the key {key!r} came before with other entries; nothing was stored. Send these "
            "under a new key."
        )
        raise KeyUsedError(message)
    found = select(t.entries.c.uid, t.entries.c.number).where(t.entries.c.uid.in_(row["entries"]))
    numbers = {each.uid: each.number for each in connection.execute(found)}
    return tuple(f"e{numbers[uid]}" for uid in row["entries"])


def _refuse_dead(connection: Connection, site: str, uid: str, entry_id: str) -> None:
    known = state(connection, site)
    batch = connection.execute(
        select(t.entries.c.batch).where(t.entries.c.uid == uid)
    ).scalar_one()
    if known.holds(uid, batch):
        return
    newer = [new for new, old in _links(connection, site) if old == uid]
    names = [known.names[new] for new in newer]
    what = f"was already corrected by {names[-1]}; correct that one" if names else "was undone"
    raise InputError(f"the entry {entry_id} {what}.")
