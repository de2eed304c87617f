"""The air side at a given fill: pressure at the face, air flow, float reading, margin."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tailrace.beadfilter.circuit import WaterState, face_pressure_pa_gauge
from tailrace.beadfilter.machine import Day, Machine, Mode, Setting
from tailrace.errors import InputError
from tailrace.formula import Formula
from tailrace.pneumatics.line import line_flow_m3_s
from tailrace.pneumatics.needle import slit_conductance_m3_s_pa, slit_inertia_pa_s2_m6
from tailrace.pneumatics.rotameter import standard_flow_factor
from tailrace.pneumatics.standard import STANDARD_DEGC, STANDARD_PA_ABS, ZERO_CELSIUS_K

_DENSITY_PASSES = 3
_TURBULENT_EXPONENT = 0.5

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class AirState:
    """The air side, one value for each fill.

    Parameters
    ----------
    face_pa_gauge
        Pressure at the face.
    margin_pa
        What the air pump has left over check valve and face at no flow.
    flow_m3_s
        Standard air flow (70 degF, 1 atm).
    float_m3_s
        Reading on the meter's scale, at the middle of a ball float.
    """

    face_pa_gauge: Array
    margin_pa: Array
    flow_m3_s: Array
    float_m3_s: Array


def _arithmetic(kernel_of: Formula, *arguments: float | Array) -> Array:
    # These kernels are plain arithmetic, so they take arrays as they stand; the compiled
    # array face would cost a second at first use.
    return np.asarray(kernel_of.kernel(*arguments), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class _Line:
    """The air line of one machine at one setting."""

    machine: Machine
    setting: Setting
    day: Day
    mode: Mode

    def flow(self, still_pa: Array, face_pa: Array, displaced: tuple[Array, Array]) -> Array:
        """Flow against still water, with what displaced water adds as resistance."""
        if self.setting.needle_gap_m <= 0.0:
            return np.zeros_like(still_pa)
        pump = self.machine.air_pump
        conductance, inertia = self._needle(face_pa)
        slope = pump.maximum_pa_gauge / pump.free_flow_m3_s
        resistance = slope + 1.0 / conductance + displaced[0]
        quadratic = self.machine.air_line_pa_s2_m6 + inertia + displaced[1]
        drive = margin_pa(self.machine, still_pa)
        return _arithmetic(line_flow_m3_s, drive, resistance, quadratic)

    def _needle(self, face_pa: Array) -> tuple[Array, Array]:
        pump, needle, gap_m = self.machine.air_pump, self.machine.needle, self.setting.needle_gap_m
        warm = self.day.air_temperature_degc
        before = self.day.barometric_pa_abs + pump.wear_frac * pump.maximum_pa_gauge
        after = self.day.barometric_pa_abs + face_pa + self.machine.check_valve_pa
        conductance = _arithmetic(
            slit_conductance_m3_s_pa,
            gap_m,
            needle.diameter_m,
            needle.slit_length_m,
            before,
            after,
            warm,
        )
        if self.mode is Mode.BASE:
            return conductance, np.zeros(1)
        mean = 0.5 * (before + after)
        return conductance, _arithmetic(
            slit_inertia_pa_s2_m6, gap_m, needle.diameter_m, mean, warm
        )


def margin_pa(machine: Machine, face_pa_gauge: Array) -> Array:
    """Margin of the air pump over the water, at no flow.

    Parameters
    ----------
    machine
        The machine.
    face_pa_gauge
        Pressure at the face [Pa].

    Returns
    -------
    ndarray
        Pump pressure at no flow less check valve less face pressure [Pa]; none left, no air.

    References
    ----------
    hydrostatics
    """
    pump = machine.air_pump
    return pump.wear_frac * pump.maximum_pa_gauge - machine.check_valve_pa - face_pa_gauge


def air_state(
    machine: Machine,
    setting: Setting,
    day: Day,
    *,
    fill_frac: ArrayLike,
    water: WaterState,
    mode: Mode = Mode.REFINED,
) -> AirState:
    """Solve the air side at given fills.

    Parameters
    ----------
    machine
        The machine.
    setting
        Needle gap; the bypass is in the water state.
    day
        Local air pressure and temperatures.
    fill_frac
        Air volume over the volume at the trigger; any shape [-].
    water
        The water circuit.
    mode
        Base: no displaced water, square-root float law. Refined: water displaced by the air
        passes bead bed and return, slit inertia, the meter's own density exponent.

    Returns
    -------
    AirState
        Arrays of the shape of the fills.

    Raises
    ------
    InputError
        The needle gap is negative or not a number.

    References
    ----------
    hydrostatics
    plane_poiseuille
    variable_area_meter
    """
    if math.isnan(setting.needle_gap_m) or setting.needle_gap_m < 0.0:
        message = (
            f"needle gap is {setting.needle_gap_m:g} m; it must be zero (shut) or more. "
            "Find it from a float reading with needle_gap_for_float_m."
        )
        raise InputError(message)
    fill = np.asarray(fill_frac, dtype=np.float64)
    still = np.asarray(face_pressure_pa_gauge(water, machine, fill), dtype=np.float64)
    line, face = _Line(machine, setting, day, mode), still
    flow = line.flow(still, face, (np.zeros(1), np.zeros(1)))
    # What displaced water adds goes with the flow and its square, so it joins the line's own
    # resistances; only the air's density there needs passes.
    for _ in range(_DENSITY_PASSES if mode is Mode.REFINED else 0):
        actual = _actual_over_standard(day, face)
        added = (water.displaced_pa_s_m3 * actual, water.displaced_pa_s2_m6 * actual**2)
        flow = line.flow(still, face, added)
        face = face_pressure_pa_gauge(water, machine, fill, displaced_m3_s=flow * actual)
    return AirState(
        face_pa_gauge=face,
        margin_pa=margin_pa(machine, face),
        flow_m3_s=flow,
        float_m3_s=_reading(machine, day, mode, face, flow),
    )


def _actual_over_standard(day: Day, face_pa: Array) -> Array:
    warmer = (day.water_temperature_degc + ZERO_CELSIUS_K) / (STANDARD_DEGC + ZERO_CELSIUS_K)
    return warmer * STANDARD_PA_ABS / (day.barometric_pa_abs + face_pa)


def _reading(machine: Machine, day: Day, mode: Mode, face_pa: Array, flow: Array) -> Array:
    meter, pump = machine.rotameter, machine.air_pump
    if meter.after_needle:
        tube = day.barometric_pa_abs + face_pa + machine.check_valve_pa
    else:
        slope = pump.maximum_pa_gauge / pump.free_flow_m3_s
        tube = day.barometric_pa_abs + pump.wear_frac * pump.maximum_pa_gauge - slope * flow
    exponent = meter.density_exponent_frac if mode is Mode.REFINED else _TURBULENT_EXPONENT
    factor = _arithmetic(
        standard_flow_factor, tube, day.air_temperature_degc, meter.base_temperature_degc, exponent
    )
    return flow / (meter.scale_correction_frac * factor)
