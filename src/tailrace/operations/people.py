"""People: a name or initials, and nothing else."""

from __future__ import annotations

from datetime import datetime

from tailrace.records.kept import Person
from tailrace.records.store import Store


def people(store: Store) -> tuple[Person, ...]:
    """Return everybody in the record, in the order of the alphabet.

    Parameters
    ----------
    store
        The record.

    Returns
    -------
    tuple
        People; the name of one whose name was redacted is empty.
    """
    return store.people()


def add_person(store: Store, name: str, *, now: datetime) -> Person:
    """Add a person; nothing but a name or initials is asked.

    Parameters
    ----------
    store
        The record.
    name
        Display name or initials.
    now
        When the record receives it.

    Returns
    -------
    Person
        The person, new or known.

    Raises
    ------
    InputError
        The name is empty.
    """
    return store.add_person(name, received_at=now)


def rename_person(store: Store, old: str, new: str, *, why: str, now: datetime) -> Person:
    """Give a person another name; entries keep the name under which they were written.

    Parameters
    ----------
    store
        The record.
    old, new
        Names.
    why
        Reason.
    now
        When the record receives it.

    Returns
    -------
    Person
        The person with the new name.

    Raises
    ------
    NotKnownError
        Nobody has the old name.
    InputError
        The new name is empty, or somebody has it.
    """
    return store.rename_person(old, new, received_at=now, why=why)
