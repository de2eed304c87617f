"""Axes of charts: ticks at round numbers, and at round local times."""

from __future__ import annotations

import math
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

_HOURS = (3, 6, 12)
_DAYS = (1, 2, 3, 7, 14)
_MONTHS = (1, 2, 3, 6, 12)


def number_ticks(low: float, high: float, *, most: int = 5) -> tuple[float, ...]:
    """Return round numbers inside a range.

    Parameters
    ----------
    low, high
        Ends, the first one lower.
    most
        Most ticks wanted.

    Returns
    -------
    tuple of float
        Multiples of 1, 2 or 5 times a power of ten.

    Examples
    --------
    >>> number_ticks(6.7, 7.6)
    (6.8, 7.0, 7.2, 7.4, 7.6)
    """
    power = 10.0 ** math.floor(math.log10((high - low) / most))
    step = next(
        size * power
        for size in (1.0, 2.0, 5.0, 10.0, 20.0)
        if (high - low) / (size * power) <= most
    )
    places = max(0, -math.floor(math.log10(step)))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(round(step * place, places) for place in range(first, last + 1))


def time_ticks(
    start: datetime, end: datetime, zone: ZoneInfo, *, most: int = 5
) -> tuple[tuple[datetime, str], ...]:
    """Return round local times inside a span, each with its label.

    Parameters
    ----------
    start, end
        Ends, aware.
    zone
        Time zone of the site.
    most
        Most ticks wanted.

    Returns
    -------
    tuple of tuple
        Moment and label: hours where the span is short, else days or months.

    Examples
    --------
    >>> from datetime import UTC
    >>> day = datetime(2026, 10, 1, tzinfo=UTC)
    >>> [label for _, label in time_ticks(day, day + timedelta(days=30), ZoneInfo("UTC"))]
    ['1 Oct', '8 Oct', '15 Oct', '22 Oct', '29 Oct']
    """
    local, hours = start.astimezone(zone), (end - start) / timedelta(hours=1)
    found: list[tuple[datetime, str]] = []
    if hours <= _HOURS[-1] * most:
        step = next(size for size in _HOURS if hours <= size * most)
        found = _by_hours(local.date(), math.ceil(hours / 24.0) + 1, step, zone)
    elif hours <= 24.0 * _DAYS[-1] * most:
        step = next(size for size in _DAYS if hours <= 24.0 * size * most)
        found = _by_days(local.date(), math.ceil(hours / 24.0) + 1, step, zone)
    else:
        months = math.ceil(hours / 24.0 / 28.0)
        step = next((size for size in _MONTHS if months <= size * most), _MONTHS[-1])
        found = _by_months(local.date(), months, step, zone)
    return tuple((at, label) for at, label in found if start <= at <= end)


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone)


def _by_hours(first: date, days: int, step: int, zone: ZoneInfo) -> list[tuple[datetime, str]]:
    found = []
    for back in range(days + 1):
        day = _midnight(first + timedelta(days=back), zone)
        for hour in range(0, 24, step):
            at = day.replace(hour=hour)
            found.append((at, f"{at:%H:%M}" if hour else f"{at:%a} {at.day}"))
    return found


def _by_days(first: date, days: int, step: int, zone: ZoneInfo) -> list[tuple[datetime, str]]:
    after = (first + timedelta(days=back) for back in range(days + 1))
    anchored = (day for day in after if (day - first).days % step == 0)
    return [(_midnight(day, zone), f"{day.day} {day:%b}") for day in anchored]


def _by_months(first: date, months: int, step: int, zone: ZoneInfo) -> list[tuple[datetime, str]]:
    found = []
    for ahead in range(0, months + 2):
        month = first.month - 1 + ahead
        day = date(first.year + month // 12, month % 12 + 1, 1)
        if (day.month - 1) % step == 0:
            found.append((_midnight(day, zone), f"{day:%b}"))
    return found
