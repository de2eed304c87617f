"""Samples of sensors: added once each, with their roll-ups kept current, and read for charts.

Every function works within the transaction of its caller, so that samples, roll-ups and what
was set aside of a message are stored together or not at all. Open `tailrace.records.series`
for what a series is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection, delete, func, select, text

from tailrace.records import sample_tables as t
from tailrace.sensors.rollups import Buckets, Width, roll_up

CHUNK = 2_000  # three values a row; SQLite takes 32,766 in a statement

Whole = NDArray[np.int64]
Array = NDArray[np.float64]

_SQLITE_ADD = "INSERT OR IGNORE INTO samples (series, at, value) VALUES {} RETURNING series, at"
_POSTGRES_ADD = (
    "INSERT INTO samples (series, at, value) SELECT * FROM "
    "unnest(%s::bigint[], %s::bigint[], %s::double precision[]) "
    "ON CONFLICT DO NOTHING RETURNING series, at"
)
_JOIN = text(
    "INSERT INTO rollups (series, width, at, n, low, high, total, last, last_at) VALUES "
    "(:series, :width, :at, :n, :low, :high, :total, :last, :last_at) "
    "ON CONFLICT (series, width, at) DO UPDATE SET n = rollups.n + excluded.n, "
    "low = CASE WHEN excluded.low < rollups.low THEN excluded.low ELSE rollups.low END, "
    "high = CASE WHEN excluded.high > rollups.high THEN excluded.high ELSE rollups.high END, "
    "total = rollups.total + excluded.total, "
    "last = CASE WHEN excluded.last_at > rollups.last_at THEN excluded.last ELSE rollups.last "
    "END, last_at = CASE WHEN excluded.last_at > rollups.last_at THEN excluded.last_at "
    "ELSE rollups.last_at END"
)


@dataclass(frozen=True, slots=True, eq=False)
class Added:
    """What became of some samples.

    Parameters
    ----------
    new
        How many were not there yet.
    again
        How many were there with the same value.
    other
        Places of those whose moment holds another value already; that one stays.
    """

    new: int
    again: int
    other: Whole


def add_samples(connection: Connection, series: Whole, at_us: Whole, values: Array) -> Added:
    """Add samples, and bring their roll-ups up to date.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    series
        Number of the series of each sample.
    at_us
        Time of each, microseconds since 1970 in UTC; in any order.
    values
        Value of each, finite.

    Returns
    -------
    Added
        What is new, what came again, and what contradicts a stored sample.
    """
    order = np.lexsort((at_us, series))  # stable: of two for one moment the first one counts
    series, at_us, values = series[order], at_us[order], values[order]
    same = np.concatenate([[False], (np.diff(series) == 0) & (np.diff(at_us) == 0)])[: series.size]
    first = ~same
    stored = _insert(connection, series[first], at_us[first], values[first])
    if stored.all() and first.all():
        _join(connection, series, at_us, values)
        return Added(int(series.size), 0, np.empty(0, dtype=np.int64))
    fresh = np.zeros(series.size, dtype=bool)
    fresh[np.flatnonzero(first)[stored]] = True
    _join(connection, series[fresh], at_us[fresh], values[fresh])
    old = np.flatnonzero(~fresh)
    there = _values_at(connection, series[old], at_us[old])
    other = old[there != values[old]]
    return Added(int(fresh.sum()), int(old.size - other.size), order[other])


def _insert(
    connection: Connection, series: Whole, at_us: Whole, values: Array
) -> NDArray[np.bool]:
    """Insert what is not there; which of the rows, sorted and each once, were new."""
    stored = np.zeros(series.size, dtype=bool)
    for begin in range(0, series.size, CHUNK):
        part = slice(begin, begin + CHUNK)
        rows = _insert_chunk(connection, series[part], at_us[part], values[part])
        if len(rows) == series[part].size:
            stored[part] = True
        elif rows:
            new = set(rows)
            keys = zip(series[part].tolist(), at_us[part].tolist(), strict=True)
            stored[part] = [key in new for key in keys]
    return stored


def _insert_chunk(
    connection: Connection, series: Whole, at_us: Whole, values: Array
) -> list[tuple[int, int]]:
    columns = (series.tolist(), at_us.tolist(), values.tolist())
    if connection.dialect.name == "sqlite":
        marks = ",".join(["(?,?,?)"] * series.size)
        flat = tuple(value for row in zip(*columns, strict=True) for value in row)
        found = connection.exec_driver_sql(_SQLITE_ADD.format(marks), flat)
    else:
        found = connection.exec_driver_sql(_POSTGRES_ADD, columns)
    return [(row[0], row[1]) for row in found]


def _join(connection: Connection, series: Whole, at_us: Whole, values: Array) -> None:
    """Join new samples to their roll-ups; hours are made of minutes, days of hours."""
    rows = []
    for width in Width:
        made = roll_up(series, at_us, values, width)
        rows += _bucket_rows(made, width)
    if rows:
        connection.execute(_JOIN, rows)


def _bucket_rows(made: Buckets, width: Width) -> list[dict[str, object]]:
    columns = {
        "series": made.series.tolist(),
        "at": made.at_us.tolist(),
        "n": made.count.tolist(),
        "low": made.low.tolist(),
        "high": made.high.tolist(),
        "total": made.total.tolist(),
        "last": made.last.tolist(),
        "last_at": made.last_at_us.tolist(),
    }
    names = tuple(columns)
    return [
        dict(zip(names, row, strict=True)) | {"width": int(width)}
        for row in zip(*columns.values(), strict=True)
    ]


def _values_at(connection: Connection, series: Whole, at_us: Whole) -> Array:
    query = select(t.samples.c.value)
    found = [
        connection.execute(
            query.where(t.samples.c.series == one, t.samples.c.at == at)
        ).scalar_one()
        for one, at in zip(series.tolist(), at_us.tolist(), strict=True)
    ]
    return np.array(found, dtype=np.float64)


def newest_samples(
    connection: Connection, series: int, count: int, *, before_us: int = 2**62
) -> tuple[Whole, Array]:
    """Return the newest samples of a series.

    Parameters
    ----------
    connection
        Connection to the record.
    series
        Number of the series.
    count
        How many at most.
    before_us
        Only those before this, microseconds since 1970 in UTC.

    Returns
    -------
    tuple of ndarray
        Times in microseconds since 1970 in UTC, rising, and values.
    """
    query = (
        select(t.samples.c.at, t.samples.c.value)
        .where(t.samples.c.series == series, t.samples.c.at < before_us)
        .order_by(t.samples.c.at.desc())
        .limit(count)
    )
    at_us, values = _two(connection.execute(query).fetchall())
    return at_us[::-1], values[::-1]


def samples_between(
    connection: Connection, series: int, start_us: int, end_us: int
) -> tuple[Whole, Array]:
    """Return the samples of a series within a span.

    Parameters
    ----------
    connection
        Connection to the record.
    series
        Number of the series.
    start_us, end_us
        Begin (included) and end (left out), microseconds since 1970 in UTC.

    Returns
    -------
    tuple of ndarray
        Times in microseconds since 1970 in UTC, rising, and values.
    """
    query = (
        select(t.samples.c.at, t.samples.c.value)
        .where(t.samples.c.series == series, t.samples.c.at >= start_us, t.samples.c.at < end_us)
        .order_by(t.samples.c.at)
    )
    return _two(connection.execute(query).fetchall())


def _two(rows: Sequence[Sequence[float]]) -> tuple[Whole, Array]:
    if not rows:
        return np.empty(0, dtype=np.int64), np.empty(0)
    at, value = zip(*rows, strict=True)
    return np.array(at, dtype=np.int64), np.array(value, dtype=np.float64)


def buckets_between(
    connection: Connection, series: int, width: Width, start_us: int, end_us: int
) -> Buckets:
    """Return the roll-ups of a series whose begin lies within a span.

    Parameters
    ----------
    connection
        Connection to the record.
    series
        Number of the series.
    width
        Width of the buckets.
    start_us, end_us
        Begin (included) and end (left out), microseconds since 1970 in UTC.

    Returns
    -------
    Buckets
        In the order of time.
    """
    c = t.rollups.c
    query = (
        select(c.at, c.n, c.low, c.high, c.total, c.last, c.last_at)
        .where(c.series == series, c.width == int(width), c.at >= start_us, c.at < end_us)
        .order_by(c.at)
    )
    rows = connection.execute(query).fetchall()
    columns = list(zip(*rows, strict=True)) if rows else [()] * 7
    at, n, low, high, total, last, last_at = columns
    return Buckets(
        series=np.full(len(at), series, dtype=np.int64),
        at_us=np.array(at, dtype=np.int64),
        count=np.array(n, dtype=np.int64),
        low=np.array(low, dtype=np.float64),
        high=np.array(high, dtype=np.float64),
        total=np.array(total, dtype=np.float64),
        last=np.array(last, dtype=np.float64),
        last_at_us=np.array(last_at, dtype=np.int64),
    )


def wrong_rollups(connection: Connection, series: Iterable[int]) -> tuple[str, ...]:
    """Return what is wrong with the roll-ups of some series; `remake_rollups` mends it.

    Parameters
    ----------
    connection
        Connection to the record.
    series
        Numbers of series.

    Returns
    -------
    tuple of str
        One sentence for each width of a series that does not agree with its samples. Sums may
        differ in the last digits, as they depend on the order of arrival.
    """
    faults = []
    for number in series:
        at_us, values = samples_between(connection, number, -(2**62), 2**62)
        for width in Width:
            want = roll_up(np.full(at_us.size, number), at_us, values, width)
            have = buckets_between(connection, number, width, -(2**62), 2**62)
            if not _agree(want, have):
                name = width.name.lower()
                faults.append(f"the {name} roll-ups of series {number} differ from its samples.")
    return tuple(faults)


def _agree(want: Buckets, have: Buckets) -> bool:
    if want.at_us.size != have.at_us.size:
        return False
    exact = ("at_us", "count", "low", "high", "last", "last_at_us")
    same = all(np.array_equal(getattr(want, name), getattr(have, name)) for name in exact)
    scale = want.count * np.maximum(np.abs(want.low), np.abs(want.high)) + 1e-300
    return same and bool(np.all(np.abs(want.total - have.total) <= 1e-9 * scale))


def remake_rollups(connection: Connection, series: int) -> None:
    """Make the roll-ups of a series anew from its samples.

    Parameters
    ----------
    connection
        Connection within a transaction that writes.
    series
        Number of the series.
    """
    connection.execute(delete(t.rollups).where(t.rollups.c.series == series))
    at_us, values = samples_between(connection, series, -(2**62), 2**62)
    _join(connection, np.full(at_us.size, series, dtype=np.int64), at_us, values)


def count_samples(connection: Connection, series: int) -> int:
    """Return how many samples a series has, from its days.

    Parameters
    ----------
    connection
        Connection to the record.
    series
        Number of the series.

    Returns
    -------
    int
        Count.
    """
    c = t.rollups.c
    query = select(func.coalesce(func.sum(c.n), 0))
    return int(
        connection.execute(query.where(c.series == series, c.width == int(Width.DAY))).scalar_one()
    )
