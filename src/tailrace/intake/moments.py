"""The moment of a row: its date in the order that the file settled, in the site's time zone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

from tailrace.errors import InputError
from tailrace.intake import flags as f
from tailrace.intake.dates import (
    DateOrder,
    clock_time,
    date_readings,
    instant,
    localise,
    split_moment,
)

_NOON = time(12)


@dataclass(frozen=True, slots=True)
class When:
    """When a row was taken.

    Parameters
    ----------
    first, second
        Aware UTC; the second only for a local time that occurs twice.
    flags
        Reasons to doubt it.
    doubts
        The same in sentences.
    """

    first: datetime
    second: datetime | None = None
    flags: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Calendar:
    """What is needed to read the moments of a file.

    Parameters
    ----------
    zone
        Key of the IANA time zone database.
    received_at
        When the file was received, aware UTC; nothing is taken later.
    order
        Order of dates that the file settled; None when it did not.
    contradicted
        Whether the file proves both orders.
    """

    zone: str
    received_at: datetime
    order: DateOrder | None = None
    contradicted: bool = False

    @property
    def today(self) -> date:
        """Local day on which the file was received."""
        return self.received_at.astimezone(ZoneInfo(self.zone)).date()

    def readings(self, when: str, day: str) -> dict[DateOrder, date]:
        """Return every way to read the date of a row.

        Parameters
        ----------
        when
            Cell with date and time; may be empty.
        day
            Cell with the date alone; may be empty.

        Returns
        -------
        dict
            Order to date; empty for a row without a date that can be read.
        """
        text = when or day
        if not text or instant(text) is not None:
            return {}
        try:
            return date_readings(split_moment(text)[0], self.today)
        except InputError:
            return {}

    def moment(self, when: str, day: str, clock: str) -> When:
        """Return when a row was taken.

        Parameters
        ----------
        when
            Cell with date and time; may be empty.
        day
            Cell with the date alone; may be empty.
        clock
            Cell with the time alone; may be empty.

        Returns
        -------
        When
            Its instant, or two.

        Raises
        ------
        InputError
            There is no date, it can be read two ways, it did not exist, or it is to come.
        """
        text = when or day
        if not text:
            what = f"the time {clock!r} has no date" if clock else "the row has no date"
            raise InputError(f"{what}; write the date such as 2026-03-14.")
        exact = instant(text)
        if exact is not None:
            return self._not_to_come(When(exact), text)
        date_text, time_text = split_moment(text)
        chosen = self._settled(date_text)
        time_text = time_text or clock
        if not time_text:
            return self._without_time(chosen, text)
        found = localise(datetime.combine(chosen, clock_time(time_text)), self.zone)
        return self._not_to_come(self._doubled(found.first, found.second), text)

    def _settled(self, text: str) -> date:
        readings = date_readings(text, self.today)
        if len(set(readings.values())) == 1:
            return next(iter(readings.values()))
        if self.order in readings:
            return readings[self.order]
        if "." in text and not self.contradicted:
            return readings["day first"]  # dates with points are written so; the file is told
        both = " or ".join(f"{day:%d %b %Y} ({order})" for order, day in readings.items())
        raise InputError(
            f"the date {text!r} can be read as {both}, and the file does not settle which; "
            f"write it as 2026-03-14."
        )

    def _without_time(self, day: date, text: str) -> When:
        noon = localise(datetime.combine(day, _NOON), self.zone).first
        if day == self.today:
            noon = min(noon, self.received_at)
        doubt = f"{text} has no time of day; noon was taken."
        return self._not_to_come(When(noon, None, (f.NO_TIME_OF_DAY,), (doubt,)), text)

    def _doubled(self, first: datetime, second: datetime | None) -> When:
        if second is None or second > self.received_at:
            return When(first)
        doubt = "this hour occurred twice when summer time ended; both instants are kept."
        return When(first, second, (f.TWICE,), (doubt,))

    def _not_to_come(self, when: When, text: str) -> When:
        if when.first <= self.received_at:
            return when
        shown = self.received_at.astimezone(UTC)
        raise InputError(
            f"{text} is later than the file was received ({shown:%Y-%m-%d %H:%M} UTC); look at "
            f"the date, the year and the time zone {self.zone}."
        )
