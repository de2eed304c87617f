"""Backwashes found in the series of a site, and put into its log."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from tailrace.errors import InputError
from tailrace.observations import Entry
from tailrace.operations.sensors import looked_at
from tailrace.records import series as book
from tailrace.records.series import Series
from tailrace.records.store import Store
from tailrace.sensors.backwashes import Backwash, Kind, find_backwashes

METHOD = "found from sensor"
SAME = timedelta(seconds=180)
SURE = 0.8  # judgement: below it a person is shown the place and asked


@dataclass(frozen=True, slots=True)
class Found:
    """A backwash found in a series.

    Parameters
    ----------
    series
        The series.
    at
        When the air left, aware UTC.
    within_s
        How far off that may be [s].
    confidence
        How sure it is, 0 to 1.
    size
        The step or the height of the roar, in the unit of the series.
    in_log
        Whether the log has a backwash at that time already, from whatever source.
    """

    series: Series
    at: datetime
    within_s: float
    confidence: float
    size: float
    in_log: bool


def backwashes_found(
    store: Store, site: str, *, until: datetime, days: float = 7.0
) -> tuple[Found, ...]:
    """Find backwashes in every series of a site that measures pressure, level or sound.

    Parameters
    ----------
    store
        The record.
    site
        Short name of the site.
    until
        End of the time looked at, aware.
    days
        How far to look back.

    Returns
    -------
    tuple of Found
        In the order of time.

    Raises
    ------
    NotKnownError
        The record holds no such site.
    InputError
        No series is said to measure any of these.
    """
    logged = [e.taken_at for e in store.entries(site) if e.subject == "backwash"]
    kinds = {kind.value: kind for kind in Kind}
    found: list[Found] = []
    with book.act(store, write=False) as connection:
        told = [one for one in book.all_series(connection, site) if one.subject in kinds]
        if not told:
            message = (
                f"no series of {site} is said to measure pressure, level or sound of the filter; "
                f"say which one does: 'tailrace sensors say {site} SERIES --what pressure'."
            )
            raise InputError(message)
        for one in told:
            time_s, values = looked_at(connection, one, until=until, days=days)
            for backwash in find_backwashes(time_s, values, kinds[one.subject]):
                found.append(_found(one, backwash, logged))
    return tuple(sorted(found, key=lambda f: f.at))


def _found(series: Series, one: Backwash, logged: list[datetime]) -> Found:
    at = datetime.fromtimestamp(one.at_s, UTC)
    near = timedelta(seconds=one.within_s) + SAME
    known = any(abs(moment - at) <= near for moment in logged)
    return Found(series, at, one.within_s, one.confidence, one.size, known)


def is_sure(one: Found) -> bool:
    """Return whether a backwash is sure enough for the log.

    Parameters
    ----------
    one
        The backwash.

    Returns
    -------
    bool
        Whether its confidence is at least 0.8.
    """
    return one.confidence >= SURE


def log_backwashes(
    store: Store, site: str, found: tuple[Found, ...], *, now: datetime
) -> tuple[str, ...]:
    """Put backwashes that were found into the log; asked again, nothing is put in twice.

    Parameters
    ----------
    store
        The record.
    site
        Short name of the site.
    found
        Of `backwashes_found`; those less sure than 0.8 and those the log has are left out.
    now
        When, aware.

    Returns
    -------
    tuple of str
        Names of the entries.
    """
    new: list[Found] = []
    for one in found:
        apart = not new or one.at - new[-1].at > SAME + timedelta(seconds=one.within_s)
        if is_sure(one) and not one.in_log and apart:
            new.append(one)
    if not new:
        return ()
    return store.add_entries(site, [_entry(one) for one in new], received_at=now)


def _entry(one: Found) -> Entry:
    note = (
        f"{one.series.id} ({one.series.name}), within {one.within_s:.0f} s, "
        f"confidence {one.confidence:.2f}"
    )
    return Entry(
        id="",
        subject="backwash",
        text="",
        unit="",
        meanings=(),
        taken_at=one.at,
        method=METHOD,
        note=note,
    )
