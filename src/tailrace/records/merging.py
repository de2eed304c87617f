"""Merging the rows of another copy into this record: in any order, any number of times.

Rows are only added, so what comes out does not depend on what came first. Where both copies
changed the same thing, what holds is worked out from all rows together
(`tailrace.records.holding`), and said.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from sqlalchemy import Connection, Table, select

from tailrace.errors import RecordError
from tailrace.records import tables as t
from tailrace.records.part import CHUNK, Part
from tailrace.records.photos import photo_path
from tailrace.records.plain_rows import BY_NAME, Names, PlainRow, plain_rows
from tailrace.records.redaction import FILE, clear
from tailrace.records.samples import add_samples
from tailrace.records.undone import state

_SAID = {
    "both": "{0} correct the same entry; {1}, received last, holds.",
    "withdrawn": "{1} corrects {2}, which was withdrawn in another copy; neither holds. If it is "
    "right, write it down anew.",
}
_LOCAL = {"sites": ("name",), "series": ("received_at",)}  # may differ between copies of one row


@dataclass(frozen=True, slots=True)
class Merged:
    """What came of merging rows.

    Parameters
    ----------
    added
        Rows that are new here.
    already
        Rows that were here.
    conflicts
        One sentence for each thing that both copies changed, with what holds now.
    """

    added: int
    already: int
    conflicts: tuple[str, ...]


class MergingPart(Part):
    """Rows of the record out, and rows of another copy in."""

    def rows(
        self, *, site: str | None = None, since: datetime | None = None
    ) -> Iterator[PlainRow]:
        """Yield every row of the record as plain values, of one moment, in a fixed order.

        Parameters
        ----------
        site
            Only what belongs to this site; None for all.
        since
            Only what was received then or later, and every description of the site.

        Yields
        ------
        tuple
            Table and row (`tailrace.records.plain_rows`).

        Raises
        ------
        NotKnownError
            There is no such site.
        """
        with self._reading() as connection:
            if site is not None:
                self._check_site(connection, site)
            yield from plain_rows(connection, site=site, since=since)

    def merge(self, rows: Iterable[PlainRow], *, same: Mapping[str, str] | None = None) -> Merged:
        """Add the rows of another copy that are not here yet, all or none.

        Parameters
        ----------
        rows
            Table and plain row, in any order.
        same
            Uid of a site there, to the name of the site here that it is, for a site that was
            begun on both machines by itself.

        Returns
        -------
        Merged
            What is new, what was here, and what both copies changed.

        Raises
        ------
        RecordError
            A row cannot be read, or is of a newer version; a site there has the name of another
            one here; or the record cannot be written. Nothing was stored then.
        """
        with self._writing() as connection:
            merging = _Merging(connection, same or {})
            for table, row in rows:
                merging.take(table, row)
            merging.finish()
            merged = merging.merged()
        for sha256, media in merging.taken_out:
            photo_path(self.home, sha256, media).unlink(missing_ok=True)
        return merged


class _Merging:
    """One act of merging; rows wait by table until there are enough of them."""

    def __init__(self, connection: Connection, same: Mapping[str, str]) -> None:
        self.connection = connection
        self.names = Names.read(connection)
        for uid, name in same.items():
            if name not in self.names.site_uids:
                raise RecordError(f"there is no site {name!r} here that it could be.")
            self.names.sites[uid] = name
        self.same = frozenset(same)
        self.added = self.already = 0
        self.differing: list[str] = []
        self.taken_out: list[tuple[str, str]] = []
        self._waiting: defaultdict[str, list[dict[str, Any]]] = defaultdict(list)
        self._sites: set[str] = set()
        self._before = {name: self._forks(name) for name in self.names.site_uids}

    def take(self, table: str, row: dict[str, Any]) -> None:
        """Take a row; it is written once there are enough of its table."""
        if table not in BY_NAME:
            message = f"rows of {table!r} are not known to this version; update the software."
            raise RecordError(message)
        self._waiting[table].append(row)
        if len(self._waiting[table]) >= CHUNK:
            self._write(table)

    def finish(self) -> None:
        """Write what still waits: sites first, then series, then all the others."""
        for table in BY_NAME:
            self._write(table)
        for table, rows in self._waiting.items():
            if rows:
                row = rows[0]
                message = (
                    f"the row {row.get('uid', '')} of {table} belongs to a site or series that "
                    "is neither here nor among these rows; pack the site again."
                )
                raise RecordError(message)

    def _write(self, name: str) -> None:
        rows: list[dict[str, Any]] = []
        late: list[dict[str, Any]] = []
        for row in self._waiting[name]:
            (rows if name == "sites" or self.names.known(row) else late).append(row)
        self._waiting[name] = late
        if rows:
            _WRITERS.get(name, _Merging._write_plain)(self, BY_NAME[name], rows)

    def _write_plain(self, table: Table, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Add those that are new, compare those that are not; return the new ones."""
        read = {row.get("uid"): self.names.from_plain(table, row) for row in rows}
        for uid in read:
            if not isinstance(uid, str):
                raise RecordError(f"a row of {table.name} has no uid; pack the site again.")
        query = select(table).where(table.c.uid.in_(read))
        here = {row["uid"]: row for row in self.connection.execute(query).mappings()}
        stones = self._stones(table, [str(uid) for uid in read])
        for uid, values in read.items():
            values.update(dict.fromkeys(stones.get(str(uid), ()), ""))
        new = [values for uid, values in read.items() if uid not in here]
        for uid, old in here.items():
            self._compare(table, dict(old), read[uid])
        if new:
            self.connection.execute(table.insert(), new)
            self._sites |= {str(row["site"]) for row in new if row.get("site")}
        self.added += len(new)
        self.already += len(rows) - len(new)
        return new

    def _stones(self, table: Table, uids: list[str]) -> dict[str, set[str]]:
        """Return which columns of rows were redacted here."""
        blankable = t.REDACTABLE.get(table.name, ())
        if not blankable:
            return {}
        gone = t.tombstones
        query = select(gone.c.row_uid, gone.c.field).where(gone.c.row_uid.in_(uids))
        found: dict[str, set[str]] = {}
        for uid, field in self.connection.execute(query):
            if field in blankable:
                found.setdefault(uid, set()).add(field)
        return found

    def _compare(self, table: Table, old: dict[str, Any], new: dict[str, Any]) -> None:
        """Say where a row differs from the one here; a blank there awaits its tombstone."""
        free = (*_LOCAL.get(table.name, ()), "number")
        blankable = t.REDACTABLE.get(table.name, ())
        odd = [
            name
            for name in new
            if name not in free
            and new[name] != old[name]
            and not (name in blankable and new[name] == "")
        ]
        if odd:
            self.differing.append(
                f"a row of {table.name} ({old['uid'][:8]}) says something else there in "
                f"{', '.join(odd)}; the one here stays. One of the two copies is damaged: run "
                "'tailrace record verify' on both."
            )

    def _write_sites(self, table: Table, rows: list[dict[str, Any]]) -> None:
        for row in rows:
            if row.get("uid") in self.same:
                self.already += 1
                continue
            taken = self.names.site_uids.get(str(row.get("name")))
            if taken is not None and taken != row.get("uid"):
                message = (
                    f"there is a site called {row['name']!r} here that was begun by itself. If it "
                    "is the same site, say so ('--same-site'); if not, give one of them another "
                    "name. Nothing was stored."
                )
                raise RecordError(message)
            for new in self._write_plain(table, [row]):
                self.names.sites[new["uid"]] = new["name"]
                self.names.site_uids[new["name"]] = new["uid"]
                self._before[new["name"]] = frozenset()

    def _write_tombstones(self, table: Table, rows: list[dict[str, Any]]) -> None:
        wanted: defaultdict[tuple[str, str], list[str]] = defaultdict(list)
        for row in self._write_plain(table, rows):
            wanted[row["table_name"], row["field"]].append(row["row_uid"])
        for (name, field), uids in wanted.items():
            of = BY_NAME.get(name)
            if of is not None and field == FILE:
                self._take_out(of, uids)
            elif of is not None:
                clear(self.connection, of, uids, field)

    def _take_out(self, table: Table, uids: list[str]) -> None:
        query = select(table.c.sha256, table.c.media).where(table.c.uid.in_(uids))
        self.taken_out += [(row[0], row[1]) for row in self.connection.execute(query)]

    def _write_series(self, table: Table, rows: list[dict[str, Any]]) -> None:
        self._write_plain(table, rows)
        query = select(table.c.uid, table.c.number).where(
            table.c.uid.in_([row["uid"] for row in rows])
        )
        for uid, number in self.connection.execute(query):
            self.names.series[uid] = number
            self.names.series_uids[number] = uid

    def _write_samples(self, table: Table, rows: list[dict[str, Any]]) -> None:
        read = [self.names.from_plain(table, row) for row in rows]
        made = add_samples(
            self.connection,
            np.array([row["series"] for row in read], dtype=np.int64),
            np.array([row["at"] for row in read], dtype=np.int64),
            np.array([row["value"] for row in read], dtype=np.float64),
        )
        self.added += made.new
        self.already += len(read) - made.new
        if made.other.size:
            self.differing.append(
                f"{made.other.size} samples have another value there at the same moment; those "
                "here stay."
            )

    def merged(self) -> Merged:
        """Return what came of it."""
        said = list(self.differing)
        for site in sorted(self._sites):
            names = state(self.connection, site).names
            for kind, group in sorted(self._forks(site) - self._before.get(site, frozenset())):
                local = [names.get(uid, uid[:8]) for uid in group]
                said.append(f"{site}: {_SAID[kind].format(', '.join(local), *local)}")
        return Merged(self.added, self.already, tuple(said))

    def _forks(self, site: str) -> frozenset[tuple[str, tuple[str, ...]]]:
        found = state(self.connection, site).held
        both = {("both", group) for group in found.conflicts}
        return frozenset(both | {("withdrawn", pair) for pair in found.withdrawn})


_WRITERS: dict[str, Callable[[_Merging, Table, list[dict[str, Any]]], object]] = {
    "sites": _Merging._write_sites,  # the table of its own methods
    "tombstones": _Merging._write_tombstones,
    "series": _Merging._write_series,
    "samples": _Merging._write_samples,
}
