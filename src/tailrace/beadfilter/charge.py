"""The air charge from one backwash to the next: interval, float, margin, or why none comes.

Time counts from the moment the air has left (the end of a backwash's roar).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from tailrace.beadfilter.air import AirState, air_state, margin_pa
from tailrace.beadfilter.circuit import WaterState, face_pressure_pa_gauge, water_state
from tailrace.beadfilter.machine import Day, Machine, Mode, Setting
from tailrace.hydraulics.pipes import STANDARD_GRAVITY
from tailrace.pneumatics.standard import standard_volume_m3
from tailrace.water.air import vapour_pressure_pa_abs

DAY_S = 86400.0
STEPS = 100
REFILL_FLOW_RATIO = 1.4  # judgement: with the hull low the pump gives 1.3 to 1.5 times as much

Array = NDArray[np.float64]


class Outcome(Enum):
    """How an air charge ends."""

    CHARGING = "charging"
    STALLED = "stalled"
    DRIBBLING = "dribbling"
    NO_WATER = "no water flow"
    NEEDLE_SHUT = "needle shut"

    @property
    def text(self) -> str:
        """What it means and what to try."""
        return _TEXTS[self]


_TEXTS = {
    Outcome.CHARGING: "The air charges and sets off a backwash.",
    Outcome.STALLED: (
        "The water overpowers the air: the air charge stands still and no backwash comes. Open "
        "the bypass further, then look at the return, the bead bed and the air pump."
    ),
    Outcome.DRIBBLING: (
        "The air reaches the trigger but leaves it as bubbles, so no backwash comes. "
        "Open the needle further."
    ),
    Outcome.NO_WATER: (
        "No water goes through the filter, so no backwash can come. Unplug before looking into "
        "the pump; check its intake, the sump level and the valves."
    ),
    Outcome.NEEDLE_SHUT: "The needle is shut, so no backwash comes. Open it to its mark.",
}


_NO_CHARGE = frozenset({Outcome.NO_WATER, Outcome.NEEDLE_SHUT})


@dataclass(frozen=True, slots=True, eq=False)
class Charge:
    """One air charge; a stored calibration belongs to its mode.

    Parameters
    ----------
    outcome
        How it ends.
    mode, setting, day, water
        What it was computed from.
    interval_s, fill_s
        From one backwash to the next, and the part in which the air fills; infinite when no
        backwash comes.
    per_day
        Backwashes a day; zero when none comes.
    stall_fill_frac
        Fill at which the charge stands still, or None.
    float_start_m3_s, float_end_m3_s
        Reading on the meter's scale just after a backwash, and at the trigger or the stall.
    margin_start_pa, margin_end_pa
        Margin of the air pump just after a backwash and at the trigger; below zero at the
        trigger when the water overpowers the air.
    face_start_pa_gauge, face_end_pa_gauge
        Pressure at the face just after a backwash and at the trigger.
    air_per_backwash_m3
        Standard air (70 degF, 1 atm) that a charge takes up from just after a backwash to the
        trigger, leak not counted.
    time_s, fill_frac, float_m3_s, flow_m3_s
        Time since the backwash, fill, reading and standard air flow through the charge;
        read-only arrays of one length.
    """

    outcome: Outcome
    mode: Mode
    setting: Setting
    day: Day
    water: WaterState
    interval_s: float
    fill_s: float
    per_day: float
    stall_fill_frac: float | None
    float_start_m3_s: float
    float_end_m3_s: float
    margin_start_pa: float
    margin_end_pa: float
    face_start_pa_gauge: float
    face_end_pa_gauge: float
    air_per_backwash_m3: float
    time_s: Array
    fill_frac: Array
    float_m3_s: Array
    flow_m3_s: Array

    @property
    def stalled(self) -> bool:
        """Whether air comes but never sets off a backwash."""
        return self.outcome in {Outcome.STALLED, Outcome.DRIBBLING}

    @property
    def filter_flow_m3_s(self) -> float:
        """Flow into the filter."""
        return self.water.filter_flow_m3_s


@dataclass(frozen=True, slots=True)
class _Case:
    """Everything a charge is computed from."""

    machine: Machine
    setting: Setting
    day: Day
    mode: Mode
    water: WaterState
    leak_m3_s: float
    leak_exponent: float

    def air(self, fill: float | Array) -> AirState:
        return air_state(
            self.machine,
            self.setting,
            self.day,
            fill_frac=fill,
            water=self.water,
            mode=self.mode,
        )

    def leak(self, face_pa: Array) -> Array:
        if self.leak_m3_s == 0.0:
            return np.zeros_like(face_pa)
        reference = face_pressure_pa_gauge(self.water, self.machine, 0.0)
        if reference <= 0.0:  # an outlet below the roof: no pressure there to scale by
            return np.full_like(face_pa, self.leak_m3_s)
        share = np.maximum(face_pa, 0.0) / reference
        return np.asarray(self.leak_m3_s * share**self.leak_exponent, dtype=np.float64)

    def stored(self, fill: Array, face_pa: Array) -> Array:
        vapour = 0.0
        if self.mode is Mode.REFINED:
            vapour = vapour_pressure_pa_abs(self.day.water_temperature_degc)
        dry = self.day.barometric_pa_abs + face_pa - vapour
        volume = self.machine.chamber.volume_m3 * fill
        stored = standard_volume_m3.kernel(volume, dry, self.day.water_temperature_degc)
        return np.asarray(stored, dtype=np.float64)


def charge(
    machine: Machine,
    setting: Setting,
    day: Day,
    *,
    mode: Mode = Mode.REFINED,
    leak_m3_s: float = 0.0,
    leak_exponent_frac: float = 0.5,
    water: WaterState | None = None,
) -> Charge:
    """Compute one air charge from just after a backwash to the next.

    Parameters
    ----------
    machine
        The machine.
    setting
        Bypass and needle.
    day
        The day it works in.
    mode
        Base or refined equations.
    leak_m3_s
        Standard air lost after the float with the face at the roof [m3/s].
    leak_exponent_frac
        How the leak goes with pressure: 0.5 for a hole, 1 for a crack or porous seal [-].
    water
        The water circuit at this bypass, when it is known already; else it is solved here.

    Returns
    -------
    Charge
        The charge; its outcome says whether a backwash comes, and if not, why.

    Raises
    ------
    InputError
        The needle gap is negative.
    OutsideRangeError
        The bypass opening or a temperature is out of range.

    Notes
    -----
    Standard air in the chamber V(fill) = V_ch fill (P0 + p - p_w)/P_s T_s/T, p_w zero in base
    mode. The time is the sum over 100 steps of the air taken up over the flow at the middle of
    the step, less the leak. No backwash comes when the flow does not exceed the leak at some
    fill; without a leak that fill is exact: margin at the roof over rho g times the chamber's
    depth. Base mode adds release, refill and re-forming of the bead bed to the filling time; in
    refined mode the air charges on through them.

    References
    ----------
    hydrostatics
    ideal_gas
    """
    state = water or water_state(machine, setting.bypass_open_frac, day)
    case = _Case(machine, setting, day, mode, state, leak_m3_s, leak_exponent_frac)
    bounds = np.array([machine.chamber.residual_fill_frac, 1.0])
    ends = case.air(bounds)
    stored = case.stored(bounds, ends.face_pa_gauge)
    outcome, stall = _outcome(case, ends)
    top = 0.0 if outcome in _NO_CHARGE else 1.0 if stall is None else stall
    fill, air, filling_s = _fill(case, top)
    fill_s = float(filling_s[-1]) if outcome is Outcome.CHARGING else math.inf
    start_s = _start_s(case, fill_s)
    interval_s = start_s + fill_s + machine.chamber.drop_s
    return Charge(
        outcome=outcome,
        mode=mode,
        setting=setting,
        day=day,
        water=state,
        interval_s=interval_s,
        fill_s=fill_s,
        per_day=DAY_S / interval_s,
        stall_fill_frac=stall,
        float_start_m3_s=float(ends.float_m3_s[0]),
        float_end_m3_s=float(air.float_m3_s[-1]),
        margin_start_pa=float(ends.margin_pa[0]),
        margin_end_pa=float(ends.margin_pa[1]),
        face_start_pa_gauge=float(ends.face_pa_gauge[0]),
        face_end_pa_gauge=float(ends.face_pa_gauge[1]),
        air_per_backwash_m3=float(stored[1] - stored[0]),
        time_s=_read_only(filling_s + start_s),
        fill_frac=_read_only(fill),
        float_m3_s=_read_only(air.float_m3_s),
        flow_m3_s=_read_only(air.flow_m3_s),
    )


def _outcome(case: _Case, ends: AirState) -> tuple[Outcome, float | None]:
    if not case.water.flowing:
        return Outcome.NO_WATER, None
    if case.setting.needle_gap_m <= 0.0:
        return Outcome.NEEDLE_SHUT, None
    net = float(ends.flow_m3_s[1] - case.leak(ends.face_pa_gauge)[1])
    if net <= 0.0:
        return Outcome.STALLED, _stall_fill_frac(case)
    if net < case.machine.chamber.trigger_flow_m3_s:
        return Outcome.DRIBBLING, 1.0
    return Outcome.CHARGING, None


def _stall_fill_frac(case: _Case) -> float:
    chamber = case.machine.chamber
    low = chamber.residual_fill_frac
    if case.leak_m3_s == 0.0:
        roof = face_pressure_pa_gauge(case.water, case.machine, np.zeros(1))
        depth_pa = case.water.density_kg_m3 * STANDARD_GRAVITY * chamber.trigger_depth_m
        return max(low, float(margin_pa(case.machine, roof)[0]) / depth_pa)

    def net(fill: float) -> float:
        air = case.air(np.array([fill]))
        return float(air.flow_m3_s[0] - case.leak(air.face_pa_gauge)[0])

    return low if net(low) <= 0.0 else float(brentq(net, low, 1.0))


def _fill(case: _Case, top: float) -> tuple[Array, AirState, Array]:
    low = case.machine.chamber.residual_fill_frac
    if top <= low:
        fill = np.array([low])
        return fill, case.air(fill), np.zeros(1)
    fill = np.linspace(low, top, 2 * STEPS + 1)
    air = case.air(fill)
    net = (air.flow_m3_s - case.leak(air.face_pa_gauge))[1::2]
    taken = np.diff(case.stored(fill, air.face_pa_gauge)[::2])
    time_s = np.concatenate([[0.0], np.cumsum(taken / net)])
    nodes = AirState(
        air.face_pa_gauge[::2], air.margin_pa[::2], air.flow_m3_s[::2], air.float_m3_s[::2]
    )
    return fill[::2], nodes, time_s


def _start_s(case: _Case, fill_s: float) -> float:
    if not case.water.flowing:
        return 0.0
    chamber = case.machine.chamber
    refill = (1.0 - chamber.residual_fill_frac) * chamber.volume_m3 / case.water.filter_flow_m3_s
    if case.mode is Mode.BASE:
        return refill + chamber.settling_s
    return max(0.0, refill / REFILL_FLOW_RATIO + chamber.settling_s - fill_s)


def _read_only(values: Array) -> Array:
    result = values.copy()
    result.setflags(write=False)
    return result


def fill_frac_at(charge: Charge, since_backwash_s: float) -> float:
    """Fill at a time since the last backwash.

    Parameters
    ----------
    charge
        The charge.
    since_backwash_s
        Time since the air left [s].

    Returns
    -------
    float
        Fill [-]; held at the last one after the charge's end.
    """
    return float(np.interp(since_backwash_s, charge.time_s, charge.fill_frac))


def float_at(charge: Charge, since_backwash_s: float) -> float:
    """Float reading at a time since the last backwash.

    Parameters
    ----------
    charge
        The charge.
    since_backwash_s
        Time since the air left [s].

    Returns
    -------
    float
        Reading on the meter's scale, at the middle of a ball float [m3/s]; held at the last one
        after the charge's end.
    """
    return float(np.interp(since_backwash_s, charge.time_s, charge.float_m3_s))


def time_at_fill_s(charge: Charge, fill_frac: float) -> float:
    """Time since the backwash at which the air reaches a fill.

    Parameters
    ----------
    charge
        The charge.
    fill_frac
        Fill [-].

    Returns
    -------
    float
        Time since the air left [s]; infinite when the charge never reaches it.
    """
    if fill_frac > charge.fill_frac[-1]:
        return math.inf
    return float(np.interp(fill_frac, charge.fill_frac, charge.time_s))


def average_float_m3_s(charge: Charge) -> float:
    """Mean float reading over the charge, by time.

    Parameters
    ----------
    charge
        The charge.

    Returns
    -------
    float
        Mean reading on the meter's scale, at the middle of a ball float [m3/s].
    """
    if charge.time_s.size == 1:
        return float(charge.float_m3_s[0])
    spans = np.diff(charge.time_s)
    means = 0.5 * (charge.float_m3_s[1:] + charge.float_m3_s[:-1])
    return float(np.sum(means * spans) / np.sum(spans))
