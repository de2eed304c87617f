"""Due checks as an iCalendar file (RFC 5545), for any calendar on a phone or a desk."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from tailrace.errors import InputError

if TYPE_CHECKING:
    from icalendar import Event

LASTS = timedelta(minutes=15)


@dataclass(frozen=True, slots=True)
class Due:
    """One check that is due.

    Parameters
    ----------
    key
        Name of the check; the same check keeps its place in a calendar that is read again.
    what, how, place
        What to do, how, and where.
    at
        When it is due, aware.
    """

    key: str
    what: str
    how: str
    place: str
    at: datetime


def calendar(site: str, title: str, *, due: Iterable[Due], made_at: datetime) -> bytes:
    """Write due checks as a calendar.

    Parameters
    ----------
    site
        Short name of the site.
    title
        Its title, shown as the name of the calendar.
    due
        The checks.
    made_at
        The moment it was worked out for, aware; the same answer gives the same bytes.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    InputError
        A moment has no time zone.

    Examples
    --------
    >>> made = calendar("lantern", "Lantern", due=(), made_at=datetime(2026, 3, 1, tzinfo=UTC))
    >>> made.splitlines()[0]
    b'BEGIN:VCALENDAR'
    """
    from icalendar import Calendar  # noqa: PLC0415  # slow to import, and seldom needed

    made = Calendar()
    made.add("prodid", "-//tailrace//due checks//EN")
    made.add("version", "2.0")
    made.add("method", "PUBLISH")
    made.add("x-wr-calname", title)
    for check in due:
        made.add_component(_event(site, title, check, _utc(made_at)))
    return bytes(made.to_ical())


def _event(site: str, title: str, check: Due, made_at: datetime) -> Event:
    from icalendar import Alarm, Event  # noqa: PLC0415

    at = _utc(check.at)
    name = hashlib.sha256(f"{site}\n{check.key}".encode()).hexdigest()[:32]
    event = Event()
    event.add("uid", f"{name}@tailrace.invalid")
    event.add("dtstamp", made_at)
    event.add("last-modified", made_at)
    event.add("sequence", int(made_at.timestamp()) // 60)  # a later answer replaces this one
    event.add("summary", f"{title}: {check.what}")
    event.add("description", check.how)
    event.add("location", f"{title}, {check.place}")
    event.add("dtstart", at)
    event.add("dtend", at + LASTS)
    event.add("transp", "TRANSPARENT")  # a check does not make a person busy
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", check.what)
    alarm.add("trigger", timedelta(0))
    event.add_component(alarm)
    return event


def _utc(moment: datetime) -> datetime:
    if moment.tzinfo is None:
        raise InputError(f"the moment {moment} has no time zone; give it with its zone.")
    return moment.astimezone(UTC).replace(microsecond=0)
