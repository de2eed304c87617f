"""Redaction: a name, note or photo is blanked, with a dated tombstone; values stay."""

from __future__ import annotations

from datetime import datetime

from tailrace.records.redaction import Mark
from tailrace.records.store import Store


def redact(store: Store, row: str, field: str, *, why: str, who: str = "", now: datetime) -> int:
    """Blank a field of a row in all its versions.

    Parameters
    ----------
    store
        The record.
    row
        Short name: ``e17`` of an entry, ``b3`` of an import, ``b3:12`` of its row 12 that was kept
        aside, ``i2`` of an instrument, ``l4`` of a place, ``f7`` of a photo.
    field
        ``note``, ``who`` or ``sent_by``; ``file`` of a photo; ``text`` of a row kept aside.
    why
        Reason; it stays.
    who
        Who asked for it.
    now
        When.

    Returns
    -------
    int
        How many places were blanked. Backups hold them until their next rotation.

    Raises
    ------
    NotKnownError
        There is no such row.
    InputError
        The field cannot be blanked, or no reason is given.
    """
    return store.redact(row, field, Mark(why, who, now))


def redact_person(store: Store, name: str, *, why: str, who: str = "", now: datetime) -> int:
    """Blank a person's name wherever it stands by itself; notes that mention it stay.

    Parameters
    ----------
    store
        The record.
    name
        Display name or initials.
    why
        Reason; it stays.
    who
        Who asked for it.
    now
        When.

    Returns
    -------
    int
        How many places were blanked. Backups hold them until their next rotation.

    Raises
    ------
    NotKnownError
        The name stands nowhere.
    InputError
        No reason is given.
    """
    return store.redact_person(name, Mark(why, who, now))
