"""The due checks of a site as a calendar file."""

from __future__ import annotations

from datetime import datetime

from tailrace.advice.checks import checks
from tailrace.estimation.today import picture
from tailrace.exchange.calendar import Due, calendar
from tailrace.operations.record import moment, site_reading, standing_at
from tailrace.records.store import Store


def round_calendar(
    store: Store, name: str, *, at: str | None = None, now: datetime | None = None
) -> bytes:
    """Write the next due time of every check of a site as iCalendar.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    at
        Moment as typed; None for now.
    now
        The moment that stands for now.

    Returns
    -------
    bytes
        The file; what is due already stands at the moment itself.

    Raises
    ------
    NotKnownError
        The record holds no such site.
    InputError
        The moment cannot be read.
    """
    site = site_reading(store, name).site
    seen = picture(standing_at(store, site, moment(at, site, now=now)))
    due = (Due(c.key, c.what, c.how, c.place, c.due_at) for c in checks(seen))
    return calendar(name, site.title or name, due=due, made_at=seen.now.at)
