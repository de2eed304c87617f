"""What a chart shows, as frozen records: readings, limits, the forecast's band, events."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo


@dataclass(frozen=True, slots=True)
class Mark:
    """One reading, or all readings of one week, as an interval.

    Parameters
    ----------
    at
        When, aware.
    low, high
        Ends in the unit of the series; `high` is None for a reading that is 'at least'.
    words
        The interval in words.
    source
        Kit and entry behind it, in words.
    """

    at: datetime
    low: float
    high: float | None
    words: str
    source: str

    @property
    def top(self) -> float:
        """Upper end, the lower one where it is open."""
        return self.low if self.high is None else self.high


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One limit for this stock.

    Parameters
    ----------
    value
        In the unit of the series.
    level
        ``not comfortable``, ``act today`` or ``can harm within hours``.
    words
        What stands beside its line.
    """

    value: float
    level: str
    words: str


@dataclass(frozen=True, slots=True)
class Band:
    """A forecast.

    Parameters
    ----------
    times
        Aware, increasing.
    p05, p50, p95
        Points of its distribution at each time.
    in_words
        What it says at some horizons.
    """

    times: tuple[datetime, ...]
    p05: tuple[float, ...]
    p50: tuple[float, ...]
    p95: tuple[float, ...]
    in_words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Event:
    """Something done or seen.

    Parameters
    ----------
    at
        When, aware.
    kind
        Label of its kind.
    words
        Time, kind and value as typed.
    """

    at: datetime
    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class Span:
    """The stretch of time that charts share.

    Parameters
    ----------
    start, end
        Ends, aware.
    now
        The moment of the answer.
    zone
        Time zone of the site.
    """

    start: datetime
    end: datetime
    now: datetime
    zone: ZoneInfo

    def share(self, moment: datetime) -> float:
        """Return where a moment lies, 0 at the start and 1 at the end."""
        return (moment - self.start) / (self.end - self.start)


@dataclass(frozen=True, slots=True)
class Series:
    """One water quantity over a span.

    Parameters
    ----------
    quantity, label, unit
        Key, words and unit shown.
    marks
        Readings, oldest first.
    limits
        Limits for this stock.
    band
        Its forecast, or None.
    say
        One sentence on the readings.
    """

    quantity: str
    label: str
    unit: str
    marks: tuple[Mark, ...]
    limits: tuple[LimitLine, ...]
    band: Band | None
    say: str


@dataclass(frozen=True, slots=True)
class Water:
    """All water quantities of a site over a span.

    Parameters
    ----------
    span
        The stretch of time.
    series
        One for each quantity.
    events
        What was done or seen, oldest first.
    grouped
        What one mark stands for: ``reading`` or ``week``.
    forecast_say
        What is to be said of the forecast as a whole; empty without one.
    """

    span: Span
    series: tuple[Series, ...]
    events: tuple[Event, ...]
    grouped: str
    forecast_say: str
