"""Needle and bypass: the gap behind a float reading, the bypass that cures a stall."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from scipy.optimize import brentq, newton

from tailrace.beadfilter.air import air_state
from tailrace.beadfilter.charge import charge, float_at
from tailrace.beadfilter.circuit import WaterState, water_state
from tailrace.beadfilter.machine import Day, Machine, Mode, Setting
from tailrace.errors import InputError

_LEAST_GAP_M = 1e-7
_WIDEST_GAP_M = 1e-3  # a needle this wide no longer holds the air back
_LOG_GAP_TOLERANCE = 1e-9
_GRID = 17
_USUAL_GAP_M = 1.7e-5  # where the search begins
_NO_READING_M3_S = 1e-30


def _reading_m3_s(
    machine: Machine,
    setting: Setting,
    day: Day,
    fill_frac: float,
    *,
    water: WaterState,
    mode: Mode,
) -> float:
    air = air_state(machine, setting, day, fill_frac=[fill_frac], water=water, mode=mode)
    return float(air.float_m3_s[0])


def _checked(float_m3_s: float) -> float:
    if not float_m3_s >= 0.0:
        message = f"float reading is {float_m3_s:g} m3/s; it must be zero or more. Read it again."
        raise InputError(message)
    return float_m3_s


def _gap_at_fill_m(
    machine: Machine,
    bypass_open_frac: float,
    float_m3_s: float,
    day: Day,
    *,
    fill_frac: float,
    water: WaterState,
    mode: Mode,
) -> float:
    """Gap that gives a reading at a fill; infinite when even a full opening gives less."""
    if float_m3_s == 0.0:
        return 0.0
    if math.isinf(float_m3_s):
        return math.inf

    def short(log_gap: float) -> float:
        setting = Setting(bypass_open_frac, math.exp(log_gap))
        got = _reading_m3_s(machine, setting, day, fill_frac, water=water, mode=mode)
        # In logarithms the two are nearly on a line, which a root finder likes best.
        return math.log(max(got, _NO_READING_M3_S) / float_m3_s)

    low, high = math.log(_LEAST_GAP_M), math.log(_WIDEST_GAP_M)
    if short(high) <= 0.0:
        return math.inf
    guess, answer = newton(
        short,
        math.log(_USUAL_GAP_M),
        x1=math.log(1.2 * _USUAL_GAP_M),
        tol=_LOG_GAP_TOLERANCE,
        full_output=True,
        disp=False,
    )
    if answer.converged and low < guess < high:
        return math.exp(float(guess))
    if short(low) >= 0.0:
        return _LEAST_GAP_M
    return math.exp(float(brentq(short, low, high, xtol=_LOG_GAP_TOLERANCE)))


def needle_gap_range_m(
    machine: Machine,
    bypass_open_frac: float,
    float_m3_s: float,
    day: Day,
    *,
    mode: Mode = Mode.REFINED,
    water: WaterState | None = None,
) -> tuple[float, float]:
    """Needle gaps that a reading can stand for when the time since the backwash is not known.

    Parameters
    ----------
    machine
        The machine.
    bypass_open_frac
        Bypass opening as share of the handle's travel [-].
    float_m3_s
        Reading on the meter's scale, at the middle of a ball float [m3/s].
    day
        The day of the reading.
    mode
        Base or refined equations.
    water
        The water circuit at this bypass, when it is known already.

    Returns
    -------
    tuple of float
        Gap if it was read just after a backwash, and gap if at the trigger [m]; infinite where
        even a needle fully open gives less. A reading of zero gives (0, 0).

    Raises
    ------
    InputError
        The reading is negative.
    """
    _checked(float_m3_s)
    state = water or water_state(machine, bypass_open_frac, day)
    start, end = (
        _gap_at_fill_m(
            machine, bypass_open_frac, float_m3_s, day, fill_frac=fill, water=state, mode=mode
        )
        for fill in (machine.chamber.residual_fill_frac, 1.0)
    )
    return start, end


def needle_gap_for_float_m(
    machine: Machine,
    bypass_open_frac: float,
    float_m3_s: float,
    day: Day,
    *,
    since_backwash_s: float = 0.0,
    mode: Mode = Mode.REFINED,
    water: WaterState | None = None,
) -> float:
    """Needle gap that gives a float reading at a time since the backwash.

    Parameters
    ----------
    machine
        The machine.
    bypass_open_frac
        Bypass opening as share of the handle's travel [-].
    float_m3_s
        Reading on the meter's scale, at the middle of a ball float [m3/s].
    day
        The day of the reading.
    since_backwash_s
        Time since the air left [s]. When it is not known, use `needle_gap_range_m`.
    mode
        Base or refined equations.
    water
        The water circuit at this bypass, when it is known already.

    Returns
    -------
    float
        Gap [m]; zero for a reading of zero, infinite when even a needle fully open gives less.

    Raises
    ------
    InputError
        The reading is negative.

    Notes
    -----
    The float falls as the face goes down, so a late reading stands for a wider gap. The root
    lies between the gap that gives the reading just after a backwash and the one that gives it
    at the trigger. A time longer than any charge with this reading counts as the charge's end:
    a backwash has come since that nobody logged.
    """
    state = water or water_state(machine, bypass_open_frac, day)
    start = _gap_at_fill_m(
        machine,
        bypass_open_frac,
        _checked(float_m3_s),
        day,
        fill_frac=machine.chamber.residual_fill_frac,
        water=state,
        mode=mode,
    )
    if since_backwash_s <= 0.0 or start == 0.0 or math.isinf(start):
        return start

    def short(log_gap: float) -> float:
        setting = Setting(bypass_open_frac, math.exp(log_gap))
        run = charge(machine, setting, day, mode=mode, water=state)
        return float_at(run, since_backwash_s) - float_m3_s

    end = _gap_at_fill_m(
        machine, bypass_open_frac, float_m3_s, day, fill_frac=1.0, water=state, mode=mode
    )
    root = _widening_root(short, start, min(end, _WIDEST_GAP_M))
    return end if root is None else root


def _widening_root(short: Callable[[float], float], low_m: float, high_m: float) -> float | None:
    """Gap at which `short` turns from negative to positive; None when it never does."""
    low, high = math.log(low_m), math.log(high_m)
    if short(low) >= 0.0:
        return low_m
    # Late in a charge that will stall, a wider needle can read less again: look on a grid.
    tops = (high,) if short(high) >= 0.0 else np.linspace(low, high, _GRID)[1:]
    for top in tops:
        if short(top) >= 0.0:
            return math.exp(float(brentq(short, low, top, xtol=_LOG_GAP_TOLERANCE)))
    return None


def curing_bypass_frac(
    machine: Machine,
    day: Day,
    *,
    margin_pa: float = 1000.0,
    needle_gap_m: float = 0.0,
    mode: Mode = Mode.REFINED,
) -> float | None:
    """Least bypass opening at which the air pump overcomes the water at the trigger.

    Parameters
    ----------
    machine
        The machine.
    day
        The day it works in.
    margin_pa
        Margin asked for at the trigger; within 1 kPa results are knife-edged [Pa].
    needle_gap_m
        Needle gap, which matters only through the water that the air displaces [m].
    mode
        Base or refined equations.

    Returns
    -------
    float or None
        Opening as share of the handle's travel [-]; None when even a bypass wide open leaves
        less: then look at the return, the bead bed and the air pump.

    Notes
    -----
    A wider bypass lowers the flow through bead bed and return, and with it the pressure at the
    face; the margin rises with the opening, so there is one root.
    """

    def surplus(open_frac: float) -> float:
        water = water_state(machine, open_frac, day)
        setting = Setting(open_frac, needle_gap_m)
        air = air_state(machine, setting, day, fill_frac=[1.0], water=water, mode=mode)
        return float(air.margin_pa[0]) - margin_pa

    if surplus(1.0) < 0.0:
        return None
    if surplus(0.0) >= 0.0:
        return 0.0
    return float(brentq(surplus, 0.0, 1.0, xtol=1e-4))
