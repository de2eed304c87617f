"""Dates and times as people write them, and what they are in the site's time zone.

``3/4/2026`` may be read month first or day first; every reading is returned, and the rows of
a file that allow one only settle the others (`tailrace.intake.survey`).
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from functools import cache
from importlib.resources import files
from typing import Literal
from zoneinfo import ZoneInfo

from tailrace.errors import InputError

DateOrder = Literal["month first", "day first", "year first"]

EARLIEST_YEAR = 1990
_EXAMPLES = "2026-03-14, 3/14/2026, 14.3.2026 or 14 Mar 2026"
_NUMERIC = re.compile(r"^(\d{1,4})([./-])(\d{1,2})(?:\2(\d{2}|\d{4})?)?$", re.ASCII)
_YEAR_FIRST = re.compile(r"^(\d{4})([./-]?)(\d{1,2})\2(\d{1,2})$", re.ASCII)
_DAY_MONTH = re.compile(
    r"^(\d{1,2})(?:st|nd|rd|th|\.)?[ .-]*([^\W\d_]+)\.?,?[ .-]*(\d{4}|\d{2})?$"
)
_MONTH_DAY = re.compile(r"^([^\W\d_]+)\.? *(\d{1,2})(?:st|nd|rd|th)?(?:,? +(\d{4}))?$")
_WEEKDAY = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[.,]? +", re.IGNORECASE)
_CLOCK = (
    r"(?:(?P<h>\d{1,2})[:h](?P<m>\d{2})(?::(?P<s>\d{2})(?:[.,]\d+)?)?(?: *(?P<half>[ap])\.?m\.?)?"
    r"|(?P<h12>\d{1,2}) *(?P<half12>[ap])\.?m\.?|(?P<word>noon|midnight))"
)
_TIME = re.compile(rf"^{_CLOCK}(?: *(?:h|uhr|o'clock))?$", re.IGNORECASE | re.ASCII)
_TIME_LAST = re.compile(rf"^(?P<date>.*?)(?:[ ,T]+|, *at +)(?P<time>{_CLOCK})$", re.I | re.ASCII)
_ISO_OFFSET = re.compile(r"^\d{4}-\d\d-\d\d[T ]\d\d:?\d\d.*(?:Z|[+-]\d\d:?\d\d)$", re.ASCII)


@dataclass(frozen=True, slots=True)
class Moments:
    """What a local time is in UTC.

    Parameters
    ----------
    first
        The instant, aware UTC.
    second
        The second instant of a local time that occurs twice; else None.
    """

    first: datetime
    second: datetime | None


@cache
def _months() -> dict[str, int]:
    with files("tailrace.intake").joinpath("months.csv").open(encoding="utf-8") as stream:
        full = {row["word"]: int(row["month"]) for row in csv.DictReader(stream)}
    short: dict[str, int] = {}
    for word, month in full.items():
        if short.setdefault(word[:3], month) != month:
            short[word[:3]] = 0  # juin and juillet: three letters do not tell
    return {word: month for word, month in {**short, **full}.items() if month}


def date_readings(text: str, latest: date) -> dict[DateOrder, date]:
    """Return every way to read a date.

    Parameters
    ----------
    text
        The date as typed.
    latest
        Day on which it was received; a date without year is the last such day until then.

    Returns
    -------
    dict
        Order to date; more than one where the text does not tell.

    Raises
    ------
    InputError
        It is not a date.

    Examples
    --------
    >>> sorted(date_readings("3/4/2026", date(2026, 6, 1)))
    ['day first', 'month first']
    >>> date_readings("3/14/26", date(2026, 6, 1))
    {'month first': datetime.date(2026, 3, 14)}
    """
    plain = _WEEKDAY.sub("", " ".join(text.split()))
    found = _named(plain, latest) or _numeric(plain, latest)
    allowed: dict[DateOrder, date] = {}
    for order, day in found:
        if day is not None and EARLIEST_YEAR <= day.year <= latest.year + 1:
            allowed[order] = day
    if not allowed:
        raise InputError(f"the date {text.strip()!r} cannot be read; write it as {_EXAMPLES}.")
    return allowed


def _numeric(plain: str, latest: date) -> list[tuple[DateOrder, date | None]]:
    if iso := _YEAR_FIRST.match(plain):
        return [("year first", _day(iso[1], iso[3], iso[4], latest))]
    match = _NUMERIC.match(plain)
    if not match or len(match[1]) > 2:
        return []
    a, sign, b, year = match.groups()
    if year is None and sign == "-":
        return []
    both: list[tuple[DateOrder, date | None]] = [
        ("month first", _day(year, a, b, latest)),
        ("day first", _day(year, b, a, latest)),
    ]
    if sign == "-" and year is not None and len(year) == 2:
        both.append(("year first", _day(a, b, year, latest)))
    return both


def _named(plain: str, latest: date) -> list[tuple[DateOrder, date | None]]:
    if match := _DAY_MONTH.match(plain):
        day, word, year = match.groups()
    elif match := _MONTH_DAY.match(plain):
        word, day, year = match.groups()
    else:
        return []
    month = _months().get(word.casefold())
    return [("year first", _day(year, str(month), day, latest))] if month else []


def _day(year: str | None, month: str, day: str, latest: date) -> date | None:
    try:
        if year is None:
            this = date(latest.year, int(month), int(day))
            return this if this <= latest else date(latest.year - 1, int(month), int(day))
        return date(int(year) + (2000 if len(year) < 4 else 0), int(month), int(day))
    except ValueError:
        return None


def clock_time(text: str) -> time:
    """Read a time of day.

    Parameters
    ----------
    text
        The time as typed.

    Returns
    -------
    datetime.time
        The time, without zone.

    Raises
    ------
    InputError
        It is not a time.

    Examples
    --------
    >>> clock_time("8am"), clock_time("noon"), clock_time("2:30 pm")
    (datetime.time(8, 0), datetime.time(12, 0), datetime.time(14, 30))
    """
    match = _TIME.match(" ".join(text.split()))
    refusal = InputError(
        f"the time {text.strip()!r} cannot be read; write it as 14:30, 2:30 pm or noon."
    )
    if not match:
        raise refusal
    if match["word"]:
        return time(12) if match["word"].casefold() == "noon" else time(0)
    hour, half = int(match["h"] or match["h12"]), (match["half"] or match["half12"] or "").lower()
    if half and not 1 <= hour <= 12:
        raise refusal
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    try:
        return time(hour, int(match["m"] or 0), int(match["s"] or 0))
    except ValueError:
        raise refusal from None


def split_moment(text: str) -> tuple[str, str]:
    """Split a cell into its date and its time.

    Parameters
    ----------
    text
        Date, or date and time, as typed.

    Returns
    -------
    tuple
        Date and time as typed; the time is empty when there is none.

    Examples
    --------
    >>> split_moment("3/14/2026 8:00 am")
    ('3/14/2026', '8:00 am')
    """
    plain = " ".join(text.split())
    if match := _TIME_LAST.match(plain):
        return match["date"].rstrip(","), match["time"]
    return plain, ""


def instant(text: str) -> datetime | None:
    """Return the instant of an ISO text with its offset; None for any other text.

    Parameters
    ----------
    text
        Text as typed.

    Returns
    -------
    datetime.datetime or None
        Aware UTC.

    Examples
    --------
    >>> instant("2026-03-14T08:00+01:00").isoformat()
    '2026-03-14T07:00:00+00:00'
    """
    plain = text.strip()
    if not _ISO_OFFSET.match(plain):
        return None
    try:
        return datetime.fromisoformat(plain).astimezone(UTC)
    except (ValueError, OverflowError):
        return None


def localise(local: datetime, zone: str) -> Moments:
    """Return the instants of a local time.

    Parameters
    ----------
    local
        Local time without zone.
    zone
        Key of the IANA time zone database.

    Returns
    -------
    Moments
        One instant, or two for a time in the hour that occurs twice.

    Raises
    ------
    InputError
        The local time was skipped by the change to summer time.

    Examples
    --------
    >>> localise(datetime(2026, 10, 25, 2, 30), "Europe/Berlin").second.isoformat()
    '2026-10-25T01:30:00+00:00'
    """
    tz = ZoneInfo(zone)
    early, late = (local.replace(tzinfo=tz, fold=fold).astimezone(UTC) for fold in (0, 1))
    if early.astimezone(tz).replace(tzinfo=None) != local:
        raise InputError(
            f"the local time {local:%Y-%m-%d %H:%M} did not exist in {zone}: the clocks were put "
            f"forward over it; write the time before or after."
        )
    return Moments(early, late if late != early else None)
