"""One typed line to entries of the record: said back first, stored when it is clear."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime
from enum import Enum

from tailrace.errors import InputError, KeyUsedError
from tailrace.intake.typed_line import Line, read_line
from tailrace.observations import Entry
from tailrace.operations.record import site_reading
from tailrace.records.store import Store


class Tap(Enum):
    """What one tap can say: a subject, and a note that goes with it."""

    BACKWASH = ("backwash", "")
    BACKWASH_HEARD = ("backwash", "heard, not seen")
    WALKED = ("walked", "fish and return seen and fine")


def understand_line(
    store: Store,
    name: str,
    text: str,
    *,
    now: datetime,
    who: str = "",
    known_at: datetime | None = None,
) -> Line:
    """Read a typed line for a site; nothing is stored.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    text
        The line, such as ``ph 7.0; fed 2 scoops 10 min ago``.
    now
        When it was typed.
    who
        Who wrote it.
    known_at
        Only entries received before this moment count as there already, so that a line reads the
        same when it is sent again; None for all.

    Returns
    -------
    Line
        What was understood, what is doubtful, and what has to be asked.

    Raises
    ------
    NotKnownError
        The record holds no such site.
    InputError
        The line is empty.
    """
    site = site_reading(store, name).site
    existing = [
        entry
        for entry in store.entries(name)
        if known_at is None or entry.received_at is None or entry.received_at < known_at
    ]
    return read_line(text, site, now=now, who=who, kits=store.instruments(name), existing=existing)


def store_line(
    store: Store, name: str, line: Line, *, now: datetime, key: str = ""
) -> tuple[str, ...]:
    """Store a line that was understood: all of it, or nothing.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    line
        The line as understood.
    now
        When the record receives it.
    key
        Name that the sender gave to this act; the same again stores nothing twice.

    Returns
    -------
    tuple
        Names of the entries, in order.

    Raises
    ------
    InputError
        Something in it has to be asked first, or cannot be taken.
    RecordError
        The record cannot be written; nothing is stored then.
    """
    if not line.clear:
        raise InputError(
            "the line is not clear yet; answer what is asked, or leave that part out."
        )
    return store.add_entries(name, line.entries, received_at=now, key=key)


def store_tap(
    store: Store, name: str, tap: Tap, *, taken_at: datetime, who: str, now: datetime, key: str
) -> None:
    """Store what one tap says; the same tap sent again stores nothing twice.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    tap
        What was tapped.
    taken_at
        When it was seen, aware.
    who
        Who saw it.
    now
        When the record receives it.
    key
        Name that the sender gave to this tap; sent again, even a minute later, it is the first.

    Raises
    ------
    NotKnownError
        The record holds no such site.
    RecordError
        The record cannot be written.
    """
    subject, note = tap.value
    entry = Entry(
        id="",
        subject=subject,
        text="",
        unit="",
        meanings=(),
        taken_at=taken_at,
        who=who,
        note=note,
    )
    with suppress(KeyUsedError):
        store.add_entries(name, (entry,), received_at=now, key=key)
