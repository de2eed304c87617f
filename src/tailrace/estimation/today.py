"""Everything that the log and the machine say about now, worked out once.

`picture` is what the diagnosis reads and the advice acts on: how things stand, the day the
machine works in, the air outlook at the present setting, the sludge and the water.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tailrace.beadfilter.charge import Charge, float_at
from tailrace.beadfilter.circuit import water_state
from tailrace.beadfilter.machine import Day
from tailrace.estimation.air import AirOutlook, air_outlook, charge_as_set
from tailrace.estimation.priors import parameters
from tailrace.estimation.quality import Quality, newest, water_quality
from tailrace.estimation.sludge import SludgeOutlook, sludge_outlook
from tailrace.estimation.standing import Known, Standing
from tailrace.observations import Entry
from tailrace.water.air import pressure_at_altitude_pa_abs

SEED = 20260101
FLOAT_LOOKS = 5
FLOAT_FRESH_S = 7 * 86400.0


@dataclass(frozen=True, slots=True)
class FloatCheck:
    """The float readings since the needle was last set, against those expected at the setting.

    Parameters
    ----------
    entries
        The readings, newest first, at most `FLOAT_LOOKS`.
    reading_m3_s, expected_m3_s
        Mean of what was read, and of what the machine as set should have shown then.
    allowed_m3_s
        Two standard errors of their difference: reading error, and the fall of the float
        through a charge where the time since the backwash is not known.
    mark_m3_s
        Reading just after a backwash that the readings stand for.
    """

    entries: tuple[Entry, ...]
    reading_m3_s: float
    expected_m3_s: float
    allowed_m3_s: float
    mark_m3_s: float

    @property
    def low(self) -> bool:
        """Whether the float stands lower than the setting explains."""
        return self.reading_m3_s < self.expected_m3_s - self.allowed_m3_s

    @property
    def high(self) -> bool:
        """Whether the float stands higher than the setting explains."""
        return self.reading_m3_s > self.expected_m3_s + self.allowed_m3_s


@dataclass(frozen=True, slots=True)
class Picture:
    """Everything known about now.

    Parameters
    ----------
    now
        How things stand.
    day
        The day the machine works in.
    air
        What the filter does at the present setting.
    air_float
        The reading that the present setting is taken from.
    float_check
        The float readings since the needle was last set, against the expected ones.
    sludge
        Sludge and the next drain.
    quality
        The water against the limits.
    """

    now: Standing
    day: Day
    air: AirOutlook
    air_float: Known
    float_check: FloatCheck | None
    sludge: SludgeOutlook
    quality: tuple[Quality, ...]

    def of(self, subject: str) -> Quality:
        """Return one water quantity."""
        return next(q for q in self.quality if q.subject == subject)


def day_of(now: Standing) -> Day:
    """Return the day the machine works in, from the newest temperatures and the altitude.

    Parameters
    ----------
    now
        How things stand.

    Returns
    -------
    Day
        With a clean bead bed.
    """
    site = now.site
    water, air = newest(now, "water_temperature"), newest(now, "air_temperature")
    return Day(
        water_temperature_degc=_middle(water, site.water_temperature_degc),
        air_temperature_degc=_middle(air, site.air_temperature_degc),
        barometric_pa_abs=pressure_at_altitude_pa_abs(site.altitude_m),
    )


def _middle(entry: Entry | None, otherwise: float) -> float:
    return otherwise if entry is None or entry.interval is None else entry.interval.middle


def picture(now: Standing, *, seed: int = SEED) -> Picture:
    """Work out everything known about now.

    Parameters
    ----------
    now
        How things stand.
    seed
        Seed of every draw.

    Returns
    -------
    Picture
        The whole.
    """
    day = day_of(now)
    machine, opening, known = now.site.filter.machine, now.bypass.value, now.air_float
    mark = math.inf if now.needle_left_open else known.value
    water = water_state(machine, opening, day)
    check = _float_check(now, charge_as_set(machine, opening, mark, day, water=water))
    if check is not None and (check.low or check.high):
        ids = tuple(entry.id for entry in check.entries)
        mark, known = check.mark_m3_s, Known(check.mark_m3_s, ids, check.entries[0].taken_at)
    air = air_outlook(machine, opening, float_m3_s=mark, day=day, seed=seed)
    return Picture(
        now=now,
        day=day,
        air=air,
        air_float=known,
        float_check=check,
        sludge=sludge_outlook(now, temperature_degc=day.water_temperature_degc, seed=seed),
        quality=water_quality(now),
    )


def _float_check(now: Standing, as_set: Charge) -> FloatCheck | None:
    """Hold the readings of the last days since the needle was set against the expected ones."""
    if not math.isfinite(as_set.interval_s):
        return None
    set_at = now.upset_at
    looks = [
        (entry, entry.interval.middle, *_expected(now, entry, as_set))
        for entry in now.of("air_float")
        if entry.interval is not None
        and now.age_s(entry) <= FLOAT_FRESH_S
        and (set_at is None or entry.taken_at > set_at)
    ][:FLOAT_LOOKS]
    if not looks:
        return None
    count = len(looks)
    reading = sum(look[1] for look in looks) / count
    expected = sum(look[2] for look in looks) / count
    error = parameters()["float_reading_error"].second
    variance = sum(error**2 + look[3] ** 2 for look in looks) / count**2
    return FloatCheck(
        entries=tuple(look[0] for look in looks),
        reading_m3_s=reading,
        expected_m3_s=expected,
        allowed_m3_s=2.0 * math.sqrt(variance),
        mark_m3_s=as_set.float_start_m3_s * reading / expected,
    )


def _expected(now: Standing, entry: Entry, as_set: Charge) -> tuple[float, float]:
    """Return the reading expected then, and its standard deviation for want of a time."""
    before = next((b for b in now.of("backwash") if b.taken_at <= entry.taken_at), None)
    if before is not None:
        since = (entry.taken_at - before.taken_at).total_seconds()
        if since < as_set.interval_s:
            return float_at(as_set, since), 0.0
    low, high = as_set.float_end_m3_s, as_set.float_start_m3_s
    return 0.5 * (low + high), (high - low) / math.sqrt(12.0)
