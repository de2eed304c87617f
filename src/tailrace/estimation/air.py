"""The filter's air side with its uncertainty: backwashes a day, interval, margin, stall.

Each draw is one machine that this filter might be: air pump, meter, levels and chamber differ
within their priors, and the needle is set on that machine to the float reading that was seen.
The water side is solved once; a difference of level moves the face pressure only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from tailrace.beadfilter.charge import Charge, charge
from tailrace.beadfilter.circuit import WaterState, water_state
from tailrace.beadfilter.machine import Day, Machine, Setting
from tailrace.beadfilter.setting import needle_gap_for_float_m
from tailrace.errors import InputError
from tailrace.estimation.priors import draw
from tailrace.quantities import Amount, from_draws
from tailrace.water.properties import density_kg_m3

DRAWS = 150
DAY_S = 86400.0
GRAVITY_M_S2 = 9.80665
_UNCERTAIN = (
    "air_pump_pressure",
    "air_temperature_error",
    "back_pressure",
    "chamber_volume",
    "float_exponent",
    "float_reading_error",
    "float_scale",
    "residual_fill",
)


@dataclass(frozen=True, slots=True)
class AirOutlook:
    """What the filter does at a setting, with how sure that is.

    Parameters
    ----------
    nominal
        The charge of the machine as described.
    per_day, interval, margin
        Backwashes a day; time between them, for the draws that backwash (None when fewer than
        half do); margin at the trigger, the air pump's pressure above the water's there.
    stall_share
        Share of the draws in which the water overpowers the air.
    float_start, float_end
        Float reading just after a backwash and just before the next.
    """

    nominal: Charge
    per_day: Amount
    interval: Amount | None
    margin: Amount
    stall_share: float
    float_start: Amount
    float_end: Amount

    @property
    def stalls(self) -> bool:
        """Whether the water overpowers the air, in the machine as described or in most draws."""
        return not math.isfinite(self.nominal.interval_s) or self.stall_share >= 0.5


def air_outlook(
    machine: Machine, bypass_open_frac: float, *, float_m3_s: float, day: Day, seed: int
) -> AirOutlook:
    """Work out what the filter does at a float reading and a bypass opening.

    Parameters
    ----------
    machine
        The filter as described.
    bypass_open_frac
        Opening of the bypass.
    float_m3_s
        Float reading that the needle gives just after a backwash; infinite for a needle fully
        open.
    day
        The day it works in.
    seed
        Seed of the draws.

    Returns
    -------
    AirOutlook
        Nominal charge and ranges from `DRAWS` draws.
    """
    water = water_state(machine, bypass_open_frac, day)
    nominal = charge_as_set(machine, bypass_open_frac, float_m3_s, day, water=water)
    table = draw(_UNCERTAIN, count=DRAWS, seed=seed)
    charges = []
    for place in range(DRAWS):
        case = {name: float(values[place]) for name, values in table.items()}
        this, that_day = _machine_of(machine, case), _day_of(day, case)
        reading = max(0.0, float_m3_s + case["float_reading_error"])
        lifted = replace(water, outlet_height_m=this.outlet_height_m)
        charges.append(charge_as_set(this, bypass_open_frac, reading, that_day, water=lifted))
    return _sum_up(nominal, charges)


def charge_as_set(
    machine: Machine, bypass_open_frac: float, float_m3_s: float, day: Day, *, water: WaterState
) -> Charge:
    """Compute the charge of a machine whose needle was set to a float reading.

    Parameters
    ----------
    machine
        The filter.
    bypass_open_frac
        Opening of the bypass.
    float_m3_s
        Reading just after a backwash; more than the machine can give stands for a needle fully
        open.
    day
        The day it works in.
    water
        The water circuit at this opening.

    Returns
    -------
    Charge
        The charge.
    """
    try:
        gap = needle_gap_for_float_m(machine, bypass_open_frac, float_m3_s, day, water=water)
    except InputError:
        gap = math.inf
    return charge(machine, Setting(bypass_open_frac, gap), day, water=water)


def _machine_of(machine: Machine, case: dict[str, float]) -> Machine:
    head = case["back_pressure"] / (density_kg_m3(20.0) * GRAVITY_M_S2)
    return replace(
        machine,
        outlet_height_m=machine.outlet_height_m + head,
        air_pump=replace(
            machine.air_pump,
            maximum_pa_gauge=machine.air_pump.maximum_pa_gauge * case["air_pump_pressure"],
        ),
        rotameter=replace(
            machine.rotameter,
            scale_correction_frac=max(0.3, case["float_scale"]),
            density_exponent_frac=case["float_exponent"],
        ),
        chamber=replace(
            machine.chamber,
            area_m2=machine.chamber.area_m2 * case["chamber_volume"],
            residual_fill_frac=case["residual_fill"],
        ),
    )


def _day_of(day: Day, case: dict[str, float]) -> Day:
    return replace(
        day, air_temperature_degc=day.air_temperature_degc + case["air_temperature_error"]
    )


def _sum_up(nominal: Charge, charges: list[Charge]) -> AirOutlook:
    running = [c.interval_s for c in charges if math.isfinite(c.interval_s)]
    return AirOutlook(
        nominal=nominal,
        per_day=from_draws("per_day", (c.per_day for c in charges)),
        interval=from_draws("duration", running) if len(running) > len(charges) // 2 else None,
        margin=from_draws("pressure", (c.margin_end_pa for c in charges)),
        stall_share=1.0 - len(running) / len(charges),
        float_start=from_draws("air_float", (c.float_start_m3_s for c in charges)),
        float_end=from_draws("air_float", (c.float_end_m3_s for c in charges)),
    )
