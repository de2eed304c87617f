"""When something was, in the words of a typed line: `8:15`, `yesterday 7 pm`, `10 min ago`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from tailrace.errors import InputError
from tailrace.intake.dates import clock_time, date_readings, localise
from tailrace.units import parse_number
from tailrace.units.numbers import NUMBER

_SPANS = {"s": 1, "m": 60, "h": 3600, "d": 86400}
_SPAN = (
    rf"(?P<number>{NUMBER}|half an|half) *"
    r"(?P<span>seconds?|secs?|s|minutes?|mins?|m|hours?|hrs?|h|days?|d)\b"
)
_CLOCK = (
    r"(?P<clock>(?:[01]?\d|2[0-4])[:h]\d{2}(?::\d{2})?(?: *[ap]\.?m\b\.?)?"
    r"|(?:1[0-2]|0?[1-9]) *[ap]\.?m\b\.?|noon\b|midnight\b)"
)
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?"
_DATE = (
    r"(?P<date>\d{4}-\d{1,2}-\d{1,2}|\d{1,2}[./]\d{1,2}[./](?:\d{4}|\d{2})"
    rf"|(?<=on )\d{{1,2}}/\d{{1,2}}|\d{{1,2}}\.? {_MONTH}(?! \d{{1,2}}\b(?!:))(?: \d{{4}})?"
    rf"|{_MONTH} \d{{1,2}}(?:, \d{{4}})?"
    r"|yesterday|today|this morning|this afternoon|this evening)"
)
_AGO = re.compile(rf"\b(?:about |some )?{_SPAN} ago\b", re.I)
_NOW = re.compile(r"\b(?:just now|right now|now)\b", re.I)
_DATED = re.compile(
    rf"(?:\bon )?(?<![\d/.-]){_DATE}(?:,? *(?:at )?(?<![\d.,]){_CLOCK})?(?![\d/])", re.I
)
_CLOCKED = re.compile(rf"(?:\bat |@ *|\b){_CLOCK}(?! *(?:yesterday|today))(?![\d:])", re.I)
_CLOCK_FIRST = re.compile(rf"(?:\bat |\b){_CLOCK} (?P<date>yesterday|today)\b", re.I)
_HOUR = re.compile(
    r"\bat (?P<hour>\d{1,2})(?: *o'clock)?(?=$|[ ,;:])"
    r"(?! *(?:[%°/\d]|deg|turns?\b|gal|l\b|m?l/|scf|ppm|mg|ug|[cf]\b|in\b|cm\b|kpa|psi|min|h\b))",
    re.I,
)
_VAGUE = re.compile(r"\b(?:last night|tonight|the other day|last week|earlier|this week)\b", re.I)


_SLACK = timedelta(minutes=2)
_HALF_DAY = timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class Told:
    """When something was, and what is left of the text.

    Parameters
    ----------
    rest
        The text without the words for the time.
    at
        When, aware UTC; None when the text says no time.
    also
        The second instant of a local time that occurs twice.
    words
        The words for the time, as typed.
    question
        What has to be asked; empty when it is clear.
    choices
        Words to type instead of `words`, for each answer.
    """

    rest: str
    at: datetime | None = None
    also: datetime | None = None
    words: str = ""
    question: str = ""
    choices: tuple[str, ...] = ()


def told(text: str, zone: str, now: datetime) -> Told:
    """Find when something was.

    Parameters
    ----------
    text
        One thing as typed.
    zone
        Time zone of the site.
    now
        The moment at which it was typed, aware.

    Returns
    -------
    Told
        Its moment, and the text without it.

    Raises
    ------
    InputError
        The time cannot be, or is still to come.

    Examples
    --------
    >>> from datetime import UTC
    >>> found = told("fed 2 scoops 10 min ago", "UTC", datetime(2026, 3, 1, 8, tzinfo=UTC))
    >>> found.rest, found.at.isoformat()
    ('fed 2 scoops', '2026-03-01T07:50:00+00:00')
    """
    place = ZoneInfo(zone)
    for pattern, read in _READERS:
        if match := pattern.search(text):
            return read(text, match, place, now)
    return Told(text)


def span(number: str, unit: str) -> timedelta:
    """Return a span of time.

    Parameters
    ----------
    number
        Its number as typed.
    unit
        Its unit, by its first letter.

    Returns
    -------
    timedelta
        The span.

    Raises
    ------
    InputError
        The number cannot be read, or the span is longer than a year.

    Examples
    --------
    >>> span("half an", "hour")
    datetime.timedelta(seconds=1800)
    """
    seconds = parse_number(number) * _SPANS[unit[0].casefold()]
    if not 0 <= seconds <= 366 * _SPANS["d"]:
        raise InputError(f"{number} {unit} is not a span of time that can be used; write a date.")
    return timedelta(seconds=seconds)


def _without(text: str, match: re.Match[str]) -> str:
    return f"{text[: match.start()].rstrip(' ,')} {text[match.end() :].lstrip(' ,')}".strip(" ,:")


def _on_a_day(text: str, match: re.Match[str], zone: ZoneInfo, now: datetime) -> Told:
    today = now.astimezone(zone).date()
    word = match["date"].casefold()
    readings = sorted(set(
        {today - timedelta(days=1)} if word == "yesterday"
        else {today} if word.startswith(("today", "this"))
        else date_readings(match["date"], today).values()
    ))  # fmt: skip
    rest = _without(text, match)
    past = [day for day in readings if day <= today]
    if len(readings) > 1:
        choices = tuple(match[0].replace(match["date"], f"{day:%Y-%m-%d}") for day in readings)
        both = " or ".join(f"{day:%d %b %Y}" for day in readings)
        return Told(rest, words=match[0], question=f"is {match['date']} {both}?", choices=choices)
    if not past:
        raise InputError(f"{match[0].strip()} is still to come; look at the date.")
    clock = match.groupdict().get("clock")
    if not clock:
        return Told(rest, words=match[0],
                    question=f"at what time was it {match[0].strip()}? Write such as "
                    f"'{match[0].strip()} 8:15'.")  # fmt: skip
    moments = localise(datetime.combine(past[0], clock_time(_tidy(clock))), zone.key)
    if moments.first > now:
        raise InputError(f"{match[0].strip()} is still to come; look at the time.")
    return Told(rest, moments.first, _past(moments.second, now), match[0])


def _at_a_clock(text: str, match: re.Match[str], zone: ZoneInfo, now: datetime) -> Told:
    today = now.astimezone(zone).date()
    words, rest = _tidy(match["clock"]), _without(text, match)
    clock = clock_time(words)
    moments = localise(datetime.combine(today, clock), zone.key)
    if moments.first > now + _SLACK:
        return Told(
            rest,
            words=match[0],
            question=f"{words} today is still to come; was it yesterday?",
            choices=(f" yesterday {words} ",),
        )
    evening = localise(datetime.combine(today, clock), zone.key).first + _HALF_DAY
    if re.match(r"[1-9][:h]|1[01][:h]", words) and words[-1] in "0123456789" and evening <= now:
        return Told(
            rest,
            words=match[0],
            question=f"is {words} in the morning or after noon?",
            choices=(f" {clock:%H:%M} ", f" {words} pm "),
        )
    return Told(rest, min(moments.first, now), _past(moments.second, now), match[0])


def _at_an_hour(text: str, match: re.Match[str], _: ZoneInfo, __: datetime) -> Told:
    hour = int(match["hour"])
    if hour > 24:
        return Told(text)
    rest = _without(text, match)
    question = f"is 'at {hour}' in the morning or after noon?"
    choices: tuple[str, ...] = (f"at {hour} am", f"at {hour} pm")
    if not 0 < hour < 13:
        question, choices = f"is 'at {hour}' {hour % 24:02}:00?", (f"at {hour % 24:02}:00",)
    return Told(rest, words=match[0], question=question, choices=choices)


def _ago(text: str, match: re.Match[str], _: ZoneInfo, now: datetime) -> Told:
    return Told(_without(text, match), now - span(match["number"], match["span"]), words=match[0])


def _just_now(text: str, match: re.Match[str], _: ZoneInfo, now: datetime) -> Told:
    return Told(_without(text, match), now, words=match[0])


def _vague(text: str, match: re.Match[str], _: ZoneInfo, __: datetime) -> Told:
    question = f"when was '{match[0]}'? Write such as 'yesterday 9 pm'."
    return Told(_without(text, match), words=match[0], question=question)


def _tidy(clock: str) -> str:
    return clock.strip().rstrip(".") if clock.strip().endswith("m.") else clock.strip()


def _past(moment: datetime | None, now: datetime) -> datetime | None:
    return moment if moment is not None and moment <= now else None


_READERS = (
    (_AGO, _ago),
    (_CLOCK_FIRST, _on_a_day),
    (_DATED, _on_a_day),
    (_CLOCKED, _at_a_clock),
    (_HOUR, _at_an_hour),
    (_VAGUE, _vague),
    (_NOW, _just_now),
)
