"""The runs that are set beside the prototype: used by the page and by the tests of signs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from tailrace.simulation import (
    Device,
    Event,
    Feeding,
    Loop,
    SettingChanged,
    Solution,
    StartWater,
    Switched,
    assemble,
    simulate,
    start_state,
)
from tests.loops import DAY_S, at_bypass, fish_only, loop, site, usual

INTERVALS_H = (0.5, 1.0, 2.0, 4.0, 6.0, 8.0, 12.0, 24.0)


@dataclass(frozen=True, slots=True)
class Settled:
    """Means of the last three days of a settled run, and the rise of nitrate."""

    total_ammonia: float
    nitrite: float
    ph: float
    oxygen: float
    solids: float
    nitrate_day: float
    backwashes_day: float


def settled(of: Loop, feed_g_day: float, *, days: int = 60, held: float = 0.6) -> Settled:
    """Run a loop until it has settled."""
    found = simulate(of, schedule=usual(feed_g_day, days, held=held), until_s=days * DAY_S)
    late = found.times_s > (days - 3) * DAY_S
    tenth = 240
    recent = found.backwash_s > (days - 10) * DAY_S

    def mean(name: str) -> float:
        return float(found[name][late].mean())

    return Settled(
        mean("total_ammonia"),
        mean("nitrite"),
        mean("ph"),
        mean("oxygen"),
        mean("coarse_solids") + mean("fine_solids"),
        float(found["nitrate"][-1] - found["nitrate"][-1 - tenth]) / 10.0,
        float(recent.sum()) / 10.0,
    )


@cache
def ladder(feed_g_day: float) -> Settled:
    """The fixture loop at a feed."""
    return settled(loop(), feed_g_day)


@cache
def at_interval(feed_g_day: float, hours: float, *, plants: bool = True) -> Settled:
    """The loop with the air of a backwash scaled, so that one comes each so many hours."""
    of, held = (loop(), 0.6) if plants else (fish_only(), 0.8)
    usual_h = 4.0 * 24.0 / simulate(
        of, schedule=usual(feed_g_day, 5, held=held), until_s=4.0 * DAY_S
    ).backwash_s.size  # fmt: skip
    scaled = of.with_parameters(air_per_backwash_factor=hours / usual_h)
    return settled(scaled, feed_g_day, days=50, held=held)


def best_interval_h(feed_g_day: float, *, plants: bool = True) -> float:
    """Interval with the least total ammonia."""
    return min(INTERVALS_H, key=lambda h: at_interval(feed_g_day, h, plants=plants).total_ammonia)


@dataclass(frozen=True, slots=True)
class StartUp:
    """Peaks of a filter that starts with hardly any film."""

    ammonia: float
    ammonia_day: float
    nitrite: float
    nitrite_day: float
    done_day: float


@cache
def start_up(degc: float) -> StartUp:
    """100 g/d steady feed, alkalinity 2 eq/m3 held, nitrate 10 g N/m3 at the start."""
    of = assemble(site(), water_temperature_degc=degc)
    water = StartWater(0.0, 0.0, 10.0, alkalinity_eq_m3=2.0, ph=7.6)
    start = start_state(of, water=water, ripe=False)
    days = 120
    schedule = usual(100.0, days, held=2.0)
    found = simulate(of, start=start, schedule=schedule, until_s=days * DAY_S, every_s=21600.0)
    day = found.times_s / DAY_S
    ammonia, nitrite = found["total_ammonia"], found["nitrite"]
    high = np.flatnonzero((ammonia > 1.0) | (nitrite > 1.0))
    return StartUp(
        float(ammonia.max()),
        float(day[ammonia.argmax()]),
        float(nitrite.max()),
        float(day[nitrite.argmax()]),
        float(day[high[-1]]),
    )


@cache
def opened_on_day_8(bypass_frac: float) -> Solution:
    """300 g/d at a bypass opening for 8 days, then at 0.70."""
    changes = (
        SettingChanged(0.0, at_bypass(bypass_frac, loop())),
        SettingChanged(8.0 * DAY_S, at_bypass(0.70, loop())),
    )
    schedule = usual(300.0, 16).plus(changes)
    return simulate(loop(), schedule=schedule, until_s=16.0 * DAY_S, every_s=21600.0)


@cache
def event(name: str) -> Solution:
    """A ripe loop at 300 g/d, settled for 20 days, then an event for 12 days."""
    base = usual(300.0, 33)
    at = 20.0 * DAY_S
    choices: dict[str, tuple[Event, ...]] = {
        "nothing": (),
        "150 g uneaten each day": tuple(
            Feeding(at + day * DAY_S, 0.15, 0.35, 1.0) for day in range(12)
        ),
        "water pump off": (Switched(at, Device.WATER_PUMP, on=False),),
        "no backwashes": (Switched(at, Device.AIR_PUMP, on=False),),
    }
    return simulate(loop(), schedule=base.plus(choices[name]), until_s=32.0 * DAY_S)


def days_until(found: Solution, quantity: str, limit: float) -> float | None:
    """Days after day 20 at which a quantity first passes a limit."""
    over = np.flatnonzero((found[quantity] > limit) & (found.times_s > 20.0 * DAY_S))
    return float(found.times_s[over[0]] / DAY_S - 20.0) if over.size else None
