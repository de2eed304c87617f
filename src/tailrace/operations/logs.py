"""The log: one entry found, corrected or withdrawn."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from tailrace.errors import InputError, NotKnownError
from tailrace.intake.logfile import read_log
from tailrace.observations import Entry
from tailrace.operations.record import site_reading
from tailrace.records.store import Store


def find_entry(store: Store, name: str, entry_id: str) -> Entry:
    """Return a live entry of a site.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    entry_id
        Name of the entry, such as ``e17``.

    Returns
    -------
    Entry
        The entry.

    Raises
    ------
    NotKnownError
        The site has no such live entry.
    """
    for entry in store.entries(name):
        if entry.id == entry_id:
            return entry
    message = f"{name} has no live entry {entry_id}; 'tailrace log show {name}' lists them."
    raise NotKnownError(message)


def correct_entry(
    store: Store,
    name: str,
    entry_id: str,
    *,
    value: str,
    unit: str | None,
    why: str,
    now: datetime,
) -> str:
    """Correct the value of an entry; the old one stays in its history.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    entry_id
        Entry to correct.
    value, unit
        Value and unit as they should have been typed; the unit stays when None.
    why
        Reason.
    now
        When the record receives it.

    Returns
    -------
    str
        Name of the entry that supersedes it.

    Raises
    ------
    NotKnownError
        The site has no such live entry.
    InputError
        The new value cannot be read; nothing is changed then.
    """
    old = find_entry(store, name, entry_id)
    site = site_reading(store, name).site
    local = old.taken_at.astimezone().isoformat()
    unit = old.unit if unit is None else unit
    cells = [
        local,
        old.subject.replace("_", " "),
        value,
        unit,
        old.method,
        old.place,
        old.who,
        old.note,
    ]
    text = "when\twhat\tvalue\tunit\tmethod\tplace\twho\tnote\n" + "\t".join(
        " ".join(cell.split()) for cell in cells
    )
    kits = store.instruments(name)
    result = read_log(text.encode(), "the correction", site, received_at=now, kits=kits)
    if not result.entries:
        reasons = " ".join(reason for aside in result.asides for reason in aside.reasons)
        message = f"{entry_id} was not corrected: {reasons}"
        raise InputError(message)
    new = replace(
        result.entries[0],
        taken_at=old.taken_at,
        taken_also=old.taken_also,
        row=0,
        instrument=old.instrument,
        photos=old.photos,
        details=old.details,
    )
    return store.correct(entry_id, new, received_at=now, why=why)


def withdraw_entry(store: Store, name: str, entry_id: str, *, why: str, now: datetime) -> None:
    """Withdraw an entry with all it corrects, such as one written twice; its history stays.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    entry_id
        Entry to withdraw.
    why
        Reason.
    now
        When the record receives it.

    Raises
    ------
    NotKnownError
        The site has no such live entry.
    """
    find_entry(store, name, entry_id)
    for version in reversed(store.history(entry_id)):
        if version.undone_why is None:
            store.undo_entry(version.entry.id, at=now, why=why)
