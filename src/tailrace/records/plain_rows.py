"""Rows of the record as plain values that go anywhere, and back.

Local numbers stay at home: a plain row names its site, its series and every other row by `uid`,
moments are UTC text, and the columns are those of the table. Two records with the same plain
rows are the same record.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import JSON, Connection, Integer, RowMapping, Select, Table, inspect, or_, select
from sqlalchemy.types import BigInteger, Float

from tailrace.errors import RecordError
from tailrace.records import sample_tables as s
from tailrace.records import tables as t
from tailrace.records.rows import to_entry

PLAIN: tuple[Table, ...] = (
    *t.APPEND_ONLY,
    s.series,
    s.series_meanings,
    s.sensor_asides,
    s.samples,
)
"""Tables that make up a record, in the order in which they are written out."""

BY_NAME = {table.name: table for table in PLAIN}
_ALWAYS = frozenset({"sites", "site_versions"})
_UID = re.compile(r"[0-9a-f]{32}", re.ASCII)
_EPOCH = "1970-01-01T00:00:00.000000Z"
PlainRow = tuple[str, dict[str, Any]]


def columns_of(table: Table) -> tuple[str, ...]:
    """Return the columns that go out.

    Parameters
    ----------
    table
        Table of the record.

    Returns
    -------
    tuple
        Names; the local number is not among them.
    """
    return tuple(column.name for column in table.c if column.name != "number")


def plain_rows(
    connection: Connection, *, site: str | None = None, since: datetime | None = None
) -> Iterator[PlainRow]:
    """Yield every row as plain values.

    Parameters
    ----------
    connection
        Connection to the record.
    site
        Only what belongs to this site; None for all.
    since
        Only what was received then or later, and every description of the site; None for all.

    Yields
    ------
    tuple
        Table and row, tables in the order of `PLAIN`, rows by their uid, samples by the uid of
        their series and their time.
    """
    names = Names.read(connection)
    there = set(inspect(connection).get_table_names())
    for table in (table for table in PLAIN if table.name in there):
        query = _wanted(table, site, since)
        order = (s.series.c.uid, table.c.at) if table is s.samples else (table.c.uid,)
        found = connection.execution_options(yield_per=2000).execute(query.order_by(*order))
        for row in found.mappings():
            yield table.name, names.to_plain(table, row)


class Names:
    """What stands for sites and series in plain rows, and in this record."""

    def __init__(self, sites: Mapping[str, str], series: Mapping[int, str]) -> None:
        self.site_uids = dict(sites)
        self.series_uids = dict(series)
        self.sites = {uid: name for name, uid in sites.items()}
        self.series = {uid: number for number, uid in series.items()}

    @classmethod
    def read(cls, connection: Connection) -> Names:
        """Read them from a record."""
        sites = connection.execute(select(t.sites.c.name, t.sites.c.uid)).all()
        has = inspect(connection).has_table("series")
        query = select(s.series.c.number, s.series.c.uid)
        series = connection.execute(query).all() if has else []
        return cls({r[0]: r[1] for r in sites}, {r[0]: r[1] for r in series})

    def to_plain(self, table: Table, row: RowMapping) -> dict[str, Any]:
        """Return a row as plain values."""
        made: dict[str, Any] = {}
        for column in columns_of(table):
            value = row[column]
            if isinstance(value, datetime):
                value = t.moment_text(value)
            elif column == "site" and value is not None:
                value = self.site_uids[value]
            elif column == "series":
                value = self.series_uids[value]
            made[column] = value
        return made

    def known(self, row: Mapping[str, Any]) -> bool:
        """Return whether site and series of a plain row are in this record."""
        site, series = row.get("site"), row.get("series")
        return (site is None or site in self.sites) and (series is None or series in self.series)

    def from_plain(self, table: Table, row: Mapping[str, Any]) -> dict[str, Any]:
        """Return a plain row as values of the table.

        Parameters
        ----------
        table
            Its table.
        row
            The plain row; its site and series are known.

        Returns
        -------
        dict
            Column to value.

        Raises
        ------
        RecordError
            It lacks a column, has one more, or holds what the column cannot.
        """
        columns = columns_of(table)
        if set(row) != set(columns):
            odd = ", ".join(sorted(map(str, set(row) ^ set(columns))))
            message = (
                f"a row of {table.name} has other columns than this version of the software "
                f"knows ({odd}); update the software."
            )
            raise RecordError(message)
        try:
            made = {name: self._from_plain(table, name, row[name]) for name in columns}
            if table is t.entries:
                to_entry({**made, "number": 0}, {})  # type: ignore[arg-type]  # reads alike
        except (TypeError, ValueError, KeyError) as error:
            said = row.get("uid", "")
            message = f"the row {said} of {table.name} cannot be read: {error}. Pack it again."
            raise RecordError(message) from error
        return made

    def _from_plain(self, table: Table, name: str, value: Any) -> Any:
        column = table.c[name]
        if value is None:
            if not column.nullable and not isinstance(column.type, JSON):
                raise ValueError(f"{name} is missing")
            return None
        if name == "uid" and not _UID.fullmatch(value):
            raise ValueError(f"{value!r} is no uid")
        if name == "site":
            return self.sites[value]
        if name == "series":
            return self.series[value]
        return _reader(table, name)(value)


def _reader(table: Table, name: str) -> Callable[[Any], Any]:
    kind = table.c[name].type
    if isinstance(kind, t.UtcMoment):
        return t.moment_of
    if isinstance(kind, JSON):
        return lambda value: value
    if isinstance(kind, Integer | BigInteger):
        return _whole
    if isinstance(kind, Float):
        return float
    return _text


def _whole(value: Any) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or abs(value) >= 2**63:
        raise ValueError(f"{value!r} is no whole number")
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str) or "\x00" in value:
        raise ValueError(f"{value!r} is no text")
    return value


def _wanted(table: Table, site: str | None, since: datetime | None) -> Select[Any]:
    query = select(table)
    if table is s.samples:
        query = query.join(s.series, s.series.c.number == table.c.series)
    if site is not None:
        query = query.where(_of_site(table, site))
    if since is None or table.name in _ALWAYS:
        return query
    if table is s.samples:
        first = int((since - t.moment_of(_EPOCH)).total_seconds() * 1e6)
        return query.where(table.c.at >= first)
    return query.where(table.c.received_at >= since)


def _of_site(table: Table, site: str) -> Any:
    """Return the condition that a row belongs to a site, or is named by rows that do."""
    if table in _BY_RULE:
        return _BY_RULE[table](table.c, site)
    return table.c.site == site


def _used(site: str) -> Any:
    return select(t.entries.c.instrument).where(t.entries.c.site == site).distinct()


def _people_of(site: str) -> Any:
    """Select the people whose names stand in the rows of a site."""
    wrote = [
        select(column).where(table.c.site == site)
        for table in (t.entries, t.batches, t.answers, t.photos, t.outcomes)
        for column in (table.c.get("who"), table.c.get("sent_by"))
        if column is not None
    ]
    return select(t.people.c.uid).where(or_(*(t.people.c.name.in_(names) for names in wrote)))


def _series_of(site: str) -> Any:
    return select(s.series.c.number).where(s.series.c.site == site)


_BY_RULE: dict[Table, Callable[[Any, str], Any]] = {
    t.sites: lambda c, site: c.name == site,
    t.people: lambda c, site: c.uid.in_(_people_of(site)),
    t.instruments: lambda c, site: or_(c.site == site, c.site.is_(None) & c.name.in_(_used(site))),
    t.tombstones: lambda c, site: or_(
        c.site == site, c.site.is_(None) & c.row_uid.in_(_people_of(site))
    ),
    s.series_meanings: lambda c, site: c.series.in_(_series_of(site)),
    s.samples: lambda c, site: c.series.in_(_series_of(site)),
}
