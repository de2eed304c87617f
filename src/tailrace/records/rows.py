"""Entries to rows of the record and back, and which of them are live."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import RowMapping

from tailrace.errors import InputError, NotKnownError
from tailrace.observations import Entry, Interval, Meaning


def number_of(name: str, letter: str) -> int:
    """Return the row number that a name such as ``e17`` stands for.

    Parameters
    ----------
    name
        Name of an entry (``e17``) or of an import (``b3``).
    letter
        The letter it begins with.

    Returns
    -------
    int
        Row number.

    Raises
    ------
    NotKnownError
        The name is of another form.

    Examples
    --------
    >>> number_of("e17", "e")
    17
    """
    digits = name[1:]
    if name[:1] != letter or not (digits.isascii() and digits.isdigit()) or len(digits) > 15:
        message = f"{name!r} is no name of the record; it is such as {letter}17."
        raise NotKnownError(message)
    return int(digits)


def to_row(entry: Entry, site: str, received_at: datetime, *, why: str = "") -> dict[str, Any]:
    """Return the row of an entry.

    Parameters
    ----------
    entry
        The entry; its id is not used, the record gives a new one.
    site
        Name of the site.
    received_at
        Taken where the entry does not say when it was received.
    why
        Why it corrects another one.

    Returns
    -------
    dict
        Column to value.

    Raises
    ------
    InputError
        A moment has no time zone.
    """
    for moment in (entry.taken_at, entry.taken_also, entry.received_at, received_at):
        if moment is not None and moment.tzinfo is None:
            message = f"the moment {moment} has no time zone; give it with its zone."
            raise InputError(message)
    return {
        "site": site,
        "subject": entry.subject,
        "text": entry.text,
        "unit": entry.unit,
        "meanings": [
            [m.basis, repr(m.interval.low), repr(m.interval.high)] for m in entry.meanings
        ],
        "taken_at": entry.taken_at,
        "taken_also": entry.taken_also,
        "received_at": entry.received_at or received_at,
        "method": entry.method,
        "place": entry.place,
        "who": entry.who,
        "note": entry.note,
        "flags": list(entry.flags),
        "batch": number_of(entry.batch, "b") if entry.batch else None,
        "row": entry.row,
        "supersedes": number_of(entry.supersedes, "e") if entry.supersedes else None,
        "why": why,
    }


def to_entry(row: RowMapping) -> Entry:
    """Return the entry of a row.

    Parameters
    ----------
    row
        Row of the table of entries.

    Returns
    -------
    Entry
        The entry with its id.
    """
    return Entry(
        id=f"e{row['number']}",
        subject=row["subject"],
        text=row["text"],
        unit=row["unit"],
        meanings=tuple(
            Meaning(basis, Interval(float(low), float(high)))
            for basis, low, high in row["meanings"]
        ),
        taken_at=row["taken_at"],
        taken_also=row["taken_also"],
        received_at=row["received_at"],
        method=row["method"],
        place=row["place"],
        who=row["who"],
        note=row["note"],
        flags=tuple(row["flags"]),
        batch=f"b{row['batch']}" if row["batch"] is not None else "",
        row=row["row"],
        supersedes=f"e{row['supersedes']}" if row["supersedes"] is not None else "",
    )


def live(entries: Sequence[Entry], undone: Iterable[str]) -> tuple[Entry, ...]:
    """Return the entries that hold.

    Parameters
    ----------
    entries
        All entries of a site, in the order they were added.
    undone
        Ids of entries and imports that were undone.

    Returns
    -------
    tuple
        Entries that neither they nor what they correct was undone, and that no such entry
        corrects. Undoing a correction brings the corrected entry back.

    Examples
    --------
    >>> live((), ())
    ()
    """
    gone = set(undone)
    for entry in entries:  # an older entry always stands before the one that corrects it
        if entry.batch in gone or entry.supersedes in gone:
            gone.add(entry.id)
    corrected = {entry.supersedes for entry in entries if entry.id not in gone}
    return tuple(e for e in entries if e.id not in gone and e.id not in corrected)


def chain(entries: Mapping[str, Entry], entry_id: str) -> tuple[str, ...]:
    """Return the ids of an entry, of those it corrects, and of those that correct it.

    Parameters
    ----------
    entries
        Id to entry, of all entries of a site in the order they were added.
    entry_id
        Any id of the chain.

    Returns
    -------
    tuple
        Ids, the first version first.
    """
    first = entry_id
    while entries[first].supersedes:
        first = entries[first].supersedes
    found = [first]
    for entry in entries.values():
        if entry.supersedes in found:
            found.append(entry.id)
    return tuple(found)
