"""How things stand: the site's description and its log, folded to one moment.

The file says what is built and how it began; the log says what was set, seen and done since,
and the log wins. Nothing taken after the moment is used. A day without a feeding entry is a day
on the usual ration with a wide spread, never a day without feed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from tailrace.observations import Entry
from tailrace.site import Site

FEED_DAYS = 7
UNWRITTEN_FEED_SPREAD = 0.5  # a day without an entry: half to one and a half rations
_UPSETS = frozenset(
    {
        "air_set",
        "bypass_set",
        "needle_fully_open",
        "power_off",
        "power_on",
        "water_pump_off",
        "water_pump_on",
        "air_pump_off",
        "air_pump_on",
    }
)


@dataclass(frozen=True, slots=True)
class Known:
    """A value that holds now, and where it comes from.

    Parameters
    ----------
    value
        In the inside unit.
    entries
        Ids of the entries behind it; empty when it comes from the site's file.
    since
        When it was set or read; None when it comes from the site's file.
    """

    value: float
    entries: tuple[str, ...] = ()
    since: datetime | None = None

    @property
    def from_file(self) -> bool:
        """Whether it rests on the site's file alone."""
        return not self.entries


@dataclass(frozen=True, slots=True)
class Feeding:
    """Feed given over the last days.

    Parameters
    ----------
    low_kg, middle_kg, high_kg
        Feed a day, as fed.
    days_written, days_not_written
        Days with and without a feeding entry.
    entries
        Ids of the entries behind it.
    """

    low_kg: float
    middle_kg: float
    high_kg: float
    days_written: int
    days_not_written: int
    entries: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stopped:
    """Something that was written down as stopped and not as running again.

    Parameters
    ----------
    what
        ``power``, ``water_pump`` or ``air_pump``.
    entry
        The entry that says so.
    """

    what: str
    entry: Entry


@dataclass(frozen=True, slots=True)
class Settled:
    """The answer to 'one or two?' for two entries within half an hour by two people.

    Parameters
    ----------
    first, second
        Ids of the entries.
    two
        True: both count. False: it is one thing, and the first entry counts.
    """

    first: str
    second: str
    two: bool


@dataclass(frozen=True, slots=True)
class Standing:
    """How things stand at one moment.

    Parameters
    ----------
    site
        The site as built.
    at
        The moment, aware UTC.
    entries
        Live entries taken at or before the moment, oldest first; of two that were answered to be
        one thing, the first alone.
    settled
        Pairs of ids that somebody was asked about, 'one or two?', and has answered.
    """

    site: Site
    at: datetime
    entries: tuple[Entry, ...]
    settled: tuple[Settled, ...] = ()

    def of(self, *subjects: str) -> Iterator[Entry]:
        """Yield the entries of these subjects, newest first."""
        return (entry for entry in reversed(self.entries) if entry.subject in subjects)

    def last(self, *subjects: str) -> Entry | None:
        """Return the newest entry of these subjects."""
        return next(self.of(*subjects), None)

    def age_s(self, entry: Entry) -> float:
        """Return the seconds since an entry was taken."""
        return (self.at - entry.taken_at).total_seconds()

    @property
    def zone(self) -> ZoneInfo:
        """Time zone of the site."""
        return ZoneInfo(self.site.zone)

    @property
    def bypass(self) -> Known:
        """Opening of the bypass now."""
        return _known(self.last("bypass_set"), self.site.filter.start.bypass_open_frac)

    @property
    def air_float(self) -> Known:
        """Float reading that the needle was last set to."""
        return _known(self.last("air_set"), self.site.filter.start.air_float_m3_s)

    @property
    def needle_left_open(self) -> Entry | None:
        """Entry that says the needle was opened fully, if none says it was set back."""
        newest = self.last("needle_fully_open", "air_set")
        return newest if newest and newest.subject == "needle_fully_open" else None

    @property
    def upset_at(self) -> datetime | None:
        """When a setting was last changed or something last stopped or started."""
        newest = self.last(*_UPSETS)
        return newest.taken_at if newest else None

    @property
    def last_backwash(self) -> Entry | None:
        """Newest backwash seen since the last power cut or change of a setting."""
        seen = self.last("backwash")
        upset = self.upset_at
        return seen if seen and (upset is None or seen.taken_at > upset) else None

    @property
    def stopped(self) -> tuple[Stopped, ...]:
        """What was written down as stopped and not as running again."""
        found = []
        for what in ("power", "water_pump", "air_pump"):
            newest = self.last(f"{what}_off", f"{what}_on")
            if newest and newest.subject.endswith("_off"):
                found.append(Stopped(what, newest))
        return tuple(found)

    @property
    def fish_count(self) -> Known:
        """Number of fish: the file's lots, with what the log added and took out."""
        count = float(sum(lot.count for lot in self.site.stock))
        used = []
        signs = {"fish_added": 1.0, "fish_removed": -1.0, "fish_dead": -1.0}
        perhaps_double = {later.id for _, later in self.same_thing_twice()}
        for entry in self.entries:
            sign = signs.get(entry.subject)
            if entry.id in perhaps_double:
                continue
            if sign is not None and entry.interval is not None:
                count += sign * entry.interval.middle
                used.append(entry.id)
        return Known(max(0.0, count), tuple(used))

    @property
    def feeding(self) -> Feeding:
        """Feed a day over the last whole days."""
        return _feeding(self)

    def same_thing_twice(self) -> tuple[tuple[Entry, Entry], ...]:
        """Return pairs that two people may have written of one thing, newest first.

        Those that somebody has answered are left out.
        """
        return tuple(_doubles(self.entries, self.settled))


def standing(
    site: Site, entries: Iterable[Entry], at: datetime, *, settled: Iterable[Settled] = ()
) -> Standing:
    """Fold a site and its log to one moment.

    Parameters
    ----------
    site
        The site as built.
    entries
        Live entries in any order.
    at
        The moment, aware UTC.
    settled
        Answers to 'one or two?'.

    Returns
    -------
    Standing
        With the entries taken at or before the moment, oldest first.
    """
    entries = tuple(entries)
    there = {entry.id for entry in entries if entry.taken_at <= at}
    answers = tuple(a for a in settled if {a.first, a.second} <= there)
    again = {answer.second for answer in answers if not answer.two}
    known = sorted(
        (entry for entry in entries if entry.taken_at <= at and entry.id not in again),
        key=lambda entry: (entry.taken_at, entry.row, entry.id),
    )
    return Standing(site, at, tuple(known), answers)


def _known(entry: Entry | None, otherwise: float) -> Known:
    if entry is None or entry.interval is None:
        return Known(otherwise)
    return Known(entry.interval.middle, (entry.id,), entry.taken_at)


_DOUBLED = frozenset(
    {
        "feed",
        "drain",
        "water_change",
        "top_up",
        "bicarbonate_dose",
        "potassium_bicarbonate_dose",
        "salt_dose",
        "other_dose",
        "fish_added",
        "fish_removed",
        "fish_dead",
        "crop_planted",
        "crop_cut",
        "total_ammonia",
        "nitrite",
        "ph",
    }
)
DOUBLE_S = 1800.0


def _doubles(
    entries: tuple[Entry, ...], settled: tuple[Settled, ...]
) -> Iterator[tuple[Entry, Entry]]:
    asked = {frozenset((answer.first, answer.second)) for answer in settled}
    newest_first = [e for e in reversed(entries) if e.subject in _DOUBLED]
    for place, later in enumerate(newest_first):
        for earlier in newest_first[place + 1 :]:
            if (later.taken_at - earlier.taken_at).total_seconds() > DOUBLE_S:
                break
            same = (later.subject, later.place) == (earlier.subject, earlier.place)
            known = frozenset((earlier.id, later.id)) in asked
            if same and not known and later.who and earlier.who and later.who != earlier.who:
                yield earlier, later


def _feeding(now: Standing) -> Feeding:
    """Sum the feed of each of the last local days that are over."""
    today = now.at.astimezone(now.zone).date()
    days = [today - timedelta(days=back) for back in range(1, FEED_DAYS + 1)]
    oldest, ration = days[-1], now.site.ration_kg
    by_day: dict[object, list[Entry]] = {day: [] for day in days}
    for entry in now.entries:
        if entry.subject == "feed" and entry.interval is not None:
            day = entry.taken_at.astimezone(now.zone).date()
            if oldest <= day < today:
                by_day[day].append(entry)
    perhaps_double = {later.id for earlier, later in now.same_thing_twice()}
    low = middle = high = 0.0
    for fed in by_day.values():
        if not fed:
            low += ration * (1.0 - UNWRITTEN_FEED_SPREAD)
            middle += ration
            high += ration * (1.0 + UNWRITTEN_FEED_SPREAD)
        for entry in fed:
            assert entry.interval is not None
            high += entry.interval.high
            if entry.id not in perhaps_double:
                low += entry.interval.low
                middle += entry.interval.middle
    written = sum(1 for fed in by_day.values() if fed)
    return Feeding(
        low / FEED_DAYS,
        middle / FEED_DAYS,
        high / FEED_DAYS,
        written,
        FEED_DAYS - written,
        tuple(entry.id for fed in by_day.values() for entry in fed),
    )
