"""The log as a schedule for the engine: what was done, and what is taken to have been done.

What was not written down is filled in, and said: a day without a feeding entry has the usual
ration in two meals; where no top-up was written for days, the water that evaporated was topped
up. Ahead of now the feed of the last week goes on, and sludge is drained by the plan.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from tailrace.beadfilter.machine import Day, Machine, Setting
from tailrace.beadfilter.setting import needle_gap_for_float_m
from tailrace.errors import InputError
from tailrace.estimation.sludge import SludgeOutlook
from tailrace.estimation.standing import Standing
from tailrace.observations import Entry
from tailrace.simulation.events import (
    Base,
    Device,
    Dose,
    Event,
    Feeding,
    Schedule,
    SettingChanged,
    SludgeDrain,
    Switched,
    TemperatureChanged,
    TopUp,
    WaterChange,
)

DAY_S = 86400.0
MEALS = (time(8, 0), time(16, 0))
TOP_UP_GAP_DAYS = 3
FLUSH_S = 1800.0  # a needle set back this soon was only flushed
MOST_CHANGED_FRAC = 0.9
DOSED_S = 14 * DAY_S
_BASES = {
    "bicarbonate_dose": Base.SODIUM_BICARBONATE,
    "potassium_bicarbonate_dose": Base.POTASSIUM_BICARBONATE,
}
_SWITCHES = {
    "power": Device.POWER,
    "water_pump": Device.WATER_PUMP,
    "air_pump": Device.AIR_PUMP,
}


@dataclass(frozen=True, slots=True)
class Happenings:
    """What happened and is taken to happen, in seconds since `since`.

    Parameters
    ----------
    since
        When the engine's clock starts, aware UTC.
    schedule
        Events up to the end of the forecast.
    setting
        Bypass and needle when the clock starts.
    assumed
        What was filled in, in words.
    """

    since: datetime
    schedule: Schedule
    setting: Setting
    assumed: tuple[str, ...]


def happenings(
    now: Standing, day: Day, sludge: SludgeOutlook, *, since: datetime, ahead_s: float
) -> Happenings:
    """Turn the log into a schedule.

    Parameters
    ----------
    now
        How things stand.
    day
        The day the machine works in.
    sludge
        Plan of the drains ahead.
    since
        When the engine's clock starts.
    ahead_s
        How far to go beyond now.

    Returns
    -------
    Happenings
        The schedule, the first setting, and what was filled in.
    """
    machine = now.site.filter.machine
    start = now.site.filter.start
    first = Setting(
        start.bypass_open_frac,
        gap_for(machine, start.bypass_open_frac, start.air_float_m3_s, day),
    )
    written = [entry for entry in now.entries if entry.taken_at >= since]
    before = [entry for entry in now.entries if entry.taken_at < since]
    settings = _Settings(machine, day, first)
    for entry in before:
        settings.take(entry)
    begin = settings.setting
    events = [*_written(now, written, since), *settings.changes(written, since)]
    unfed = list(_unwritten_meals(now, since))
    forgotten = list(_forgotten_top_ups(now, since))
    events += [*unfed, *forgotten, *_ahead(now, sludge, since, ahead_s)]
    return Happenings(since, Schedule(tuple(events)), begin, tuple(_said(unfed, forgotten)))


def gap_for(machine: Machine, opening: float, reading: float, day: Day) -> float:
    """Return the needle gap of a float reading; infinite where the machine cannot give it.

    Parameters
    ----------
    machine
        The filter.
    opening
        Opening of the bypass [-].
    reading
        Float reading just after a backwash [m3/s].
    day
        The day it works in.

    Returns
    -------
    float
        Gap [m].
    """
    try:
        return needle_gap_for_float_m(machine, opening, reading, day)
    except InputError:
        return math.inf


class _Settings:
    """Bypass and needle as the log changes them."""

    def __init__(self, machine: Machine, day: Day, first: Setting) -> None:
        self._machine, self._day, self.setting = machine, day, first

    def take(self, entry: Entry) -> bool:
        """Take over what an entry says of a setting; tell whether it changed anything."""
        value = None if entry.interval is None else entry.interval.middle
        opening, gap = self.setting.bypass_open_frac, self.setting.needle_gap_m
        if entry.subject == "bypass_set" and value is not None:
            opening = min(1.0, max(0.0, value))
        elif entry.subject == "air_set" and value is not None:
            gap = gap_for(self._machine, opening, value, self._day)
        elif entry.subject == "needle_fully_open":
            gap = math.inf
        changed = (opening, gap) != (self.setting.bypass_open_frac, self.setting.needle_gap_m)
        self.setting = Setting(opening, gap)
        return changed

    def changes(self, written: list[Entry], since: datetime) -> Iterator[Event]:
        """Yield the changes that last."""
        for place, entry in enumerate(written):
            if entry.subject == "needle_fully_open" and _only_flushed(written[place:]):
                continue
            if self.take(entry):
                yield SettingChanged(_at(entry, since), self.setting)


def _only_flushed(coming: list[Entry]) -> bool:
    opened = coming[0].taken_at
    return any(
        entry.subject == "air_set" and (entry.taken_at - opened).total_seconds() <= FLUSH_S
        for entry in coming[1:]
    )


def _at(entry: Entry, since: datetime) -> float:
    return (entry.taken_at - since).total_seconds()


def _written(now: Standing, written: list[Entry], since: datetime) -> Iterator[Event]:
    perhaps_double = {later.id for _, later in now.same_thing_twice()}
    for entry in written:
        if entry.id in perhaps_double:
            continue
        at = _at(entry, since)
        for name, device in _SWITCHES.items():
            if entry.subject in {f"{name}_off", f"{name}_on"}:
                yield Switched(at, device, entry.subject.endswith("_on"))
        make = _ACTS.get(entry.subject)
        if make is not None and entry.interval is not None:
            yield make(now, at, entry.interval.middle)


def _protein(now: Standing) -> float:
    ration = now.site.ration_kg
    return sum(lot.ration_kg * lot.feed_protein_frac for lot in now.site.stock) / ration


_ACTS: dict[str, Callable[[Standing, float, float], Event]] = {
    "feed": lambda now, at, kg: Feeding(at, kg, _protein(now)),
    "drain": lambda _, at, m3: SludgeDrain(at, m3),
    "water_change": lambda now, at, m3: WaterChange(
        at, min(MOST_CHANGED_FRAC, m3 / now.site.volume_m3)
    ),
    "top_up": lambda _, at, m3: TopUp(at, m3),
    "bicarbonate_dose": lambda _, at, kg: Dose(at, kg),
    "potassium_bicarbonate_dose": lambda _, at, kg: Dose(at, kg, Base.POTASSIUM_BICARBONATE),
    "water_temperature": lambda _, at, degc: TemperatureChanged(at, min(45.0, max(0.0, degc))),
}


def _days(now: Standing, since: datetime) -> Iterator[date]:
    day = since.astimezone(now.zone).date()
    while day < now.at.astimezone(now.zone).date():
        yield day
        day += timedelta(days=1)


def _meal_times(now: Standing, day: date, since: datetime) -> Iterator[float]:
    for meal in MEALS:
        local = datetime.combine(day, meal, tzinfo=now.zone)
        yield (local - since).total_seconds()


def _unwritten_meals(now: Standing, since: datetime) -> Iterator[Event]:
    fed = {e.taken_at.astimezone(now.zone).date() for e in now.of("feed")}
    share = now.site.ration_kg / len(MEALS)
    for day in _days(now, since):
        if day not in fed:
            for at in _meal_times(now, day, since):
                if at >= 0.0:
                    yield Feeding(at, share, _protein(now))


def _forgotten_top_ups(now: Standing, since: datetime) -> Iterator[Event]:
    """Yield a top-up of what evaporated for each day that is days away from a written one."""
    site = now.site
    lost = 0.5 * (site.evaporation_low_m3_s + site.evaporation_high_m3_s) * DAY_S
    written = {e.taken_at.astimezone(now.zone).date() for e in now.of("top_up", "water_change")}
    for day in _days(now, since):
        near = any(abs((day - other).days) < TOP_UP_GAP_DAYS for other in written)
        if not near and lost > 0.0:
            at = datetime.combine(day, time(17, 0), tzinfo=now.zone)
            yield TopUp(max(0.0, (at - since).total_seconds()), lost)


def _ahead(
    now: Standing, sludge: SludgeOutlook, since: datetime, ahead_s: float
) -> Iterator[Event]:
    here = (now.at - since).total_seconds()
    end = here + ahead_s
    share = now.feeding.middle_kg / len(MEALS)
    lost = 0.5 * (now.site.evaporation_low_m3_s + now.site.evaporation_high_m3_s) * DAY_S
    day = now.at.astimezone(now.zone).date()
    while True:
        times = list(_meal_times(now, day, since))
        if times[0] > end:
            break
        for at in times:
            if here < at <= end:
                yield Feeding(at, share, _protein(now))
        if here < times[-1] <= end and lost > 0.0:
            yield TopUp(times[-1], lost)
        day += timedelta(days=1)
    yield from _doses_ahead(now, here, end)
    due = now.at if sludge.due_at is None else max(now.at, sludge.due_at)
    at = max(here + 3600.0, (due - since).total_seconds())
    while at <= end:
        yield SludgeDrain(at, sludge.plan.draw_m3)
        at += max(sludge.plan.interval_s, 3600.0)


def _doses_ahead(now: Standing, here: float, end: float) -> Iterator[Event]:
    """Yield the base of the last two weeks, spread evenly, a dose a day."""
    for subject, base in _BASES.items():
        recent = [e for e in now.of(subject) if e.interval and now.age_s(e) <= DOSED_S]
        daily = sum(e.interval.middle for e in recent if e.interval) * DAY_S / DOSED_S
        at = here + DAY_S
        while daily > 0.0 and at <= end:
            yield Dose(at, daily, base)
            at += DAY_S


def _said(unfed: list[Event], forgotten: list[Event]) -> Iterator[str]:
    if unfed:
        days = len(unfed) // len(MEALS) or 1
        yield f"On {days} days without a feeding entry the usual ration was fed in two meals."
    if forgotten:
        yield (
            f"On {len(forgotten)} days far from a written top-up, what evaporated was topped up "
            "and not written."
        )
    yield (
        "Ahead: feed as in the last week, base as in the last two, evaporation topped up daily, "
        "sludge drained by plan."
    )
