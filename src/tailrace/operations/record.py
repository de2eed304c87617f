"""Open the record, and what it holds of one site at one moment."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from tailrace.errors import InputError
from tailrace.estimation.standing import Settled, Standing, standing
from tailrace.operations.keeping import back_up_quickly
from tailrace.records.home import record_address
from tailrace.records.store import Store
from tailrace.site import Site
from tailrace.sitefile.read import SiteReading, read_site


def open_record(home: str | None, *, create: bool = False) -> Store:
    """Open the record.

    Parameters
    ----------
    home
        Folder named by a person; None for the usual one.
    create
        Whether to begin a record where there is none.

    Returns
    -------
    Store
        The record.

    Raises
    ------
    RecordError
        It cannot be opened.
    """
    store = Store.open(record_address(home), create=create)
    back_up_quickly(store, now=datetime.now(UTC))
    return store


def site_reading(store: Store, name: str) -> SiteReading:
    """Read the newest version of a site's description from the record.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.

    Returns
    -------
    SiteReading
        The site and what is to be told about it.

    Raises
    ------
    NotKnownError
        The record holds no such site.
    FileFaultsError
        The stored text has faults by the rules of this version.
    """
    return read_site(store.site_text(name), f"the description of {name}")


def standing_at(store: Store, site: Site, at: datetime) -> Standing:
    """Fold a site's log to one moment.

    Parameters
    ----------
    store
        The record.
    site
        The site.
    at
        The moment.

    Returns
    -------
    Standing
        How things stand then.
    """
    entries = store.entries(site.name, until=at + timedelta(microseconds=1))
    ids = {entry.uid: entry.id for entry in entries}
    settled = (
        Settled(ids[answer.first], ids[answer.second], answer.answer == "two")
        for answer in store.answers(site.name)
        if answer.first in ids and answer.second in ids
    )
    return standing(site, entries, at, settled=settled)


def moment(text: str | None, site: Site, *, now: datetime | None = None) -> datetime:
    """Read a moment that a person gave, in the site's zone.

    Parameters
    ----------
    text
        ``2026-10-14 07:30``, a date alone (its noon), with or without an offset; None for now.
    site
        The site.
    now
        The moment that stands for now; the clock's by default.

    Returns
    -------
    datetime
        Aware UTC.

    Raises
    ------
    InputError
        The text is no moment.
    """
    if text is None:
        return now or datetime.now(UTC)
    try:
        given = datetime.fromisoformat(text)
    except ValueError:
        message = (
            f"--at is {text!r}, which is no moment; give a local time such as "
            "'2026-10-14 07:30', or one with an offset such as '2026-10-14T07:30-06:00'."
        )
        raise InputError(message) from None
    if given.tzinfo is None:
        whole_day = len(text.strip()) <= len("2026-10-14")
        given = given.replace(hour=12) if whole_day else given
        given = given.replace(tzinfo=ZoneInfo(site.zone))
    return given.astimezone(UTC)


def newest_moment(store: Store, site: Site) -> datetime | None:
    """Return when the newest entry of a site was taken.

    Parameters
    ----------
    store
        The record.
    site
        The site.

    Returns
    -------
    datetime or None
        Aware UTC; None for an empty log.
    """
    return max((entry.taken_at for entry in store.entries(site.name)), default=None)
