"""What goes out of the record: its archive, and the log of a site as a table for reading."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from datetime import datetime
from functools import cache
from pathlib import Path

from tailrace.exchange.archive import Written, write_archive
from tailrace.exchange.tables import Cell, Column, Kind, Table, write_table
from tailrace.exchange.whole import whole_file
from tailrace.intake.columns import OF_RECORD
from tailrace.observations import Entry
from tailrace.operations.record import moment, site_reading
from tailrace.quantities import Subject, subjects
from tailrace.records.store import Store
from tailrace.site import Site, UnitFamily
from tailrace.units import subject_unit, to_unit

# The first eight are those that an import reads; it leaves the others out.
COLUMNS = (
    Column("when", Kind.MOMENT),
    Column("what"),
    Column("value"),
    Column("unit"),
    Column("method"),
    Column("place"),
    Column("who"),
    Column("note"),
    Column(f"{OF_RECORD}or at", Kind.MOMENT),
    Column(f"{OF_RECORD}low", Kind.NUMBER),
    Column(f"{OF_RECORD}high", Kind.NUMBER),
    Column(f"{OF_RECORD}unit of low and high"),
    Column(f"{OF_RECORD}may be as"),
    Column(f"{OF_RECORD}details"),
    Column(f"{OF_RECORD}entry"),
    Column(f"{OF_RECORD}sent by"),
    Column(f"{OF_RECORD}flags"),
    Column(f"{OF_RECORD}received", Kind.MOMENT),
    Column(f"{OF_RECORD}corrects"),
    Column(f"{OF_RECORD}state"),
)
_DIGITS = 6


def archive_record(store: Store, path: Path) -> Written:
    """Write the whole record as an archive.

    Parameters
    ----------
    store
        The record.
    path
        The file; one that is there is replaced once the new one is whole.

    Returns
    -------
    Written
        Counts of rows and their digest.

    Raises
    ------
    InputError
        The file cannot be written.
    RecordError
        The record cannot be read.
    """
    with whole_file(path) as part, part.open("wb") as stream:
        return write_archive(store.rows(), stream)


def export_log(
    store: Store,
    name: str,
    path: Path,
    *,
    units: UnitFamily | None = None,
    since: datetime | None = None,
    everything: bool = False,
) -> int:
    """Write the log of a site as a table for reading.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    path
        The file, ending in ``.csv``, ``.xlsx`` or ``.parquet``.
    units
        Units of the two columns of numbers; None for those that the site chose.
    since
        Only entries taken since then, aware; None for all.
    everything
        Whether corrected and withdrawn entries are written too.

    Returns
    -------
    int
        How many entries were written.

    Raises
    ------
    NotKnownError
        The record holds no such site.
    InputError
        The ending says no form, or the file cannot be written.
    """
    site = site_reading(store, name).site
    family = (units or site.units).value
    live = store.entries(name)
    holding = {entry.id for entry in live}
    entries: Iterable[Entry] = live
    if everything:
        entries = sorted(store.all_entries(name), key=lambda entry: entry.taken_at)
    rows = (
        _cells(entry, family, holds=entry.id in holding)
        for entry in entries
        if since is None or entry.taken_at >= since
    )
    return write_table(path, Table(name, site.zone, COLUMNS), rows=rows)


def first_moment(text: str | None, site: Site) -> datetime | None:
    """Read since when rows are wanted.

    Parameters
    ----------
    text
        A moment as typed; a date alone is its midnight; None for none.
    site
        The site, for its zone.

    Returns
    -------
    datetime or None
        Aware UTC.

    Raises
    ------
    InputError
        The text is no moment.
    """
    if text is None:
        return None
    day = len(text.strip()) == len("2026-10-14")
    return moment(f"{text.strip()} 00:00" if day else text, site)


def _cells(entry: Entry, family: str, *, holds: bool) -> tuple[Cell, ...]:
    subject = subjects()[entry.subject]
    unit = subject_unit(subject, family)
    return (
        entry.taken_at,
        entry.subject.replace("_", " "),
        entry.text,
        entry.unit,
        entry.method,
        entry.place,
        entry.who,
        entry.note,
        entry.taken_also,
        *_ends(entry, subject, unit),
        unit if entry.meanings else "",
        " or ".join(meaning.basis for meaning in entry.meanings if meaning.basis),
        "; ".join(f"{word}: {text}" for word, text in entry.details),
        entry.id,
        entry.sent_by,
        "; ".join(entry.flags),
        entry.received_at,
        entry.supersedes,
        "holds" if holds else "corrected or withdrawn",
    )


def _ends(entry: Entry, subject: Subject, unit: str) -> Iterator[float | None]:
    interval = entry.interval
    for end in (None, None) if interval is None else (interval.low, interval.high):
        if end is None or not math.isfinite(end):
            yield None
        else:
            zero, step = _line(subject.suffix, unit)
            yield float(f"{zero + step * end:.{_DIGITS}g}")


@cache
def _line(suffix: str, unit: str) -> tuple[float, float]:
    """Return offset and step of a unit: every conversion here is a straight line."""
    if not suffix or not unit:
        return 0.0, 1.0
    zero = to_unit(0.0, suffix, unit)
    return zero, to_unit(1.0, suffix, unit) - zero
