"""Instruments, kits and places of a site, as people describe them."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import replace
from datetime import date, datetime

from tailrace.errors import InputError
from tailrace.intake.log_row import subject_of
from tailrace.observations import Instrument
from tailrace.quantities import subjects
from tailrace.records.kept import NamedPlace
from tailrace.records.store import Store
from tailrace.units import from_unit, parse_number


def describe_kit(
    store: Store,
    name: str,
    kit: Instrument,
    *,
    everywhere: bool = False,
    who: str = "",
    why: str = "",
    now: datetime,
) -> Instrument:
    """Add an instrument or kit with its scale, or a new version of it.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    kit
        What it is; its subject may be a word of the log such as ``ammonia``.
    everywhere
        Whether it is carried about and serves every site.
    who
        Who says so.
    why
        Reason of a new version.
    now
        When the record receives it.

    Returns
    -------
    Instrument
        As it is kept.

    Raises
    ------
    NotKnownError
        There is no such site.
    InputError
        It has no name, its subject or unit is not known, or its steps do not rise.
    """
    key = subject_of(kit.subject) if kit.subject else ""
    if kit.steps and not key:
        message = f"{kit.name} has steps but no subject; say what it reads, such as 'ammonia'."
        raise InputError(message)
    if kit.unit and key:
        from_unit(1.0, kit.unit, subjects()[key].suffix)
    store.set_instrument(
        replace(kit, subject=key),
        site=None if everywhere else name,
        received_at=now,
        who=who,
        why=why,
    )
    plain = " ".join(kit.name.split()).casefold()
    return next(
        each
        for each in store.instruments(name)
        if (each.name.casefold(), each.subject) == (plain, key)
    )


def steps_of(text: str) -> tuple[float, ...]:
    """Return the steps of a scale as a person types them.

    Parameters
    ----------
    text
        Numbers parted by blanks or semicolons, such as ``0 0.25 0.5 1 2 4``.

    Returns
    -------
    tuple
        Steps.

    Raises
    ------
    InputError
        One of them is no number.

    Examples
    --------
    >>> steps_of("0 0.25; 0.5")
    (0.0, 0.25, 0.5)
    """
    return tuple(parse_number(part) for part in text.replace(";", " ").split())


def last_day(text: str) -> date:
    """Return the last day of a kit as a person types it.

    Parameters
    ----------
    text
        ``2027-01-31``, or a month such as ``2027-01``: its last day.

    Returns
    -------
    datetime.date
        The day.

    Raises
    ------
    InputError
        It is neither.

    Examples
    --------
    >>> last_day("2027-02").isoformat()
    '2027-02-28'
    """
    try:
        if len(text.strip()) > len("2027-02"):
            return date.fromisoformat(text.strip())
        year, month = (int(part) for part in text.split("-"))
        first = date(year, month, 1)
        return first.replace(day=monthrange(first.year, first.month)[1])
    except ValueError:
        message = f"{text!r} is no last day; write such as 2027-01-31, or 2027-01 for its month."
        raise InputError(message) from None


def describe_place(
    store: Store, name: str, place: NamedPlace, *, why: str = "", now: datetime
) -> None:
    """Add a place where readings are taken, or a new version of it.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    place
        The place.
    why
        Reason of a new version.
    now
        When the record receives it.

    Raises
    ------
    NotKnownError
        There is no such site.
    InputError
        It has no name.
    """
    store.set_place(name, place, received_at=now, why=why)
