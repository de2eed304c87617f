"""The filter's hydraulics as tables, so that the engine only interpolates.

For each bypass opening: flow through filter and bypass, and the pressure with the face at the
roof, over the deposit on the beads. For each needle gap: air flow over the face pressure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from scipy.interpolate import PchipInterpolator

from tailrace.beadfilter.air import air_state
from tailrace.beadfilter.circuit import (
    LEAST_VOID_FRAC,
    WaterState,
    face_pressure_pa_gauge,
    water_state,
)
from tailrace.beadfilter.machine import BeadBed, Day, Machine, Mode, Setting
from tailrace.simulation.layout import Array

SOLVED: Final = 11  # deposits at which the water circuit is solved
DEPOSITS: Final = 81  # points of the finished tables
PRESSURES: Final = 241
TABLE: Final = 3 * DEPOSITS + PRESSURES  # numbers of one setting
# Deposit sits more at the inlet; shape of layers from the inlet, judgement.
GRADING: Final = (1.25, 1.10, 1.00, 0.88, 0.77)


@dataclass(frozen=True, slots=True, eq=False)
class Circuits:
    """Tables of one filter at every setting that a schedule uses.

    Parameters
    ----------
    settings
        Bypass openings and needle gaps, in order.
    numbers
        Resistance of the bead bed over that of clean beads, over deposit evenly spaced from
        none to the most; then for each setting filter flow [m3/s], bypass flow [m3/s] and gauge
        pressure with the face at the roof [Pa] over deposit, and standard air flow [m3/s] over
        face pressure evenly spaced from none to `pressure_top_pa`.
    """

    settings: tuple[Setting, ...]
    numbers: Array


def deposit_top_g(bed: BeadBed) -> float:
    """Deposit at which the most loaded layer is full.

    Parameters
    ----------
    bed
        The bead bed.

    Returns
    -------
    float
        Dry mass [g].
    """
    room = (bed.void_frac - LEAST_VOID_FRAC) * bed.deposit_density_kg_m3
    return 1000.0 * bed.volume_m3 * room / max(GRADING)


def pressure_top_pa(machine: Machine) -> float:
    """Pressure at the face at which the air pump stops.

    Parameters
    ----------
    machine
        The machine.

    Returns
    -------
    float
        Gauge pressure [Pa].
    """
    pump = machine.air_pump
    return pump.wear_frac * pump.maximum_pa_gauge - machine.check_valve_pa


@lru_cache(maxsize=256)
def _solved(machine: Machine, open_frac: float, day: Day) -> tuple[WaterState, ...]:
    top_kg_m3 = deposit_top_g(machine.bed) / machine.bed.volume_m3 * 1e-3
    # Closer together towards a full bed, where the loss turns steeply upwards.
    shares = np.sin(np.linspace(0.0, 0.5 * np.pi, SOLVED))
    return tuple(
        water_state(
            machine,
            open_frac,
            replace(day, deposit_kg_m3=tuple(share * top_kg_m3 * part for part in GRADING)),
        )
        for share in shares
    )


@lru_cache(maxsize=256)
def _water_table(machine: Machine, open_frac: float, day: Day) -> Array:
    states = _solved(machine, open_frac, day)
    rows = np.array(
        [
            [s.filter_flow_m3_s, s.bypass_flow_m3_s, face_pressure_pa_gauge(s, machine, 0.0)]
            for s in states
        ]
    )
    shares = np.sin(np.linspace(0.0, 0.5 * np.pi, SOLVED))
    even = np.linspace(0.0, 1.0, DEPOSITS)
    return np.asarray(PchipInterpolator(shares, rows)(even).T, dtype=np.float64)


@lru_cache(maxsize=256)
def _air_table(machine: Machine, setting: Setting, day: Day, mode: Mode) -> Array:
    clean = _solved(machine, setting.bypass_open_frac, day)[0]
    pressures = np.linspace(0.0, pressure_top_pa(machine), PRESSURES)
    # The face pressure is moved by hand: a fill at which the water column gives the rest.
    still = face_pressure_pa_gauge(clean, machine, 0.0)
    depth_pa = face_pressure_pa_gauge(clean, machine, 1.0) - still
    fill = (pressures - still) / depth_pa
    flow = air_state(machine, setting, day, fill_frac=fill, water=clean, mode=mode).flow_m3_s
    return np.maximum(flow, 0.0)


def circuits(
    machine: Machine, settings: tuple[Setting, ...], day: Day, *, mode: Mode = Mode.REFINED
) -> Circuits:
    """Tabulate the filter at the settings that a schedule uses.

    Parameters
    ----------
    machine
        The machine.
    settings
        Bypass openings and needle gaps.
    day
        Temperatures and air pressure; its deposit is not used.
    mode
        Base or refined equations.

    Returns
    -------
    Circuits
        The tables.

    Raises
    ------
    OutsideRangeError
        A bypass opening is not between 0 and 1.
    """
    clean = replace(day, deposit_kg_m3=())
    blocks = [_resistance(machine.bed)]
    for s in settings:
        blocks += list(_water_table(machine, s.bypass_open_frac, clean))
        shut = s.needle_gap_m <= 0.0
        blocks.append(np.zeros(PRESSURES) if shut else _air_table(machine, s, clean, mode))
    return Circuits(settings, np.concatenate(blocks))


def _resistance(bed: BeadBed) -> Array:
    """Resistance over that of clean beads, as `filterside.resistance` has it of layers."""
    top = deposit_top_g(bed) / bed.volume_m3 * 1e-3 / bed.deposit_density_kg_m3
    filled = np.linspace(0.0, top, DEPOSITS)[:, np.newaxis] * np.array(GRADING)
    void = np.maximum(bed.void_frac - filled, LEAST_VOID_FRAC)
    loss = ((1.0 - void) ** 2 / void**3).mean(axis=1)
    return np.asarray(loss / loss[0])


def beads_area_m2(bed: BeadBed) -> float:
    """Outer area of the beads.

    Parameters
    ----------
    bed
        The bead bed.

    Returns
    -------
    float
        Area of spheres [m2].
    """
    return 6.0 * (1.0 - bed.void_frac) / bed.bead_diameter_m * bed.volume_m3


def bed_plan_m2(bed: BeadBed) -> float:
    """Plan area of the bead bed.

    Parameters
    ----------
    bed
        The bead bed.

    Returns
    -------
    float
        Area [m2].
    """
    return math.pi / 4.0 * bed.diameter_m**2
