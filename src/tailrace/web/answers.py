"""Answers for pages: the same functions that the terminal asks, each answer worked out once.

An answer holds while the site's description and the entries that hold stay as they are; without
a moment asked for it is that of the present minute.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from threading import Lock
from typing import Any

from tailrace.operations.record import moment, site_reading
from tailrace.operations.rounds import Ahead, todays_round
from tailrace.operations.series import water_series
from tailrace.records.store import Store
from tailrace.reports.series import Water
from tailrace.site import Site, UnitFamily

KEPT = 64

Json = dict[str, Any]
Clock = Callable[[], datetime]


def this_minute() -> datetime:
    """Return the present minute.

    Returns
    -------
    datetime
        Aware UTC.
    """
    return datetime.now(UTC).replace(second=0, microsecond=0)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a page was asked for.

    Parameters
    ----------
    at
        Moment as typed; None for now.
    units
        Units; None for those of the site.
    """

    at: str | None = None
    units: UnitFamily | None = None


@dataclass(frozen=True, slots=True)
class Listed:
    """One site of the list.

    Parameters
    ----------
    site
        The site.
    newest
        When its newest entry was taken; None for an empty log.
    """

    site: Site
    newest: datetime | None


class Answers:
    """Answers from one record.

    Parameters
    ----------
    store
        The record.
    at
        Moment that stands where a page asks for none; None for now.
    clock
        Gives the present minute.
    """

    def __init__(self, store: Store, *, at: str | None = None, clock: Clock = this_minute) -> None:
        self._store, self._at, self._clock = store, at, clock
        self._kept: OrderedDict[tuple[object, ...], Json] = OrderedDict()
        self._lock = Lock()

    def names(self) -> tuple[str, ...]:
        """Return the short names of all sites."""
        return self._store.site_names()

    def sites(self, names: Iterable[str]) -> tuple[Listed, ...]:
        """Return sites with their newest entry.

        Parameters
        ----------
        names
            Their short names.

        Returns
        -------
        tuple of Listed
            In the same order.
        """
        found = []
        for name in names:
            site = site_reading(self._store, name).site
            found.append(Listed(site, self._newest(site, self._moment(site, Asked()))))
        return tuple(found)

    def site(self, name: str) -> Site:
        """Return a site.

        Parameters
        ----------
        name
            Its short name.

        Returns
        -------
        Site
            The site.

        Raises
        ------
        NotKnownError
            The record holds no such site.
        """
        return site_reading(self._store, name).site

    def newest(self, name: str, asked: Asked) -> datetime | None:
        """Return when the newest entry of a site was taken that an answer may use.

        Parameters
        ----------
        name
            Short name of the site.
        asked
            What was asked for.

        Returns
        -------
        datetime or None
            Aware; None where there is none.
        """
        site = self.site(name)
        return self._newest(site, self._moment(site, asked))

    def round(self, name: str, asked: Asked) -> Json:
        """Return the round of a site.

        Parameters
        ----------
        name
            Short name of the site.
        asked
            What was asked for.

        Returns
        -------
        dict
            The object that ``tailrace round --json`` writes.

        Raises
        ------
        NotKnownError
            The record holds no such site.
        InputError
            The moment cannot be read.
        """
        at = self._moment(self.site(name), asked)
        entries = tuple(entry.id for entry in self._store.entries(name))
        key = (name, at, asked.units, self._store.site_text(name), entries)
        with self._lock:  # two readers of one page wait for one answer
            if key not in self._kept:
                self._kept[key] = todays_round(
                    self._store, name, at=at.isoformat(), units=asked.units, ahead=Ahead.SHOWN
                )
            self._kept.move_to_end(key)
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
            return self._kept[key]

    def water(self, name: str, asked: Asked, days: int) -> Water:
        """Return the water of a site over the last days.

        Parameters
        ----------
        name
            Short name of the site.
        asked
            What was asked for.
        days
            How many days.

        Returns
        -------
        Water
            Readings, limits, forecast and events.
        """
        return water_series(self._store, self.round(name, asked), days)

    def _moment(self, site: Site, asked: Asked) -> datetime:
        return moment(asked.at or self._at, site, now=self._clock())

    def _newest(self, site: Site, at: datetime) -> datetime | None:
        taken = (entry.taken_at for entry in self._store.entries(site.name))
        return max((when for when in taken if when <= at), default=None)
