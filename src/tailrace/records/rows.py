"""Entries to rows of the record and back, and the short names of rows."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from secrets import token_hex
from typing import Any

from sqlalchemy import RowMapping

from tailrace.errors import InputError, NotKnownError
from tailrace.observations import Entry, Interval, Meaning


def number_of(name: str, letter: str) -> int:
    """Return the row number that a name such as ``e17`` stands for.

    Parameters
    ----------
    name
        Name of a row, such as ``e17`` of an entry or ``b3`` of an import.
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


def new_uid() -> str:
    """Return a name for a row that no other row has anywhere.

    Returns
    -------
    str
        32 hexadecimal digits, random.

    Examples
    --------
    >>> len(new_uid())
    32
    """
    return token_hex(16)


def to_row(entry: Entry, site: str, received_at: datetime, *, why: str = "") -> dict[str, Any]:
    """Return the row of an entry, new to the record.

    Parameters
    ----------
    entry
        The entry; its id and uid are not used, the record gives new ones, and ``batch`` and
        ``supersedes`` are local names that the store puts right.
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
        "uid": new_uid(),
        "site": site,
        "subject": entry.subject,
        "text": entry.text,
        "unit": entry.unit,
        "meanings": [
            [m.basis, repr(m.interval.low), repr(m.interval.high)] for m in entry.meanings
        ],
        "taken_at": entry.taken_at,
        "taken_also": entry.taken_also,
        "method": entry.method,
        "instrument": entry.instrument,
        "place": entry.place,
        "who": entry.who,
        "sent_by": entry.sent_by,
        "note": entry.note,
        "details": [list(pair) for pair in entry.details],
        "photos": list(entry.photos),
        "flags": list(entry.flags),
        "batch": None,
        "row": entry.row,
        "supersedes": None,
        "why": why,
        "received_at": entry.received_at or received_at,
    }


def to_entry(row: RowMapping, names: Mapping[str, str]) -> Entry:
    """Return the entry of a row.

    Parameters
    ----------
    row
        Row of the table of entries.
    names
        Name everywhere to local name, of the imports and the entries that rows refer to.

    Returns
    -------
    Entry
        The entry with its id.
    """
    return Entry(
        id=f"e{row['number']}",
        uid=row["uid"],
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
        instrument=row["instrument"],
        place=row["place"],
        who=row["who"],
        sent_by=row["sent_by"],
        note=row["note"],
        details=tuple((word, text) for word, text in row["details"]),
        photos=tuple(row["photos"]),
        flags=tuple(row["flags"]),
        batch=names.get(row["batch"] or "", ""),
        row=row["row"],
        supersedes=names.get(row["supersedes"] or "", ""),
    )
