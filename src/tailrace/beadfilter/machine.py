"""The bead filter as built, as it is set, and the day it works in: frozen records.

Elevations are above the sump surface. Open `tailrace.beadfilter.circuit` for the water side,
`air` and `charge` for the air charge and the backwash interval, `setting` for needle and bypass,
`sludge` and `drain` for what settles.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from tailrace.hydraulics.pipes import Pipe
from tailrace.hydraulics.pumps import WaterPump
from tailrace.hydraulics.valves import ValveKind
from tailrace.pneumatics.air_pump import AirPump
from tailrace.pneumatics.needle import Needle
from tailrace.pneumatics.rotameter import Rotameter


class Mode(Enum):
    """Which equations a result rests on; stored with every result."""

    BASE = "base"
    REFINED = "refined"


@dataclass(frozen=True, slots=True)
class BeadBed:
    """The floating bead bed.

    Parameters
    ----------
    volume_m3
        Volume of the packed beads with their pores.
    diameter_m
        Inner diameter of the hull at the bead bed.
    bead_diameter_m
        Diameter of a bead.
    void_frac
        Share of pores in the clean bead bed.
    deposit_density_kg_m3
        Dry mass per volume of wet deposit; absorbs all that makes real deposits denser.
    """

    volume_m3: float
    diameter_m: float
    bead_diameter_m: float = 0.003
    void_frac: float = 0.38
    deposit_density_kg_m3: float = 40.0


@dataclass(frozen=True, slots=True)
class Chamber:
    """The air chamber below the bead bed, with the sludge cone under it.

    Parameters
    ----------
    roof_height_m
        Roof above the sump surface.
    area_m2
        Plan area.
    trigger_depth_m
        Depth from the roof to the face at which the air is released.
    residual_fill_frac
        Share of the air volume left just after a backwash.
    cone_volume_m3
        Volume of the sludge cone.
    trigger_flow_m3_s
        Least standard air flow that empties the trigger; below it air leaves as a chain of
        bubbles and no backwash comes. Zero unless found on the machine.
    drop_s
        Time from the trigger until the air has left.
    settling_s
        Time the beads take to float up and form the bead bed again.
    """

    roof_height_m: float
    area_m2: float
    trigger_depth_m: float
    residual_fill_frac: float = 0.05
    cone_volume_m3: float = 0.009
    trigger_flow_m3_s: float = 0.0
    drop_s: float = 12.0
    settling_s: float = 30.0

    @property
    def volume_m3(self) -> float:
        """Air volume at the trigger."""
        return self.area_m2 * self.trigger_depth_m


@dataclass(frozen=True, slots=True)
class Machine:
    """One bead filter with its pumps and pipes.

    Parameters
    ----------
    pump
        Water pump.
    suction, inlet, return_line, bypass
        Pipes: sump to tee, tee to hull, hull to return outlet, tee to bypass outlet. The
        loss coefficient of each includes entrance, fittings and one exit velocity head.
    outlet_height_m, bypass_outlet_height_m
        Elevation of the return outlet and of the bypass outlet.
    bypass_valve
        Kind of valve in the bypass; its loss refers to the bypass bore.
    bed, chamber
        Bead bed and air chamber.
    air_pump, needle, rotameter
        The air line, from pump to float tube.
    check_valve_pa
        Opening pressure of the non-return valve.
    air_line_pa_s2_m6
        Quadratic resistance of hose and fittings.
    """

    pump: WaterPump
    suction: Pipe
    inlet: Pipe
    return_line: Pipe
    bypass: Pipe
    outlet_height_m: float
    bypass_outlet_height_m: float
    bypass_valve: ValveKind
    bed: BeadBed
    chamber: Chamber
    air_pump: AirPump
    needle: Needle
    rotameter: Rotameter
    check_valve_pa: float = 700.0
    air_line_pa_s2_m6: float = 1500.0 / (5e-5) ** 2


@dataclass(frozen=True, slots=True)
class Day:
    """The day the machine works in.

    Parameters
    ----------
    water_temperature_degc, air_temperature_degc
        Temperature of the water, and of the air at the float tube.
    barometric_pa_abs
        Local air pressure.
    deposit_kg_m3
        Dry deposit per bead-bed volume in each layer from the inlet; empty when clean.
    """

    water_temperature_degc: float
    air_temperature_degc: float
    barometric_pa_abs: float
    deposit_kg_m3: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Setting:
    """How the machine is set.

    Parameters
    ----------
    bypass_open_frac
        Opening of the bypass as share of its handle's travel; 0 shut, 1 open.
    needle_gap_m
        Gap of the needle; infinite when fully open.
    """

    bypass_open_frac: float
    needle_gap_m: float
