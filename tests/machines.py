"""The fixture machine: the invented bead filter on which the prototype was tabulated."""

from __future__ import annotations

from dataclasses import replace

from tailrace.beadfilter.machine import BeadBed, Chamber, Day, Machine
from tailrace.hydraulics.pipes import Pipe
from tailrace.hydraulics.pumps import WaterPump
from tailrace.hydraulics.valves import ValveKind
from tailrace.pneumatics.air_pump import AirPump
from tailrace.pneumatics.needle import Needle
from tailrace.pneumatics.rotameter import Rotameter

LITRE_MIN = 1e-3 / 60.0  # m3/s
SCFH = 0.0283168466 / 3600.0  # standard m3/s
LITRE = 1e-3  # m3
US_GALLON = 3.785411784e-3  # m3

MACHINE = Machine(
    pump=WaterPump(shutoff_head_m=4.0, maximum_flow_m3_s=140.0 * LITRE_MIN),
    suction=Pipe(bore_m=0.035, length_m=1.0, loss_coefficient=2.0),
    inlet=Pipe(bore_m=0.0266, length_m=1.8, loss_coefficient=3.4),
    return_line=Pipe(bore_m=0.0266, length_m=3.2, loss_coefficient=5.6),
    bypass=Pipe(bore_m=0.0209, length_m=1.2, loss_coefficient=3.7),
    outlet_height_m=1.38,
    bypass_outlet_height_m=0.05,
    bypass_valve=ValveKind.QUARTER_TURN,
    bed=BeadBed(volume_m3=0.0283, diameter_m=0.36),
    chamber=Chamber(roof_height_m=0.50, area_m2=0.080, trigger_depth_m=0.211),
    air_pump=AirPump(maximum_pa_gauge=21000.0, free_flow_m3_s=12.0 * LITRE_MIN),
    needle=Needle(),
    rotameter=Rotameter(full_scale_m3_s=1.0 * SCFH),
)
DAY = Day(water_temperature_degc=27.0, air_temperature_degc=27.0, barometric_pa_abs=101325.0)


def with_loss(machine: Machine, line: str, added: float) -> Machine:
    """The machine with more loss in one of its pipes, on that pipe's velocity head."""
    pipe = getattr(machine, line)
    changed = replace(pipe, loss_coefficient=pipe.loss_coefficient + added)
    return replace(machine, **{line: changed})
