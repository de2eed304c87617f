"""The air setting: bypass opening and float reading, their margin, what to watch at first.

The bypass is opened as little as leaves the air pump `WANTED_MARGIN_PA` above the water at the
trigger: less, and a worn pump or a fouled bead bed stalls it; more, and water is wasted past the
beads. The float is then set for `WANTED_PER_DAY` backwashes, never below the reading at which
needles are known to foul.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass

from scipy.optimize import brentq

from tailrace.beadfilter.charge import Charge, float_at
from tailrace.beadfilter.circuit import WaterState, face_pressure_pa_gauge, water_state
from tailrace.beadfilter.machine import Day, Machine
from tailrace.beadfilter.setting import curing_bypass_frac
from tailrace.estimation.air import AirOutlook, air_outlook, charge_as_set
from tailrace.estimation.today import SEED, Picture
from tailrace.site import Filter

WANTED_MARGIN_PA = 3000.0
WANTED_PER_DAY = 6.0
KEPT_MARGIN_PA = (2800.0, 6000.0)  # a setting within these is left alone
KEPT_PER_DAY = (5.0, 7.0)  # common practice
SCFH_M3_S = 7.866e-6
LEAST_FLOAT_M3_S = 0.1 * SCFH_M3_S  # below it needles foul and drift shut (common practice)
LOOKS_S = tuple(900.0 * step for step in range(9))  # a look each 15 min for two hours
TURN_STEP = 0.25
ANGLE_STEP_FRAC = 5.0 / 90.0


@dataclass(frozen=True, slots=True)
class AirAdvice:
    """The setting recommended for today.

    Parameters
    ----------
    keep
        Whether the present setting is good as it is.
    bypass_open_frac, air_float_m3_s
        Opening of the bypass, and float reading just after a backwash.
    outlook
        What the filter would do so set.
    enough
        Whether the wanted margin is reached at this or any opening.
    curing_bypass_frac
        Least opening at which the machine as described backwashes at all; None if none does.
    looks
        Seconds since a backwash and the float reading expected then, for the first two hours.
    """

    keep: bool
    bypass_open_frac: float
    air_float_m3_s: float
    outlook: AirOutlook
    enough: bool
    curing_bypass_frac: float | None
    looks: tuple[tuple[float, float], ...]


def air_advice(seen: Picture, *, seed: int = SEED) -> AirAdvice:
    """Recommend an air setting.

    Parameters
    ----------
    seen
        Everything known about now.
    seed
        Seed of the draws.

    Returns
    -------
    AirAdvice
        The setting with its outlook.
    """
    built, day = seen.now.site.filter, seen.day
    machine = built.machine
    keep = _good_as_it_is(seen)
    if keep:
        opening, enough = seen.now.bypass.value, True
        reading, outlook = seen.now.air_float.value, seen.air
    else:
        opening, enough = steady_setting(built, day)
        water = water_state(machine, opening, day)
        reading = _reading(machine, opening, day, water)
        outlook = air_outlook(machine, opening, float_m3_s=reading, day=day, seed=seed)
    return AirAdvice(
        keep=keep,
        bypass_open_frac=opening,
        air_float_m3_s=reading,
        outlook=outlook,
        enough=enough,
        curing_bypass_frac=curing_bypass_frac(machine, day, margin_pa=0.0),
        looks=_looks(outlook.nominal),
    )


def _good_as_it_is(seen: Picture) -> bool:
    """Tell whether margin and rhythm are near enough to the wanted ones to leave alone."""
    air, check = seen.air, seen.float_check
    off = check is not None and (check.low or check.high)
    return (
        not off
        and seen.now.needle_left_open is None
        and KEPT_MARGIN_PA[0] <= air.nominal.margin_end_pa <= KEPT_MARGIN_PA[1]
        and KEPT_PER_DAY[0] <= air.per_day.p50 <= KEPT_PER_DAY[1]
    )


def handle_steps(built: Filter) -> tuple[float, ...]:
    """Return the openings a hand can set: five degrees or a quarter turn apart.

    Parameters
    ----------
    built
        The filter.

    Returns
    -------
    tuple of float
        Shares of the handle's travel, from shut to open.
    """
    step = TURN_STEP / built.bypass_turns if built.bypass_turns else ANGLE_STEP_FRAC
    return tuple(min(1.0, step * place) for place in range(math.ceil(1.0 / step) + 1))


def steady_setting(built: Filter, day: Day) -> tuple[float, bool]:
    """Return the least opening of the bypass that leaves the air pump the wanted margin.

    Parameters
    ----------
    built
        The filter.
    day
        The day it works in.

    Returns
    -------
    tuple
        Opening as share of the handle's travel, and whether it reaches the wanted margin; wide
        open when none does.
    """
    machine = built.machine
    ceiling = machine.air_pump.maximum_pa_gauge * machine.air_pump.wear_frac

    def margin(opening: float) -> float:
        """Margin at the release depth; it rises with the opening while water flows."""
        state = water_state(machine, opening, day)
        return ceiling - machine.check_valve_pa - face_pressure_pa_gauge(state, machine, 1.0)

    steps = handle_steps(built)
    place = bisect_left(steps, WANTED_MARGIN_PA, key=margin)
    return (steps[place], True) if place < len(steps) else (steps[-1], False)


def _reading(machine: Machine, opening: float, day: Day, water: WaterState) -> float:
    def excess(reading: float) -> float:
        made = charge_as_set(machine, opening, reading, day, water=water)
        return made.per_day - WANTED_PER_DAY

    low, high = LEAST_FLOAT_M3_S, machine.rotameter.full_scale_m3_s
    if excess(low) >= 0.0:
        return low
    if excess(high) <= 0.0:
        return high
    return _on_scale(brentq(excess, low, high, rtol=1e-3), machine)


def _on_scale(reading: float, machine: Machine) -> float:
    """Round to a hundredth of the scale, as finely as an eye can set it."""
    step = machine.rotameter.full_scale_m3_s / 100.0
    return max(1, round(reading / step)) * step


def _looks(as_set: Charge) -> tuple[tuple[float, float], ...]:
    if not math.isfinite(as_set.interval_s):
        return ()
    return tuple(
        (since, float_at(as_set, since)) for since in LOOKS_S if since < as_set.interval_s
    )
