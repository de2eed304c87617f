"""Air pumps, diaphragm and regenerative: pressure at a flow, power, and heating of the air.

A diaphragm pump is known by its pressure at no flow and its flow at no back pressure; a
regenerative blower often by three points of its curve, from which `air_pump_from_points` finds
how it bows. A blower throttled near its pressure at no flow overheats; a diaphragm pump does not.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.optimize import brentq

from tailrace.errors import InputError
from tailrace.formula import formula
from tailrace.pneumatics.standard import ZERO_CELSIUS_K

_ADIABATIC = 0.2857  # (k - 1)/k of air, k 1.4


@dataclass(frozen=True, slots=True)
class AirPump:
    """An air pump by the two ends of its curve.

    Parameters
    ----------
    maximum_pa_gauge
        Pressure at no flow, when new.
    free_flow_m3_s
        Flow at no back pressure, standard m3/s (70 degF, 1 atm).
    wear_frac
        Share of both that is left; 1 when new.
    curve_exponent
        How the curve bows: 1 a straight line, above 1 pressure held up to larger flows.
    """

    maximum_pa_gauge: float
    free_flow_m3_s: float
    wear_frac: float = 1.0
    curve_exponent: float = 1.0


@formula(
    standard_flow_m3_s=(0.0, 10.0),
    maximum_pa_gauge=(0.0, 1e6),
    free_flow_m3_s=(1e-9, 10.0),
    wear_frac=(1e-3, 1.5),
)
def straight_air_pump_pa_gauge(
    standard_flow_m3_s: float,
    maximum_pa_gauge: float,
    free_flow_m3_s: float,
    wear_frac: float,
) -> float:
    """Pressure of an air pump whose curve is a straight line.

    Parameters
    ----------
    standard_flow_m3_s
        Standard flow (70 degF, 1 atm) [m3/s].
    maximum_pa_gauge
        Pressure at no flow when new [Pa].
    free_flow_m3_s
        Standard flow at no back pressure when new [m3/s].
    wear_frac
        Share of both that is left [-].

    Returns
    -------
    float
        Pressure above the local air [Pa]; negative beyond the free flow.

    Notes
    -----
    p = w p_max (1 - q/(w q_0)). Real curves bow; near the usual reading, far below the free
    flow, only the pressure at no flow matters. The straight line and the way wear enters are
    judgement.

    Examples
    --------
    >>> straight_air_pump_pa_gauge(1e-4, 21000.0, 2e-4, 1.0)
    10500.0

    References
    ----------
    judgement
    """
    return maximum_pa_gauge * (wear_frac - standard_flow_m3_s / free_flow_m3_s)


@formula(
    standard_flow_m3_s=(0.0, 10.0),
    maximum_pa_gauge=(0.0, 1e6),
    free_flow_m3_s=(1e-9, 10.0),
    wear_frac=(1e-3, 1.5),
    curve_exponent=(0.3, 10.0),
)
def bowed_air_pump_pa_gauge(
    standard_flow_m3_s: float,
    maximum_pa_gauge: float,
    free_flow_m3_s: float,
    wear_frac: float,
    curve_exponent: float,
) -> float:
    """Pressure of an air pump whose curve bows.

    Parameters
    ----------
    standard_flow_m3_s
        Standard flow (70 degF, 1 atm) [m3/s].
    maximum_pa_gauge
        Pressure at no flow when new [Pa].
    free_flow_m3_s
        Standard flow at no back pressure when new [m3/s].
    wear_frac
        Share of both that is left [-].
    curve_exponent
        Exponent of the curve; 1 is a straight line [-].

    Returns
    -------
    float
        Pressure above the local air [Pa]; negative beyond the free flow.

    Notes
    -----
    p = w p_max (1 - (q/(w q_0))^m). Form and wear are judgement; a curve from the maker's points
    is as good as the points.

    Examples
    --------
    >>> bowed_air_pump_pa_gauge(1e-4, 20000.0, 2e-4, 1.0, 2.0)
    15000.0

    References
    ----------
    judgement
    """
    used: float = (standard_flow_m3_s / (wear_frac * free_flow_m3_s)) ** curve_exponent
    return wear_frac * maximum_pa_gauge * (1.0 - used)


def air_pump_from_points(points: Sequence[tuple[float, float]]) -> AirPump:
    """Return the air pump whose curve passes through points of its data sheet.

    Parameters
    ----------
    points
        Two or three (standard flow [m3/s], gauge pressure [Pa]). Two give a straight line;
        three, the first at no flow, give its bow too.

    Returns
    -------
    AirPump
        The pump, as new.

    Raises
    ------
    InputError
        There are fewer than two or more than three, or the pressure does not fall as flow rises.

    Notes
    -----
    Three points: p = p_max (1 - (q/q_0)^m), so ln((p_max - p2)/(p_max - p1)) = m ln(q2/q1).

    Examples
    --------
    >>> pump = air_pump_from_points([(0.0, 20000.0), (1e-4, 15000.0), (2e-4, 0.0)])
    >>> round(pump.free_flow_m3_s * 1e4, 3), round(pump.curve_exponent, 3)
    (2.0, 2.0)
    """
    ordered = sorted(points)
    flows, pressures = [q for q, _ in ordered], [p for _, p in ordered]
    apart = len(set(flows)) == len(flows) and len(set(pressures)) == len(pressures)
    falls = pressures == sorted(pressures, reverse=True) and pressures[-1:] >= [0.0]
    if not (len(ordered) in (2, 3) and flows[0] >= 0.0 and apart and falls):
        message = (
            f"an air pump's curve needs two or three pressures that fall as flows rise, none "
            f"negative; got {ordered}. Give (flow, pressure) pairs as on the data sheet."
        )
        raise InputError(message)
    if len(ordered) == 2:
        slope = (pressures[0] - pressures[1]) / (flows[1] - flows[0])
        highest = pressures[0] + slope * flows[0]
        return AirPump(highest, highest / slope)
    if flows[0] > 0.0:
        message = f"the first of three points must be at no flow; got {flows[0]:g} m3/s."
        raise InputError(message)
    first, second = pressures[0] - pressures[1], pressures[0] - pressures[2]
    exponent = math.log(second / first) / math.log(flows[2] / flows[1])
    free = flows[2] * (pressures[0] / second) ** (1.0 / exponent)
    return AirPump(pressures[0], free, curve_exponent=exponent)


def air_flow_m3_s(back_pa_gauge: float, pump: AirPump) -> float:
    """Flow, counted as standard, that an air pump gives against a back pressure.

    Parameters
    ----------
    back_pa_gauge
        Pressure above the local air: water over the outlet, line and diffuser [Pa].
    pump
        The pump.

    Returns
    -------
    float
        Standard flow (70 degF, 1 atm) [m3/s]; zero when the pump cannot reach the pressure.

    Raises
    ------
    OutsideRangeError
        The curve is not that of a pump.

    Examples
    --------
    >>> round(air_flow_m3_s(10500.0, AirPump(21000.0, 2e-4)) * 1e4, 3)
    1.0
    """
    if back_pa_gauge >= air_pump_pa_gauge(0.0, pump):
        return 0.0
    free = pump.wear_frac * pump.free_flow_m3_s
    if back_pa_gauge <= 0.0:
        return free
    root = brentq(lambda q: air_pump_pa_gauge(q, pump) - back_pa_gauge, 0.0, free, xtol=1e-15)
    return float(root)


@formula(
    inlet_flow_m3_s=(0.0, 10.0),
    inlet_pa_abs=(3e4, 2e5),
    outlet_pa_abs=(3e4, 1e6),
    efficiency_frac=(0.01, 1.0),
)
def blower_power_w(
    inlet_flow_m3_s: float, inlet_pa_abs: float, outlet_pa_abs: float, efficiency_frac: float
) -> float:
    """Electrical power that it takes to compress air.

    Parameters
    ----------
    inlet_flow_m3_s
        Flow at the state of the inlet [m3/s].
    inlet_pa_abs
        Absolute pressure at the inlet [Pa].
    outlet_pa_abs
        Absolute pressure at the outlet [Pa].
    efficiency_frac
        Adiabatic work over electrical power: about 0.3 to 0.5 for a regenerative blower, less
        for a small diaphragm pump (common practice, no source) [-].

    Returns
    -------
    float
        Electrical power [W].

    Notes
    -----
    P = P1 Q1 ((P2/P1)^0.2857 - 1)/(0.2857 eta), dry air.

    Examples
    --------
    >>> round(blower_power_w(0.02, 101325.0, 116325.0, 0.4))
    713

    References
    ----------
    adiabatic_compression
    """
    rise: float = (outlet_pa_abs / inlet_pa_abs) ** _ADIABATIC - 1.0
    return inlet_pa_abs * inlet_flow_m3_s * rise / (_ADIABATIC * efficiency_frac)


@formula(
    inlet_degc=(-40.0, 60.0),
    inlet_pa_abs=(3e4, 2e5),
    outlet_pa_abs=(3e4, 1e6),
    efficiency_frac=(0.05, 1.0),
)
def blower_outlet_degc(
    inlet_degc: float, inlet_pa_abs: float, outlet_pa_abs: float, efficiency_frac: float
) -> float:
    """Temperature of the air that leaves a blower.

    Parameters
    ----------
    inlet_degc
        Temperature of the air at the inlet [degC].
    inlet_pa_abs
        Absolute pressure at the inlet [Pa].
    outlet_pa_abs
        Absolute pressure at the outlet [Pa].
    efficiency_frac
        Adiabatic work over the work that goes into the air [-].

    Returns
    -------
    float
        Temperature [degC]. Plastic pipe softens at 60 degC, so the first metres are metal.

    Notes
    -----
    T2 = T1 (1 + ((P2/P1)^0.2857 - 1)/eta), absolute temperatures, no heat lost on the way.

    Examples
    --------
    >>> round(blower_outlet_degc(25.0, 101325.0, 121325.0, 0.4))
    64

    References
    ----------
    adiabatic_compression
    """
    rise: float = (outlet_pa_abs / inlet_pa_abs) ** _ADIABATIC - 1.0
    kelvin = inlet_degc + ZERO_CELSIUS_K
    return kelvin * (1.0 + rise / efficiency_frac) - ZERO_CELSIUS_K


def air_pump_pa_gauge(standard_flow_m3_s: float, pump: AirPump) -> float:
    """Pressure that an air pump gives at a flow.

    Parameters
    ----------
    standard_flow_m3_s
        Standard flow (70 degF, 1 atm) [m3/s].
    pump
        The pump.

    Returns
    -------
    float
        Pressure above the local air [Pa].

    Raises
    ------
    OutsideRangeError
        The flow is negative, or the curve is not that of a pump.

    Examples
    --------
    >>> air_pump_pa_gauge(0.0, AirPump(21000.0, 2e-4, wear_frac=0.5))
    10500.0
    """
    shape = (pump.maximum_pa_gauge, pump.free_flow_m3_s, pump.wear_frac)
    if pump.curve_exponent == 1.0:
        return straight_air_pump_pa_gauge(standard_flow_m3_s, *shape)
    return bowed_air_pump_pa_gauge(standard_flow_m3_s, *shape, pump.curve_exponent)
