"""What a sensor series is and means, what its sender sent that could not be used, and what came.

A series is a name and a unit of one site, as its sender gives them. What it measures and where
is said by a person, later and again when it changes; each saying is a row of its own.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, func, select

from tailrace.errors import InputError, NotKnownError
from tailrace.records import sample_tables as t
from tailrace.records.engine import transaction
from tailrace.records.store import Store
from tailrace.records.tables import sites

KEPT_DELIVERIES_US = 30 * 86_400 * 1_000_000
# the same series has the same uid on every machine, so that parcels meet
_NAMESPACE = uuid.UUID("5f0f1d5c-6a34-5d3e-9b0e-2c6c0f5e7a11")


@dataclass(frozen=True, slots=True)
class Series:
    """A series with what it means now.

    Parameters
    ----------
    number
        Its number in this record; people see ``s3``.
    uid
        The same on every machine that holds it.
    site
        Short name of the site.
    name, unit
        As its sender gives them.
    subject
        Key of `tailrace.quantities.subjects`, or ``pressure``, ``level``, ``sound``; empty when
        nobody said.
    place, instrument
        As a person said; empty when nobody did.
    """

    number: int
    uid: str
    site: str
    name: str
    unit: str
    subject: str = ""
    place: str = ""
    instrument: str = ""

    @property
    def id(self) -> str:
        """Its short name."""
        return f"s{self.number}"


@dataclass(frozen=True, slots=True)
class SensorAside:
    """A message or record that could not be used.

    Parameters
    ----------
    site
        The site that its sender named.
    text
        What was sent.
    reason
        Why it could not be used.
    received_at
        When it was received, aware UTC.
    """

    site: str
    text: str
    reason: str
    received_at: datetime


def series_uid(site: str, name: str, unit: str) -> str:
    """Return the uid of a series.

    Parameters
    ----------
    site
        Short name of the site.
    name, unit
        As its sender gives them.

    Returns
    -------
    str
        32 hexadecimal digits, the same on every machine.

    Examples
    --------
    >>> series_uid("lantern", "tank:temp", "Cel") == series_uid("lantern", "tank:temp", "Cel")
    True
    """
    return uuid.uuid5(_NAMESPACE, "\n".join((site, name, unit))).hex


def known_sites(connection: Connection) -> frozenset[str]:
    """Return the short names of all sites.

    Parameters
    ----------
    connection
        Connection to the record.

    Returns
    -------
    frozenset of str
        Names.
    """
    return frozenset(connection.execute(select(sites.c.name)).scalars())


def series_numbers(
    connection: Connection, site: str, wanted: Iterable[tuple[str, str]], *, at: datetime
) -> dict[tuple[str, str], int]:
    """Return the numbers of some series of a site; those not there yet are begun.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    site
        Short name of the site, which the record must hold.
    wanted
        Name and unit of each.
    at
        When they were received, aware.

    Returns
    -------
    dict
        Name and unit to number.
    """
    c = t.series.c
    query = select(c.name, c.unit, c.number).where(c.site == site)
    found = {(row.name, row.unit): row.number for row in connection.execute(query)}
    missing = sorted(set(wanted) - found.keys())
    if missing:
        rows = [
            {
                "uid": series_uid(site, name, unit),
                "site": site,
                "name": name,
                "unit": unit,
                "received_at": at,
            }
            for name, unit in missing
        ]
        connection.execute(t.series.insert(), rows)  # acts that write come one by one
        found = {(row.name, row.unit): row.number for row in connection.execute(query)}
    return found


def all_series(connection: Connection, site: str | None = None) -> tuple[Series, ...]:
    """Return the series of a site, or of all, with what each means now.

    Parameters
    ----------
    connection
        Connection to the record.
    site
        Short name of the site; None for all.

    Returns
    -------
    tuple of Series
        In the order of their numbers.
    """
    m = t.series_meanings
    newest = select(func.max(m.c.number)).group_by(m.c.series)
    said = {row.series: row for row in connection.execute(select(m).where(m.c.number.in_(newest)))}
    query = select(t.series).order_by(t.series.c.number)
    if site is not None:
        query = query.where(t.series.c.site == site)
    found = []
    for row in connection.execute(query):
        now = said.get(row.number)
        words = (now.subject, now.place, now.instrument) if now is not None else ("", "", "")
        found.append(Series(row.number, row.uid, row.site, row.name, row.unit, *words))
    return tuple(found)


def one_series(connection: Connection, site: str, series_id: str) -> Series:
    """Return a series of a site.

    Parameters
    ----------
    connection
        Connection to the record.
    site
        Short name of the site.
    series_id
        Its short name, such as ``s3``, or the name its sender gives when only one has it.

    Returns
    -------
    Series
        The series.

    Raises
    ------
    NotKnownError
        The site has no such series, or several of that name.
    """
    every = all_series(connection, site)
    named = [one for one in every if series_id in (one.id, one.name)]
    if len(named) == 1:
        return named[0]
    if named:
        which = ", ".join(f"{one.id} in {one.unit or 'no unit'}" for one in named)
        raise NotKnownError(f"{site} has several series {series_id}: {which}; give one of these.")
    known = ", ".join(f"{one.id} ({one.name})" for one in every) or "none"
    raise NotKnownError(f"{site} has no series {series_id!r}; it has: {known}.")


def say_meaning(
    connection: Connection, series: Series, *, who: str, at: datetime, uid: str = ""
) -> None:
    """Keep what a series means; an earlier meaning stays in the record.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    series
        The series with subject, place and instrument as they are to be.
    who
        Who says it.
    at
        When, aware.
    uid
        Of a row that comes from another machine; else a new one is made.
    """
    connection.execute(
        t.series_meanings.insert().values(
            uid=uid or uuid.uuid4().hex,
            series=series.number,
            subject=series.subject,
            place=series.place,
            instrument=series.instrument,
            who=who,
            received_at=at,
        )
    )


def set_aside(connection: Connection, asides: Iterable[SensorAside]) -> None:
    """Keep what could not be used; the same words for the same reason are kept once.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    asides
        Messages and records with the reason.
    """
    rows = {
        uuid.uuid5(_NAMESPACE, "\n".join((aside.site, aside.reason, aside.text))).hex: aside
        for aside in asides
    }
    if not rows:
        return
    c = t.sensor_asides.c
    there = set(connection.execute(select(c.uid).where(c.uid.in_(rows))).scalars())
    new = [
        {
            "uid": uid,
            "site": aside.site,
            "text": aside.text,
            "reason": aside.reason,
            "received_at": aside.received_at,
        }
        for uid, aside in rows.items()
        if uid not in there
    ]
    if new:
        connection.execute(t.sensor_asides.insert(), new)


def newest_asides(connection: Connection, site: str, count: int) -> tuple[SensorAside, ...]:
    """Return what could not be used, the newest first.

    Parameters
    ----------
    connection
        Connection to the record.
    site
        The site that its sender named.
    count
        How many at most.

    Returns
    -------
    tuple of SensorAside
        Messages and records with the reason.
    """
    c = t.sensor_asides.c
    query = select(c.site, c.text, c.reason, c.received_at).where(c.site == site)
    rows = connection.execute(query.order_by(c.number.desc()).limit(count))
    return tuple(SensorAside(*row) for row in rows)


def delivered(connection: Connection, key: str, sha256: str) -> bool:
    """Return whether a message was taken in under a key before.

    Parameters
    ----------
    connection
        Connection to the record.
    key
        The key.
    sha256
        Digest of the message.

    Returns
    -------
    bool
        True when it was.

    Raises
    ------
    InputError
        Another message was.
    """
    query = select(t.deliveries.c.sha256).where(t.deliveries.c.key == key)
    found = connection.execute(query).scalar_one_or_none()
    if found is not None and found != sha256:
        message = f"another message was sent under the key {key[:16]} before; use a new key."
        raise InputError(message)
    return found is not None


def mark_delivered(connection: Connection, key: str, sha256: str, *, at_us: int) -> None:
    """Note that a message was taken in under a key; notes older than a month are dropped.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    key
        The key.
    sha256
        Digest of the message.
    at_us
        When, microseconds since 1970 in UTC.
    """
    c = t.deliveries.c
    old = delete(t.deliveries).where((c.at < at_us - KEPT_DELIVERIES_US) | (c.key == key))
    connection.execute(old)
    connection.execute(t.deliveries.insert().values(key=key, sha256=sha256, at=at_us))


@contextmanager
def act(store: Store, *, write: bool) -> Iterator[Connection]:
    """Open one transaction on a record.

    Parameters
    ----------
    store
        The record.
    write
        Whether rows will be added.

    Yields
    ------
    sqlalchemy.Connection
        The connection.

    Raises
    ------
    RecordError
        The record cannot be opened, read or written.
    """
    with transaction(store.engine, store.home, write=write) as connection:
        yield connection
