"""One typed line to entries of the record: said back first, stored when it is clear."""

from __future__ import annotations

from datetime import datetime

from tailrace.errors import InputError
from tailrace.intake.typed_line import Line, read_line
from tailrace.operations.record import site_reading
from tailrace.records.store import Store


def understand_line(store: Store, name: str, text: str, *, now: datetime, who: str = "") -> Line:
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
    return read_line(
        text, site, now=now, who=who, kits=store.instruments(name), existing=store.entries(name)
    )


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
